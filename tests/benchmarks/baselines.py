"""Three plain ways to place a plan on a recording, to compare the aligner with on the same inputs.

``nearest name``: every caption gets the planned name it resembles most; left to right, an interval starts where its
name is next heard, and lasts its planned work. ``time warping``: dynamic time warping of the plan's names against the
captions (cost = 1 - similarity, the ``dtw-python`` library). ``plan's clock``: the run sheet as planned, shifted as a
whole by the median shift to the nearest names. None of them knows how sure it is.
"""

from __future__ import annotations

import contextlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from statistics import median
from types import SimpleNamespace
from typing import Any

import numpy as np
from rapidfuzz import fuzz

from analyzer.model.audit import Alignment, Interval
from analyzer.model.plan import Plan, Schedule
from analyzer.model.transcript import Transcript

ALIKE = 80.0  # of 100: from here a caption is taken to hold a name
NAN = float("nan")


@dataclass(frozen=True)
class Likeness:
    """``score`` (names, captions) from 0 to 100, and ``at_s`` of the same shape: when the likest words start."""

    score: np.ndarray
    at_s: np.ndarray
    of_interval: tuple[int, ...]
    """Row of each planned interval: intervals of one name share it."""


def likeness(transcript: Transcript, plan: Plan, schedule: Schedule) -> Likeness:
    """Return how much every caption resembles every name; a time inside a caption is linear in its letters."""
    rows: dict[tuple[str, ...], int] = {}
    of_interval = []
    for p in schedule.intervals:
        move = plan.blocks[p.block].moves[p.move]
        names = tuple(name.lower() for name in (move.name, *move.also))
        of_interval.append(rows.setdefault(names, len(rows)))
    captions = transcript.captions
    ends = [c.start_ms for c in captions[1:]] + [round(transcript.duration_s * 1000)]
    score = np.zeros((len(rows), len(captions)))
    at_s = np.zeros_like(score)
    for j, (caption, following) in enumerate(zip(captions, ends, strict=True)):
        text = caption.text.lower()
        stop = max(caption.start_ms, caption.end_ms if caption.end_ms is not None else following)
        for names, i in rows.items():
            hits = [fuzz.partial_ratio_alignment(name, text) for name in names if len(name) <= len(text)]
            best = max((hit for hit in hits if hit is not None), key=lambda hit: hit.score, default=None)
            share = 0.0 if best is None else best.dest_start / max(1, len(text))
            score[i, j] = 0.0 if best is None else best.score
            at_s[i, j] = (caption.start_ms + share * (stop - caption.start_ms)) / 1000
    return Likeness(score, at_s, tuple(of_interval))


def nearest_name(like: Likeness, schedule: Schedule) -> list[float | None]:
    """Return the start of every planned interval, seconds, or None where its name is not heard any more."""
    best = like.score.argmax(axis=0)
    loud = like.score.max(axis=0) >= ALIKE
    starts: list[float | None] = []
    behind = -1
    for row in like.of_interval:
        hits = np.flatnonzero((best == row) & loud)
        hits = hits[hits > behind]
        starts.append(float(like.at_s[row, hits[0]]) if len(hits) else None)
        behind = int(hits[0]) if len(hits) else behind
    return starts


@cache
def _warp() -> Callable[..., Any]:
    with contextlib.redirect_stdout(io.StringIO()):  # the library greets on import
        from dtw import dtw
    return dtw


def time_warping(like: Likeness, schedule: Schedule) -> list[float | None]:
    """Return the start of every planned interval: where the cheapest warping first enters it."""
    cost = 1 - like.score[list(like.of_interval)] / 100
    path = _warp()(np.ascontiguousarray(cost), step_pattern="symmetric1")
    starts: list[float | None] = [None] * len(schedule.intervals)
    for i, j in zip(path.index1.tolist(), path.index2.tolist(), strict=True):
        if starts[i] is None:
            starts[i] = float(like.at_s[like.of_interval[i], j])
    return starts


def plans_clock(like: Likeness, schedule: Schedule) -> list[float | None]:
    """Return the planned starts, all shifted by the median distance to the nearest names."""
    heard = nearest_name(like, schedule)
    shifts = [at - p.start_s for at, p in zip(heard, schedule.intervals, strict=True) if at is not None]
    shift = median(shifts) if shifts else 0.0
    return [p.start_s + shift for p in schedule.intervals]


BASELINES: dict[str, Callable[[Likeness, Schedule], list[float | None]]] = {
    "nearest name": nearest_name,
    "time warping": time_warping,
    "plan's clock": plans_clock,
}


def placed_by(name: str, like: Likeness, plan: Plan, schedule: Schedule) -> SimpleNamespace:
    """Return what a tally needs of an audit (``alignment`` and ``plan``), placed by a baseline; u is unknown (nan)."""
    intervals = []
    for p, start in zip(schedule.intervals, BASELINES[name](like, schedule), strict=True):
        block = plan.blocks[p.block]
        known = (str(p.index), p.index, block.name, p.round, block.moves[p.move].name, p.side)
        if start is None:
            intervals.append(Interval(*known, "missing"))
        else:
            intervals.append(Interval(*known, "worked", start, start + p.work_s, NAN, NAN, NAN))
    return SimpleNamespace(alignment=Alignment(tuple(intervals)), plan=plan)
