"""Names of planned moves as they were said: spelt right, inflected, cut short, split, joined or misheard.

Two readings. Letters: stems run together and looked up. Sound: every distinct run of one to four words that holds
an unusual word is compared with every name by phones; it may stand for a name when it is alike enough for the
name's length and no other move's name is nearly as like. Where readings share words, the better one stays.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.language.patterns import Match, find
from analyzer.language.sound import CODE_LENGTH, sound_code
from analyzer.model.events import Mention, MoveRef
from analyzer.model.transcript import Ints, Words
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import Name, NameWords, name_words, names_of, stem, usual

MOST_WORDS = 4
# Least likeness (0 to 1) by the name's number of phones; short names have many neighbours. Our judgement, set on
# the published confusions in the tests: "blank" for plank and "lounge" for lunge in, "thank" and "much" out.
LIKENESS = {1: 0.97, 2: 0.95, 3: 0.88, 4: 0.82, 5: 0.76, 6: 0.74, 7: 0.72}
LIKENESS_LONG = 0.70
SUPPORT, SUPPORT_LONG = 0.17, 0.05
"""For a name of one word, of more: how much less likeness is enough where the place speaks for a name."""
WINNER_BY = 0.07
"""How much more alike the best move must be than the next best one."""
OFTEN = 8
"""A word said this often is itself, not a slip of the recogniser."""
EXACT_RANK, LONGER_RANK = 0.06, 0.16
"""Where two readings share words: what right letters are worth, and each word more of the name."""
ORDINARY_ALONE, ORDINARY_INSIDE = 0.7, 0.35
CHAIN_GAP_S, CHAIN_MOVES, CHAIN_SCORE = 12.0, 3, 0.65
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


Run = tuple[str, ...]
Runs = dict[Run, list[_Place]]


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
    keys = {name.key for name in names}
    odd = {word for word in _odd_words(context.words, data) if stem(word) not in keys}
    runs = _runs(context.words, data, keys, odd)
    marks = find(data.phrases, context.spoken)
    breaks = [bool(c) or t[-1:] in ",;:" for c, t in zip(context.words.closes, context.words.text, strict=True)]
    supported = _supported(context.words, marks, breaks)
    candidates = _spelt(runs, names) + _sounded(runs, names, supported, breaks, odd)
    hits = sorted(_apart(candidates, len(context.words)), key=lambda hit: hit.place.first)
    return _with_context([_weigh(hit, context.words, marks) for hit in hits], context.words, marks)


def _odd_words(words: Words, data: NameWords) -> set[str]:
    """Return the words that may be something else misheard: neither usual in a class nor said again and again."""
    count: dict[str, int] = {}
    for norm in words.norm:
        count[norm] = count.get(norm, 0) + 1
    return {norm for norm, times in count.items() if norm and times < OFTEN and not usual(norm, data)}


def _runs(words: Words, data: NameWords, keys: set[str], odd: set[str]) -> Runs:
    """Return the distinct runs of one to four words within a sentence, articles left out, and where they were said:
    those that may be a name, by their letters or because they hold an odd word."""
    stems = {norm: "".join([stem(part) for part in norm.split("-")]) for norm in set(words.norm)}
    starts = {key[:size] for key in keys for size in (1, 2, 3)}
    found: Runs = {}
    opens, closes = words.opens.tolist(), words.closes.tolist()
    said: list[tuple[str, int]] = []
    for index, norm in enumerate(words.norm):
        if opens[index]:
            said = []
        if norm and norm not in data.articles:
            said = [*said[1 - MOST_WORDS :], (norm, index)]
            run: Run = ()
            is_odd = False
            for size, (word, first) in enumerate(reversed(said), 1):
                run = (word, *run)
                is_odd = is_odd or word in odd
                if is_odd or stems[word][:3] in starts:
                    found.setdefault(run, []).append(_Place(first, index, size))
        if closes[index]:
            said = []
    return found


def _spelt(runs: Runs, names: tuple[Name, ...]) -> list[_Hit]:
    by_key = {name.key: name for name in names}
    hits: list[_Hit] = []
    for run, places in runs.items():
        name = by_key.get("".join([stem(part) for word in run for part in word.split("-")]))
        if name is not None:
            hits.extend(_Hit(place, name, name.weight, True) for place in places)
    return hits


def _apart(hits: list[_Hit], n: int) -> list[_Hit]:
    """Keep hits that share no word, the better first: the score, more for right letters and for longer names."""
    taken = np.zeros(n, dtype=np.bool_)
    kept: list[_Hit] = []

    def rank(hit: _Hit) -> tuple[float, int, int]:
        worth = hit.score + EXACT_RANK * hit.exact + LONGER_RANK * (hit.name.words - 1)
        return -worth, hit.place.size, hit.place.first

    for hit in sorted(hits, key=rank):
        span = slice(hit.place.first, hit.place.last + 1)
        if not taken[span].any():
            taken[span] = True
            kept.append(hit)
    return kept


def _sounded(
    runs: Runs,
    names: tuple[Name, ...],
    supported: Callable[[_Place], bool],
    breaks: list[bool],
    odd: set[str],
) -> list[_Hit]:
    def inner_break(place: _Place) -> bool:
        return any(breaks[place.first : place.last])

    hits: list[_Hit] = []
    for size in range(1, MOST_WORDS + 1):
        rows = [(code, n) for n, name in enumerate(names) if abs(name.words - size) <= 1 for code in name.codes if code]
        some = [run for run in runs if len(run) == size and not odd.isdisjoint(run)]
        if not rows or not some:
            continue
        heard = ["".join([sound_code(word) for word in run]) for run in some]
        codes = [code for code, _ in rows]
        floor = LIKENESS[5] - SUPPORT
        grid = cdist(heard, codes, scorer=Levenshtein.normalized_similarity, score_cutoff=floor, dtype=np.float32)
        owners = [n for _, n in rows]
        for row in np.flatnonzero(grid.max(axis=1) > 0).tolist():
            best = _best(grid[row], owners, names)
            if best >= 0:
                name = names[owners[best]]
                places = [place for place in runs[some[row]] if not inner_break(place)]
                phones = len(codes[best]) // CODE_LENGTH
                hits.extend(_placed(name, phones, float(grid[row, best]), places, supported))
    return hits


def _best(scores: npt.NDArray[np.float32], owners: list[int], names: tuple[Name, ...]) -> int:
    """Return the column of the most alike name, -1 when another move's name is nearly as alike."""
    order = np.argsort(-scores, kind="stable")
    winner = set(names[owners[order[0]]].moves)
    for place in order[1:]:
        if scores[place] < scores[order[0]] - WINNER_BY:
            break
        if not winner & set(names[owners[place]].moves):
            return -1
    return int(order[0])


def _placed(
    name: Name, phones: int, likeness: float, places: list[_Place], supported: Callable[[_Place], bool]
) -> list[_Hit]:
    """Return where the run may stand for the name, given how alike it is and what speaks for a name there."""
    single = name.words == 1
    limit = LIKENESS.get(phones, LIKENESS_LONG)
    easier = limit - (SUPPORT if single else SUPPORT_LONG)
    if single and name.ordinary:
        limit, easier = 1.01, limit  # an ordinary word is believed misheard only where a name is expected
    if likeness < easier:
        return []
    score = likeness * name.weight
    return [_Hit(p, name, score, False) for p in places if likeness >= limit or supported(p)]


def _supported(words: Words, marks: list[Match], breaks: list[bool]) -> Callable[[_Place], bool]:
    """Return what tells whether a place speaks for a name: said alone between breaks, or after "next" and the like."""
    announced = np.zeros(len(words) + 4, dtype=np.bool_)
    for mark in marks:
        if mark.group in ("announces_before", "lists"):
            announced[mark.last + 1 : mark.last + 4] = True
    opens = words.opens

    def supported(place: _Place) -> bool:
        before = bool(opens[place.first]) or (place.first > 0 and bool(opens[place.first - 1]))
        return bool(announced[place.first]) or (before and breaks[place.last])

    return supported


def _weigh(hit: _Hit, words: Words, marks: list[Match]) -> _Hit:
    """Lower the score of a name made of ordinary words unless the place shows that it is meant as a name."""
    if not hit.name.ordinary:
        return hit
    first, last = hit.place.first, hit.place.last
    begins = bool(words.opens[first]) or (first > 0 and bool(words.opens[first - 1]) and len(words.norm[first - 1]) < 5)
    alone = begins and bool(words.closes[last])
    low = bisect_left(marks, first - 12, key=lambda mark: mark.first)
    called = any(
        mark.group.startswith(("announces", "lists")) and (0 < first - mark.last <= 2 or 0 < mark.first - last <= 1)
        for mark in marks[low : low + 24]
    )
    factor = ORDINARY_ALONE if alone or called else ORDINARY_INSIDE
    return replace(hit, score=hit.score * (factor if hit.name.words == 1 else (1 + factor) / 2))


def _with_context(hits: list[_Hit], words: Words, marks: list[Match]) -> tuple[Mention, ...]:
    chained = _chained(hits, words)
    sentence: Ints = np.cumsum(words.opens, dtype=np.int64)
    mentions: list[Mention] = []
    for hit, in_chain in zip(hits, chained, strict=True):
        first, last = hit.place.first, hit.place.last
        near = _nearest_mark(first, last, words, sentence, marks)
        kind: Literal["plain", "preview", "demo", "past"] = "plain"
        if near.startswith("over"):
            kind = "past"
        elif in_chain or near == "lists":
            kind = "demo"
        elif near:
            kind = "preview"
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
                context=kind,
            )
        )
    return tuple(mentions)


def _nearest_mark(first: int, last: int, words: Words, sentence: Ints, marks: list[Match]) -> str:
    """Return the group of the closest phrase before or after the name in its sentence, "" where there is none."""
    best, group = NEAR_WORDS + 1, ""
    low = bisect_left(marks, first - 3 * NEAR_WORDS, key=lambda mark: mark.first)
    for mark in marks[low:]:
        if mark.first > last + NEAR_WORDS:
            break
        if mark.last < first and not mark.group.endswith("after"):
            gap = first - mark.last
        elif mark.first > last and mark.group.endswith("after"):
            gap = mark.first - last
        else:
            continue
        same = sentence[mark.first] == sentence[first]
        soon = abs(float(words.start_s[mark.first] - words.start_s[first])) <= NEAR_S
        if gap < best and same and soon:
            best, group = gap, mark.group
    return group


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
        if hit.score < CHAIN_SCORE:
            continue
        if run and words.start_s[hit.place.first] - words.start_s[hits[run[-1]].place.first] > CHAIN_GAP_S:
            close()
            run = []
        run.append(index)
    close()
    return chained
