"""The drift curve as inline SVG: how far each interval started from the plan's clock, with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from markupsafe import Markup

from analyzer.model.audit import Audit
from analyzer.model.clock import clock
from analyzer.reports.plain import late, seconds_words
from analyzer.reports.report_json import plan_shift_s

_W, _H = 1000.0, 120.0
_LEAST_S = 10.0  # the scale never shows less than ten seconds either way, so that noise stays small


@dataclass(frozen=True, slots=True)
class Drift:
    """The drawing and the words around it. ``rows`` are (start, drift, U) in seconds."""

    svg: Markup
    rows: tuple[tuple[float, float, float], ...]
    top: str
    bottom: str
    last: str
    told: str


def drift_curve(audit: Audit) -> Drift | None:
    """Draw the drift; None with fewer than two worked intervals, which have none."""
    shift = plan_shift_s(audit)
    rows = tuple(
        (i.start_s, i.start_s - audit.schedule.intervals[i.planned].start_s - shift, 2 * (i.start_u or 0.0))
        for i in audit.alignment.intervals
        if i.status == "worked" and i.planned is not None and i.start_s is not None
    )
    if len(rows) < 2:
        return None
    late_s = _round_up(max(drift + expanded for _, drift, expanded in rows))
    early_s = _round_up(max(expanded - drift for _, drift, expanded in rows))
    last = max(float(audit.transcript.duration_s), rows[-1][0], 1.0)
    worst = max(rows, key=lambda row: abs(row[1]))
    told = (
        f"Most: {late(worst[1])} at {clock(worst[0])}, \u00b1 {seconds_words(worst[2])}. "
        f"The last interval started {late(rows[-1][1])}, \u00b1 {seconds_words(rows[-1][2])}."
    )
    top, bottom = f"{seconds_words(late_s)} late", f"{seconds_words(early_s)} early"
    return Drift(_svg(rows, late_s, early_s, last, told), rows, top, bottom, clock(last), told)


def _round_up(seconds: float) -> float:
    return max(1, math.ceil(seconds / _LEAST_S)) * _LEAST_S


def _svg(rows: tuple[tuple[float, float, float], ...], late_s: float, early_s: float, last: float, told: str) -> Markup:
    def point(at: float, drift: float) -> str:
        return f"{at / last * _W:.1f},{(late_s - drift) / (late_s + early_s) * _H:.1f}"

    band = [point(at, d + u) for at, d, u in rows] + [point(at, d - u) for at, d, u in reversed(rows)]
    curve = [point(at, d) for at, d, _ in rows]
    # A line of no length with round ends stays a round dot however the drawing is stretched.
    dots = " ".join(f"M{place}h0.01" for place in curve)
    return Markup(
        '<svg class="drift" viewBox="0 0 1000 120" preserveAspectRatio="none" role="img" aria-label="{told}">'
        '<path class="zero" d="M{zero}H1000"/><polygon class="band" points="{band}"/>'
        '<polyline class="curve" points="{curve}"/><path class="dots" d="{dots}"/></svg>'
    ).format(
        zero=point(0.0, 0.0),
        told=f"Drift from the plan's clock. {told}",
        band=" ".join(band),
        curve=" ".join(curve),
        dots=dots,
    )
