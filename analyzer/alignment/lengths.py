"""What weighs on a length between two candidates: how it is kept, and what lies on the way; as kernels.

Conventions: m candidates; log weights in nats, those of lengths against the background of ``priors``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from analyzer.alignment import priors
from analyzer.alignment.candidates import Candidates
from analyzer.alignment.kernels import NEG, Band, Window
from analyzer.alignment.priors import LengthPrior
from analyzer.model.plan import Schedule
from analyzer.model.transcript import Floats, Ints

Span = tuple[float, float]
STEP_S = 0.05
LOG_BACKGROUND = float(np.log(priors.BACKGROUND_S))
MANY_STEPS = 100_000  # of a table of lengths: more than an hour and a half
ONE_CHANGE_S = 2.5  # an end and a start this close are one change to a count
EARNED = 2.5  # nats that an interval in its place usually earns from names and lengths


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Evidence arrays for every node, (m,) each, shared by nodes that are alike; the half-way bonus of pairs,
    (m, band); the tilt, (m,); what counts alone say, (m,)."""

    start: tuple[Floats, ...]
    end: tuple[Floats, ...]
    pairs: Floats
    tilt: Floats
    lands: Floats

    def of_nodes(self, nodes: Sequence[int]) -> Marks:
        """Return the marks of some nodes, ascending."""
        return replace(self, start=tuple(self.start[k] for k in nodes), end=tuple(self.end[k] for k in nodes))

    def at_candidates(self, keep: Ints) -> Marks:
        """Return the marks at some candidates, as an ascending index array."""
        band = self.pairs.shape[1]
        target = keep[np.minimum(np.arange(len(keep))[:, None] + np.arange(band), len(keep) - 1)]
        step = target - keep[:, None]
        pairs = np.where(step < band, self.pairs[keep[:, None], np.minimum(step, band - 1)], 0.0)
        cut: dict[int, Floats] = {}
        for row in (*self.start, *self.end):
            if id(row) not in cut:
                cut[id(row)] = row[keep]
        start, end = (tuple(cut[id(row)] for row in rows) for rows in (self.start, self.end))
        return Marks(start, end, pairs, self.tilt[keep], self.lands[keep])


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What weighs on a stretch between two candidates whatever it is: of ``at`` and the marks there; ``tilt`` (m,) what
    a path usually earns by then, nats."""

    at: Candidates
    marks: Marks
    tilt: Floats
    blur_s: float

    @staticmethod
    def of(at: Candidates, marks: Marks, schedule: Schedule, span_s: Span) -> Ground:
        """Return the ground of a class that begins and ends at ``span_s``."""
        steady = EARNED * len(schedule.intervals) / max(schedule.total_s, 1.0)
        # what is left of a word's uncertainty once uncertain edges are laid out is small: its mean square is enough
        blur_s = float(np.sqrt(2.0 * np.mean(np.square(at.u_s))))
        return Ground(at, marks, marks.tilt + (at.time_s - span_s[0]) * steady, blur_s)


@dataclass(frozen=True, eq=False)
class Length:
    """A planned length: how it is kept, ``band`` how many candidates it may reach, ``least_s`` the shortest it may be,
    None for a gap. Its weights stand in tables with steps of ``STEP_S``."""

    prior: LengthPrior
    plan_s: float
    blur_s: float
    band: int
    longest: int
    """The last step that is in reach of any candidate."""
    least_s: float | None

    @staticmethod
    def of(ground: Ground, plan_s: float, prior: LengthPrior, reach_s: float, least_s: float | None) -> Length:
        """Return a length as it is kept under a prior."""
        time_s = ground.at.time_s
        band = band_of(time_s, reach_s)
        farthest_s = time_s[np.minimum(np.arange(len(time_s)) + band - 1, len(time_s) - 1)] - time_s
        return Length(prior, plan_s, ground.blur_s, band, int(rows_of(farthest_s).max()), least_s)

    def weights(self, rows: Ints) -> Floats:
        """Return the weights of lengths by their steps; beyond the last step in reach they are as there."""
        few = MANY_STEPS < self.longest > rows.size
        return self._made(rows) if few else self._table.take(rows, mode="clip")

    def log_weights(self, rows: Ints) -> Floats:
        """Return the same in nats, where they may be less than a number can hold."""
        few = MANY_STEPS < self.longest > rows.size
        return self._log_made(rows) if few else self._log_table.take(rows, mode="clip")

    @cached_property
    def _table(self) -> Floats:
        return self._made(np.arange(self.longest + 1))

    @cached_property
    def _log_table(self) -> Floats:
        return self._log_made(np.arange(self.longest + 1))

    def _made(self, rows: Ints) -> Floats:
        return self.prior.density(self._lengths_s(rows), self.plan_s, self.blur_s) * priors.BACKGROUND_S

    def _log_made(self, rows: Ints) -> Floats:
        return self.prior.log_density(self._lengths_s(rows), self.plan_s, self.blur_s) + LOG_BACKGROUND

    def _lengths_s(self, rows: Ints) -> Floats:
        return np.clip(rows, 0, self.longest).astype(np.float64) * STEP_S


def band_of(time_s: Floats, reach_s: float) -> int:
    """Return how many candidates a reach of ``reach_s`` spans at most (at least 2)."""
    far = np.searchsorted(time_s, time_s + reach_s, side="right") - np.arange(len(time_s))
    return max(2, int(far.max()))


def rows_of(took_s: Floats) -> Ints:
    """Return the rows of a length's table, seconds to steps."""
    rows: Ints = (took_s * (1.0 / STEP_S) + 0.5).astype(np.int64)
    return rows


def block(ground: Ground, length: Length, sources: Window, targets: Window) -> Floats:
    """Return the log weights of a length from some candidates to others, -inf where it cannot lie."""
    a, b = slice(*sources), slice(*targets)
    time_s, edge, tilt = ground.at.time_s, ground.at.edge, ground.tilt
    took = time_s[b] - time_s[a, None]
    step = np.arange(*targets) - np.arange(*sources)[:, None]
    ok = edge[b] > edge[a, None]
    if length.least_s is None:
        ok |= step == 0  # a gap may be nothing at all
        other = -_twice(ground, sources, targets)
    else:
        ok &= took >= length.least_s
        other = ground.marks.pairs[np.arange(*sources)[:, None], np.clip(step, 0, length.band - 1)]
    ok &= (step >= 0) & (step < length.band)
    weight = length.log_weights(rows_of(took)) + other + (tilt[a, None] - tilt[b])
    return np.where(ok, weight, NEG)


def on_time(ground: Ground, length: Length, due_s: float, sources: Window, targets: Window) -> Floats:
    """Return the log weights of a gap after work that was halted: as long as if that had ended when it was due."""
    a, b = slice(*sources), slice(*targets)
    time_s, edge, tilt = ground.at.time_s, ground.at.edge, ground.tilt
    ok = (edge[b] > edge[a, None]) & (time_s[b] >= due_s)
    weight = length.log_weights(rows_of(np.maximum(time_s[b] - due_s, 0.0))) - _twice(ground, sources, targets)
    return np.where(ok, weight + (tilt[a, None] - tilt[b]), NEG)


def _twice(ground: Ground, sources: Window, targets: Window) -> Floats:
    """Return what a count gives both an end and a start so close to each other that they are one change."""
    a, b = slice(*sources), slice(*targets)
    time_s, lands = ground.at.time_s, ground.marks.lands
    return np.where(time_s[b] - time_s[a, None] < ONE_CHANGE_S, np.minimum(lands[b], lands[a, None]), 0.0)


def bands(ground: Ground, lengths: Sequence[Length]) -> list[Band]:
    """Return the weights of each length between all candidates, in linear scale."""
    at, lands, tilt = ground.at, ground.marks.lands, ground.tilt
    m, band = len(at), max(length.band for length in lengths)
    ahead = np.arange(m)[:, None] + np.arange(band)
    target = np.minimum(ahead, m - 1)
    took = at.time_s[target] - at.time_s[:, None]
    rows = rows_of(took)
    slope = np.exp(tilt[:, None] - tilt[target])
    work = np.where((ahead < m) & (at.edge[target] > at.edge[:, None]), slope, 0.0)
    gap = work.copy()
    gap[:, 0] = 1.0  # a gap may be nothing at all
    close = min(band, band_of(at.time_s, ONE_CHANGE_S))
    twice = np.minimum(lands[target[:, :close]], lands[:, None])
    gap[:, :close] *= np.where(took[:, :close] < ONE_CHANGE_S, np.exp(-twice), 1.0)
    reach = min(band, ground.marks.pairs.shape[1])
    work[:, :reach] *= np.exp(ground.marks.pairs[:, :reach])
    made = []
    for length in lengths:
        push = length.weights(rows[:, : length.band])
        push *= (gap if length.least_s is None else work)[:, : length.band]
        if length.least_s is not None:
            push *= took[:, : length.band] >= length.least_s
        made.append(Band(push))
    return made
