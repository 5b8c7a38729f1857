"""Names of planned moves as they were said: spelt right, inflected, cut short, split, joined or misheard.

Two passes. Letters: stems run together and looked up, the longest first. Sound: every distinct run of one to four
words that the first pass left over is compared with every name by phones. A run may stand for a name when it is
alike enough for the name's length and no other move's name is nearly as like.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.language.patterns import Match, find
from analyzer.language.sound import CODE_LENGTH, sound_code
from analyzer.model.events import Mention, MoveRef
from analyzer.model.transcript import Words
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import Name, NameWords, name_words, names_of, stem

MOST_WORDS = 4
# Least likeness (0 to 1) by the name's number of phones; short names have many neighbours. Our judgement, set on
# the published confusions in the tests: "blank" for plank and "lounge" for lunge in, "thank" and "much" out.
LIKENESS = {1: 0.97, 2: 0.95, 3: 0.88, 4: 0.82, 5: 0.76, 6: 0.74, 7: 0.72}
LIKENESS_LONG = 0.70
SUPPORT = 0.15
"""How much less likeness is enough where the place speaks for a name: a sentence's start, a very short sentence,
"next" or the like just before."""
WINNER_BY = 0.07
"""How much more alike the best move must be than the next best one."""
OFTEN = 8
"""A short word said this often is itself, not a slip of the recogniser."""
ORDINARY_ALONE, ORDINARY_INSIDE = 0.7, 0.35
CHAIN_GAP_S, CHAIN_MOVES = 12.0, 3
NEAR_WORDS, NEAR_S = 5, 8.0


@dataclass(frozen=True, slots=True)
class _Place:
    """A run of words: ``first`` to ``last`` in the transcript, ``size`` words without articles."""

    first: int
    last: int
    size: int


@dataclass(frozen=True, slots=True)
class _Hit:
    place: _Place
    name: Name
    score: float
    exact: bool


def spot_mentions(context: SpotContext) -> tuple[Mention, ...]:
    """Return the names of planned moves that were said, by time; without a plan none.

    Words never stand in two mentions. Cost grows with the distinct runs of words times the names.
    """
    if not context.plan.blocks or not len(context.words):
        return ()
    data = name_words(context.language.code)
    names = names_of(context.plan, data)
    if not names:
        return ()
    runs = _runs(context.words, data)
    marks = find(data.phrases, context.spoken)
    hits = _spelt(runs, names, context.words)
    taken = np.zeros(len(context.words), dtype=np.bool_)
    for hit in hits:
        taken[hit.place.first : hit.place.last + 1] = True
    hits += _sounded(runs, names, context, data, marks, taken)
    hits = [_weigh(hit, context, marks) for hit in sorted(hits, key=lambda hit: hit.place.first)]
    return _with_context(hits, context.words, _sentence_of(context.words), marks)


def _runs(words: Words, data: NameWords) -> dict[tuple[str, ...], list[_Place]]:
    """Return every distinct run of one to four words within a sentence, articles left out, and where it was said."""
    found: dict[tuple[str, ...], list[_Place]] = {}
    articles, norms = data.articles, words.norm
    opens, closes = words.opens.tolist(), words.closes.tolist()
    said: list[tuple[str, int]] = []
    for index, norm in enumerate(norms):
        if opens[index]:
            said = []
        if norm and norm not in articles:
            said = [*said[-(MOST_WORDS - 1) :], (norm, index)]
            for size in range(1, len(said) + 1):
                part = said[-size:]
                key = tuple([word for word, _ in part])
                found.setdefault(key, []).append(_Place(part[0][1], index, size))
        if closes[index]:
            said = []
    return found


def _spelt(runs: dict[tuple[str, ...], list[_Place]], names: tuple[Name, ...], words: Words) -> list[_Hit]:
    by_key = {name.key: name for name in names}
    hits: list[_Hit] = []
    for run, places in runs.items():
        joined = "".join([stem(part) for word in run for part in word.split("-")])
        name = by_key.get(joined)
        if name is not None:
            hits.extend(_Hit(place, name, name.weight, True) for place in places)
    hits.sort(key=lambda hit: (-len(hit.name.key), -hit.score, hit.place.first))
    return _apart(hits, np.zeros(len(words), dtype=np.bool_))


def _apart(hits: Iterable[_Hit], taken: np.ndarray) -> list[_Hit]:
    """Keep hits that share no word with an earlier one; marks the words of ``taken``."""
    kept: list[_Hit] = []
    for hit in hits:
        span = slice(hit.place.first, hit.place.last + 1)
        if not taken[span].any():
            taken[span] = True
            kept.append(hit)
    return kept


def _sounded(
    runs: dict[tuple[str, ...], list[_Place]],
    names: tuple[Name, ...],
    context: SpotContext,
    data: NameWords,
    marks: list[Match],
    taken: np.ndarray,
) -> list[_Hit]:
    supported = _supported(context, marks)
    hits: list[_Hit] = []
    for size in range(1, MOST_WORDS + 1):
        rows = [(code, n) for n, name in enumerate(names) if abs(name.words - size) <= 1 for code in name.codes]
        rows = [(code, n) for code, n in rows if code]
        some = [(run, places) for run, places in runs.items() if len(run) == size and _may_be_misheard(run, data)]
        some = [(run, places) for run, places in some if size > 1 or len(places) < OFTEN]
        if not rows or not some:
            continue
        heard = ["".join([sound_code(word) for word in run]) for run, _ in some]
        grid = cdist(heard, [code for code, _ in rows], scorer=Levenshtein.normalized_similarity,
                     score_cutoff=LIKENESS_LONG - SUPPORT, dtype=np.float32)  # fmt: skip
        for row in np.flatnonzero(grid.max(axis=1) > 0).tolist():
            best = _best(grid[row], [n for _, n in rows], names)
            if best is None:
                continue
            name, likeness = best
            limit = LIKENESS.get(name.phones, LIKENESS_LONG)
            for place in some[row][1]:
                bonus = SUPPORT if supported[place.first] else 0.0
                if likeness >= limit - bonus and not taken[place.first : place.last + 1].any():
                    hits.append(_Hit(place, name, likeness * name.weight, False))
    hits.sort(key=lambda hit: (-hit.score, -hit.place.size, hit.place.first))
    return _apart(hits, taken.copy())


def _may_be_misheard(run: tuple[str, ...], data: NameWords) -> bool:
    """A run of usual words alone is what it says; one with an unusual word may be a misheard name."""
    return any(word not in data.never_misheard and word[0].isalpha() for word in run)


def _best(scores: np.ndarray, owners: list[int], names: tuple[Name, ...]) -> tuple[Name, float] | None:
    """Return the most alike name and its likeness, None when another move's name is nearly as alike."""
    order = np.argsort(-scores, kind="stable")
    winner = names[owners[order[0]]]
    top = float(scores[order[0]])
    for place in order[1:]:
        rival = names[owners[place]]
        if scores[place] < top - WINNER_BY:
            break
        if not set(rival.moves) & set(winner.moves):
            return None
    return winner, top


def _supported(context: SpotContext, marks: list[Match]) -> np.ndarray:
    """Return, for each word, whether a name is likely here: a sentence starts, or "next" and the like came before."""
    words = context.words
    support = words.opens.copy()
    support[1:] |= words.opens[:-1]
    for mark in marks:
        if mark.group in ("announces_before", "lists"):
            support[mark.last + 1 : mark.last + 4] = True
    return support


def _sentence_of(words: Words) -> np.ndarray:
    return np.cumsum(words.opens)


def _weigh(hit: _Hit, context: SpotContext, marks: list[Match]) -> _Hit:
    """Lower the score of a name made of ordinary words unless the place shows that it is meant as a name."""
    if not hit.name.ordinary:
        return hit
    words, place = context.words, hit.place
    alone = bool(words.opens[place.first] or _only_article_before(words, place.first))
    alone = alone and bool(words.closes[place.last])
    called = any(
        mark.group.startswith("announces") and (0 < place.first - mark.last <= 2 or 0 < mark.first - place.last <= 1)
        for mark in marks
    )
    factor = ORDINARY_ALONE if alone or called else ORDINARY_INSIDE
    return replace(hit, score=hit.score * (factor if hit.name.words == 1 else (1 + factor) / 2))


def _only_article_before(words: Words, first: int) -> bool:
    return first > 0 and bool(words.opens[first - 1]) and len(words.norm[first - 1]) <= 4


def _with_context(
    hits: list[_Hit], words: Words, sentence: np.ndarray, marks: list[Match]
) -> tuple[Mention, ...]:
    chained = _chained(hits, words)
    mentions: list[Mention] = []
    for hit, in_chain in zip(hits, chained, strict=True):
        first, last = hit.place.first, hit.place.last
        groups = _marks_near(hit, words, sentence, marks)
        if groups & {"over_before", "over_after"}:
            kind = "past"
        elif in_chain:
            kind = "demo"
        elif groups & {"announces_before", "announces_after"}:
            kind = "preview"
        else:
            kind = "plain"
        mentions.append(
            Mention(
                first=first,
                last=last,
                at_s=float(words.start_s[first]),
                end_s=float(words.end_s[last]),
                u_s=float(words.u_s[first]),
                text=words.phrase(first, last),
                moves=hit.name.moves,
                name=hit.name.text,
                score=round(min(1.0, hit.score), 4),
                exact=hit.exact,
                context=kind,  # type: ignore[arg-type]
            )
        )
    return tuple(mentions)


def _marks_near(hit: _Hit, words: Words, sentence: np.ndarray, marks: list[Match]) -> set[str]:
    """Return the groups of phrases that stand close before or after the name in its sentence."""
    first, last = hit.place.first, hit.place.last
    near: set[str] = set()
    for mark in marks:
        before = mark.last < first and first - mark.last <= NEAR_WORDS and sentence[mark.last] == sentence[first]
        after = mark.first > last and mark.first - last <= NEAR_WORDS and sentence[mark.first] == sentence[last]
        close = abs(float(words.start_s[mark.first]) - float(words.start_s[first])) <= NEAR_S
        if close and ((before and mark.group.endswith("before")) or (after and mark.group.endswith("after"))):
            near.add(mark.group)
        if close and before and mark.group == "lists":
            near.add(mark.group)
    return near


def _chained(hits: list[_Hit], words: Words) -> list[bool]:
    """Tell which hits stand in a run of at least three different moves, each soon after the one before."""
    chained = [False] * len(hits)
    run: list[int] = []

    def close() -> None:
        seen: list[set[MoveRef]] = []
        for index in run:
            moves = set(hits[index].name.moves)
            if not any(moves & other for other in seen):
                seen.append(moves)
        if len(seen) >= CHAIN_MOVES:
            for index in run:
                chained[index] = True

    for index, hit in enumerate(hits):
        if hit.score <= ORDINARY_INSIDE:
            continue
        if run and words.start_s[hit.place.first] - words.start_s[hits[run[-1]].place.first] > CHAIN_GAP_S:
            close()
            run = []
        run.append(index)
    close()
    return chained


__all__ = ["CODE_LENGTH", "spot_mentions"]
