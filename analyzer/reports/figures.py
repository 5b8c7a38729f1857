"""Two figures as PNG and SVG, for slides and mail: the timeline, and the drift from the plan's clock.

The same Audit gives the same bytes with the same matplotlib: no date, fixed identifiers, its own bundled font.
Colours are of the Okabe-Ito palette, each with a hatch, a marker or a word beside it.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from analyzer.model.audit import Audit, Interval
from analyzer.model.clock import clock
from analyzer.reports.plain import cut, terminal_text
from analyzer.reports.report_json import plan_shift_s

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BLUE, VERMILLION, ORANGE, GREEN, SKY, GREY = "#0072B2", "#D55E00", "#E69F00", "#009E73", "#56B4E9", "#6b6b6b"
"""Okabe and Ito, Color Universal Design (2008), and a neutral grey."""

_STYLE: Any = {
    "svg.hashsalt": "class-analyzer",
    "svg.fonttype": "path",
    "font.family": "DejaVu Sans",
    "font.size": 9,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.parse_math": False,
}
_MARKS = {"left": ("v", "time call"), "gone": ("v", "time call"), "half": ("v", "time call"), "count": ("o", "count")}


def figure_files(audit: Audit) -> dict[str, bytes]:
    """Return ``timeline`` and ``drift`` as ``.png`` and ``.svg`` bytes by file name."""
    import matplotlib

    matplotlib.use("Agg")
    files: dict[str, bytes] = {}
    with matplotlib.rc_context(_STYLE):
        for name, draw in (("timeline", draw_timeline), ("drift", draw_drift)):
            figure = draw(audit)
            files[f"{name}.png"] = _saved(figure, "png", {"Software": None})
            files[f"{name}.svg"] = _saved(figure, "svg", {"Date": None, "Creator": None})
    return files


def draw_timeline(audit: Audit) -> Figure:
    """Return the planned lane over the recorded lane on the recording's clock, with calls, counts and options."""
    figure, axes = _canvas(3.4)
    _planned_lane(axes, audit)
    for interval in audit.alignment.intervals:
        _recorded_bar(axes, interval)
    _marks(axes, audit)
    axes.set_ylim(-0.2, 3.6)
    axes.set_yticks([2.9, 1.9, 0.9, 0.3], ["planned", "recorded", "calls", "options"])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    _finish(figure, axes, audit, "Planned and recorded")
    return figure


def draw_drift(audit: Audit) -> Figure:
    """Return each interval's start against the plan's clock, with bars of U = 2u; zero is the first interval."""
    figure, axes = _canvas(2.8)
    shift = plan_shift_s(audit)
    rows = [
        (i.start_s, i.start_s - audit.schedule.intervals[i.planned].start_s - shift, 2 * (i.start_u or 0.0))
        for i in audit.alignment.intervals
        if i.status == "worked" and i.planned is not None and i.start_s is not None
    ]
    axes.axhline(0.0, color=GREY, linewidth=0.8)
    if rows:
        at, drift, expanded = (list(column) for column in zip(*rows, strict=True))
        axes.errorbar(at, drift, yerr=expanded, color=BLUE, ecolor=SKY, marker="s", markersize=3.5, linewidth=1.2)
    axes.set_ylabel("seconds late (+) or early (\u2212)")
    _finish(figure, axes, audit, "Drift from the plan's clock")
    return figure


def _canvas(height_in: float) -> tuple[Figure, Axes]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11, height_in), dpi=144, layout="constrained")
    return figure, figure.add_subplot()


def _planned_lane(axes: Axes, audit: Audit) -> None:
    shift = plan_shift_s(audit)
    missing = {i.planned for i in audit.alignment.intervals if i.status == "missing"}
    for planned in audit.schedule.intervals:
        start = planned.start_s + shift
        lost = planned.index in missing
        axes.barh(
            2.9,
            planned.work_s,
            left=start,
            height=0.5,
            facecolor="none",
            edgecolor=VERMILLION if lost else GREY,
            hatch="xxx" if lost else None,
            linewidth=0.8,
            label="planned, missing" if lost else "planned",
        )
        name = audit.plan.blocks[planned.block].moves[planned.move].name
        _label(axes, start + planned.work_s / 2, 3.24, name)


def _recorded_bar(axes: Axes, interval: Interval) -> None:
    if interval.start_s is None or interval.end_s is None:
        return
    extra = interval.status == "extra"
    axes.barh(
        1.9, interval.end_s - interval.start_s, left=interval.start_s, height=0.6,
        facecolor=ORANGE if extra else BLUE, edgecolor="white", hatch="////" if extra else None, linewidth=0.6,
        label="unplanned" if extra else "worked",
    )  # fmt: skip


def _marks(axes: Axes, audit: Audit) -> None:
    for call in audit.facts.calls:
        shape, word = _MARKS[call.kind]
        bad = call.verdict == "fail"
        face = VERMILLION if bad else "none" if call.verdict == "unclear" else GREEN
        label = f"{word}, off" if bad else f"{word}, unclear" if call.verdict == "unclear" else word
        _mark(axes, call.at_s, 0.9, shape, face, VERMILLION if bad else GREEN, label)
    for option in audit.facts.options:
        easier = option.direction == "easier"
        _mark(
            axes,
            option.at_s,
            0.3,
            "<" if easier else ">",
            SKY if easier else ORANGE,
            GREY,
            f"{option.direction} option",
        )


def _mark(axes: Axes, at: float, y: float, shape: str, face: str, edge: str, label: str) -> None:
    axes.plot(
        [at], [y], marker=shape, markersize=6, markerfacecolor=face, markeredgecolor=edge, linestyle="", label=label
    )


def _label(axes: Axes, x: float, y: float, text: str) -> None:
    axes.text(
        x, y, cut(terminal_text(text), 22), fontsize=5, rotation=24, ha="left", va="bottom", color=GREY, clip_on=True
    )


def _finish(figure: Figure, axes: Axes, audit: Audit, title: str) -> None:
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    last = max([audit.transcript.duration_s, *(i.end_s or 0.0 for i in audit.alignment.intervals), 1.0])
    axes.set_xlim(0.0, last)
    step = next((s for s in (30, 60, 120, 300, 600, 1800) if last / s <= 16), 3600)
    axes.xaxis.set_major_locator(MultipleLocator(step))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: clock(float(value))))
    axes.set_title(f"{title}: {cut(terminal_text(audit.plan.title), 60)}", loc="left", fontsize=11)
    handles, labels = axes.get_legend_handles_labels()
    named = dict(zip(labels, handles, strict=True))  # one entry a word
    if named:
        names = sorted(named)
        figure.legend([named[n] for n in names], names, loc="outside lower left", ncols=8, frameon=False, fontsize=8)


def _saved(figure: Figure, form: str, metadata: dict[str, Any]) -> bytes:
    buffer = io.BytesIO()
    figure.savefig(buffer, format=form, metadata=metadata)
    return buffer.getvalue()
