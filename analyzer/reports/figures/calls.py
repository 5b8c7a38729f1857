"""Time calls and counts over the class: by how many seconds each was off, with U = 2u."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analyzer.model.audit import Audit, JudgedCall
from analyzer.model.clock import clock
from analyzer.reports.figures.canvas import (
    BLUE,
    GREY,
    INK,
    SKY,
    VERMILLION,
    canvas,
    clock_axis,
    last_s,
    legend,
    listed,
)
from analyzer.reports.plain import seconds_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEAST_S = 6.0  # the scale never shows less than this either way, so that noise stays small
_MOST_U_S = 15.0  # our judgement: a wider uncertainty runs out of the figure rather than flatten all others
_SHAPES = {"left": ("v", "time left"), "gone": ("^", "time gone"), "half": ("D", "half-way"), "count": ("o", "count")}
_LOOKS = {"pass": (BLUE, INK, ""), "unclear": ("white", INK, ", not decided"), "fail": (VERMILLION, INK, ", off")}


def draw(audit: Audit) -> Figure:
    """Return the figure."""
    figure, axes = canvas(audit, "Time calls and counts", told(audit), 3.6)
    calls = [call for call in audit.facts.calls if call.error_s is not None]
    if not calls:
        axes.set_axis_off()
        return figure
    axes.axhline(0.0, color=GREY, linewidth=0.9, linestyle=(0, (4, 3)), label="as said")
    errors = [call.error_s or 0.0 for call in calls]
    axes.errorbar(
        [c.at_s for c in calls], errors, yerr=[2 * c.u_s for c in calls], linestyle="", ecolor=SKY, elinewidth=1.2,
        zorder=1,
    )  # fmt: skip
    for kind, (shape, word) in _SHAPES.items():
        for verdict, (face, edge, how) in _LOOKS.items():
            some = [call for call in calls if (call.kind, call.verdict) == (kind, verdict)]
            if some:
                axes.plot(
                    [c.at_s for c in some], [c.error_s or 0.0 for c in some], marker=shape, linestyle="",
                    markersize=9 if verdict == "fail" else 6, markerfacecolor=face, markeredgecolor=edge,
                    markeredgewidth=0.8, label=f"{word}{how}",
                )  # fmt: skip
    reach = max(abs(error) + 2 * call.u_s for call, error in zip(calls, errors, strict=True))
    most = max([_LEAST_S, min(1.05 * reach, _MOST_U_S), *(1.25 * abs(error) for error in errors)])
    axes.set_ylim(-most, most)
    _words(axes, [call for call in calls if call.verdict == "fail"])
    axes.set_ylabel("seconds more (+) or\nfewer (\u2212) than said")
    clock_axis(axes, last_s(audit))
    legend(figure, axes)
    return figure


def told(audit: Audit) -> str:
    """Return what the figure shows, in words."""
    calls = audit.facts.calls
    if not calls:
        return "No time call and no count was heard."
    count = {verdict: sum(call.verdict == verdict for call in calls) for verdict in _LOOKS}
    text = f"Of {len(calls)} time calls and counts {count['pass']} were right, {count['fail']} off"
    text += f" and {count['unclear']} could not be decided."
    off = [f"{clock(call.at_s)}{_off(call)}" for call in calls if call.verdict == "fail"]
    return f"{text} Off: {listed(off)}." if off else text


def _off(call: JudgedCall) -> str:
    if call.kind == "count" or call.said is None or call.actual is None:
        return "" if call.error_s is None else f", by {seconds_words(abs(call.error_s))}"
    return f", said {seconds_words(call.said)}, real {seconds_words(call.actual)}"


def _words(axes: Axes, calls: list[JudgedCall]) -> None:
    """Say beside each wrong one what was said and what was real."""
    for call in calls:
        axes.annotate(
            _off(call).lstrip(", "), (call.at_s, call.error_s or 0.0), xytext=(9, 0), textcoords="offset points",
            va="center", fontsize=8,
        )  # fmt: skip
