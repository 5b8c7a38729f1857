"""Block-long, block-short, class-long, class-short: the longer spans."""

from __future__ import annotations

import math

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, settled_by
from analyzer.checks.metadata import Check, Parameter, limit_s
from analyzer.checks.places import BlockSpan, block_spans
from analyzer.checks.verdict import doubt, judge
from analyzer.model.audit import Finding
from analyzer.model.clock import clock


def planned_class_s(context: CheckContext) -> float:
    """Return the class's planned length: as the plan states it, else the sum of its parts."""
    return context.schedule.total_s if context.plan.length_s is None else context.plan.length_s


def class_end_u(context: CheckContext) -> float:
    """Return the standard uncertainty of the recording's end: its last word's, and the rounding of a stamp."""
    words = context.transcript.words
    rounding = context.transcript.stamp_step_ms / 1000.0 / math.sqrt(12.0)
    return math.hypot(float(words.u_s[-1]) if len(words) else 0.0, rounding)


def long_blocks(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every block that ran longer than planned."""
    return _blocks(context, "block-long")


def short_blocks(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every block that ran shorter than planned."""
    return _blocks(context, "block-short")


def _blocks(context: CheckContext, check: str) -> tuple[Finding, ...]:
    spans = block_spans(context)
    found = (_block(context, check, span) for span in spans)
    return tuple(finding for finding in found if finding is not None)


def planned_block_s(context: CheckContext, block: int) -> float:
    """Return a block's planned seconds from its first interval's start to its last one's end."""
    rows = [p for p in context.schedule.intervals if p.block == block]
    return rows[-1].end_s - rows[0].start_s


def _block(context: CheckContext, check: str, span: BlockSpan) -> Finding | None:
    limit = context.rules.value(check, "limit_s", context.plan.blocks[span.block].kind)
    planned, real = planned_block_s(context, span.block), span.end_s - span.start_s
    low, high = (-math.inf, limit) if check == "block-long" else (-limit, math.inf)
    judged = judge(real - planned, math.hypot(span.start_u, span.end_u), low, high)
    ends = (span.members[0], max(span.members, key=lambda w: w.end_s))
    judged = doubt(judged, any(w.unsure for w in ends))
    if not judged.reported:
        return None
    name = context.plan.blocks[span.block].name
    message = f"{name} ran {clock(real)} from first to last interval; the plan says {clock(planned)}."
    if judged.verdict != "fail":
        message += " " + settled_by(context, judged, abs(real - planned) - limit)
    rounds = {w.plan.round for w in span.members if w.plan}
    lost = context.plan.blocks[span.block].rounds - len(rounds)
    advice = "See the intervals and rests of this block: they say where the time went."
    if lost:
        advice = f"Restore the {lost} lost round{'s' if lost > 1 else ''} first; then measure again."
    return build(
        context,
        check,
        Place(name),
        message,
        advice,
        verdict=judged.verdict,
        at_s=span.start_s,
        until_s=span.end_s,
        measured=real,
        expected=planned,
        limit=limit,
        u=judged.u,
        unit="s",
    )


def long_class(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding when the class ran longer than planned."""
    return _class(context, "class-long")


def short_class(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding when the class ran shorter than planned."""
    return _class(context, "class-short")


def _class(context: CheckContext, check: str) -> tuple[Finding, ...]:
    planned, real = planned_class_s(context), context.transcript.class_s
    if planned <= 0 or not context.schedule.intervals:
        return ()
    rules = context.rules
    limit = max(rules.value(check, "limit_s"), rules.value(check, "limit_percent") / 100.0 * planned)
    low, high = (-math.inf, limit) if check == "class-long" else (-limit, math.inf)
    judged = judge(real - planned, class_end_u(context), low, high)
    if not judged.reported:
        return ()
    message = f"The class runs {clock(real)} to its last words; the plan says {clock(planned)}."
    if judged.verdict != "fail":
        message += " " + settled_by(context, judged, abs(real - planned) - limit)
    return (
        build(
            context,
            check,
            Place(),
            message,
            "See blocks, rests and lost rounds for where the time went; then cut, restore or change the listed length.",
            verdict=judged.verdict,
            at_s=context.transcript.class_start_s,
            until_s=context.transcript.duration_s,
            measured=real,
            expected=planned,
            limit=limit,
            u=judged.u,
            unit="s",
            evidence=(),
        ),
    )


_BLOCK = limit_s(15.0, "difference from the block's planned span that is tolerated")
_CLASS = limit_s(60.0, "difference from the planned length that is tolerated")
_SHARE = Parameter("limit_percent", 5.0, "%", 0.0, 100.0, "the same as a share of the plan; the larger of both holds")

BLOCK_LONG = Check(
    id="block-long",
    title="A block ran longer than planned",
    means="The block takes longer than the class page and the next block's timing count on.",
    measured="First interval's start to last interval's end, against the same span of the plan (demo left out).",
    fix="Look at the block's intervals and rests and cut where the surplus is.",
    severity="medium",
    mend="edit",
    function=long_blocks,
    needs="plan",
    parameters=(_BLOCK,),
    varies=("kind",),
)
BLOCK_SHORT = Check(
    id="block-short",
    title="A block ran shorter than planned",
    means="Viewers get less of this block than planned; often a round was lost in an edit.",
    measured="First interval's start to last interval's end, against the same span of the plan (demo left out).",
    fix="Look for a lost round or move first, then at short intervals and rests.",
    severity="medium",
    mend="plan",
    function=short_blocks,
    needs="plan",
    parameters=(_BLOCK,),
    varies=("kind",),
)
CLASS_LONG = Check(
    id="class-long",
    title="The class is longer than planned",
    means="Viewers who booked the time run out of it before the cool-down.",
    measured="End of the last words, against the plan's length (or the sum of its parts).",
    fix="Cut over-long rests and talk, or list the class with its real length.",
    severity="high",
    mend="edit",
    function=long_class,
    needs="plan",
    parameters=(_CLASS, _SHARE),
)
CLASS_SHORT = Check(
    id="class-short",
    title="The class is shorter than planned",
    means="Viewers get less class than the page says.",
    measured="End of the last words, against the plan's length (or the sum of its parts).",
    fix="Look for a lost round or block, or list the class with its real length.",
    severity="high",
    mend="plan",
    function=short_class,
    needs="plan",
    parameters=(_CLASS, _SHARE),
)
