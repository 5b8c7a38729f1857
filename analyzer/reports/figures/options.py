"""Easier options of every hard move and round: how many, and when the first came, against the work itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.model.audit import Audit, Coverage
from analyzer.reports.figures.canvas import BLUE, GREY, INK, PALE, VERMILLION, canvas, legend, listed, named

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NO_OPTION = "no option"
_MOST = 30  # rows of a figure; those without an option come first where there are more
_FROM = -0.45  # of the work: what came sooner, in a demo or a round before, stands at this edge
_LIMIT = "easier-late.limit_share"


def draw(audit: Audit) -> Figure:
    """Return the figure."""
    found = _shown(audit)
    figure, axes = canvas(
        audit, "Easier options of hard moves", told(audit), 1.9 + 0.38 * max(1, len(found)), left_in=3.3
    )
    if not found:
        axes.set_axis_off()
        return figure
    axes.barh(range(len(found)), [1.0] * len(found), height=0.5, color=PALE, label="the work")
    _first_offers(axes, audit, found)
    for y, row in enumerate(found):
        word = _said(row, audit)
        bold = word == NO_OPTION
        axes.text(1.03, y, word, va="center", fontsize=9, weight="bold" if bold else "normal", color=INK)
    limit = audit.limits.get(_LIMIT)
    if isinstance(limit, int | float) and not isinstance(limit, bool):
        axes.axvline(limit, color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), label="must have come by here")
    axes.set_xlim(_FROM - 0.05, 1.4)
    axes.set_ylim(len(found) - 0.5, -0.5)
    axes.set_yticks(range(len(found)), [_place(row) for row in found])
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.set_xticks([_FROM, 0.0, 0.25, 0.5, 0.75, 1.0], ["in a demo\nor before", "start", "¼", "½", "¾", "end"])
    legend(figure, axes)
    return figure


def told(audit: Audit) -> str:
    """Return what the figure shows, in words."""
    rows = audit.facts.coverage
    if not rows:
        return "The plan has no hard move, so none needs an easier option."
    offered = sum(row.options > 0 for row in rows)
    parts = [f"{offered} of {len(rows)} hard moves, round by round, got an easier option."]
    without = [f"{_place(row)} ({_said(row, audit)})" for row in rows if not row.options]
    if without:
        parts.append(f"Without: {listed(without)}.")
    late = [_place(row) for row in rows if row.options and _finding(row, audit, "easier-late") == "fail"]
    if late:
        parts.append(f"Late: {listed(late)}.")
    return " ".join(parts)


def _first_offers(axes: Axes, audit: Audit, found: list[Coverage]) -> None:
    looks = {
        "first easier option": ("D", BLUE, False),
        "first easier option, late": ("X", VERMILLION, True),
    }
    for label, (shape, colour, late) in looks.items():
        marks = [
            (max(_FROM, row.first_fraction), y)
            for y, row in enumerate(found)
            if row.first_fraction is not None and (_finding(row, audit, "easier-late") == "fail") is late
        ]
        if marks:
            axes.plot(
                [x for x, _ in marks], [y for _, y in marks], marker=shape, markersize=8, markerfacecolor=colour,
                markeredgecolor=INK, linestyle="", label=label,
            )  # fmt: skip


def _finding(row: Coverage, audit: Audit, check: str) -> str | None:
    """Return the verdict of a finding at a move and round, waived ones too; None where there is none."""
    key = (check, row.block, row.round, row.move)
    return next((f.verdict for f in audit.findings if (f.check, f.block, f.round, f.move) == key), None)


def _said(row: Coverage, audit: Audit) -> str:
    if row.options:
        return f"{row.options} option{'s' if row.options > 1 else ''}"
    return "not decided" if _finding(row, audit, "easier-missing") == "unclear" else NO_OPTION


def _shown(audit: Audit) -> list[Coverage]:
    rows = list(audit.facts.coverage)
    if len(rows) <= _MOST:
        return rows
    fewest = sorted(range(len(rows)), key=lambda n: (rows[n].options > 0, n))[:_MOST]
    return [rows[n] for n in sorted(fewest)]


def _place(row: Coverage) -> str:
    return f"{named(row.move, 24)}, {named(row.block, 20)}, round {row.round}"
