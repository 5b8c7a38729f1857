"""Which moves a recording without a plan speaks of: usual names it holds, and names told by how they are announced.

The moves come out as those of one block of a plan, so that every other spotter can listen for them.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import cast

import numpy as np
import numpy.typing as npt

from analyzer.language import Language, load_language
from analyzer.language.patterns import find
from analyzer.model.events import Events, Mention
from analyzer.model.plan import Block, Effort, Move, Plan, SidePlan
from analyzer.model.transcript import Transcript
from analyzer.spotting import spot
from analyzer.spotting.context import SpotContext
from analyzer.spotting.mentions import spot_mentions
from analyzer.spotting.names import name_words, split_words, stem
from analyzer.spotting.signals import spot_signals

USUAL_WORK_S = 45.0
"""Work of a move nobody planned, as a first idea (common practice, no source)."""
ENOUGH = 0.85
"""What a name must weigh to be kept: one clear place is enough, doubtful ones need each other."""
ALONE, OPENING, INSIDE, PAST = 1.0, 0.8, 0.5, 0.2
"""Weight of a name that stands alone or is announced, that opens a clause, that is inside one, that is over."""
SOUND_SHARE = 0.6
"""Of a name only alike in sound."""
FULL_NAME = 0.9
"""Least score of a name of several words that was heard letter by letter."""
ANNOUNCED, REPEATED = 0.6, 0.3
"""Weight of a phrase that is in no list each time it is announced as what comes, and is a clause of its own too."""
LIST_WORDS = 18
"""Words from one name to the next where a round is explained."""
MOST_WORDS = 4
MOST_BETWEEN = 2
"""Words between what announces and the name ("next up we have")."""


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Usual moves of a language. ``endings``: last word of a name -> effort and sides of moves not listed."""

    moves: tuple[Move, ...]
    endings: Mapping[str, tuple[Effort, SidePlan]]
    never: frozenset[str]
    """Stems of words that no unlisted name holds."""
    joining: frozenset[str]
    """Stems of words that a name holds only where it is announced."""
    small: frozenset[str]
    """Stems of words that are no name without another, those of ``joining`` among them."""


@cache
def vocabulary(code: str) -> Vocabulary:
    """Read ``moves.yaml`` of a language; once a process. A language without the file has no usual moves."""
    language = load_language(code)
    if not (language.folder / "moves.yaml").exists():
        return Vocabulary((), {}, frozenset(), frozenset(), frozenset())
    data = language.read("moves")
    moves = []
    for group, rows in data["moves"].items():
        effort, side = _kind(group)
        for row in rows:
            name, *also = (part.strip() for part in row.split("~"))
            moves.append(Move(name, USUAL_WORK_S, tuple(also), side=side, effort=effort))
    endings = {stem(word): _kind(group) for group, words in data["endings"].items() for word in words}
    never, joining, small = (
        frozenset(stem(word) for row in data[group] for word in row) for group in ("no_name", "joining", "small")
    )
    return Vocabulary(tuple(moves), endings, never, joining, small | joining)


def _kind(group: str) -> tuple[Effort, SidePlan]:
    effort, side = group.split()
    return cast(Effort, effort), cast(SidePlan, side)


def listen(transcript: Transcript, language: Language) -> tuple[tuple[Move, ...], Events]:
    """Return the moves a recording names, and all its events, each mention weighed by how much it stands as a name.

    Linear in the words. Names are spelt as they were said, where they were said clearly.
    """
    context = SpotContext.of(transcript, Plan("", ()), language)
    moves = heard_moves(context)
    events = spot(transcript, one_block(moves), language)
    mentions = spot_mentions(replace(context, plan=one_block(moves)), heads=False)
    weighed = (replace(mention, score=_weight(mention, context)) for mention in mentions)
    return moves, replace(events, mentions=tuple(weighed))


def heard_moves(context: SpotContext) -> tuple[Move, ...]:
    """Return the moves a recording names; ``context.plan`` is not looked at."""
    known = vocabulary(context.language.code)
    mentions = spot_mentions(replace(context, plan=one_block(known.moves)), heads=False)
    weights: dict[int, float] = defaultdict(float)
    spellings: dict[int, Counter[str]] = defaultdict(Counter)
    for mention in mentions:
        weight = _weight(mention, context) * (1.0 if mention.exact else SOUND_SHARE)
        whole = mention.exact and mention.last > mention.first and mention.context != "past"
        for _, move in mention.moves:
            weights[move] += max(weight, ENOUGH) if whole else weight
            spellings[move][mention.name] += round(100 * weight) + (100 if mention.exact else 0)
    kept = {move for move, weight in weights.items() if weight >= ENOUGH}
    listed = tuple(_as_said(known.moves[move], spellings[move]) for move in sorted(kept))
    held = np.zeros(len(context.words), dtype=np.bool_)
    for mention in mentions:
        clear = mention.exact or mention.last > mention.first
        if clear and any(move in kept for _, move in mention.moves):
            held[mention.first : mention.last + 1] = True
    return listed + _unlisted(context, held, known)


def one_block(moves: tuple[Move, ...]) -> Plan:
    """Return a plan of one block, for the spotters to listen for these moves."""
    return Plan("", (Block("", "main", moves=moves),) if moves else ())


def _weight(mention: Mention, context: SpotContext) -> float:
    """Return the score of a mention by how much it stands as a name where it was said, 0 to 1."""
    score = mention.score
    opens = context.breaks_before(mention.first)
    alone = mention.context == "preview" or (opens and context.ends_clause(mention.last))
    stems = {stem(word) for norm in context.words.norm[mention.first : mention.last + 1] for word in split_words(norm)}
    if mention.exact and len(stems) > 1 and (alone or not stems <= name_words(context.language.code).ordinary):
        score = max(score, FULL_NAME)
    if mention.context == "past":
        return score * PAST
    if alone:
        return score * ALONE
    return score * (OPENING if opens else INSIDE)


def _as_said(move: Move, spellings: Counter[str]) -> Move:
    """Return the move under the name said most, its other names kept as nicknames."""
    name = spellings.most_common(1)[0][0]
    return replace(move, name=name, also=tuple(other for other in (move.name, *move.also) if other != name))


# --- names that are in no list ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A run of words that may be a name, by how it is announced (``alone`` when it is only a clause of its own)."""

    first: int
    last: int
    alone: bool = False


def _unlisted(context: SpotContext, listed: npt.NDArray[np.bool_], known: Vocabulary) -> tuple[Move, ...]:
    """Return moves under phrases that are announced like names, or stand alone like names.

    ``listed`` True at words of names that are in the list.
    """
    announced: dict[str, set[int]] = defaultdict(set)
    alone: dict[str, set[int]] = defaultdict(set)
    explained: set[str] = set()
    said: dict[str, Counter[str]] = defaultdict(Counter)
    for phrase in _phrases_like_names(context, listed, known):
        words = [norm for norm in context.words.norm[phrase.first : phrase.last + 1] if norm]
        stems = [stem(word) for word in words]
        held = listed[phrase.first : phrase.last + 1]
        if known.small.issuperset(stems) or held.all() or (phrase.alone and not known.joining.isdisjoint(stems)):
            continue
        key = " ".join(stems)
        said[key][" ".join(words)] += 1
        (alone if phrase.alone else announced)[key].add(phrase.first)
        if phrase.alone and _among_names(phrase, listed):
            explained.add(key)
        if phrase.alone and held[-1]:  # a longer name of a move that is in the list
            announced[key].add(phrase.first)
    heavy = (key for key in said if _names_a_move(key, len(announced[key]), len(alone[key]), key in explained))
    return tuple(unlisted_move(said[key].most_common(1)[0][0], known) for key in sorted(heavy))


def _among_names(phrase: _Phrase, listed: npt.NDArray[np.bool_]) -> bool:
    """Tell whether a name in the list stands closely before or after a phrase, as where a round is explained."""
    return bool(listed[max(0, phrase.first - LIST_WORDS) : phrase.last + 1 + LIST_WORDS].any())


def _names_a_move(key: str, announced: int, alone: int, explained: bool) -> bool:
    """Tell whether a phrase announced and standing alone so often is a name; one word must do both."""
    if " " not in key:
        return announced > 0 and alone > 0
    if not announced:
        return explained and alone > 1
    return ANNOUNCED * announced + REPEATED * alone >= ENOUGH


def unlisted_move(name: str, known: Vocabulary) -> Move:
    """Return a move that is in no list under the name it was given, its effort and sides guessed by its last word."""
    effort, side = known.endings.get(stem(name.split()[-1]), ("moderate", "both"))
    return Move(name, USUAL_WORK_S, side=side, effort=effort)


def _phrases_like_names(context: SpotContext, listed: npt.NDArray[np.bool_], known: Vocabulary) -> Iterator[_Phrase]:
    """Yield the phrases that are announced as what comes or begins, and those that are a clause of their own."""
    words = context.words
    may = _may_be_named(context, listed, known)
    begins = {signal.last for signal in spot_signals(context) if signal.kind == "start"}
    for mark in find(name_words(context.language.code).phrases, context.spoken):
        if mark.group in ("announces_before", "lists"):
            begins.add(mark.last)
        elif mark.group == "announces_after":
            first = last = mark.first - 1
            while first > 0 and may[first - 1] and last - first < MOST_WORDS and not context.breaks_after(first - 1):
                first -= 1
            if last >= 0 and may[last] and last - first < MOST_WORDS and not words.closes[last]:
                yield _Phrase(first, last)
    for before in sorted(begins):
        first = before + 1
        while first < len(words) and not may[first] and first - before <= MOST_BETWEEN and not words.closes[first - 1]:
            first += 1
        end = _phrase_end(context, first, may)
        if end is not None and not words.closes[first - 1]:
            yield _Phrase(_without_articles(context, first), end)
    for first in range(len(words)):
        if may[first] and context.breaks_before(first):
            end = _phrase_end(context, first, may)
            if end is not None and context.ends_clause(end):
                yield _Phrase(first, end, alone=True)


def _may_be_named(context: SpotContext, listed: npt.NDArray[np.bool_], known: Vocabulary) -> npt.NDArray[np.bool_]:
    """Tell which words a name may hold."""
    counted = context.language.numbers.counted
    return np.array(
        [
            bool(listed[at])
            or (
                norm[:1].isalpha()
                and stem(norm) not in known.never
                and not any(part in counted for part in norm.split("-"))
            )
            for at, norm in enumerate(context.words.norm)
        ],
        dtype=np.bool_,
    )


def _without_articles(context: SpotContext, first: int) -> int:
    """Return the first word that is no article and joins nothing."""
    skipped = name_words(context.language.code).articles | vocabulary(context.language.code).joining
    while first + 1 < len(context.words) and context.words.norm[first] in skipped:
        first += 1
    return first


def _phrase_end(context: SpotContext, first: int, may: npt.NDArray[np.bool_]) -> int | None:
    """Return the last word of the phrase that starts here, None where no name can start or it goes on too long."""
    first = _without_articles(context, first)
    for last in range(first, min(first + MOST_WORDS + 1, len(may))):
        if not may[last]:
            return last - 1 if last > first else None
        if context.breaks_after(last):
            return last if last - first < MOST_WORDS else None
    return None
