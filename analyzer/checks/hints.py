"""Hints of an easier option that no phrase gives away: the plan's own option words, said where they would help.

A hint never counts as an offer. It only keeps a check from claiming that nothing was offered.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import yaml

from analyzer.checks.context import CheckContext
from analyzer.checks.hearing import mishears, sounds_within
from analyzer.checks.places import Worked, near, worked_intervals
from analyzer.language import current_language, load_language
from analyzer.model.plan import Move
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.names import split_words, stem, stems_of

FARTHEST_S = 60.0  # no uncertainty of a word reaches further
ALIKE = 0.76  # our judgement: in a misheard transcript, words that sound this much like an option may be it
HALF = 0.5  # our judgement: this much of a planned option beside a word of choice is a hint; all of it always is


@dataclass(frozen=True, slots=True)
class Hint:
    """Words that may have offered a planned option: onset, its standard uncertainty, the words."""

    at_s: float
    u_s: float
    text: str


def hint_words(group: str, code: str | None = None) -> frozenset[str]:
    """Return a group of single words of a language's ``hints.yaml``; read once a process."""
    return _hint_words(group, code or current_language())


@cache
def _hint_words(group: str, code: str) -> frozenset[str]:
    text = (load_language(code).folder / "hints.yaml").read_text(encoding="utf-8")
    return frozenset(yaml.load(text, Loader=yaml.BaseLoader)[group])


@dataclass(frozen=True, slots=True, eq=False)
class _Sentences:
    """Sentences as parallel arrays: first and last word, onset and its standard uncertainty, seconds."""

    first: Ints
    last: Ints
    at_s: Floats
    u_s: Floats

    def within(self, low_s: float, high_s: float) -> list[tuple[int, int]]:
        """Return first and last word of those that may start between two times."""
        begin, stop = np.searchsorted(self.at_s, [low_s - FARTHEST_S, high_s + FARTHEST_S]).tolist()
        at_s, slack_s = self.at_s[begin:stop], 2 * self.u_s[begin:stop]
        some = begin + np.flatnonzero((low_s - slack_s <= at_s) & (at_s <= high_s + slack_s))
        return list(zip(self.first[some].tolist(), self.last[some].tolist(), strict=True))


@lru_cache(maxsize=2)
def _sentences(context: CheckContext) -> _Sentences:
    """Return every sentence that holds no word of the offer of a harder way."""
    words = context.transcript.words
    opens, harder = words.opens.copy(), np.zeros(len(words), dtype=np.bool_)
    opens[:1] = True
    for offer in context.events.options:
        if offer.direction == "harder":
            harder[offer.first : offer.last + 1] = True
    first = np.flatnonzero(opens)
    last = np.append(first, len(words))[1:] - 1
    free = ~np.logical_or.reduceat(harder, first)
    first, last = first[free], last[free]
    return _Sentences(first, last, words.start_s[first], words.u_s[first])


def option_hints(
    context: CheckContext, move: Move, rows: tuple[Worked, ...], code: str | None = None
) -> tuple[Hint, ...]:
    """Return the sentences from the gap before ``rows`` to their end that may offer an easier option of a move.

    They hold a word that speaks of an easier way by itself; or all the content words of an option that the plan
    foresees, or half of them beside a word that leaves a choice ("or", "also", "can"); or, where the transcript
    mishears, what sounds like such an option. What was spotted as the offer of a harder way is none.
    """
    code = code or current_language()
    choice, ease = (hint_words(group, code) for group in ("choice", "ease"))
    asked, in_full = _asked(move.easier, code)
    words = context.transcript.words
    misheard = mishears(context)
    start = rows[0].start_s
    before = (r.end_s for r in near(worked_intervals(context), start) if r.end_s <= start)
    low = max(before, default=0.0) - 2 * rows[0].start_u
    high = rows[-1].end_s + 2 * rows[-1].end_u
    out = []
    for first, last in _sentences(context).within(low, high):
        norms = words.norm[first : last + 1]
        said = [part for norm in norms for part in norm.split("-")]
        heard = [part for norm in norms for part in stems_of(norm)]
        stems = set(heard)
        share = max((len(option & stems) / len(option) for option in asked), default=0.0)
        whole = any(len(option) > 1 and option <= stems for option in asked)
        whole = whole or any(_in_full(heard, option) for option in in_full)
        whole = whole or (misheard and any(sounds_within(said, text, ALIKE) is not None for text in move.easier))
        if whole or not ease.isdisjoint(said) or (share >= HALF and not choice.isdisjoint(said)):
            out.append(Hint(float(words.start_s[first]), float(words.u_s[first]), words.phrase(first, last)))
    return tuple(out)


@lru_cache(maxsize=256)
def _asked(options: tuple[str, ...], code: str) -> tuple[list[frozenset[str]], list[list[str]]]:
    """Return the stems of each option, small words left out; and, of those of two words or more, all stems in order."""
    words = [split_words(text) for text in options]
    small = hint_words("small", code)
    asked = [frozenset(stem(w) for w in some if w not in small) for some in words]
    return [stems for stems in asked if stems], [[stem(w) for w in some] for some in words if len(some) > 1]


def _in_full(heard: list[str], option: list[str]) -> bool:
    """Return True when all stems of an option are said one after the other, small words and all ("stay tall")."""
    size = len(option)
    return option[0] in heard and any(heard[at : at + size] == option for at in range(len(heard) - size + 1))


def in_time(hint: Hint, rows: tuple[Worked, ...], share: float) -> bool:
    """Return True when a hint may fall before ``share`` of the rows' work is done."""
    left = share * sum(r.length_s for r in rows)
    for row in rows:
        if left <= row.length_s:
            return hint.at_s - 2 * math.hypot(hint.u_s, row.start_u) <= row.start_s + left
        left -= row.length_s
    return hint.at_s <= rows[-1].end_s
