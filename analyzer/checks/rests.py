"""Rest-long and rest-short: the gap after an interval, a round or a block."""

from __future__ import annotations

import math
from itertools import pairwise

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, limit_s
from analyzer.checks.places import Worked, limit_at, planned_gap, worked_intervals
from analyzer.checks.verdict import doubt, judge
from analyzer.model.audit import Finding

REST_FROM = 0.7  # our judgement: a rest is told as unclear from here on; what hardly leans is hardly ever off


def long_rests(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every gap that ran longer than planned."""
    return _slips(context, "rest-long")


def short_rests(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every gap that ran shorter than planned."""
    return _slips(context, "rest-short")


def _slips(context: CheckContext, check: str) -> tuple[Finding, ...]:
    rows = worked_intervals(context)
    found = (_slip(context, check, a, b) for a, b in pairwise(rows))
    return tuple(finding for finding in found if finding is not None)


def _slip(context: CheckContext, check: str, before: Worked, after: Worked) -> Finding | None:
    """Judge the gap between two neighbours; gaps that hold something missing, extra or reordered are not judged."""
    if before.slot is None or after.slot is None or after.slot != before.slot + 1:
        return None
    planned = planned_gap(context, before.slot)
    limit = _limit(context, check, before, after, planned)
    gap = after.start_s - before.end_s
    low, high = (-math.inf, limit) if check == "rest-long" else (-limit, math.inf)
    judged = judge(gap - planned, math.hypot(before.end_u, after.start_u), low, high)
    judged = doubt(judged, before.unsure or after.unsure)
    if not judged.reported or (judged.verdict != "fail" and judged.tail < REST_FROM):
        return None
    sure = judged.verdict == "fail"
    place = Place.of(before.interval)
    what = _what(before, after)
    about = "" if sure else "about "
    message = f"The {what} after {place} was {about}{seconds(gap)}; the plan says {seconds(planned)}."
    if not sure:
        message += " " + settled_by(context, judged, abs(gap - planned) - limit)
    return build(
        context,
        check,
        place,
        message,
        f"Cut {seconds(gap - planned)} of it." if gap > planned else f"Add {seconds(planned - gap)} or plan less.",
        verdict=judged.verdict,
        at_s=before.end_s,
        until_s=after.start_s,
        measured=gap,
        expected=planned,
        limit=limit,
        u=judged.u,
        unit="s",
    )


def _limit(context: CheckContext, check: str, before: Worked, after: Worked, planned: float) -> float:
    limit = limit_at(context, check, "limit_s", before)
    if after.plan is not None and before.plan is not None and after.plan.demo_s > 0:
        return max(limit, context.rules.value(check, "talk_limit_s"))
    if check == "rest-long" and planned == 0:
        return limit + context.rules.value(check, "changeover_s")
    return limit


def _what(before: Worked, after: Worked) -> str:
    assert before.plan is not None
    assert after.plan is not None
    if before.plan.block != after.plan.block:
        return "break between blocks"
    return "rest" if before.plan.round == after.plan.round else "rest between rounds"


_LIMIT = limit_s(5.0, "difference from the planned gap that is tolerated")
_TALK = limit_s(10.0, "the same, where the gap holds a demo", "talk_limit_s")
_CHANGE = limit_s(5.0, "change-over tolerated on top where the plan gives no rest at all", "changeover_s")

REST_LONG = Check(
    id="rest-long",
    title="A rest ran longer than planned",
    means="Viewers cool off and wait; the class loses its pace and runs late.",
    measured="Start of the next interval minus end of this one, against the planned gap.",
    fix="Cut the surplus in the edit: nothing is worked there.",
    severity="low",
    mend="cut",
    function=long_rests,
    needs="plan",
    parameters=(_LIMIT, _TALK, _CHANGE),
    varies=("kind", "effort"),
)
REST_SHORT = Check(
    id="rest-short",
    title="A rest ran shorter than planned",
    means="Viewers have less time to recover or to get into position than the plan counts on.",
    measured="Start of the next interval minus end of this one, against the planned gap.",
    fix="Restore what an edit removed, or plan the shorter rest.",
    severity="low",
    mend="plan",
    function=short_rests,
    needs="plan",
    parameters=(_LIMIT, _TALK),
    varies=("kind", "effort"),
)
