"""Seconds on the left and on the right of every move that was planned on each side, round by round."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.model.audit import Audit, SideBalance
from analyzer.reports.figures.canvas import BLUE, INK, ORANGE, VERMILLION, canvas, legend, listed, named
from analyzer.reports.plain import seconds_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST = 30  # rows of a figure; those that are off come first where there are more
_WORDS = {"pass": "", "unclear": "not decided", "fail": "uneven"}


def draw(audit: Audit) -> Figure:
    """Return the figure."""
    found = _shown(audit)
    figure, axes = canvas(audit, "Left and right", told(audit), 1.8 + 0.46 * max(1, len(found)), left_in=3.3)
    if not found:
        axes.set_axis_off()
        return figure
    places = range(len(found))
    left, right = [row.left_seconds for row in found], [row.right_seconds for row in found]
    axes.barh([y - 0.18 for y in places], left, height=0.32, color=BLUE, edgecolor=INK, linewidth=0.6, label="left")
    axes.barh(
        [y + 0.18 for y in places], right, height=0.32, color=ORANGE, edgecolor=INK, linewidth=0.6, hatch="////",
        label="right",
    )  # fmt: skip
    for y, row in enumerate(found):
        for offset, value in ((-0.18, row.left_seconds), (0.18, row.right_seconds)):
            axes.text(value, y + offset, f" {seconds_words(value)}", va="center", fontsize=8)
        word, bold = _WORDS[row.verdict], row.verdict == "fail"
        axes.text(
            1.0, y, word, transform=axes.get_yaxis_transform(), ha="right", va="center", fontsize=9,
            weight="bold" if bold else "normal", color=VERMILLION if bold else INK,
        )  # fmt: skip
    axes.set_xlim(0.0, 1.25 * max([1.0, *left, *right]))
    axes.set_ylim(len(found) - 0.5, -0.5)
    axes.set_yticks(list(places), [_place(row) for row in found])
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("seconds of work")
    legend(figure, axes)
    return figure


def told(audit: Audit) -> str:
    """Return what the figure shows, in words."""
    rows = audit.facts.sides
    if not rows:
        return "No move was worked on each side."
    parts = [f"Moves worked on each side, counted by round: {len(rows)}."]
    for verdict, word in (("fail", "Uneven"), ("unclear", "Not decided")):
        some = [
            f"{_place(r)}, left {seconds_words(r.left_seconds)}, right {seconds_words(r.right_seconds)}"
            for r in rows
            if r.verdict == verdict
        ]
        if some:
            parts.append(f"{word}: {listed(some)}.")
    if all(row.verdict == "pass" for row in rows):
        parts.append("All are even.")
    return " ".join(parts)


def _shown(audit: Audit) -> list[SideBalance]:
    rows = list(audit.facts.sides)
    if len(rows) <= _MOST:
        return rows
    order = ("fail", "unclear", "pass")
    gravest = sorted(range(len(rows)), key=lambda n: (order.index(rows[n].verdict), n))[:_MOST]
    return [rows[n] for n in sorted(gravest)]


def _place(row: SideBalance) -> str:
    return f"{named(row.move, 24)}, {named(row.block, 20)}, round {row.round}"
