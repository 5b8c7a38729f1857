"""Caption-order and caption-overlap: the transcript's own times."""

from __future__ import annotations

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.metadata import Check, Parameter
from analyzer.model.audit import Finding


def unordered_captions(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding when captions start before the one in front of them."""
    return _problems(context, "caption-order", "order", "out of order")


def overlapping_captions(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding when captions start before the one in front of them has ended."""
    return _problems(context, "caption-overlap", "overlap", "over the end of the one before")


def _problems(context: CheckContext, check: str, kind: str, words: str) -> tuple[Finding, ...]:
    rows = [p for p in context.transcript.problems if p.kind == kind]
    limit = context.rules.value(check, "limit_count")
    if len(rows) <= limit:
        return ()
    first = min(rows, key=lambda p: (p.at_s is None, p.at_s or 0.0))
    count = "1 caption starts" if len(rows) == 1 else f"{len(rows)} captions start"
    return (
        build(
            context,
            check,
            Place(),
            f"{count} {words}; the first is {first.place}: {first.found}.",
            "Export the captions again, or mend their times in a caption editor.",
            at_s=first.at_s,
            measured=float(len(rows)),
            expected=0.0,
            limit=limit,
            unit="captions",
        ),
    )


_COUNT = Parameter("limit_count", 0.0, "captions", 0.0, 100000.0, "how many are tolerated")

CAPTION_ORDER = Check(
    id="caption-order",
    title="Captions are out of order",
    means="Some players drop or misplace such captions, and the times measured here rest on them.",
    measured="Start times that do not ascend, as the reader of the transcript counted them.",
    fix="Export the captions again.",
    severity="low",
    function=unordered_captions,
    parameters=(_COUNT,),
)
CAPTION_OVERLAP = Check(
    id="caption-overlap",
    title="Captions overlap",
    means="Two captions stand on the screen at once and hide each other.",
    measured="Captions that start before the one in front has ended, as the reader of the transcript counted them.",
    fix="End each caption no later than the next one starts.",
    severity="low",
    function=overlapping_captions,
    parameters=(_COUNT,),
)
