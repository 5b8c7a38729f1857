"""Which rows of work heard in a recording are rounds of one another, and which are no work at all.

The shortest description wins (minimum description length: J. Rissanen, "Modeling by shortest data description",
Automatica 14, 1978): every move and every block costs nats, and so does each row whose name or length is not what its
move has in other rounds, each row left out, each hole filled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from statistics import median

import numpy as np

from analyzer.model.plan import Side
from analyzer.model.transcript import Floats

NAME_COST = 2.0
"""Description of a move's name, nats: one of those heard that fit about as well. A move without a name saves it."""
LENGTH_COST = 1.0
"""Description of its length: one of the few a class keeps."""
BLOCK_COST = 2.0
ONE_MOVE_COST = 2.5
"""Further cost of a block that is one move over and over: few are."""
ROUND_SAID = 3.0
"""A new round announced where one begins."""
KEPT = 1.5
"""As many moves, or rounds, as were announced."""
LISTED = 3.0
"""A name in its place in the list of a round."""
LENGTH_SPREAD_S = 3.0
"""How far the rounds of one move differ in length (standard deviation)."""
LENGTH_MOST = 3.0
"""Most that one odd length costs, nats: a slip is a slip."""
HOLE_COST = 1.5
"""Cost of work that nobody marked."""
DOUBT, PAIR_DOUBT, MOST_PAIRED = 6.0, 4.0, 7
"""Work surer than the first is not left out; nor two at once that are surer than the second or not among so many."""
SIDES_ALIKE = 0.65
"""Two sides of a move differ by less than this."""
MOST_MOVES = 16
"""Moves in a block with rounds."""


Promised = tuple[int | None, int | None]
"""Moves and rounds announced, None where they are not."""


@dataclass(frozen=True, slots=True)
class Row:
    """Work heard, seconds. ``named`` nats for each of the moves it may be, over work that nobody named.

    ``sure_nats`` log odds that it is work at all; ``second`` the same move's second side; ``turns`` True where sides
    are changed half-way through. ``listed`` moves named in the gap before it, ``within`` inside it, in order;
    ``round_said`` True where a new round is announced in the gap before, ``promised`` moves and rounds announced there.
    """

    start_s: float
    end_s: float
    named: tuple[float, ...]
    sure_nats: float = 0.0
    side: Side | None = None
    second: bool = False
    turns: bool = False
    listed: tuple[int, ...] = ()
    within: tuple[int, ...] = ()
    round_said: bool = False
    promised: Promised = (None, None)

    @property
    def work_s(self) -> float:
        """Length, seconds."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class Unit:
    """One move worked once, on one side or on both, one after the other."""

    rows: tuple[Row, ...]
    hole: bool = False
    """True for a gap that may hide work."""

    @property
    def named(self) -> tuple[float, ...]:
        """Nats for each move, of all rows."""
        return tuple(np.sum([row.named for row in self.rows], axis=0).tolist())

    @property
    def sure_nats(self) -> float:
        """Log odds that it is work, nats: what leaving it out costs; 0 for a hole."""
        return 0.0 if self.hole else sum(row.sure_nats for row in self.rows)

    @property
    def work_s(self) -> float:
        """Length of the work without the way between sides, seconds."""
        return sum(row.work_s for row in self.rows)

    def after(self, left_out: Sequence[Unit]) -> Unit:
        """Return it with what was said in units left out before it."""
        listed = [move for unit in left_out for row in unit.rows for move in (*row.listed, *row.within)]
        said = any(row.round_said for unit in left_out for row in unit.rows)
        first = self.rows[0]
        told = [row.promised for unit in left_out for row in unit.rows]
        moves, rounds = (next((p[k] for p in [first.promised, *told[::-1]] if p[k]), None) for k in (0, 1))
        listed = list(dict.fromkeys((*listed, *first.listed)))
        first = replace(first, listed=tuple(listed), round_said=said or first.round_said, promised=(moves, rounds))
        return replace(self, rows=(first, *self.rows[1:]))


@dataclass(frozen=True, slots=True)
class Part:
    """Units ``first`` to ``last`` (not included) as rounds of ``period`` moves."""

    first: int
    last: int
    period: int

    @property
    def rounds(self) -> int:
        """How often its moves come."""
        return (self.last - self.first) // self.period

    @property
    def once(self) -> bool:
        """True where they come once."""
        return self.rounds == 1


def find_rounds(rows: Sequence[Row]) -> tuple[list[Unit], list[Part]]:
    """Return the units that are worth their place, with holes where rounds need one, and the parts they make.

    From the units as heard, doubtful ones are left out, and holes filled, where that shortens the description.
    """
    units = _units(rows)
    every = _with_holes(units)
    kept = [unit.hole is False and unit.sure_nats > 0.0 for unit in every]
    if not any(kept):
        return units, [Part(at, at + 1, 1) for at in range(len(units))]
    cost, here, parts = _described(every, kept)
    doubtful = [at for at, unit in enumerate(every) if unit.sure_nats < DOUBT]
    doubtful.sort(key=lambda at: every[at].sure_nats)
    weak = [at for at in doubtful if not every[at].hole and every[at].sure_nats < PAIR_DOUBT][:MOST_PAIRED]
    singles = [(at,) for at in doubtful]
    for some in [*singles, *combinations(weak, 2), *singles]:
        other = [keep != (at in some) for at, keep in enumerate(kept)]
        if any(other):
            changed = _described(every, other)
            if changed[0] < cost:
                kept, (cost, here, parts) = other, changed
    return here, parts


def _units(rows: Sequence[Row]) -> list[Unit]:
    units: list[Unit] = []
    for row in rows:
        before = units[-1].rows if units else ()
        if row.second and len(before) == 1 and SIDES_ALIKE < row.work_s / before[0].work_s < 1.0 / SIDES_ALIKE:
            units[-1] = Unit((*units[-1].rows, row))
        else:
            units.append(Unit((row,)))
    return units


def _with_holes(units: Sequence[Unit]) -> list[Unit]:
    """Return the units with a hole in each gap that may hide work nobody marked."""
    usual_s = median(unit.work_s for unit in units)
    every: list[Unit] = []
    for at, unit in enumerate(units):
        if gap_before(units, at) > usual_s:
            start_s, end_s = units[at - 1].rows[-1].end_s, unit.rows[0].start_s
            every.append(Unit((Row(start_s, end_s, (0.0,) * len(unit.named)),), hole=True))
        every.append(unit)
    return every


def gap_before(units: Sequence[Unit], at: int) -> float:
    """Return the seconds between a unit and the one before it, 0 where there is none."""
    return units[at].rows[0].start_s - units[at - 1].rows[-1].end_s if 0 < at < len(units) else 0.0


def _described(every: Sequence[Unit], kept: Sequence[bool]) -> tuple[float, list[Unit], list[Part]]:
    """Return the cost of units with some left out, the units kept, and the cheapest parts they make."""
    here: list[Unit] = []
    out: list[Unit] = []
    cost = 0.0
    for unit, keep in zip(every, kept, strict=True):
        if keep:
            here.append(unit.after(out))
            cost += HOLE_COST * unit.hole
            out = []
        elif not unit.hole:
            cost += unit.sure_nats
            out.append(unit)
    parts_cost, parts = _parts(here)
    return cost + parts_cost, here, parts


def _parts(units: Sequence[Unit]) -> tuple[float, list[Part]]:
    """Return the cost of the cheapest way to write the units down, and its parts in order.

    Dynamic programme over the number of units written.
    """
    n = len(units)
    costs = np.full((n, n + 1), np.inf)
    periods = np.zeros((n, n + 1), dtype=np.int64)
    named = np.array([unit.named for unit in units])
    work_s = np.array([np.nan if unit.hole else unit.work_s for unit in units])
    said = np.array([unit.rows[0].round_said for unit in units], dtype=np.float64)
    for first in range(n):
        listed, promised = units[first].rows[0].listed, units[first].rows[0].promised
        for period in range(1, min(MOST_MOVES, n - first) + 1):
            until = n - (n - first) % period
            cost = _costs(named[first:until], work_s[first:until], said[first:until], listed, period)
            cost -= KEPT * (promised[0] == period)
            if promised[1] is not None and promised[1] <= len(cost):
                cost[promised[1] - 1] -= KEPT
            lasts = np.arange(first + period, until + 1, period)
            if period > 1 and len(listed) < period and promised[0] != period:
                cost, lasts = cost[1:], lasts[1:]
            better = cost < costs[first, lasts]
            costs[first, lasts[better]], periods[first, lasts[better]] = cost[better], period
    best, back = np.zeros(n + 1), np.zeros(n + 1, dtype=np.int64)
    for last in range(1, n + 1):
        total = best[:last] + costs[:last, last]
        back[last] = total.argmin()
        best[last] = total[back[last]]
    parts: list[Part] = []
    last = n
    while last:
        first = int(back[last])
        parts.append(Part(first, last, int(periods[first, last])))
        last = first
    return float(best[n]), parts[::-1]


def _costs(named: Floats, work_s: Floats, said: Floats, listed: Sequence[int], period: int) -> Floats:
    """Return the nats it takes to write units down as rounds of ``period`` moves: for one round, two, and so on.

    ``named`` (n, moves), ``work_s`` (n,) NaN where it is a hole, ``said`` (n,) 1 where a round is announced.
    """
    rounds = len(named) // period
    by_round = named.reshape(rounds, period, -1).cumsum(axis=0) + in_list(named[:period], listed)
    told = np.maximum(by_round.max(axis=2, initial=0.0) - NAME_COST, 0.0).sum(axis=1)
    off = np.diff(work_s.reshape(rounds, period), axis=0) / LENGTH_SPREAD_S
    odd = np.nan_to_num(np.minimum(0.25 * np.square(off), LENGTH_MOST)).sum(axis=1)
    more = odd - ROUND_SAID * said[period::period]
    costs: Floats = LENGTH_COST * period - told
    costs[1:] += np.cumsum(more) + BLOCK_COST + ONE_MOVE_COST * (period == 1)
    return costs


def pooled(units: Sequence[Unit], period: int) -> Floats:
    """Return what names the moves of a round, nats: all rounds' names and the list before them; (period, moves)."""
    named = np.array([unit.named for unit in units])
    told: Floats = named.reshape(len(units) // period, period, -1).sum(axis=0)
    return told + in_list(named[:period], units[0].rows[0].listed)


def in_list(named: Floats, listed: Sequence[int]) -> Floats:
    """Return what a list of names says about the moves of a round; (period, moves).

    A list that holds more than the round is laid so that its names, in order, fit the round's best.
    """
    period, names = len(named), len(listed)
    told = np.zeros_like(named)
    if period < 2 or names < period:
        return told
    best = np.full((period + 1, names + 1), -np.inf)
    best[0] = 0.0
    taken = np.zeros((period + 1, names + 1), dtype=np.bool_)
    for place in range(1, period + 1):
        for at in range(place, names + 1):
            take = best[place - 1, at - 1] + named[place - 1, listed[at - 1]]
            taken[place, at] = take > best[place, at - 1]
            best[place, at] = max(take, best[place, at - 1])
    place, at = period, names
    while place:
        if taken[place, at]:
            told[place - 1, listed[at - 1]] = LISTED
            place -= 1
        at -= 1
    return told
