"""Seconds a side, and the checks side-missing, side-uneven, side-wrong."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, Parameter, limit_s
from analyzer.checks.places import Worked, worked_intervals
from analyzer.checks.verdict import REPORT_FROM, Judgement, doubt, judge, normal_cdf
from analyzer.model.audit import Finding, Interval, SideBalance, Verdict
from analyzer.model.plan import Side

SWITCH_S = 5.0  # two sides nearer than this share one boundary, and its error counts twice in their difference


@dataclass(frozen=True, slots=True)
class Pair:
    """The two sides of one move in one round as worked; a side may be empty."""

    block: str
    round: int
    move: str
    left: tuple[Worked, ...]
    right: tuple[Worked, ...]
    missing: tuple[Interval, ...]

    def seconds(self, side: Side) -> float:
        """Return the seconds worked on one side."""
        return sum(w.length_s for w in (self.left if side == "left" else self.right))

    @property
    def u(self) -> float:
        """Standard uncertainty of left minus right, seconds."""
        rows = sorted((*self.left, *self.right), key=lambda w: w.start_s)
        if len(rows) == 2 and abs(rows[1].start_s - rows[0].end_s) <= SWITCH_S and self.left and self.right:
            switch = math.hypot(rows[0].end_u, rows[1].start_u)
            return math.hypot(rows[0].start_u, rows[1].end_u, math.sqrt(2.0) * switch)
        return math.hypot(*(w.length_u for w in rows))


def side_pairs(context: CheckContext) -> tuple[Pair, ...]:
    """Return every move and round planned on both sides of which at least one side was worked."""
    planned: dict[tuple[int, int, str], set[Side]] = {}
    for p in context.schedule.intervals:
        name = context.plan.blocks[p.block].moves[p.move].name
        if p.side is not None:
            planned.setdefault((p.block, p.round, name), set()).add(p.side)
    worked: dict[tuple[str, int, str], list[Worked]] = {}
    for w in worked_intervals(context):
        if w.plan is not None:
            worked.setdefault((w.interval.block, w.interval.round, w.interval.move), []).append(w)
    gone: dict[tuple[str, int, str], list[Interval]] = {}
    for i in context.alignment.intervals:
        if i.status == "missing":
            gone.setdefault((i.block, i.round, i.move), []).append(i)
    out = []
    for (block, number, move), sides in planned.items():
        key = (context.plan.blocks[block].name, number, move)
        rows = worked.get(key, [])
        if len(sides) == 2 and rows:
            left = tuple(w for w in rows if w.interval.side == "left")
            right = tuple(w for w in rows if w.interval.side == "right")
            out.append(Pair(*key, left, right, tuple(gone.get(key, []))))
    return tuple(out)


SURE_SIDES = 0.75  # our judgement: of two sides side by side the edge between them is the first to go astray


def judge_pair(context: CheckContext, pair: Pair) -> Judgement:
    """Judge left minus right, seconds: uneven only beyond both the share and the seconds."""
    left, right = pair.seconds("left"), pair.seconds("right")
    limit = uneven_limit(context, pair)
    judged = judge(left - right, pair.u, -limit, limit)
    rows = (*pair.left, *pair.right)
    return doubt(judged, any(w.interval.confidence < SURE_SIDES or w.interval.length_doubtful for w in rows))


def uneven_limit(context: CheckContext, pair: Pair) -> float:
    """Return the difference in seconds that is tolerated for this pair: the larger of share and seconds."""
    rules = context.rules
    most = max(pair.seconds("left"), pair.seconds("right"))
    return max(rules.value("side-uneven", "limit_s"), rules.value("side-uneven", "limit_percent") / 100.0 * most)


def side_balances(context: CheckContext) -> tuple[SideBalance, ...]:
    """Return the seconds a side of every two-sided move and round."""
    out = []
    for pair in side_pairs(context):
        left, right = pair.seconds("left"), pair.seconds("right")
        most = max(left, right)
        percent = 100.0 * abs(left - right) / most if most > 0 else 0.0
        one_sided = not pair.left or not pair.right
        verdict = _missing_verdict(pair) if one_sided else judge_pair(context, pair).verdict
        out.append(SideBalance(pair.block, pair.round, pair.move, left, right, percent, pair.u, verdict))
    return tuple(out)


def _missing_verdict(pair: Pair) -> Verdict:
    """Return ``fail`` when the lost side is surely missing and the other surely worked."""
    sure = min([i.confidence for i in pair.missing] + [w.interval.confidence for w in (*pair.left, *pair.right)])
    return "fail" if sure >= SURE_SIDES else "unclear"


def missing_sides(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every planned side that was not worked while the other was."""
    out = []
    for pair in side_pairs(context):
        if pair.left and pair.right:
            continue
        gone: Side = "right" if pair.left else "left"
        done: Side = "left" if pair.left else "right"
        verdict = _missing_verdict(pair)
        if verdict == "unclear" and min((i.confidence for i in pair.missing), default=1.0) < REPORT_FROM:
            continue
        rows = pair.left or pair.right
        place = Place(pair.block, pair.round, pair.move, gone)
        tail = "" if verdict == "fail" else " The words are not plain enough to be certain; a listen would settle it."
        out.append(
            build(
                context,
                "side-missing",
                place,
                f"{pair.move} ({pair.block}, round {pair.round}) was worked on the {done} side only, "
                f"{seconds(pair.seconds(done))}; the {gone} side never comes.{tail}",
                f"Record the {gone} side, or restore it from the raw take.",
                verdict=verdict,
                at_s=rows[0].start_s,
                until_s=rows[-1].end_s,
                measured=0.0,
                expected=pair.seconds(done),
                unit="s",
            )
        )
    return tuple(out)


def uneven_sides(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every move and round whose sides differ by more than share and seconds allow."""
    out = []
    for pair in side_pairs(context):
        if not pair.left or not pair.right:
            continue
        judged = judge_pair(context, pair)
        if judged.reported:
            out.append(_uneven(context, pair, judged))
    return tuple(out)


def _uneven(context: CheckContext, pair: Pair, judged: Judgement) -> Finding:
    left, right = pair.seconds("left"), pair.seconds("right")
    less = "right" if left > right else "left"
    limit = uneven_limit(context, pair)
    message = (
        f"{pair.move} ({pair.block}, round {pair.round}): left {seconds(left)}, right {seconds(right)}; "
        f"the {less} side gets {100 * abs(left - right) / max(left, right):.0f} % less."
    )
    if judged.verdict != "fail":
        message += " " + settled_by(context, judged, abs(left - right) - limit)
    rows = sorted((*pair.left, *pair.right), key=lambda w: w.start_s)
    return build(
        context,
        "side-uneven",
        Place(pair.block, pair.round, pair.move),
        message,
        f"Give the {less} side {seconds(abs(left - right))} more, or cut the other side to match.",
        verdict=judged.verdict,
        at_s=rows[0].start_s,
        until_s=rows[-1].end_s,
        measured=abs(left - right),
        expected=0.0,
        limit=limit,
        u=judged.u,
        unit="s",
    )


def wrong_sides(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every interval planned on one side in which only the other side is spoken of.

    Moves planned ``each`` have no first side, and where both sides are named in one interval a hand, a leg or a
    direction is meant: neither is judged.
    """
    out = []
    for row in worked_intervals(context):
        if row.plan is None or row.plan.side is None or row.plan.order_free:
            continue
        lead = row.start_s - 3.0
        calls = context.events.sides
        first, stop = (bisect_left(calls, t, key=lambda c: c.at_s) for t in (lead, row.end_s))
        spoken = [c for c in calls[first:stop] if not c.corrected]
        wrong = [c for c in spoken if c.side != row.plan.side]
        if not wrong or len(wrong) < len(spoken):
            continue
        call = wrong[0]
        inside = _inside(call.at_s, math.hypot(call.u_s, max(row.start_u, row.end_u)), lead, row.end_s)
        if inside < REPORT_FROM:
            continue
        sure = inside >= 0.975 and not row.unsure
        place = Place.of(row.interval)
        tail = "" if sure else " Finer times or a listen would settle whether it was said for this interval."
        out.append(
            build(
                context,
                "side-wrong",
                place,
                f"{place}: the plan says {row.plan.side}, the coach says {call.side} "
                f"(\u201c{call.text}\u201d) and does not take it back.{tail}",
                "Check the picture: record the words again, or change the plan's side.",
                verdict="fail" if sure else "unclear",
                at_s=call.at_s,
                until_s=row.end_s,
            )
        )
    return tuple(out)


def _inside(at_s: float, u: float, low: float, high: float) -> float:
    if u <= 0:
        return 1.0 if low <= at_s <= high else 0.0
    return normal_cdf((high - at_s) / u) - normal_cdf((low - at_s) / u)


SIDE_MISSING = Check(
    id="side-missing",
    title="One side was not worked",
    means="Viewers train one side only.",
    measured="Of a move planned on both sides, one side was found in this round and the other was not.",
    fix="Record the missing side, or restore it from the raw take.",
    severity="high",
    mend="record",
    function=missing_sides,
)
SIDE_UNEVEN = Check(
    id="side-uneven",
    title="The two sides got unequal time",
    means="Viewers work one side harder than the other.",
    measured="Seconds left against seconds right of one move in one round; both limits must be passed.",
    fix="Lengthen the short side or cut the long one.",
    severity="high",
    mend="edit",
    function=uneven_sides,
    parameters=(
        limit_s(5.0, "difference in seconds that is tolerated"),
        Parameter("limit_percent", 15.0, "%", 0.0, 100.0, "the same as a share of the longer side"),
    ),
)
SIDE_WRONG = Check(
    id="side-wrong",
    title="Another side was named than planned",
    means="Viewers follow the words and work the wrong side.",
    measured="Sides named in an interval planned on one side, self-corrections left out.",
    fix="Check the picture; record the words again, or change the plan.",
    severity="high",
    mend="record",
    function=wrong_sides,
    needs="plan",
)
