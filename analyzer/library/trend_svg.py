"""The drawings of a trend as inline SVG: a measure period by period, and one value with its range."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from analyzer.library.estimates import Estimate
from analyzer.library.trend import Group, Measure
from analyzer.library.trend_words import range_words, value_words

MOST_PERIODS = 24
_W, _H, _LEFT, _RIGHT, _TOP, _BOTTOM = 360.0, 150.0, 74.0, 12.0, 10.0, 24.0
_BAR_W = 120.0


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a chart's values and periods stand in its drawing."""

    low: float
    high: float
    periods: int

    def y(self, value: float) -> float:
        inside = min(max(value, self.low), self.high)
        return _TOP + (_H - _TOP - _BOTTOM) * (self.high - inside) / (self.high - self.low)

    def x(self, number: int) -> float:
        return _LEFT + (_W - _LEFT - _RIGHT) * (number + 0.5) / self.periods


def period_chart(measure: Measure, place: int, groups: Sequence[Group]) -> Markup:
    """Draw one measure, the one at ``place``, over the latest periods: values as dots, their ranges as bars.

    One group or more is needed.
    """
    groups = groups[-MOST_PERIODS:]
    estimates = [group.estimates[place] for group in groups]
    frame = _Frame(*_scale(measure, estimates), len(groups))
    told = "; ".join(f"{g.name}: {spoken(measure, e)[0]}" for g, e in zip(groups, estimates, strict=True))
    drawn = [*_axes(measure, frame), *_marks(estimates, frame), *_names(groups)]
    return Markup('<svg class="chart" viewBox="0 0 {0:.0f} {1:.0f}" role="img" aria-label="{2}">{3}</svg>').format(
        _W, _H, f"{measure.title}. {told}", Markup("").join(drawn)
    )


def _axes(measure: Measure, frame: _Frame) -> Iterator[Markup]:
    """Draw the least and the largest value, and zero where it lies between."""
    for value in sorted({frame.low, frame.high, min(max(0.0, frame.low), frame.high)}):
        y = frame.y(value)
        yield Markup('<path class="axis" d="M{0:.1f} {1:.1f}H{2:.1f}"/>').format(_LEFT, y, _W - _RIGHT)
        told = value_words(value, measure.unit, measure.better == "nearer zero")
        yield Markup('<text class="end" x="{0:.1f}" y="{1:.1f}">{2}</text>').format(_LEFT - 6, y + 4, told)


def _marks(estimates: Sequence[Estimate], frame: _Frame) -> Iterator[Markup]:
    """Draw the line from value to value, the ranges over it, the values over all."""
    known = [(frame.x(number), e) for number, e in enumerate(estimates)]
    points = [(x, frame.y(e.value)) for x, e in known if e.value is not None]
    if len(points) > 1:
        yield Markup('<path class="path" d="M{0}"/>').format("L".join(f"{x:.1f} {y:.1f}" for x, y in points))
    for x, e in known:
        if e.low is not None and e.high is not None:
            yield Markup('<path class="range" d="M{0:.1f} {1:.1f}V{2:.1f}"/>').format(
                x, frame.y(e.low), frame.y(e.high)
            )
    for x, y in points:
        yield Markup('<circle class="dot" cx="{0:.1f}" cy="{1:.1f}" r="3.6"/>').format(x, y)


def _names(groups: Sequence[Group]) -> Iterator[Markup]:
    """Write the first and the last period."""
    ends = [("start", _LEFT, groups[0].name)]
    if len(groups) > 1:
        ends.append(("end", _W - _RIGHT, groups[-1].name))
    for anchor, x, name in ends:
        yield Markup('<text class="{0}" x="{1:.1f}" y="{2:.1f}">{3}</text>').format(anchor, x, _H - 6, name)


def range_bar(estimate: Estimate, low: float, high: float) -> Markup:
    """Draw one value with its range on a scale from ``low`` to ``high``; what is told in words beside it is not said
    again to a screen reader."""
    if estimate.value is None:
        return Markup("")

    def x(value: float) -> float:
        return 4.0 + (_BAR_W - 8.0) * (min(max(value, low), high) - low) / (high - low or 1.0)

    ends = Markup("")
    if estimate.low is not None and estimate.high is not None:
        ends = Markup('<path class="range" d="M{0:.1f} 6H{1:.1f}"/>').format(x(estimate.low), x(estimate.high))
    return Markup(
        '<svg class="bar" viewBox="0 0 {0:.0f} 12" aria-hidden="true"><path class="axis" d="M4 6H{1:.0f}"/>{2}'
        '<circle class="dot" cx="{3:.1f}" cy="6" r="3.6"/></svg>'
    ).format(_BAR_W, _BAR_W - 4, ends, x(estimate.value))


def scale_of(measure: Measure, place: int, groups: Sequence[Group]) -> tuple[float, float]:
    """Return the scale that shows one measure of all groups."""
    return _scale(measure, [group.estimates[place] for group in groups])


def _scale(measure: Measure, estimates: Sequence[Estimate]) -> tuple[float, float]:
    """Return the ends of a scale: all of a share; of seconds, all values and twice their spread of ranges."""
    if measure.unit == "share":
        return 0.0, 1.0
    values = [e.value for e in estimates if e.value is not None] or [0.0]
    least, most = min(0.0, *values), max(0.0, *values)
    room = max(most - least, 10.0)
    ends = [end for e in estimates for end in (e.low, e.high) if end is not None]
    low = max(min([least, *ends]), least - room)
    high = min(max([most, *ends]), most + room)
    return low, max(high, low + 10.0)


def spoken(measure: Measure, estimate: Estimate) -> tuple[str, str]:
    """Return a value and its range in words."""
    signed = measure.better == "nearer zero"
    return value_words(estimate.value, measure.unit, signed), range_words(estimate, measure.unit, signed)
