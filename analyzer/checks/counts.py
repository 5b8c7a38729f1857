"""Count-broken, count-pace, count-late, count-missing: the numbers spoken into a change.

Only counts of seconds are looked at; repetitions, beats and breaths are another role and never come here.
"""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import median

from analyzer.checks.calls import CountMatch, count_matches, judge_landing
from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, settled_by
from analyzer.checks.hearing import hears_clearly
from analyzer.checks.metadata import Check, Parameter, limit_s
from analyzer.checks.places import at_time, worked_intervals
from analyzer.checks.verdict import (
    COVERAGE,
    LEANS_FROM,
    LISTED_FROM,
    REPORT_FROM,
    Judgement,
    judge,
    normal_cdf,
    probability_inside,
)
from analyzer.model.audit import Evidence, Finding, Interval, Verdict
from analyzer.model.events import Count

PACE_U_MAX = 0.3  # our judgement: coarser times cannot speak about the pace of a count
GAP_U_MAX = 1.0  # nor, beyond this, about a number that was or was not said
PROVED_FROM = normal_cdf(COVERAGE)  # the risk that U = 2u takes, one-sided
ECHO_S = 0.4  # a number repeated faster than this is the recogniser's echo


def broken_counts(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every count in which a number is skipped or repeated.

    A hole in the numbers with a hole in the time beside it is a number the recogniser lost, and no mistake.
    """
    out = []
    for count in context.events.counts:
        if count.role != "seconds" or count.repaired or len(count.numbers) < 3:
            continue
        verdict, what = _break(context, count)
        if verdict != "pass":
            out.append(_broken(context, count, verdict, what))
    return tuple(out)


def _break(context: CheckContext, count: Count) -> tuple[Verdict, str]:
    """Return the worst verdict over the steps of a count, and the words for it."""
    steps = [b - a for a, b in zip(count.numbers, count.numbers[1:], strict=False)]
    gaps = [b - a for a, b in zip(count.times_s, count.times_s[1:], strict=False)]
    regular = [gap for step, gap in zip(steps, gaps, strict=True) if step == -1]
    if not regular:
        return "pass", ""
    pace = median(regular)
    worst: tuple[Verdict, str] = ("pass", "")
    for place, (step, gap) in enumerate(zip(steps, gaps, strict=True)):
        if step >= 1 or step == -1:
            continue
        u = _gap_u(context, count, place)
        numbers = (count.numbers[place], count.numbers[place + 1])
        found = _repeat(gap, u) if step == 0 else _skip(gap, u, pace, -step)
        verdict = (
            found if context.transcript.grain == "word" or found == "pass" else _by_span(context, count, step, found)
        )
        what = f"says {numbers[0]} twice" if step == 0 else f"goes from {numbers[0]} to {numbers[1]}"
        if verdict == "fail" or (verdict == "unclear" and worst[0] == "pass"):
            worst = (verdict, what)
    return worst


def _by_span(context: CheckContext, count: Count, step: int, found: Verdict) -> Verdict:
    """Judge a skip, or a number said twice (``step`` 0), by the whole span of a count that its caption times.

    Inside a caption the times are shared out among the words that were heard, so that a lost number leaves no hole
    and an echo takes no time; but the caption is as long as what was said. At the coach's own pace its span fits
    either the numbers heard or those really said. Where the times inside it say the same (``found`` fail), less
    will do, and less still of captions that hear clearly; stamps are too wide apart for that.
    """
    pace, pace_u = usual_pace(context)
    heard = len(count.numbers) - 1
    really = heard - 1 if step == 0 else count.numbers[0] - count.numbers[-1]
    words = context.transcript.words.u_s
    middle = pace * (heard + really) / 2
    ends_u = (float(words[count.positions[0]]), float(words[count.positions[-1]]))
    u = math.hypot(*ends_u, pace_u * (heard + really) / 2)
    shorter = 1 - probability_inside(count.times_s[-1] - count.times_s[0], u, low=middle)
    broken = shorter if really > heard else 1 - shorter
    if hears_clearly(context) and context.transcript.grain == "cue":
        least = LISTED_FROM
    else:
        least = LEANS_FROM if found == "fail" else PROVED_FROM
    return "fail" if broken >= least else "unclear" if broken >= REPORT_FROM else "pass"


@lru_cache(maxsize=2)
def usual_pace(context: CheckContext) -> tuple[float, float]:
    """Return the seconds a number of the class's whole counts, and the standard uncertainty of one count's pace.

    A second and a tenth of it where there are none.
    """
    whole = [
        (c.times_s[-1] - c.times_s[0]) / (len(c.numbers) - 1)
        for c in context.events.counts
        if c.role == "seconds" and len(c.numbers) > 2 and c.numbers[0] - c.numbers[-1] == len(c.numbers) - 1
    ]
    if not whole:
        return 1.0, 0.1
    middle = median(whole)
    return middle, max(0.04, 1.48 * median(abs(pace - middle) for pace in whole))  # 1.48: MAD of a normal error


def _gap_u(context: CheckContext, count: Count, place: int) -> float:
    u = context.transcript.words.u_s
    return math.hypot(float(u[count.positions[place]]), float(u[count.positions[place + 1]]))


def _skip(gap: float, u: float, pace: float, step: int) -> Verdict:
    """Judge a skip: said so when the numbers stayed in pace, lost by the recogniser when time for them is there."""
    if u > GAP_U_MAX:
        return "pass"
    middle = pace * (1 + step) / 2
    judged = judge(gap, u, low=middle)  # beyond = too little time for a lost number
    return judged.verdict if judged.reported else "pass"


def _repeat(gap: float, u: float) -> Verdict:
    if u > GAP_U_MAX:
        return "pass"
    judged = judge(gap, u, high=ECHO_S)
    return judged.verdict if judged.reported else "pass"


def _broken(context: CheckContext, count: Count, verdict: Verdict, what: str) -> Finding:
    row = at_time(worked_intervals(context), count.at_s, 10.0)
    place = Place.of(row.interval) if row else Place()
    tail = "" if verdict == "fail" else " A number may have been lost in the transcript; a listen would settle it."
    return build(
        context,
        "count-broken",
        place,
        f"{place}: the count {what} (\u201c{count.text}\u201d).{tail}",
        "Record the count again or cover it with a timer.",
        verdict=verdict,
        at_s=count.at_s,
        until_s=count.end_s,
        evidence=(Evidence(count.at_s, count.text),),
        say=_whole(count.numbers),
    )


def _whole(numbers: tuple[int, ...]) -> tuple[str, ...]:
    """Return a count without gaps, in digits: any language reads them."""
    return (", ".join(str(number) for number in range(max(numbers), min(numbers) - 1, -1)),)


def odd_paces(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every count into a change that runs too fast or too slow."""
    low, high = (context.rules.value("count-pace", name) for name in ("low_s", "high_s"))
    out = []
    for match in count_matches(context):
        count = match.count
        if len(count.numbers) < 3 or len(set(count.numbers)) < 3 or context.transcript.grain == "stamp":
            continue
        judged = min((_pace_of(context, count, n, low, high) for n in _steps(count)), key=lambda j: abs(j.measured - 1))
        if judged.u <= PACE_U_MAX and judged.reported:
            out.append(_pace(context, match, judged, low, high))
    return tuple(out)


def _steps(count: Count) -> tuple[int, int]:
    """Return the steps of a count if a number that lacks was lost, and if it was never said: the kinder one holds."""
    return abs(count.numbers[-1] - count.numbers[0]), len(set(count.numbers)) - 1


def _pace_of(context: CheckContext, count: Count, steps: int, low: float, high: float) -> Judgement:
    words = context.transcript.words.u_s
    u = math.hypot(float(words[count.positions[0]]), float(words[count.positions[-1]])) / steps
    return judge((count.times_s[-1] - count.times_s[0]) / steps, u, low, high)


def _pace(context: CheckContext, match: CountMatch, judged: Judgement, low: float, high: float) -> Finding:
    place = Place.of(match.row.interval)
    fast = judged.measured < (low + high) / 2
    margin = low - judged.measured if fast else judged.measured - high
    pace = f"{judged.measured:.1f} s a number, too {'fast' if fast else 'slow'} for seconds"
    message = f"{place}: the count runs at {pace}."
    if judged.verdict != "fail":
        message += " " + settled_by(context, judged, margin)
    return build(
        context,
        "count-pace",
        place,
        message,
        "Record the count again by the clock, or cover it with a timer.",
        verdict=judged.verdict,
        at_s=match.count.at_s,
        until_s=match.count.end_s,
        measured=judged.measured,
        expected=1.0,
        limit=low if fast else high,
        u=judged.u,
        unit="s",
        evidence=(Evidence(match.count.at_s, match.count.text),),
        say=_whole(match.count.numbers),
    )


def late_counts(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every count that ends well before or after the change it leads to."""
    limit = context.rules.value("count-late", "limit_s")
    out = []
    for match in count_matches(context):
        judged = judge_landing(context, match)
        if not judged.leans:
            continue
        place = Place.of(match.row.interval)
        way = "before" if match.error_s > 0 else "after"
        change = "work starts" if match.edge == "start" else "work ends"
        message = f"{place}: the count ends {abs(match.error_s):.1f} s {way} {change}."
        if judged.verdict != "fail":
            message += " " + settled_by(context, judged, abs(match.error_s) - limit)
        out.append(
            build(
                context,
                "count-late",
                place,
                message,
                "Move the cut or the count so that its zero meets the change.",
                verdict=judged.verdict,
                at_s=match.count.at_s,
                until_s=max(match.count.lands_s, match.boundary_s),
                measured=match.error_s,
                expected=0.0,
                limit=limit,
                u=judged.u,
                unit="s",
                evidence=(Evidence(match.count.at_s, match.count.text),),
            )
        )
    return tuple(out)


def absent_counts(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every interval that ends with no count into its end."""
    reach = context.rules.value("count-missing", "limit_s")
    counts = [c for c in context.events.counts if c.role == "seconds"]
    out = []
    for row in worked_intervals(context):
        beyond = [
            1 - probability_inside(c.lands_s - row.end_s, math.hypot(c.u_s, row.end_u), -reach, reach) for c in counts
        ]
        least = min(beyond, default=1.0)
        if least < REPORT_FROM:
            continue
        out.append(_absent(context, row.interval, row.end_s, "fail" if least > 0.975 and not row.unsure else "unclear"))
    return tuple(out)


def _absent(context: CheckContext, interval: Interval, end_s: float, verdict: Verdict) -> Finding:
    place = Place.of(interval)
    tail = "" if verdict == "fail" else " Finer times or a listen would settle it."
    return build(
        context,
        "count-missing",
        place,
        f"{place} ends without a count.{tail}",
        "Add a count or a timer into the change.",
        verdict=verdict,
        at_s=end_s,
        say=_whole((3, 1)),
    )


COUNT_BROKEN = Check(
    id="count-broken",
    title="A count skips or repeats a number",
    means="It sounds careless, and viewers who move on zero move at the wrong time.",
    measured="Numbers of a count to a change, one by one; a hole in time marks a number lost by the recogniser.",
    fix="Record the count again or cover it with a timer.",
    severity="low",
    mend="record",
    function=broken_counts,
)
COUNT_PACE = Check(
    id="count-pace",
    title="A count is too fast or too slow",
    means="\u201cThree, two, one\u201d is taken for seconds; dragged out, it adds work nobody planned.",
    measured="Seconds from first to last number over the numbers between, for counts that lead to a change.",
    fix="Record the count again by the clock.",
    severity="low",
    mend="record",
    function=odd_paces,
    parameters=(
        Parameter("low_s", 0.7, "s a number", 0.1, 10.0, "fastest pace tolerated"),
        Parameter("high_s", 1.4, "s a number", 0.1, 10.0, "slowest pace tolerated"),
    ),
)
COUNT_LATE = Check(
    id="count-late",
    title="A count does not end on the change",
    means="Viewers start or stop on the count and find the coach still, or no longer, working.",
    measured="The change minus one second after \u201cone\u201d; counts far from any change are left alone.",
    fix="Move the cut or the count so that its zero meets the change.",
    severity="medium",
    mend="edit",
    function=late_counts,
    parameters=(limit_s(2.0, "distance of the count's end from the change that is tolerated"),),
)
COUNT_MISSING = Check(
    id="count-missing",
    title="No count into a change",
    means="The end comes without warning.",
    measured="No count of seconds lands near the end of the interval.",
    fix="Add a count or a timer into the change.",
    severity="low",
    mend="record",
    function=absent_counts,
    parameters=(limit_s(3.0, "how near to the end a count must land"),),
    on=False,
)
