"""Start-drift: how far the recording's clock has moved off the plan's, told where it moves and not again."""

from __future__ import annotations

import math
from dataclasses import dataclass

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, limit_s
from analyzer.checks.places import Worked, clock_discount, worked_intervals
from analyzer.checks.verdict import Judgement, doubt, judge
from analyzer.model.audit import Finding


@dataclass(frozen=True, slots=True)
class Drift:
    """Drift of one interval's start, seconds (late is positive), against the first worked interval."""

    row: Worked
    drift_s: float
    u: float


SURE_MISSING = 0.75  # our judgement: as for move-missing


def drifts(context: CheckContext, discount: bool = True, only_sure: bool = False) -> tuple[Drift, ...]:
    """Return the drift of every worked planned interval, in recorded order; reordered ones are left out.

    Zero is the first worked interval. With ``discount`` the planned time of missing intervals and lost rounds is
    taken out, so that what an edit lost is not told a second time as drift; with ``only_sure`` what is but perhaps
    missing stays in.
    """
    reordered = set(context.alignment.reordered)
    rows = [w for w in worked_intervals(context) if w.slot is not None and w.interval.id not in reordered]
    if not rows:
        return ()
    worked = {w.slot for w in worked_intervals(context) if w.slot is not None}
    if only_sure:
        missing = (i for i in context.alignment.intervals if i.status == "missing" and i.confidence < SURE_MISSING)
        worked |= {i.planned for i in missing if i.planned is not None}
    gone = clock_discount(context, worked) if discount else (0.0,) * len(context.schedule.intervals)
    zero = rows[0]

    def plan_clock(row: Worked) -> float:
        assert row.slot is not None
        return context.schedule.intervals[row.slot].start_s - gone[row.slot]

    return tuple(
        Drift(
            row,
            (row.start_s - zero.start_s) - (plan_clock(row) - plan_clock(zero)),
            0.0 if row is zero else math.hypot(row.start_u, zero.start_u),
        )
        for row in rows
    )


def drifted_starts(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding where drift first passes the limit, and where it moves by another limit after that.

    An unclear crossing is told only when no proved one follows it.
    """
    limit = context.rules.value("start-drift", "limit_s")
    out: list[Finding] = []
    pending: Finding | None = None
    told = 0.0
    for taken_out, left_in in zip(drifts(context), drifts(context, only_sure=True), strict=True):
        # what is perhaps missing moves the plan's clock or does not: only drift both ways is drift
        point = min(taken_out, left_in, key=lambda p: abs(p.drift_s - told))
        judged = doubt(judge(point.drift_s - told, point.u, -limit, limit), point.row.unsure)
        if judged.verdict == "fail":
            out.append(_finding(context, point, judged, limit, told))
            told, pending = point.drift_s, None
        elif judged.reported and pending is None:
            pending = _finding(context, point, judged, limit, told)
    return tuple(out) if pending is None else (*out, pending)


def _finding(context: CheckContext, point: Drift, judged: Judgement, limit: float, told: float) -> Finding:
    place = Place.of(point.row.interval)
    way = "late" if point.drift_s > 0 else "early"
    step = f", {seconds(abs(judged.measured))} more than told before" if told else ""
    back = " back on" if abs(point.drift_s) < 1 else f" {seconds(abs(point.drift_s))} {way} on"
    message = f"{place} starts{back} the plan's clock{step}."
    if judged.verdict != "fail":
        message += " " + settled_by(context, judged, abs(judged.measured) - limit)
    return build(
        context,
        "start-drift",
        place,
        message,
        "Look at the intervals and rests just before: the time was won or lost there.",
        verdict=judged.verdict,
        at_s=point.row.start_s,
        measured=point.drift_s,
        expected=told,
        limit=limit,
        u=judged.u,
        unit="s",
    )


START_DRIFT = Check(
    id="start-drift",
    title="The class drifts off the plan's clock",
    means="On-screen timers, music and chapters laid by the plan no longer fit what is shown.",
    measured="Start of an interval after the first one's, against the plan; lost rounds and missing moves taken out.",
    fix="Cut or restore time just before this place, or lay timer and music anew from here.",
    severity="low",
    mend="edit",
    function=drifted_starts,
    needs="plan",
    parameters=(limit_s(20.0, "drift, and further change of drift, that is tolerated"),),
)
