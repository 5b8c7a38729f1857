"""Name-missing: a move that is worked without its name."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import hears_clearly
from analyzer.checks.hints import hint_words
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import BlockSpan, Worked, block_spans, worked_intervals
from analyzer.language import current_language
from analyzer.language.sound import sequence_code, sound_code
from analyzer.model.audit import Finding
from analyzer.model.events import MoveRef
from analyzer.model.plan import Move
from analyzer.model.transcript import Floats
from analyzer.spotting.names import name_words, split_words, stem, stems_of, usual

ALIKE = 0.6  # our judgement: words this much like a name, or an odd word like one of its words, may be it, misheard
SURELY_ALIKE = 0.75  # the same for words that are usual in a class
BY_CHANCE, PERHAPS = 0.3, 0.1  # a likeness that so many words hold by chance so often proves nothing; one that may
SHORTEST = 4  # letters of an odd word that can stand for a word of a name
SLACK_U, FARTHEST_S = 2.0, 60.0  # as for U = 2u; no slack is wider than this
ELSEWHERE_S = 600.0  # chance is measured this far around
LED_S = 45.0  # a move may be spoken of so long before its work


@dataclass(frozen=True, slots=True)
class Stretch:
    """The time in which a move should be named, seconds: all of it, and where it surely has ended."""

    rows: tuple[Worked, ...]
    opens_s: float
    closes_s: float
    u: float


@lru_cache(maxsize=2)
def unnamed_moves(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every move that, in some round, is not named from its preview to a share of its work.

    The preview may come as early as in the interval before, in the round's break, or first in the block's demo.
    Nicknames of the plan count as names, and a name may be misheard or in other order: what sounds like it by more
    than chance is let be, and may be it where that is open.
    """
    share = context.rules.value("name-missing", "limit_share")
    out = []
    for span in block_spans(context):
        moves = context.plan.blocks[span.block].moves
        for stretch in _stretches(context, span, share):
            plan = stretch.rows[0].plan
            if plan is None or is_named(context, (plan.block, plan.move), stretch):
                continue
            chance = chance_alike(context, moves[plan.move], stretch)
            if chance >= PERHAPS:
                sure = chance >= BY_CHANCE and hears_clearly(context) and not stretch.rows[0].unsure
                out.append(_finding(context, stretch, sure))
    return tuple(out)


def _stretches(context: CheckContext, span: BlockSpan, share: float) -> list[Stretch]:
    """Return the stretch of every move in every round."""
    groups: dict[tuple[int, int], list[Worked]] = {}
    for row in span.members:
        if row.plan is not None:
            groups.setdefault((row.plan.move, row.plan.round), []).append(row)
    rows = worked_intervals(context)
    known: set[int] = set()
    ended_s: dict[int, float] = {}
    out = []
    for (move, number), own in groups.items():
        start_s = own[0].start_s
        before = bisect_left(rows, start_s, key=lambda r: r.start_s) - 1
        opens_s = rows[before].start_s if before >= 0 else 0.0
        in_break = max((end_s for earlier, end_s in ended_s.items() if earlier < number), default=start_s)
        opens_s = min(opens_s, in_break if move in known else span.opens_s)
        known.add(move)
        ended_s[number] = own[-1].end_s
        out.append(Stretch(tuple(own), opens_s, start_s + share * own[0].length_s, own[0].start_u))
    return out


def is_named(context: CheckContext, ref: MoveRef, stretch: Stretch) -> bool:
    """Return True when a name of the move, as the spotter of names has it, falls into the stretch."""
    mentions = context.events.mentions
    edges = (stretch.opens_s - FARTHEST_S, stretch.closes_s + FARTHEST_S)
    first, stop = (bisect_left(mentions, t, key=lambda m: m.at_s) for t in edges)
    for mention in mentions[first:stop]:
        slack = SLACK_U * (mention.u_s + stretch.u)
        if ref in mention.moves and stretch.opens_s - slack <= mention.at_s <= stretch.closes_s + slack:
            return True
    return False


def chance_alike(context: CheckContext, move: Move, stretch: Stretch, code: str | None = None) -> float:
    """Return how often so many words hold, by chance, what sounds as much like a name of the move as in the stretch.

    1 where nothing there sounds like one, 0 where all words of one are said in a sentence. Chance is what the words
    around do where the move is neither worked nor about to be.
    """
    code = code or current_language()
    words = context.transcript.words
    first, stop = (int(n) for n in np.searchsorted(words.start_s, [stretch.opens_s, stretch.closes_s]))
    names = [split_words(text) for text in (move.name, *move.also)]
    if _all_words(context, first, stop, names):
        return 0.0
    heard = _heard(context, code)
    here = _over(heard, first, stop, names)
    most = float(here.max(initial=-1.0))
    if most < 0.0:
        return 1.0
    low_s, high_s = stretch.opens_s - ELSEWHERE_S, stretch.closes_s + ELSEWHERE_S
    low, high = (int(n) for n in np.searchsorted(words.start_s, [low_s, high_s]))
    away = _elsewhere(context, move, words.start_s[low:high], stretch)
    elsewhere = _over(heard, low, high, names)[away]
    share = float((elsewhere >= most).mean()) if len(elsewhere) else 0.0
    return 1.0 - float((1.0 - share) ** len(here))


def _elsewhere(context: CheckContext, move: Move, at_s: Floats, stretch: Stretch) -> npt.NDArray[np.bool_]:
    """Return which words are said neither in the stretch nor where the move is worked or about to be."""
    away = (at_s < stretch.opens_s) | (at_s >= stretch.closes_s)
    for row in worked_intervals(context):
        if row.interval.move == move.name:
            away &= (at_s < row.start_s - LED_S) | (at_s >= row.end_s)
    return away


@dataclass(frozen=True, slots=True, eq=False)
class _Heard:
    """The sounds of every word of a transcript, and of it with the next one and two; how much a name's they must be."""

    runs: tuple[list[str], ...]
    least: tuple[Floats, ...]
    odd: npt.NDArray[np.bool_]
    """Whether a word alone may be one of a name's words, misheard."""


@lru_cache(maxsize=2)
def _heard(context: CheckContext, code: str) -> _Heard:
    norm, data = context.transcript.words.norm, name_words(code)
    size = len(norm)
    odd = np.array([bool(word) and not usual(word, data) for word in norm], dtype=np.bool_)
    codes = [sound_code(word) if word else "" for word in norm] + ["", ""]
    pairs = [one + two for one, two in pairwise(codes)]
    runs = codes[:size], pairs[:size], [pair + third for pair, third in zip(pairs, codes[2:], strict=False)][:size]
    ahead = np.append(odd, [False, False])
    any_odd = ahead[:size], ahead[:size] | ahead[1 : size + 1], ahead[:size] | ahead[1 : size + 1] | ahead[2 : size + 2]
    long = np.array([len(word) >= SHORTEST for word in norm], dtype=np.bool_)
    return _Heard(runs, tuple(np.where(some, ALIKE, SURELY_ALIKE) for some in any_odd), odd & long)


def _over(heard: _Heard, first: int, stop: int, names: list[list[str]]) -> Floats:
    """Return how far what begins at each of some words is more like a name than it must be; -1 for nothing."""
    wholes = [sequence_code(tuple(name)) for name in names]
    parts = [sound_code(word) for name in names for word in name if len(word) >= SHORTEST]
    found = np.full(stop - first, -1.0)
    for runs, least in zip(heard.runs, heard.least, strict=True):
        found = np.maximum(found, _alike(runs[first:stop], wholes) - least[first:stop])
    odd = np.flatnonzero(heard.odd[first:stop])
    codes = [heard.runs[0][first + at] for at in odd.tolist()]
    found[odd] = np.maximum(found[odd], _alike(codes, parts) - ALIKE)
    return found


def _alike(heard: list[str], wanted: list[str]) -> Floats:
    """Return how much each sounds like the most alike of the wanted ones, 0 to 1, shape (heard,)."""
    if not heard or not wanted:
        return np.zeros(len(heard))
    most: Floats = cdist(heard, wanted, scorer=Levenshtein.normalized_similarity, dtype=np.float64).max(axis=1)
    return most


def _all_words(context: CheckContext, first: int, stop: int, names: list[list[str]]) -> bool:
    """Return True when a sentence holds all words of a name, in any order; of several one may be misheard."""
    words, small = context.transcript.words, hint_words("small")
    wanted = [[word for word in name if word not in small] for name in names]
    opens = words.opens[first:stop].tolist()
    edges = [at for at, is_first in enumerate(opens) if is_first or not at] + [len(opens)]
    return any(
        _holds(words.norm[first + low : first + high], name) for low, high in pairwise(edges) for name in wanted if name
    )


def _holds(sentence: Sequence[str], name: list[str]) -> bool:
    said = {part for norm in sentence for part in stems_of(norm)}
    lost = [word for word in dict.fromkeys(name) if stem(word) not in said]
    if len(lost) != 1 or len(name) < 2:
        return not lost
    heard = [sound_code(norm) for norm in sentence if norm]
    return bool((_alike(heard, [sound_code(lost[0])]) >= ALIKE).any())


def _finding(context: CheckContext, stretch: Stretch, sure: bool) -> Finding:
    row = stretch.rows[0]
    place = replace(Place.of(row.interval), side=None)
    tail = "" if sure else " It may be misheard or have been worked elsewhere; a listen would settle it."
    return build(
        context,
        "name-missing",
        place,
        f"{place} is not named before it starts or early in it.{tail}",
        "Name it by voice-over or show its name as a caption.",
        verdict="fail" if sure else "unclear",
        at_s=row.start_s,
        until_s=stretch.closes_s,
        say=(row.interval.move,),
    )


NAME_MISSING = Check(
    id="name-missing",
    title="A move is never named",
    means="Viewers who do not see the screen do not know what to do; nobody can look the move up.",
    measured="Names and nicknames of the plan, also misheard ones, from the preview to a part of the work, each round.",
    fix="Name it by voice-over or caption, or add the nickname that was used to the plan.",
    severity="medium",
    mend="record",
    function=unnamed_moves,
    parameters=(Parameter("limit_share", 1 / 3, "share", 0.0, 1.0, "share of the work by which the name must come"),),
)
