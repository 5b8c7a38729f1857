"""How far each interval started from the plan's clock, with U = 2u; zero is the first interval."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.model.audit import Audit
from analyzer.model.clock import clock
from analyzer.reports.figures.canvas import BLUE, GREY, INK, PALE, canvas, clock_axis, last_s, legend, named
from analyzer.reports.plain import late
from analyzer.reports.report_json import plan_shift_s

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEAST_S = 10.0  # the scale never shows less than this either way, so that noise stays small


def draw(audit: Audit) -> Figure:
    """Return the figure."""
    figure, axes = canvas(audit, "Drift from the plan's clock", told(audit), 3.6)
    found = rows(audit)
    if not found:
        axes.set_axis_off()
        return figure
    at, drift, expanded = (list(column) for column in zip(*found, strict=True))
    lower = [d - u for d, u in zip(drift, expanded, strict=True)]
    upper = [d + u for d, u in zip(drift, expanded, strict=True)]
    axes.fill_between(at, lower, upper, color=PALE, linewidth=0, label="within U, twice the standard uncertainty")
    axes.axhline(0.0, color=GREY, linewidth=0.9, linestyle=(0, (4, 3)), label="the plan's clock")
    axes.plot(at, drift, color=BLUE, marker="s", markersize=4, linewidth=1.4, label="start of an interval")
    bottom, top = min([-_LEAST_S, *lower]), max([_LEAST_S, *upper])
    room = 0.12 * (top - bottom)
    axes.set_ylim(bottom - room / 3, top + room)
    axes.set_ylabel("seconds late (+) or early (\u2212)")
    clock_axis(axes, last_s(audit))
    _blocks(axes, audit, top + room)
    legend(figure, axes)
    return figure


def told(audit: Audit) -> str:
    """Return what the figure shows, in words."""
    found = rows(audit)
    if not found:
        return "No interval was worked, so there is no drift."
    at, worst, _ = max(found, key=lambda row: abs(row[1]))
    end = f"The last interval started {late(found[-1][1])} on the plan's clock"
    return f"{end}; the most was {late(worst)}, at {clock(at)}."


def rows(audit: Audit) -> list[tuple[float, float, float]]:
    """Return start, drift and U of every planned interval that was worked, seconds, in recorded order."""
    shift = plan_shift_s(audit)
    return [
        (i.start_s, i.start_s - audit.schedule.intervals[i.planned].start_s - shift, 2 * (i.start_u or 0.0))
        for i in audit.alignment.intervals
        if i.status == "worked" and i.planned is not None and i.start_s is not None
    ]


def _blocks(axes: Axes, audit: Audit, top: float) -> None:
    """Mark where each block's first interval started."""
    seen: set[str] = set()
    for i in audit.alignment.intervals:
        if i.start_s is not None and i.block not in seen:
            seen.add(i.block)
            axes.axvline(i.start_s, color=PALE, linewidth=1.0, zorder=0)
            axes.text(i.start_s, top, f" {named(i.block, 16)}", fontsize=8, color=INK, va="top", clip_on=True)
