"""Hints of an easier option that no phrase gives away: the plan's own option words, said where they would help.

A hint never counts as an offer. It only keeps a check from claiming that nothing was offered.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import yaml

from analyzer.checks.context import CheckContext
from analyzer.checks.hearing import hears_clearly, sounds_within
from analyzer.checks.places import Worked, near, worked_intervals
from analyzer.language import current_language, load_language
from analyzer.model.plan import Move
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


@lru_cache(maxsize=2)
def _sentences(context: CheckContext) -> tuple[tuple[int, int], ...]:
    """Return (first, last) word indexes of every sentence."""
    opens = np.flatnonzero(context.transcript.words.opens).tolist()
    size = len(context.transcript.words)
    if not size:
        return ()
    starts = opens if opens and opens[0] == 0 else [0, *opens]
    return tuple(zip(starts, [*(s - 1 for s in starts[1:]), size - 1], strict=True))


@lru_cache(maxsize=2)
def _mishears(context: CheckContext) -> bool:
    return bool(context.events.mentions) and not hears_clearly(context.events)


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
    harder = [(o.first, o.last) for o in context.events.options if o.direction == "harder"]
    words = context.transcript.words
    misheard = _mishears(context)
    start = rows[0].start_s
    before = (r.end_s for r in near(worked_intervals(context), start) if r.end_s <= start)
    low = max(before, default=0.0) - 2 * rows[0].start_u
    high = rows[-1].end_s + 2 * rows[-1].end_u
    out = []
    sentences = _sentences(context)
    begin, stop = (
        bisect_left(sentences, t, key=lambda s: words.start_s[s[0]]) for t in (low - FARTHEST_S, high + FARTHEST_S)
    )
    for first, last in sentences[begin:stop]:
        at, u = float(words.start_s[first]), float(words.u_s[first])
        if not low - 2 * u <= at <= high + 2 * u:
            continue
        if any(a <= last and first <= b for a, b in harder):
            continue
        norms = words.norm[first : last + 1]
        said = [part for norm in norms for part in norm.split("-")]
        heard = [part for norm in norms for part in stems_of(norm)]
        stems = set(heard)
        share = max((len(option & stems) / len(option) for option in asked), default=0.0)
        whole = any(len(option) > 1 and option <= stems for option in asked)
        whole = whole or any(_in_full(heard, option) for option in in_full)
        whole = whole or (misheard and any(sounds_within(said, text, ALIKE) is not None for text in move.easier))
        if whole or not ease.isdisjoint(said) or (share >= HALF and not choice.isdisjoint(said)):
            out.append(Hint(at, u, words.phrase(first, last)))
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
