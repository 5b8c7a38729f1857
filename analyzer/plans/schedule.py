"""Lays a plan out on its own clock: one planned interval a move, round and side.

Conventions: seconds; zero = start of the class, so the welcome comes before the first interval. The gap after an
interval is the move's own rest, except that after the last move of a round ``rest_between_rounds`` stands in its
place, and after the last round ``rest_after``, where the plan gives one (0 = not given). The two halves of an
``each`` move follow one another with no rest. The demo of a block and every talk block lengthen the gap before the
interval that follows them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyzer.model.plan import Block, Plan, PlannedInterval, Schedule, Side


@dataclass(frozen=True, slots=True)
class _Slot:
    """An interval before it has a time: where it belongs, how long it is, what comes before and after it."""

    block: int
    round: int
    move: int
    side: Side | None
    work_s: float
    demo_s: float
    """Planned talk and demo straight before it."""
    before_s: float
    """All planned time that belongs to no interval before it, the rest after the one before left out."""
    rest_s: float
    """Rest after it, without the talk or demo of what follows."""
    order_free: bool


def make_schedule(plan: Plan) -> Schedule:
    """Return the run sheet of a plan.

    ``intervals`` have ascending ``index`` and ``start_s``; lead, work, gaps between intervals and tail add up to
    ``total_s``. A plan without moves gives no intervals and all its time as lead.
    """
    slots, trailing_s = _slots(plan)
    if not slots:
        return Schedule(intervals=(), lead_s=_ms(trailing_s), tail_s=0.0, total_s=_ms(trailing_s))
    intervals: list[PlannedInterval] = []
    at_s = 0.0
    for index, slot in enumerate(slots):
        at_s += slot.before_s
        following_s = slots[index + 1].before_s if index + 1 < len(slots) else 0.0
        interval = PlannedInterval(
            index=index,
            block=slot.block,
            round=slot.round,
            move=slot.move,
            side=slot.side,
            start_s=_ms(at_s),
            work_s=slot.work_s,
            rest_s=_ms(slot.rest_s + following_s),
            demo_s=_ms(slot.demo_s),
            order_free=slot.order_free,
        )
        intervals.append(interval)
        at_s += slot.work_s + slot.rest_s
    tail_s = slots[-1].rest_s + trailing_s
    return Schedule(tuple(intervals), lead_s=_ms(slots[0].before_s), tail_s=_ms(tail_s), total_s=_ms(at_s + trailing_s))


def _slots(plan: Plan) -> tuple[list[_Slot], float]:
    """Return all slots in order, and the talk after the last of them."""
    slots: list[_Slot] = []
    talk_s = pause_s = 0.0
    for number, block in enumerate(plan.blocks):
        if not block.moves:
            talk_s += block.length_s or 0.0
            pause_s += block.rest_after_s
            continue
        talk_s += block.demo_s
        slots.extend(_block_slots(number, block, talk_s, pause_s))
        talk_s = pause_s = 0.0
    return slots, talk_s + pause_s


def _block_slots(number: int, block: Block, talk_s: float, pause_s: float) -> Iterator[_Slot]:
    """Give one block's slots; ``talk_s`` (with the block's demo) and ``pause_s`` come before the first of them."""
    demo_s, before_s = talk_s, talk_s + pause_s
    for round_number in range(1, block.rounds + 1):
        for index, move in enumerate(block.moves):
            rest_s = move.rest_s
            if index == len(block.moves) - 1:
                last = round_number == block.rounds
                rest_s = (block.rest_after_s if last else block.rest_between_rounds_s) or move.rest_s
            if move.side == "each":
                half_s = move.work_s / 2
                yield _Slot(number, round_number, index, "left", half_s, demo_s, before_s, 0.0, True)
                yield _Slot(number, round_number, index, "right", half_s, 0.0, 0.0, rest_s, True)
            else:
                side: Side | None = move.side if move.side in ("left", "right") else None
                yield _Slot(number, round_number, index, side, move.work_s, demo_s, before_s, rest_s, False)
            demo_s = before_s = 0.0


def _ms(seconds: float) -> float:
    """Drop the noise of float sums: halves of whole milliseconds are the finest a plan can hold."""
    return round(seconds, 4)
