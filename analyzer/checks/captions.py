"""Caption-order and caption-overlap: the transcript's own times."""

from __future__ import annotations

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.pace import CAPTION_FORMS
from analyzer.model.audit import Finding
from analyzer.model.transcript import Caption


def unordered_captions(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding when captions start before the one in front of them, or do not end after their start."""
    rows = [p for p in context.transcript.problems if p.kind == "order"]
    if not rows:
        return ()
    first = min(rows, key=lambda p: (p.at_s is None, p.at_s or 0.0))
    found = _finding(context, "caption-order", len(rows), first.at_s, "out of order", f"{first.place}: {first.found}")
    return (found,) if found else ()


def overlapping_captions(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding when captions start before one in front of them has ended, by more than can be seen.

    Only for forms that are shown as captions: a recogniser's segments may overlap as they like.
    """
    if context.transcript.form not in CAPTION_FORMS:
        return ()
    least_ms = 1000 * context.rules.value("caption-overlap", "least_s")
    latest: int | None = None
    rows: list[tuple[Caption, int]] = []
    for caption in context.transcript.captions:
        if latest is not None and latest - caption.start_ms > least_ms:
            rows.append((caption, latest - caption.start_ms))
        if caption.end_ms is not None:
            latest = caption.end_ms if latest is None else max(latest, caption.end_ms)
    if not rows:
        return ()
    first, by_ms = rows[0]
    place = f"line {first.line}" if first.line else f"caption {first.number}"
    what = f"{place}: starts {by_ms / 1000:.3f} s before an earlier one ends"
    found = _finding(
        context, "caption-overlap", len(rows), first.start_ms / 1000, "over the end of the one before", what
    )
    return (found,) if found else ()


def _finding(
    context: CheckContext, check: str, count: int, at_s: float | None, words: str, first: str
) -> Finding | None:
    limit = context.rules.value(check, "limit_count")
    if count <= limit:
        return None
    told = "1 caption starts" if count == 1 else f"{count} captions start"
    return build(
        context,
        check,
        Place(),
        f"{told} {words}; the first is {first}.",
        "Export the captions again, or mend their times in a caption editor.",
        at_s=at_s,
        measured=float(count),
        expected=0.0,
        limit=limit,
        unit="captions",
    )


_COUNT = Parameter("limit_count", 0.0, "captions", 0.0, 100000.0, "how many are tolerated")

CAPTION_ORDER = Check(
    id="caption-order",
    title="Captions are out of order",
    means="Some players drop or misplace such captions, and the times measured here rest on them.",
    measured="Start times that do not ascend, as the reader of the transcript counted them.",
    fix="Export the captions again.",
    severity="low",
    mend="captions",
    function=unordered_captions,
    parameters=(_COUNT,),
)
CAPTION_OVERLAP = Check(
    id="caption-overlap",
    title="Captions overlap",
    means="Two captions stand on the screen at once and hide each other.",
    measured="Captions that start before one in front of them has ended, in forms that are shown on screen.",
    fix="End each caption no later than the next one starts.",
    severity="low",
    mend="captions",
    function=overlapping_captions,
    parameters=(
        _COUNT,
        Parameter("least_s", 0.04, "s", 0.0, 5.0, "shorter overlaps, of a frame, nobody sees"),
    ),
)
