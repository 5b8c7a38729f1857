"""Time calls and counts against the boundaries they speak of, and the check time-call-off.

Conventions: ``error_s`` = real seconds minus said seconds; ``u_s`` of a judged call joins the call's own with the
boundary's; ``actual`` None means there was nothing to hold it against, and then nothing is claimed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, Parameter, limit_s
from analyzer.checks.places import Worked, at_time, block_spans, near, partners, span_at, worked_intervals
from analyzer.checks.verdict import Judgement, doubt, judge
from analyzer.language import current_language, load_language
from analyzer.model.audit import Finding, JudgedCall, Verdict
from analyzer.model.clock import clock
from analyzer.model.events import Count, TimeCall
from analyzer.spotting.names import split_words

NEAR_S = 1.0  # a call this little outside an interval still belongs to it
COUNT_REACH_S = 8.0  # our judgement: a count that lands further from any change counts repetitions, perhaps
OPENING_SHARE = 1 / 3  # the whole length, said in the first third, announces the interval
OPENING_S = 8.0
LOOSER = 2.0  # our judgement: times the limit, where the call itself says "about"
BARE_REACH_S = 5.0  # our judgement: words that may be a call are one when they fit so well


@dataclass(frozen=True, slots=True)
class CountMatch:
    """A count of seconds with the boundary it leads to: an interval's ``start`` or ``end``."""

    count: Count
    row: Worked
    edge: str
    boundary_s: float
    u: float

    @property
    def error_s(self) -> float:
        """Boundary minus landing, seconds: positive when the change comes after the count has ended."""
        return self.boundary_s - self.count.lands_s


def call_limit(context: CheckContext, said: float) -> float:
    """Return the tolerated error of a call, seconds: small numbers are held to more."""
    rules = context.rules
    short = said <= rules.value("time-call-off", "short_until_s")
    return rules.value("time-call-off", "short_limit_s" if short else "limit_s")


@lru_cache(maxsize=2)
def judged_calls(context: CheckContext) -> tuple[JudgedCall, ...]:
    """Return every time call and every count of seconds, by time, each against its boundary."""
    rows = worked_intervals(context)
    calls = [judged for call in context.events.calls if (judged := _judged(context, rows, call)) is not None]
    matches = {id(m.count): m for m in count_matches(context)}
    counts = [
        _judged_count(context, count, matches.get(id(count)))
        for count in context.events.counts
        if count.role == "seconds"
    ]
    return tuple(sorted([*calls, *counts], key=lambda c: (c.at_s, c.kind)))


def _judged(context: CheckContext, rows: tuple[Worked, ...], call: TimeCall) -> JudgedCall | None:
    """Judge one call; None for words that are no call, since they do not fit the clock."""
    row = at_time(rows, call.at_s, NEAR_S)
    if call.bare:
        return _kept_if_fits(context, row, call)
    if call.kind == "half":
        return _judged_half(context, row, call)
    if call.scope != "interval":
        return _judged_span(context, call)
    if row is None or call.seconds is None:
        return _unjudged(call, row)
    return _judged_interval(context, row, call, call.seconds)


def _kept_if_fits(context: CheckContext, row: Worked | None, call: TimeCall) -> JudgedCall | None:
    """Judge words that may be a call: they are one when they fit the interval they are said in."""
    if row is None:
        return None
    if call.kind == "half":
        judged = _judged_half(context, row, call)
        middle = 0.5 * (row.start_s + row.end_s)
        return judged if abs(call.at_s - middle) <= max(BARE_REACH_S, 0.1 * row.length_s) else None
    said = call.seconds or 0.0
    if _announces(context, row, call, said):
        return None
    judged = _judged_interval(context, row, call, said)
    fits = judged.error_s is not None and abs(judged.error_s) <= BARE_REACH_S and judged.said == said
    return judged if fits else None


def _unjudged(call: TimeCall, row: Worked | None) -> JudgedCall:
    name = row.interval.id if row else None
    return JudgedCall(call.kind, call.at_s, call.u_s, call.seconds, None, None, "unclear", name, call.text)


def _edges(context: CheckContext, row: Worked, kind: str) -> list[tuple[float, float]]:
    """Return the boundaries (seconds, u) a call may speak of: the interval's, then its whole two-sided move's."""
    pair = [row] + [p for p in (partners(context).get(row.interval.id),) if p is not None]
    if kind == "left":
        ends = [(r.end_s, r.end_u) for r in pair if r.end_s >= row.end_s]
        return sorted(ends)
    return sorted(((r.start_s, r.start_u) for r in pair if r.start_s <= row.start_s), reverse=True)


def _judged_interval(context: CheckContext, row: Worked, call: TimeCall, said: float) -> JudgedCall:
    """Judge a call of seconds left or gone: as heard, then for the two sides together, then as misheard."""
    sign = 1.0 if call.kind == "left" else -1.0
    options = [(sign * (edge - call.at_s), math.hypot(call.u_s, u)) for edge, u in _edges(context, row, call.kind)]
    actual, u = options[0]
    for heard in (said, _misheard(call, said)):
        for real, _ in options:
            if heard is not None and abs(real - heard) <= call_limit(context, heard):
                error_u = next(v for r, v in options if r == real)
                judged = judge(real - heard, error_u, -call_limit(context, heard), call_limit(context, heard))
                verdict: Verdict = "pass" if heard != said else judged.verdict
                return JudgedCall(
                    call.kind, call.at_s, error_u, heard, real, real - heard, verdict, row.interval.id, call.text
                )
    limit = call_limit(context, said) * (LOOSER if call.loose else 1.0)
    judged = doubt(judge(actual - said, u, -limit, limit), not (call.certain or call.loose) or row.unsure)
    verdict = "pass" if _announces(context, row, call, said) else judged.verdict
    return JudgedCall(call.kind, call.at_s, u, said, actual, actual - said, verdict, row.interval.id, call.text)


def _misheard(call: TimeCall, said: float) -> float | None:
    """Return the number that may have been said for the one heard; None where no number was: "half a minute"."""
    numbers = load_language(current_language()).numbers
    heard = {float(word) if word.isdecimal() else numbers.values.get(word) for word in split_words(call.text)}
    return numbers.sound_alike(said) if said in heard else None


def _announces(context: CheckContext, row: Worked, call: TimeCall, said: float) -> bool:
    """Return True when the whole planned work is said near the start: the length is told, not what is left."""
    if call.kind != "left" or row.plan is None:
        return False
    partner = partners(context).get(row.interval.id)
    whole = row.plan.work_s + (partner.plan.work_s if partner and partner.plan else 0.0)
    early = call.at_s - row.start_s <= max(OPENING_S, OPENING_SHARE * row.plan.work_s)
    return early and min(abs(said - row.plan.work_s), abs(said - whole)) < 1.0


def _judged_half(context: CheckContext, row: Worked | None, call: TimeCall) -> JudgedCall:
    """Hold a half-way call against interval, two-sided move, block and class, and take the nearest that fits.

    One that fits none is ambiguous: it may speak of something else, so no error is claimed.
    """
    spans: list[tuple[float, float, float]] = []
    if row is not None:
        spans.append((row.start_s, row.end_s, math.hypot(row.start_u, row.end_u) / 2))
        partner = partners(context).get(row.interval.id)
        if partner is not None:
            low, high = min(row.start_s, partner.start_s), max(row.end_s, partner.end_s)
            spans.append((low, high, math.hypot(row.start_u, row.end_u) / 2))
    block = span_at(block_spans(context), call.at_s)
    if block is not None:
        spans.append((block.start_s, block.end_s, math.hypot(block.start_u, block.end_u) / 2))
    spans.append((context.transcript.class_start_s, context.transcript.duration_s, 0.0))
    for start, end, half_u in spans:
        said, actual = (end - start) / 2, call.at_s - start
        if abs(actual - said) <= max(call_limit(context, said), 0.1 * (end - start)):
            name = row.interval.id if row else None
            u = math.hypot(call.u_s, half_u)
            return JudgedCall("half", call.at_s, u, said, actual, actual - said, "pass", name, call.text)
    return _unjudged(call, row)


def _judged_span(context: CheckContext, call: TimeCall) -> JudgedCall:
    """Hold a call about a round, block or class against its span; such calls are round numbers and never fail."""
    span = span_at(block_spans(context), call.at_s)
    if call.seconds is None or (span is None and call.scope != "class"):
        return _unjudged(call, None)
    start, end = context.transcript.class_start_s, context.transcript.duration_s
    if call.scope != "class" and span is not None:
        members = span.members
        if call.scope == "round":
            now = next((m for m in members if m.end_s > call.at_s), members[-1])
            members = tuple(m for m in members if m.interval.round == now.interval.round)
        start, end = members[0].start_s, max(m.end_s for m in members)
    actual = end - call.at_s if call.kind == "left" else call.at_s - start
    error = actual - call.seconds
    fits = abs(error) <= max(15.0, 0.1 * call.seconds)
    return JudgedCall(
        call.kind, call.at_s, call.u_s, call.seconds, actual, error, "pass" if fits else "unclear", None, call.text
    )


@lru_cache(maxsize=2)
def count_matches(context: CheckContext) -> tuple[CountMatch, ...]:
    """Return every count of seconds that leads to a boundary; of several for one boundary only the nearest."""
    rows = worked_intervals(context)
    best: dict[tuple[str, str], CountMatch] = {}
    for count in context.events.counts:
        match = _nearest_edge(rows, count) if count.role == "seconds" else None
        if match is None:
            continue
        key = (match.row.interval.id, match.edge)
        if key not in best or abs(match.error_s) < abs(best[key].error_s):
            best[key] = match
    return tuple(sorted(best.values(), key=lambda m: m.count.at_s))


def _nearest_edge(rows: tuple[Worked, ...], count: Count) -> CountMatch | None:
    edges = [(abs(b - count.lands_s), b, u, r, e) for r in near(rows, count.lands_s) for b, u, e in _both_edges(r)]
    if not edges:
        return None
    off, boundary, u, row, edge = min(edges, key=lambda e: e[0])
    return CountMatch(count, row, edge, boundary, math.hypot(count.u_s, u)) if off <= COUNT_REACH_S else None


def _both_edges(row: Worked) -> tuple[tuple[float, float, str], tuple[float, float, str]]:
    return ((row.end_s, row.end_u, "end"), (row.start_s, row.start_u, "start"))


def judge_landing(context: CheckContext, match: CountMatch) -> Judgement:
    """Judge where a count lands against its change, seconds."""
    limit = context.rules.value("count-late", "limit_s")
    return doubt(judge(match.error_s, match.u, -limit, limit), match.row.unsure or match.count.repaired)


def _judged_count(context: CheckContext, count: Count, match: CountMatch | None) -> JudgedCall:
    to_go = count.lands_s - count.times_s[-1]
    if match is None:
        return JudgedCall("count", count.at_s, count.u_s, to_go, None, None, "unclear", None, count.text)
    verdict = judge_landing(context, match).verdict
    error = match.error_s
    name = match.row.interval.id
    return JudgedCall("count", count.at_s, match.u, to_go, to_go + error, error, verdict, name, count.text)


def wrong_calls(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every call of seconds left or gone that its interval does not bear out."""
    by_id = {w.interval.id: w for w in worked_intervals(context)}
    out = []
    for call in judged_calls(context):
        if call.kind not in ("left", "gone") or call.error_s is None or call.interval is None or call.said is None:
            continue
        limit = call_limit(context, call.said)
        if call.verdict != "pass":
            judged = judge(call.error_s, call.u_s, -limit, limit)
            judged = replace(judged, verdict=call.verdict)
            if judged.leans:
                out.append(_finding(context, call, judged, by_id[call.interval], limit))
    return tuple(out)


def _finding(context: CheckContext, call: JudgedCall, judged: Judgement, row: Worked, limit: float) -> Finding:
    place = Place.of(row.interval)
    assert call.said is not None
    assert call.actual is not None
    sure = judged.verdict == "fail"
    about = "" if sure else "about "
    what = f"with {about}{seconds(call.actual)} to go" if call.kind == "left" else f"{about}{seconds(call.actual)} in"
    kind = "left" if call.kind == "left" else "gone"
    off = call.actual - call.said
    right_s = call.at_s + off if call.kind == "left" else call.at_s - off
    again = f"Say it again at {clock(right_s)}" if row.start_s <= right_s <= row.end_s else ""
    message = f"{place}: \u201c{call.text}\u201d ({seconds(call.said)} {kind}) is said {what}."
    if not sure:
        message += " " + settled_by(context, judged, abs(judged.measured) - limit)
    return build(
        context,
        "time-call-off",
        place,
        message,
        f"{again}, cut it, or show a timer there." if again else "Cut it, or show a timer there.",
        verdict=judged.verdict,
        at_s=call.at_s,
        measured=call.actual,
        expected=call.said,
        limit=limit,
        u=judged.u,
        unit="s",
        say=(call.text.rstrip(" ,;:"),) if again else (),
    )


TIME_CALL_OFF = Check(
    id="time-call-off",
    title="A time call is wrong",
    means="Viewers pace themselves by it: they stop early or are caught by the end.",
    measured="Seconds said against the seconds from the call to the interval's end (left) or start (gone). A number "
    "that fits when read as its sound-alike (fifteen, fifty) is taken so.",
    fix="Cut the call, record it again, or move it in the edit.",
    severity="medium",
    mend="record",
    function=wrong_calls,
    parameters=(
        limit_s(5.0, "error tolerated for longer times"),
        limit_s(3.0, "error tolerated for short times", "short_limit_s"),
        Parameter("short_until_s", 15.0, "s", 0.0, 600.0, "up to here a time is short"),
    ),
)
