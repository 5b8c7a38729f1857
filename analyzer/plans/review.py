"""Reads a plan over before anyone films it: its totals, and what it lacks."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from analyzer.model.plan import Move, Plan, Side
from analyzer.plans.durations import print_duration
from analyzer.plans.fields import fold
from analyzer.plans.schedule import make_schedule

LENGTH_LIMIT_S = 60.0  # as for a recording's length (common practice, no source)
LENGTH_LIMIT_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class PlanReview:
    """Totals of a plan in seconds, and what it lacks.

    ``work_s`` all intervals; ``talk_s`` talk blocks and demos; ``rest_s`` everything else; the three add up to
    ``total_s``. ``left_s`` and ``right_s`` count only work planned for that side alone. ``length_s`` is the length
    the plan promises, or None. ``lacks`` are one-line messages, in plan order.
    """

    intervals: int
    work_s: float
    rest_s: float
    talk_s: float
    left_s: float
    right_s: float
    total_s: float
    length_s: float | None
    lacks: tuple[str, ...] = ()


def review_plan(plan: Plan) -> PlanReview:
    """Return the totals of a plan and what a coach should look at before filming."""
    schedule = make_schedule(plan)
    work_s = sum(interval.work_s for interval in schedule.intervals)
    talk_s = sum((block.length_s or 0.0) + block.demo_s for block in plan.blocks)
    sides = {"left": 0.0, "right": 0.0}
    for interval in schedule.intervals:
        if interval.side is not None:
            sides[interval.side] += interval.work_s
    return PlanReview(
        intervals=len(schedule.intervals),
        work_s=round(work_s, 4),
        rest_s=round(schedule.total_s - work_s - talk_s, 4),
        talk_s=round(talk_s, 4),
        left_s=round(sides["left"], 4),
        right_s=round(sides["right"], 4),
        total_s=schedule.total_s,
        length_s=plan.length_s,
        lacks=(*_no_easier_option(plan), *_one_side_only(plan), *_other_length(plan, schedule.total_s)),
    )


def _no_easier_option(plan: Plan) -> list[str]:
    return [
        f"{_where(block.name, move)}: hard, but no easier option is written"
        for block in plan.blocks
        for move in block.moves
        if move.effort == "hard" and not move.easier
    ]


def _one_side_only(plan: Plan) -> list[str]:
    """Name moves planned on one side and nowhere in the plan on the other ("Left plank" is no other move)."""
    seen: dict[str, set[str]] = defaultdict(set)
    first: dict[str, str] = {}
    for block in plan.blocks:
        for move in block.moves:
            key = " ".join(word for word in fold(move.name).split() if word not in ("left", "right"))
            seen[key].add(move.side)
            first.setdefault(key, _where(block.name, move))
    other: dict[str, Side] = {"left": "right", "right": "left"}
    return [
        f"{first[key]}: planned on the {side} side only, never on the {other[side]}"
        for key, sides in seen.items()
        for side in other
        if sides == {side}
    ]


def _other_length(plan: Plan, total_s: float) -> list[str]:
    """Compare the promised length with the sum of the parts, beyond one minute or one part in twenty."""
    if plan.length_s is None:
        return []
    off_s = total_s - plan.length_s
    if abs(off_s) <= min(LENGTH_LIMIT_S, LENGTH_LIMIT_SHARE * plan.length_s):
        return []
    side = "longer" if off_s > 0 else "shorter"
    sums = f"its parts add up to {print_duration(total_s)}, {print_duration(round(abs(off_s), 3))} {side}"
    return [f"plan: the length field says {print_duration(plan.length_s)}, {sums}"]


def _where(block: str, move: Move) -> str:
    return f"block '{block}', move '{move.name}'"
