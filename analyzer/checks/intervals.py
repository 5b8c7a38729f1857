"""Interval-long and interval-short: work against the plan, one interval at a time."""

from __future__ import annotations

import math
from dataclasses import replace

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, limit_s
from analyzer.checks.places import Worked, limit_at, worked_intervals
from analyzer.checks.verdict import LISTED_FROM, Judgement, doubt, judge
from analyzer.model.audit import Finding


def judge_length(row: Worked, planned_s: float, low: float, high: float) -> Judgement:
    """Judge an interval's length minus its planned one (seconds) against ``low`` and ``high``.

    A length that a looser prior does not confirm never passes; it is reported when it leans half-way to the limit,
    for then the normal probability says nothing: of those that lean nowhere hardly any is really off, and a list of
    all of them would bury the rest. One that fails in spite of the plan's pull fails. An interval that may not have
    been worked here never does.
    """
    off = row.length_s - planned_s
    judged = doubt(judge(off, row.length_u, low, high), row.unsure)
    if judged.verdict == "fail" or not row.interval.length_doubtful:
        return judged
    limit = min(abs(low), abs(high))
    leans = abs(off) > limit / 2
    tail = max(judged.tail, LISTED_FROM) if leans else 0.0
    return replace(judged, verdict="unclear", tail=tail, vague=not leans)


def long_intervals(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every interval worked longer than planned."""
    return _slips(context, "interval-long")


def short_intervals(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every interval worked shorter than planned."""
    return _slips(context, "interval-short")


def _slips(context: CheckContext, check: str) -> tuple[Finding, ...]:
    long = check == "interval-long"
    out = []
    for row in worked_intervals(context):
        if row.plan is None:
            continue
        limit = limit_at(context, check, "limit_s", row)
        off = row.length_s - row.plan.work_s
        low, high = (-math.inf, limit) if long else (-limit, math.inf)
        judged = judge_length(row, row.plan.work_s, low, high)
        # a doubtful length is one finding, on the side it leans to
        if judged.reported and (off >= 0) == long:
            out.append(_slip(context, check, row, judged, limit))
    return tuple(out)


def _slip(context: CheckContext, check: str, row: Worked, judged: Judgement, limit: float) -> Finding:
    assert row.plan is not None
    off, place = judged.measured, Place.of(row.interval)
    sure = judged.verdict == "fail"
    message = (
        f"{place} ran {'' if sure else 'about '}{seconds(row.length_s)}; the plan says {seconds(row.plan.work_s)}."
    )
    if not sure:
        message += " " + _why(context, row, judged, limit)
    fix = "Cut about" if off > 0 else "Record the interval again, or lower the planned work by"
    high = sure and abs(off) >= context.rules.value(check, "high_from_s")
    return build(
        context,
        check,
        place,
        message,
        f"{fix} {seconds(abs(off))}{' of the work, or change the plan' if off > 0 else ''}.",
        verdict=judged.verdict,
        severity="high" if high else None,
        at_s=row.start_s,
        until_s=row.end_s,
        measured=row.length_s,
        expected=row.plan.work_s,
        limit=limit,
        u=judged.u,
        unit="s",
    )


def _why(context: CheckContext, row: Worked, judged: Judgement, limit: float) -> str:
    if row.interval.length_doubtful:
        return "Little is said at its ends that fixes its length: it may have run otherwise; a listen would settle it."
    return settled_by(context, judged, abs(judged.measured) - limit)


_LIMIT = limit_s(5.0, "difference from the planned work that is tolerated")
_HIGH = limit_s(15.0, "difference from which the severity is high", "high_from_s")

INTERVAL_LONG = Check(
    id="interval-long",
    title="An interval ran longer than planned",
    means="Viewers work longer than they were told to pace themselves for, and everything after it starts late.",
    measured="End minus start of the interval, against the planned work of that move and side.",
    fix="Cut the surplus where nothing is counted, or change the plan to what was filmed.",
    severity="medium",
    mend="cut",
    function=long_intervals,
    needs="plan",
    parameters=(_LIMIT, _HIGH),
    varies=("kind", "effort"),
)
INTERVAL_SHORT = Check(
    id="interval-short",
    title="An interval ran shorter than planned",
    means="Viewers get less work than the class promises, often because an edit took out too much.",
    measured="End minus start of the interval, against the planned work of that move and side.",
    fix="Restore what an edit removed, record the interval again, or change the plan to what was filmed.",
    severity="medium",
    mend="record",
    function=short_intervals,
    needs="plan",
    parameters=(_LIMIT, _HIGH),
    varies=("kind", "effort"),
)
