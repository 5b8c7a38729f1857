"""Where things lie: intervals by time, blocks by span, planned gaps. Shared by the measured tables and the checks.

Conventions: seconds from the start of the recording; ``u`` standard uncertainties; None bounds count as exact.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache

from analyzer.checks.context import CheckContext
from analyzer.model.audit import Interval
from analyzer.model.plan import PlannedInterval

SURE_FROM = 0.5  # our judgement: a placing with less confidence never carries a proved failure


@dataclass(frozen=True, slots=True)
class Worked:
    """A worked interval with its times unpacked; ``slot`` its place in the schedule (None for an extra one).

    When the two halves of an ``each`` move were worked in the other order, their slots follow the clock.
    """

    interval: Interval
    plan: PlannedInterval | None
    slot: int | None
    start_s: float
    end_s: float
    start_u: float
    end_u: float

    @property
    def length_s(self) -> float:
        """Seconds worked."""
        return self.end_s - self.start_s

    @property
    def length_u(self) -> float:
        """Standard uncertainty of the length: the joint one where known, else the two ends in quadrature."""
        known = self.interval.length_u
        return math.hypot(self.start_u, self.end_u) if known is None else known

    @property
    def unsure(self) -> bool:
        """True when it may not have been worked here at all."""
        return self.interval.confidence < SURE_FROM


@dataclass(frozen=True, slots=True)
class BlockSpan:
    """A block as recorded: ``opens_s`` end of the block before it, then first start and last end with their u."""

    block: int
    opens_s: float
    start_s: float
    end_s: float
    start_u: float
    end_u: float
    closes_s: float
    """End of its last interval, or, where its planned end is missing, half-way into the gap that follows."""
    members: tuple[Worked, ...]


@lru_cache(maxsize=2)  # by identity of the context: every check asks for it
def worked_intervals(context: CheckContext) -> tuple[Worked, ...]:
    """Return all worked and extra intervals that have times, by start."""
    rows = [
        Worked(i, _planned(context, i), i.planned, i.start_s, i.end_s, i.start_u or 0.0, i.end_u or 0.0)
        for i in context.alignment.intervals
        if i.status != "missing" and i.start_s is not None and i.end_s is not None
    ]
    rows.sort(key=lambda w: (w.start_s, w.end_s))
    return tuple(_slots_by_clock(rows))


def _planned(context: CheckContext, interval: Interval) -> PlannedInterval | None:
    if interval.planned is None or interval.status == "extra":
        return None
    return context.schedule.intervals[interval.planned]


def _slots_by_clock(rows: list[Worked]) -> list[Worked]:
    pairs: dict[tuple[int, int, int], list[int]] = {}
    for place, row in enumerate(rows):
        if row.plan is not None and row.plan.order_free:
            pairs.setdefault((row.plan.block, row.plan.round, row.plan.move), []).append(place)
    out = list(rows)
    for places in pairs.values():
        slots = sorted(slot for slot in (rows[p].slot for p in places) if slot is not None)
        for place, slot in zip(places, slots, strict=True):
            row = rows[place]
            out[place] = Worked(row.interval, row.plan, slot, row.start_s, row.end_s, row.start_u, row.end_u)
    return out


def limit_at(context: CheckContext, check: str, parameter: str, row: Worked) -> float:
    """Return one limit of one check as it holds for an interval: by its block's kind, and by its move's effort."""
    if row.plan is None:
        return context.rules.value(check, parameter)
    block = context.plan.blocks[row.plan.block]
    return context.rules.value(check, parameter, block.kind, block.moves[row.plan.move].effort)


def at_time(rows: tuple[Worked, ...], at_s: float, slack_s: float = 0.0) -> Worked | None:
    """Return the interval in progress at a time, or the nearest one that is within ``slack_s`` of it."""
    best, distance = None, slack_s
    for row in near(rows, at_s):
        off = max(row.start_s - at_s, at_s - row.end_s, 0.0)
        if off <= distance and (best is None or off < distance):
            best, distance = row, off
    return best


def coming(rows: tuple[Worked, ...], at_s: float) -> Worked | None:
    """Return the interval in progress at a time, else the next one."""
    first = max(0, _place_of(rows, at_s) - REACH)
    return next((row for row in rows[first:] if row.end_s > at_s), None)


REACH = 2  # neighbours looked at on either side: intervals hardly overlap


def _place_of(rows: tuple[Worked, ...], at_s: float) -> int:
    return bisect_right(rows, at_s, key=lambda row: row.start_s)


def near(rows: tuple[Worked, ...], at_s: float) -> tuple[Worked, ...]:
    """Return the few intervals around a time, by start."""
    place = _place_of(rows, at_s)
    return rows[max(0, place - REACH) : place + REACH]


@lru_cache(maxsize=2)
def partners(context: CheckContext) -> dict[str, Worked]:
    """Return, by interval id, the other side of the same move and round, where both were worked."""
    groups: dict[tuple[str, int, str], list[Worked]] = {}
    for row in worked_intervals(context):
        if row.interval.side is not None:
            groups.setdefault((row.interval.block, row.interval.round, row.interval.move), []).append(row)
    out = {}
    for pair in groups.values():
        if len(pair) > 1:
            out.update({row.interval.id: pair[1] if row is pair[0] else pair[0] for row in pair})
    return out


@lru_cache(maxsize=2)
def block_spans(context: CheckContext) -> tuple[BlockSpan, ...]:
    """Return the span of every block of which something was worked, in recorded order."""
    members: dict[int, list[Worked]] = {}
    for row in worked_intervals(context):
        if row.plan is not None:
            members.setdefault(row.plan.block, []).append(row)
    order = sorted(members.items(), key=lambda item: item[1][0].start_s)
    spans: list[BlockSpan] = []
    opens = 0.0
    for place, (block, inside) in enumerate(order):
        first, last = inside[0], max(inside, key=lambda w: w.end_s)
        closes = last.end_s
        following = order[place + 1][1][0].start_s if place + 1 < len(order) else math.inf
        if _lost_tail(context, block, last) and following < math.inf:
            closes = (last.end_s + max(last.end_s, following)) / 2
        if place + 1 == len(order):
            closes = math.inf
        spans.append(
            BlockSpan(block, opens, first.start_s, last.end_s, first.start_u, last.end_u, closes, tuple(inside))
        )
        opens = closes
    return tuple(spans)


def _lost_tail(context: CheckContext, block: int, last: Worked) -> bool:
    planned = [p.index for p in context.schedule.intervals if p.block == block]
    return last.slot is not None and last.slot < planned[-1]


def span_at(spans: tuple[BlockSpan, ...], at_s: float) -> BlockSpan | None:
    """Return the block in progress or coming at a time; the last one after all."""
    return next((span for span in spans if at_s < span.closes_s), spans[-1] if spans else None)


def planned_gap(context: CheckContext, slot: int) -> float:
    """Return the planned seconds from the end of one scheduled interval to the start of the next (the last: 0)."""
    rows = context.schedule.intervals
    return rows[slot + 1].start_s - rows[slot].end_s if slot + 1 < len(rows) else 0.0


def clock_discount(context: CheckContext, worked: set[int]) -> tuple[float, ...]:
    """Return, by slot, the planned seconds before it that fell away with missing intervals.

    A run of missing intervals takes its work and the gaps inside it, and the shorter of the two gaps around it:
    one gap is left between the neighbours, and the longer one is the one that a viewer would expect.
    """
    rows = context.schedule.intervals
    out: list[float] = []
    total, slot = 0.0, 0
    while slot < len(rows):
        if slot in worked:
            out.append(total)
            slot += 1
            continue
        stop = next((n for n in range(slot, len(rows)) if n in worked), len(rows))
        before = planned_gap(context, slot - 1) if slot else 0.0
        after = planned_gap(context, stop - 1)
        gone = rows[stop - 1].end_s - rows[slot].start_s + min(before, after)
        out.extend([total] * (stop - slot))
        total += gone
        slot = stop
    return tuple(out)
