"""Names of planned moves as they were said: spelt right, inflected, cut short, split, joined or misheard.

Two readings. Letters: stems run together and looked up. Sound: every distinct run of one to four words that holds
an unusual word is compared with every name by phones; it may stand for a name when it is alike enough for the
name's length and no other move's name is nearly as like. Where readings share words, the better one stays.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.language.patterns import Match, find
from analyzer.language.sound import CODE_LENGTH, sound_code
from analyzer.model.events import Mention, MoveRef
from analyzer.model.plan import Plan
from analyzer.model.transcript import Ints, Words
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import Name, NameWords, name_words, names_of, stem, stems_of, usual

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


Said = tuple[str, int]
"""A word, and its index."""
END: Said = ("", -1)
Runs = dict[tuple[str, ...], list[int]]


@dataclass(frozen=True, eq=False)
class _Sought:
    """The names of a plan, made ready to be looked for. ``sharing`` True where two names are of one move."""

    names: tuple[Name, ...]
    by_key: Mapping[str, Name]
    beginnings: frozenset[str]
    sharing: npt.NDArray[np.bool_]
    sounds: tuple[tuple[list[str], Ints], ...]
    """For runs of one, two, three, four words: codes of names about as long, and each code's name."""


@lru_cache(maxsize=32)
def _sought(plan: Plan, data: NameWords, heads: bool) -> _Sought:
    """Make a plan's names ready; the last plans' are kept."""
    names = names_of(plan, data, heads)
    moves = {move: at for at, move in enumerate({move for name in names for move in name.moves})}
    of_move = np.zeros((len(names), len(moves)), dtype=np.bool_)
    for at, name in enumerate(names):
        of_move[at, [moves[move] for move in name.moves]] = True
    sounds: list[tuple[list[str], Ints]] = []
    for size in range(1, MOST_WORDS + 1):
        rows = [(code, n) for n, name in enumerate(names) if abs(name.words - size) <= 1 for code in name.codes if code]
        sounds.append(([code for code, _ in rows], np.array([n for _, n in rows], dtype=np.int64)))
    return _Sought(
        names=names,
        by_key={name.key: name for name in names},
        beginnings=frozenset(name.key[:size] for name in names for size in range(1, len(name.key) + 1)),
        sharing=of_move @ of_move.T,
        sounds=tuple(sounds),
    )


def spot_mentions(context: SpotContext, heads: bool = True) -> tuple[Mention, ...]:
    """Return the names of planned moves that were said, by time; without a plan none.

    Without ``heads`` the last word of a longer name ("lunge") does not stand for all of it.
    Words never stand in two mentions. Cost grows with the distinct runs of words times the names.
    """
    if not context.plan.blocks or not len(context.words):
        return ()
    data = name_words(context.language.code)
    sought = _sought(context.plan, data, heads)
    if not sought.names:
        return ()
    words = context.words
    odd = {word for word in _odd_words(words, data) if stem(word) not in sought.by_key}
    said = _said(words, data)
    marks = find(data.phrases, context.spoken)
    breaks = [closed or text[-1:] in ",;:" for closed, text in zip(words.closes.tolist(), words.text, strict=True)]
    supported = _supported(words, marks, breaks)
    candidates = _spelt(said, sought) + _sounded(said, odd, sought, supported, breaks)
    hits = sorted(_apart(candidates, len(words)), key=lambda hit: hit.place.first)
    return _with_context([_weigh(hit, words, marks) for hit in hits], context, marks)


def _odd_words(words: Words, data: NameWords) -> set[str]:
    """Return the words that may be something else misheard: neither usual in a class nor said again and again."""
    count = Counter(words.norm)
    return {norm for norm, times in count.items() if norm and times < OFTEN and not usual(norm, data)}


def _said(words: Words, data: NameWords) -> list[Said]:
    """Return the words without articles, each sentence ended by a word of no letters."""
    said: list[Said] = []
    opens, closes = words.opens.tolist(), words.closes.tolist()
    for index, norm in enumerate(words.norm):
        if opens[index]:
            said.append(END)
        if norm and norm not in data.articles:
            said.append((norm, index))
        if closes[index]:
            said.append(END)
    return [END, *said, END]


def _spelt(said: list[Said], sought: _Sought) -> list[_Hit]:
    """Return where a name's stems were said, however they were run together or split."""
    by_key, beginnings = sought.by_key, sought.beginnings
    stems = {norm: "".join(stems_of(norm)) for norm in dict(said)}
    starting = {norm for norm, key in stems.items() if key in beginnings}
    hits: list[_Hit] = []
    for at in [at for at, (norm, _) in enumerate(said) if norm in starting]:
        key = ""
        for size, (norm, last) in enumerate(said[at : at + MOST_WORDS], 1):
            key += stems[norm]
            if not norm or key not in beginnings:
                break
            name = by_key.get(key)
            if name is not None:
                hits.append(_Hit(_Place(said[at][1], last, size), name, name.weight, True))
    return hits


def _odd_runs(said: list[Said], odd: set[str]) -> list[Runs]:
    """Return the distinct runs of one, two, three, four words of a sentence that hold an odd word, and where in
    ``said`` each starts."""
    found: list[Runs] = [{} for _ in range(MOST_WORDS)]
    words = tuple([norm for norm, _ in said])
    after = 0
    for place in [at for at, norm in enumerate(words) if norm in odd]:
        start = place
        while words[start] and start > max(after, place - MOST_WORDS):
            for size in range(place - start + 1, MOST_WORDS + 1):
                run = words[start : start + size]
                if not run[-1]:
                    break
                found[size - 1].setdefault(run, []).append(start)
            start -= 1
        after = place
    return found


def _apart(hits: list[_Hit], n: int) -> list[_Hit]:
    """Keep hits that share no word, the better first: the score, more for right letters and for longer names."""
    taken = [False] * n
    kept: list[_Hit] = []

    def rank(hit: _Hit) -> tuple[float, int, int]:
        worth = hit.score + EXACT_RANK * hit.exact + LONGER_RANK * (hit.name.words - 1)
        return -worth, hit.place.size, hit.place.first

    for hit in sorted(hits, key=rank):
        first, last = hit.place.first, hit.place.last
        if True not in taken[first : last + 1]:
            taken[first : last + 1] = [True] * (last + 1 - first)
            kept.append(hit)
    return kept


def _sounded(
    said: list[Said],
    odd: set[str],
    sought: _Sought,
    supported: Callable[[_Place], bool],
    breaks: list[bool],
) -> list[_Hit]:
    """Return where a name may have been misheard, nowhere across a break."""
    hits: list[_Hit] = []
    spoken = {norm: sound_code(norm) for norm in dict(said)}
    for size, some in enumerate(_odd_runs(said, odd), 1):
        codes, owners = sought.sounds[size - 1]
        if not codes or not some:
            continue
        heard = ["".join([spoken[norm] for norm in run]) for run in some]
        floor = LIKENESS[5] - SUPPORT
        grid = cdist(heard, codes, scorer=Levenshtein.normalized_similarity, score_cutoff=floor, dtype=np.float32)
        starts = list(some.values())
        for row, column in _clear(grid, owners, sought.sharing):
            phones = len(codes[column]) // CODE_LENGTH
            places = [_Place(said[at][1], said[at + size - 1][1], size) for at in starts[row]]
            whole = [place for place in places if not any(breaks[place.first : place.last])]
            hits.extend(_placed(sought.names[owners[column]], phones, float(grid[row, column]), whole, supported))
    return hits


def _clear(grid: npt.NDArray[np.float32], owners: Ints, sharing: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return row and column of the most alike name of each row, where no other move's name is nearly as alike."""
    rows = np.flatnonzero(grid.max(axis=1) > 0)
    grid = grid[rows]
    best = grid.argmax(axis=1)
    near = grid >= grid.max(axis=1, keepdims=True) - WINNER_BY
    rival = (near & ~sharing[owners[best]][:, owners]).any(axis=1)
    return list(zip(rows[~rival].tolist(), best[~rival].tolist(), strict=True))


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


def _with_context(hits: list[_Hit], context: SpotContext, marks: list[Match]) -> tuple[Mention, ...]:
    words = context.words
    chained = _chained(hits, words)
    sentence = np.cumsum(words.opens).tolist()
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
                *context.place(first, last),
                moves=hit.name.moves,
                name=hit.name.text,
                score=round(min(1.0, hit.score), 4),
                exact=hit.exact,
                context=kind,
            )
        )
    return tuple(mentions)


def _nearest_mark(first: int, last: int, words: Words, sentence: list[int], marks: list[Match]) -> str:
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
        if gap >= best or sentence[mark.first] != sentence[first]:
            continue
        if abs(words.start_s[mark.first] - words.start_s[first]) <= NEAR_S:
            best, group = gap, mark.group
    return group


def _named_again(hits: list[_Hit]) -> bool:
    """Tell whether the last hit names a move that was named before, with another move between."""
    moves = set(hits[-1].name.moves)
    same = [bool(moves & set(hit.name.moves)) for hit in hits[:-1]]
    return True in same and False in same[same.index(True) :]


def _chained(hits: list[_Hit], words: Words) -> list[bool]:
    """Tell which hits stand in a run of at least three different moves, each soon after the one before.

    A move named again after another one is no longer being listed: it is about to be done.
    """
    chained = [False] * len(hits)
    run: list[int] = []

    def close() -> None:
        seen: list[set[MoveRef]] = []
        for index in run:
            moves = set(hits[index].name.moves)
            if not any(moves & other for other in seen):
                seen.append(moves)
        if len(seen) >= CHAIN_MOVES:
            for place, index in enumerate(run):
                chained[index] = not _named_again([hits[i] for i in run[: place + 1]])

    for index, hit in enumerate(hits):
        if hit.score < CHAIN_SCORE:
            continue
        if run and words.start_s[hit.place.first] - words.start_s[hits[run[-1]].place.first] > CHAIN_GAP_S:
            close()
            run = []
        run.append(index)
    close()
    return chained
