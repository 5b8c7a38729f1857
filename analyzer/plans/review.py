"""Reads a plan over before anyone films it: its totals, what to mend and what to look at."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from analyzer.language import DEFAULT
from analyzer.model.plan import Plan, Schedule
from analyzer.plans.intensity import Estimate, estimate
from analyzer.plans.review_rules import RULES, Reading, Remark, work_and_rest
from analyzer.plans.schedule import make_schedule
from analyzer.plans.script import Line, make_script


@dataclass(frozen=True, slots=True)
class BlockTotals:
    """Seconds of work of one block, and of rest between its intervals."""

    name: str
    work_s: float
    rest_s: float


@dataclass(frozen=True, slots=True)
class Speech:
    """Words of the planned lines; of the interval with most words a minute, its rate and where it is."""

    words: int
    busiest_wpm: float
    busiest: str


@dataclass(frozen=True, slots=True)
class PlanReview:
    """Totals of a plan in seconds, and the remarks on it.

    ``work_s`` all intervals; ``talk_s`` talk blocks and demos; ``rest_s`` everything else; the three add up to
    ``total_s``. ``left_s`` and ``right_s`` count only work planned for that side alone. ``length_s`` is the length
    the plan promises, or None. ``warm_up_s`` and ``cool_down_s`` hold demos and rests inside those blocks.
    """

    intervals: int
    work_s: float
    rest_s: float
    talk_s: float
    left_s: float
    right_s: float
    total_s: float
    length_s: float | None
    warm_up_s: float
    cool_down_s: float
    blocks: tuple[BlockTotals, ...]
    speech: Speech
    intensity: Estimate | None
    remarks: tuple[Remark, ...] = ()

    @property
    def to_mend(self) -> tuple[Remark, ...]:
        """Return what a recording of this plan would be faulted for."""
        return tuple(remark for remark in self.remarks if remark.weight == "mend")

    @property
    def to_look_at(self) -> tuple[Remark, ...]:
        """Return what is worth a thought."""
        return tuple(remark for remark in self.remarks if remark.weight == "look")


def review_plan(plan: Plan, language: str = DEFAULT) -> PlanReview:
    """Return the totals of a plan and what a coach should mend or look at before filming.

    ``language`` is that of the words to say. Raises AnalyzerError when there is no such language.
    """
    schedule = make_schedule(plan)
    reading = Reading(plan, schedule, make_script(plan, schedule, language))
    work_s = sum(row.work_s for row in schedule.intervals)
    talk_s = sum((block.length_s or 0.0) + block.demo_s for block in plan.blocks)
    sides = {"left": 0.0, "right": 0.0}
    for row in schedule.intervals:
        if row.side is not None:
            sides[row.side] += row.work_s
    return PlanReview(
        intervals=len(schedule.intervals),
        work_s=round(work_s, 4),
        rest_s=round(schedule.total_s - work_s - talk_s, 4),
        talk_s=round(talk_s, 4),
        left_s=round(sides["left"], 4),
        right_s=round(sides["right"], 4),
        total_s=schedule.total_s,
        length_s=plan.length_s,
        warm_up_s=round(reading.kind_s("warm-up"), 4),
        cool_down_s=round(reading.kind_s("cool-down"), 4),
        blocks=tuple(
            BlockTotals(block.name, *work_and_rest(reading, number))
            for number, block in enumerate(plan.blocks)
            if block.moves
        ),
        speech=_speech(plan, schedule, reading.script),
        intensity=estimate(plan),
        remarks=tuple(remark for rule in RULES for remark in rule(reading)),
    )


def _speech(plan: Plan, schedule: Schedule, script: tuple[Line, ...]) -> Speech:
    words: dict[int, int] = defaultdict(int)
    for line in script:
        if line.interval is not None and line.at_s >= schedule.intervals[line.interval].start_s:
            words[line.interval] += line.words
    rates = {row.index: words[row.index] * 60 / row.work_s for row in schedule.intervals}
    busiest = max(rates, key=lambda index: rates[index], default=None)
    said = sum(line.words for line in script if line.kind != "talk")
    if busiest is None:
        return Speech(said, 0.0, "")
    row = schedule.intervals[busiest]
    block = plan.blocks[row.block]
    return Speech(said, round(rates[busiest], 1), f"{block.name}, {block.moves[row.move].name}, round {row.round}")
