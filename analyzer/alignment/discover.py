"""Where work lies in a recording that has no plan, as stretches; which move each is, ``naming`` tells.

The same boundaries and the same evidence as with a plan (:mod:`analyzer.alignment.candidates`, ``evidence``), another
set of states: work on any of the moves heard, or on one nobody named; its second side; the gaps between. Lengths are
first free, then drawn to those the recording itself keeps: a class has few lengths of work and repeats them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from analyzer.alignment.candidates import Candidates, find_candidates
from analyzer.alignment.evidence import WEIGHTS, half_pairs, name_evidence, names_heard, shared_evidence, side_evidence
from analyzer.alignment.lengths import ONE_CHANGE_S
from analyzer.alignment.priors import BACKGROUND_S
from analyzer.model.events import Events
from analyzer.model.plan import Side
from analyzer.model.transcript import Floats, Ints, Transcript

SHORTEST_S, LONGEST_S = 8.0, 240.0
"""Work shorter or longer than this is not looked for (common practice, no source)."""
USUAL_S, USUAL_SPREAD = 40.0, 0.65
"""Lengths of work before any is known: log-normal about 40 s (common practice, no source)."""
KEPT_S = 1.5
"""Standard deviation of a length the class keeps."""
FREE_SHARE = 0.45
"""Share of work that keeps none of the lengths found."""
PASSES = 3
REST_S, TALK_S, TALK_SHARE = 10.0, 45.0, 0.3
"""Mean of a rest, of a gap with talk in it, and the share of those."""
EDGE_S = 40.0
"""Mean of what is said before the first work and after the last, as in the written classes."""
SWITCH_S = 25.0
"""Longest way from one side to the other."""
UNNAMED = -1.5
"""Work that no name opens, in nats (as ``name_absent`` of the weights)."""
SIDED = replace(WEIGHTS, second_unmarked=-3.0)
"""Where no plan says that a move has sides, a second one that nothing marks is hardly one."""
STEP_S = 0.25
GRID_S = np.arange(0.0, LONGEST_S + STEP_S, STEP_S)
EACH, MORE = 1.0, 2.0
"""A further stretch of work, in nats: what evidence need not pay for it; in a class that marks little of its work."""
LITTLE_WORK = 0.45
"""A class of which less than this share is found to be work marks little of it (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Work found. ``second`` True for a second side; ``sure_nats`` what it is worth over a gap in its place."""

    start_s: float
    end_s: float
    side: Side | None
    second: bool
    sure_nats: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """Evidence over candidates (m) and names (k, the last one for work that nobody names), nats."""

    at: Candidates
    start: Floats
    """Work on each move begins here: (k, m)."""
    again: Floats
    """Its second side begins here: (m,)."""
    end: Floats
    inside: Floats
    """Running sums for stretches of work on each move: (k, m)."""
    gap: Floats
    lands: Floats
    """What a count gives a start that lands there: (m,)."""
    half: tuple[tuple[slice, slice, Floats], ...]

    @property
    def moves(self) -> int:
        return len(self.start)


@dataclass(frozen=True, slots=True, eq=False)
class _Path:
    """Best scores so far and where they came from: work that ends (m, k), a gap that ends (m,), a switch (m, k)."""

    work: Floats
    work_from: Ints
    work_second: npt.NDArray[np.bool_]
    gap: Floats
    gap_from: Ints
    switch: Floats
    switch_from: Ints

    @classmethod
    def empty(cls, m: int, k: int) -> _Path:
        low, none = np.full((m, k), -np.inf), np.full((m, k), -1, dtype=np.int64)
        return cls(
            low, none, np.zeros((m, k), dtype=np.bool_), low[:, 0].copy(), none[:, 0].copy(), low.copy(), none.copy()
        )


def discover(transcript: Transcript, moves: int, events: Events) -> tuple[Stretch, ...]:
    """Return the stretches of work of a recording, in order; empty where nothing was said.

    Linear in the length of the recording; ``moves`` is the number of moves in the one block of the plan that
    ``events`` were spotted with.
    """
    if not len(transcript.words):
        return ()
    every = find_candidates(transcript, events)
    field = _field(every.only(every.anchors()), transcript, moves, events)
    found: list[Stretch] = []
    for each in (EACH, MORE):
        found = _settled(field, events, each)
        if sum(stretch.end_s - stretch.start_s for stretch in found) >= LITTLE_WORK * transcript.class_s:
            break
    return tuple(found)


def _settled(field: _Field, events: Events, each: float) -> list[Stretch]:
    """Return the stretches once their own lengths and gaps have told what to expect."""
    found: list[Stretch] = []
    for _ in range(PASSES):
        work = np.array([stretch.end_s - stretch.start_s for stretch in found])
        gaps = np.array([after.start_s - before.end_s for before, after in pairwise(found) if not after.second])
        found = _best(field, events, _length_log(work) + each, _gap_log(gaps))
    return found


def _field(at: Candidates, transcript: Transcript, moves: int, events: Events) -> _Field:
    shared = shared_evidence(at, transcript, events, LONGEST_S)
    heard = names_heard(at, events.mentions)
    names = [name_evidence(at, events.mentions, (0, k), heard) for k in range(moves)]
    start = np.stack([*(name.start for name in names), UNNAMED + heard.start])
    inside = np.stack([*(name.inside for name in names), heard.inside])
    sides = np.max([side_evidence(at, events, side, True, SIDED) for side in ("left", "right")], axis=0)
    half: list[tuple[slice, slice, Floats]] = []
    half_pairs(at, events.calls, lambda b, c, bonus: half.append((b, c, bonus)))
    return _Field(
        at,
        start + shared.start,
        shared.start + sides,
        shared.end,
        inside + shared.inside,
        shared.gap_inside,
        shared.lands,
        tuple(half),
    )


def _length_log(kept_s: Floats) -> Floats:
    """Return the log density of lengths of work over the grid, nats over the background; ``kept_s`` lengths found."""
    length = np.maximum(GRID_S, STEP_S)
    free = np.exp(-0.5 * np.square(np.log(length / USUAL_S) / USUAL_SPREAD))
    free /= length * USUAL_SPREAD * np.sqrt(2.0 * np.pi)
    density: Floats = np.log(BACKGROUND_S * _drawn_to(free, kept_s))
    return density


def _gap_log(kept_s: Floats) -> Floats:
    """Return the same of gaps."""
    rest = (1.0 - TALK_SHARE) * np.exp(-GRID_S / REST_S) / REST_S
    talk = TALK_SHARE * np.exp(-GRID_S / TALK_S) / TALK_S
    density: Floats = np.log(BACKGROUND_S * _drawn_to(rest + talk, kept_s))
    return density


def _edge(length_s: float) -> float:
    """Return the log density of the time before the first work or after the last, nats over that of none."""
    return -length_s / EDGE_S


def _drawn_to(free: Floats, kept_s: Floats) -> Floats:
    """Return a density drawn to the lengths that were found."""
    if not len(kept_s):
        return free
    bells: Floats = np.exp(-0.5 * np.square((GRID_S[:, None] - kept_s) / KEPT_S)).mean(axis=1)
    bells /= KEPT_S * np.sqrt(2 * np.pi)
    return FREE_SHARE * free + (1.0 - FREE_SHARE) * bells


def _on_grid(length_s: Floats) -> Ints:
    on: Ints = np.rint(length_s / STEP_S).astype(np.int64)
    return on


def _best(field: _Field, events: Events, lengths: Floats, gaps: Floats) -> list[Stretch]:
    """Return the best path as stretches, in order; ``lengths`` and ``gaps`` log densities over the grid."""
    at, time = field.at, field.at.time_s
    m, names = len(at), np.arange(field.moves)
    path = _Path.empty(m, field.moves)
    finish, final = float(field.gap[-1] - field.gap[0]) + 2.0 * _edge(time[-1] - time[0]), -1
    for c in range(m):
        low, near, high = np.searchsorted(time, [time[c] - LONGEST_S, time[c] - SWITCH_S, time[c] - SHORTEST_S])
        _open(path, field, gaps, c, int(near))
        b = np.arange(low, high)
        b = b[at.edge[b] < at.edge[c]]
        if not len(b):
            continue
        length = lengths[_on_grid(time[c] - time[b])]
        for rows, columns, bonus in field.half:
            if columns.start <= c < columns.stop:
                here = (b >= rows.start) & (b < rows.stop)
                length[here] += bonus[b[here] - rows.start, c - columns.start]
        first = path.gap[b] + field.start[:, b]
        second = path.switch[b].T + field.again[b]
        score = np.maximum(first, second) - field.inside[:, b] + length
        best = score.argmax(axis=1)
        path.work[c] = score[names, best] + field.inside[:, c] + field.end[c]
        path.work_from[c] = b[best]
        path.work_second[c] = (second > first)[names, best]
        closing = float(path.work[c].max()) - field.gap[c] + field.gap[-1] + _edge(time[-1] - time[c])
        if closing > finish:
            finish, final = closing, c
    return _walk(path, field, events, final, lengths, gaps)


def _open(path: _Path, field: _Field, gaps: Floats, b: int, near: int) -> None:
    """Fill in the best gap and the best switch that end at a candidate."""
    time = field.at.time_s
    path.gap[b] = field.gap[b] - field.gap[0] + _edge(time[b] - time[0])
    low = int(np.searchsorted(time, time[b] - LONGEST_S))
    if b == low:
        return
    before = np.arange(low, b)
    way = gaps[_on_grid(time[b] - time[before])] + field.gap[b] - field.gap[before]
    close = time[b] - time[before] < ONE_CHANGE_S
    way -= np.where(close, np.minimum(field.lands[before], field.lands[b]), 0.0)  # a count ends work or starts it
    over = path.work[before].max(axis=1) + way
    best = int(over.argmax())
    if over[best] > path.gap[b]:
        path.gap[b], path.gap_from[b] = over[best], before[best]
    if near < b:
        turn = path.work[near:b] + way[near - low :, None]
        best_turn = turn.argmax(axis=0)
        path.switch[b] = turn[best_turn, np.arange(field.moves)]
        path.switch_from[b] = near + best_turn


def _walk(path: _Path, field: _Field, events: Events, final: int, lengths: Floats, gaps: Floats) -> list[Stretch]:
    """Follow the best path back."""
    found: list[Stretch] = []
    ends: list[tuple[int, int, int]] = []
    time, c = field.at.time_s, final
    name = int(path.work[c].argmax()) if c >= 0 else -1
    while c >= 0:
        b, second = int(path.work_from[c, name]), bool(path.work_second[c, name])
        side = _side(events, float(time[b]), float(time[c]))
        found.append(Stretch(float(time[b]), float(time[c]), side, second))
        ends.append((b, c, name))
        if second:
            c = int(path.switch_from[b, name])
        else:
            c = int(path.gap_from[b])
            name = int(path.work[c].argmax()) if c >= 0 else -1
    return [
        replace(stretch, sure_nats=worth)
        for stretch, worth in zip(found[::-1], _worth(field, lengths, gaps, ends[::-1]), strict=True)
    ]


def _worth(field: _Field, lengths: Floats, gaps: Floats, path: Sequence[tuple[int, int, int]]) -> Iterator[float]:
    """Yield what each stretch of a path (start, end, name) is worth over one gap in its place, nats."""
    time, last = field.at.time_s, len(field.at) - 1

    def gap(b: int, c: int) -> float:
        at_edge = b == 0 or c == last
        length = _edge(time[c] - time[b]) if at_edge else gaps[_on_grid(np.minimum(time[c] - time[b], LONGEST_S))]
        return float(length + field.gap[c] - field.gap[b])

    for at, (b, c, name) in enumerate(path):
        before = path[at - 1][1] if at else 0
        after = path[at + 1][0] if at + 1 < len(path) else last
        start = max(field.start[name, b], field.again[b])
        work = start + field.inside[name, c] - field.inside[name, b] + field.end[c]
        work += lengths[_on_grid(time[c] - time[b])]
        yield float(work) + gap(before, b) + gap(c, after) - gap(before, after)


def _side(events: Events, start_s: float, end_s: float) -> Side | None:
    """Return the side named around a start, None where none is or both are."""
    until = min(start_s + 8.0, end_s)
    said = {call.side for call in events.sides if not call.corrected and start_s - 8.0 <= call.at_s <= until}
    return said.pop() if len(said) == 1 else None
