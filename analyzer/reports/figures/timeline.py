"""The planned lane over the recorded lane on the recording's clock, with blocks, calls, counts and options."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

from analyzer.model.audit import Audit, Interval
from analyzer.model.clock import clock
from analyzer.reports.digest import standing
from analyzer.reports.figures.canvas import (
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    SKY,
    VERMILLION,
    canvas,
    clock_axis,
    last_s,
    legend,
    listed,
    named,
)
from analyzer.reports.plain import cut
from analyzer.reports.report_json import plan_shift_s

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PLAN, _TAKE, _CALLS, _OPTIONS = 4.15, 2.35, 0.95, 0.35
_PLAN_H, _TAKE_H = 0.5, 1.9
_NAME_S = 10.0  # a name takes this much of the clock on a quarter hour's figure
_KINDS: dict[str, Any] = {
    "planned": {"facecolor": "white", "edgecolor": GREY, "linewidth": 0.9},
    "planned, missing": {"facecolor": "white", "edgecolor": VERMILLION, "hatch": "xxxx", "linewidth": 0.9},
    "worked": {"facecolor": BLUE, "edgecolor": "white", "linewidth": 0.6},
    "worked, length off": {"facecolor": VERMILLION, "edgecolor": INK, "linewidth": 1.2},
    "unplanned": {"facecolor": ORANGE, "edgecolor": INK, "hatch": "////", "linewidth": 0.6},
}
_SHAPES = {
    "time call": ("v", GREEN, GREEN),
    "time call, off": ("X", VERMILLION, INK),
    "time call, not decided": ("v", "white", GREEN),
    "count": ("o", GREEN, GREEN),
    "count, off": ("P", VERMILLION, INK),
    "count, not decided": ("o", "white", GREEN),
    "easier option": ("<", SKY, INK),
    "harder option": (">", ORANGE, INK),
}
_VERDICTS = {"pass": "", "fail": ", off", "unclear": ", not decided"}


def draw(audit: Audit) -> Figure:
    """Return the figure."""
    figure, axes = canvas(audit, "Planned and recorded", told(audit), 4.4)
    bars, off = _planned(audit), _off(audit)
    for interval in audit.alignment.intervals:
        if interval.start_s is not None and interval.end_s is not None:
            bars[_kind(interval, off)].append((interval.start_s, interval.end_s - interval.start_s))
    for kind, look in _KINDS.items():
        if bars[kind]:
            y, height = (_PLAN, _PLAN_H) if kind.startswith("planned") else (_TAKE, _TAKE_H)
            axes.broken_barh(bars[kind], (y - height / 2, height), label=kind, **look)
    _names(axes, audit)
    _blocks(axes, audit)
    _marks(axes, audit)
    axes.set_ylim(0.0, 5.15)
    axes.set_yticks([_PLAN, _TAKE, _CALLS, _OPTIONS], ["planned", "recorded", "calls", "options"])
    axes.tick_params(axis="y", length=0, pad=9)
    axes.spines["left"].set_visible(False)
    clock_axis(axes, _end_s(audit))
    legend(figure, axes)
    return figure


def told(audit: Audit) -> str:
    """Return what the figure shows, in words."""
    rows = audit.alignment.intervals
    worked = sum(i.status == "worked" for i in rows)
    parts = [f"{worked} of {len(audit.schedule.intervals)} planned intervals were worked in {clock(last_s(audit))}."]
    for status, word in (("missing", "Missing"), ("extra", "Unplanned")):
        found = [
            named(i.move) + ("" if i.start_s is None else f" at {clock(i.start_s)}") for i in rows if i.status == status
        ]
        if found:
            parts.append(f"{word}: {listed(found)}.")
    places = _off(audit)
    off = [f"{named(i.move)} at {clock(i.start_s)}" for i in rows if _kind(i, places) == "worked, length off"]
    if off:
        parts.append(f"Length off: {listed(off)}.")
    easier = sum(option.direction == "easier" for option in audit.facts.options)
    parts.append(f"{easier} easier and {len(audit.facts.options) - easier} harder options were offered.")
    return " ".join(parts)


def _end_s(audit: Audit) -> float:
    """Return where the clock axis ends: with the recording, or with the plan where that runs longer."""
    return max([last_s(audit), *(row.end_s + plan_shift_s(audit) for row in audit.schedule.intervals)])


def _planned(audit: Audit) -> defaultdict[str, list[tuple[float, float]]]:
    shift = plan_shift_s(audit)
    missing = {i.planned for i in audit.alignment.intervals if i.status == "missing"}
    bars: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in audit.schedule.intervals:
        kind = "planned, missing" if row.index in missing else "planned"
        bars[kind].append((row.start_s + shift, row.work_s))
    return bars


_Key = tuple[str | None, int | None, str | None]


def _off(audit: Audit) -> set[tuple[_Key, str | None]]:
    """Return the places, with their side, whose length is told as off by a finding that stands."""
    checks = ("interval-long", "interval-short")
    return {((f.block, f.round, f.move), f.side) for f in standing(audit.findings) if f.check in checks}


def _kind(interval: Interval, off: set[tuple[_Key, str | None]]) -> str:
    if interval.status == "extra":
        return "unplanned"
    key = (interval.block, interval.round, interval.move)
    return "worked, length off" if (key, interval.side) in off or (key, None) in off else interval.status


def _names(axes: Axes, audit: Audit) -> None:
    """Write each move into its bar, upwards, where the bar is wide enough; how much it was off stands behind it."""
    off = _off(audit)
    least = _NAME_S * _end_s(audit) / 900.0
    for i in audit.alignment.intervals:
        if i.start_s is not None and i.end_s is not None and i.end_s - i.start_s >= least:
            name = named((f"{i.side[0].upper()} " if i.side else "") + i.move, 18)
            if i.planned is not None and _kind(i, off) == "worked, length off":
                more = i.end_s - i.start_s - audit.schedule.intervals[i.planned].work_s
                name = f"{cut(name, 12)} {more:+.0f} s"
            extra = i.status == "extra"
            paper = {"facecolor": "white", "edgecolor": "none", "pad": 1.5} if extra else None
            axes.text(
                (i.start_s + i.end_s) / 2, _TAKE, name, rotation=90, fontsize=7, color=INK if extra else "white",
                ha="center", va="center", clip_on=True, bbox=paper,
            )  # fmt: skip


def _blocks(axes: Axes, audit: Audit) -> None:
    """Draw a line over the planned intervals of each block, with its name."""
    shift = plan_shift_s(audit)
    spans: dict[int, tuple[float, float]] = {}
    for row in audit.schedule.intervals:
        first, _ = spans.get(row.block, (row.start_s, row.end_s))
        spans[row.block] = (first, row.end_s)
    stops = [*[start for start, _ in spans.values()][1:], _end_s(audit) - shift]
    for (block, (start, end)), stop in zip(spans.items(), stops, strict=True):
        axes.plot([start + shift, end + shift], [4.72, 4.72], color=GREY, linewidth=1.0, solid_capstyle="butt")
        room = max(4, int((stop - start) / _end_s(audit) * 130))
        axes.text(start + shift, 4.82, named(audit.plan.blocks[block].name, room), fontsize=8, clip_on=True)


def _marks(axes: Axes, audit: Audit) -> None:
    places: defaultdict[str, list[float]] = defaultdict(list)
    for call in audit.facts.calls:
        places[("count" if call.kind == "count" else "time call") + _VERDICTS[call.verdict]].append(call.at_s)
    for option in audit.facts.options:
        places[f"{option.direction} option"].append(option.at_s)
    for word, (shape, face, edge) in _SHAPES.items():
        if places[word]:
            y = _OPTIONS if "option" in word else _CALLS
            axes.plot(
                places[word], [y] * len(places[word]), marker=shape, markersize=6.5, markerfacecolor=face,
                markeredgecolor=edge, markeredgewidth=0.8, linestyle="", label=word, clip_on=False,
            )  # fmt: skip
