"""Time calls as a scatter: seconds said against seconds real, with the tolerated band around the line where both agree.

Both axes run by the square root, so that calls of ten seconds and of minutes are told apart on one drawing and
agreement stays a straight line. Counts are left out: nearly all of them say one second.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from analyzer.model.audit import Audit, JudgedCall
from analyzer.model.clock import clock
from analyzer.reports.glyphs import SHAPES
from analyzer.reports.plain import safe_text, seconds_words

_SIDE = 400.0
_LEFT, _TOP, _RIGHT, _BOTTOM = 58.0, 12.0, 14.0, 48.0
_TICKS_S = (0, 5, 15, 30, 60, 120, 300, 600, 1200, 2400, 4800)
_SAMPLES = 60


@dataclass(frozen=True, slots=True)
class Scatter:
    """The drawing, and how many calls it shows and leaves out for want of a number."""

    svg: Markup
    shown: int
    left_out: int


def call_scatter(audit: Audit) -> Scatter | None:
    """Draw the time calls that could be held against something; None when there is none."""
    calls = [(n, c) for n, c in enumerate(audit.facts.calls) if c.kind != "count"]
    shown = [(n, c) for n, c in calls if c.said is not None and c.actual is not None]
    if not shown:
        return None
    top = max(30.0, *(max(c.said or 0.0, c.actual or 0.0) for _, c in shown)) * 1.1
    return Scatter(_svg(shown, top, audit.limits), len(shown), len(calls) - len(shown))


def _svg(calls: list[tuple[int, JudgedCall]], top: float, limits: Mapping[str, float | str | bool]) -> Markup:
    parts = [_band(top, limits), _axes(top)]
    parts += [_point(number, call, top) for number, call in calls]
    told = f"{len(calls)} time calls, seconds said from left to right, real seconds upwards"
    size = f"0 0 {_SIDE + _LEFT + _RIGHT:g} {_SIDE + _TOP + _BOTTOM:g}"
    return Markup('<svg class="scatter" viewBox="{size}" role="group" aria-label="{told}">{body}</svg>').format(
        size=size, told=told, body=Markup("").join(parts)
    )


def _along(seconds: float, top: float) -> float:
    return math.sqrt(min(max(seconds, 0.0), top) / top) * _SIDE


def _x(seconds: float, top: float) -> float:
    return _LEFT + _along(seconds, top)


def _y(seconds: float, top: float) -> float:
    return _TOP + _SIDE - _along(seconds, top)


def _axes(top: float) -> Markup:
    low, high = _LEFT, _TOP + _SIDE
    parts = [Markup('<path class="axis" d="M{} {}V{}H{}"/>').format(_n(low), _n(_TOP), _n(high), _n(low + _SIDE))]
    for tick in (t for t in _TICKS_S if t <= top):
        label = seconds_words(tick).replace(" 00 s", "")
        parts.append(
            Markup(
                '<path class="grid" d="M{x} {top}V{high}M{low} {y}H{right}"/>'
                '<text x="{x}" y="{below}" text-anchor="middle">{label}</text>'
                '<text x="{beside}" y="{level}" text-anchor="end">{label}</text>'
            ).format(
                x=_n(_x(tick, top)), y=_n(_y(tick, top)), top=_n(_TOP), high=_n(high), low=_n(low),
                right=_n(low + _SIDE), below=_n(high + 18), beside=_n(low - 7), level=_n(_y(tick, top) + 4),
                label=label,
            )
        )  # fmt: skip
    parts.append(
        Markup(
            '<path class="agree" d="M{low} {high}L{right} {top}"/>'
            '<text class="name" x="{right}" y="{below}" text-anchor="end">said</text>'
            '<text class="name" x="{beside}" y="{roof}">real</text>'
        ).format(
            low=_n(low), high=_n(high), right=_n(low + _SIDE), top=_n(_TOP), below=_n(high + 40),
            beside=_n(low + 8), roof=_n(_TOP + 12),
        )
    )  # fmt: skip
    return Markup("").join(parts)


def _band(top: float, limits: Mapping[str, float | str | bool]) -> Markup:
    """Return the tolerated band, as wide as the house rules of this audit say; nothing where they are not told."""
    numbers = [limits.get(f"time-call-off.{name}") for name in ("limit_s", "short_limit_s", "short_until_s")]
    told = [float(number) for number in numbers if isinstance(number, int | float)]
    if len(told) < len(numbers):
        return Markup("")
    limit, short, until = told
    said = [top * (n / _SAMPLES) ** 2 for n in range(_SAMPLES + 1)]
    rows = [(s, short if s <= until else limit) for s in said]
    upper = [f"{_n(_x(s, top))},{_n(_y(s + w, top))}" for s, w in rows]
    lower = [f"{_n(_x(s, top))},{_n(_y(s - w, top))}" for s, w in reversed(rows)]
    return Markup('<polygon class="band" points="{}"/>').format(" ".join(upper + lower))


def _point(number: int, call: JudgedCall, top: float) -> Markup:
    said, actual = call.said or 0.0, call.actual or 0.0
    word = {"pass": "kept", "fail": "off", "unclear": "not decided"}[call.verdict]
    told = safe_text(
        f"{clock(call.at_s)}, {seconds_words(said)} said, {seconds_words(actual)} real, {word}: {call.text}"
    )
    shape = SHAPES["struck" if call.verdict == "fail" else "call"]
    place = f"translate({_n(_x(said, top))} {_n(_y(actual, top))})"
    return Markup(
        '<a class="mark call {css}" transform="{place}" href="#c-{number}" data-at="{at}" aria-label="{told}">'
        '<title>{told}</title><circle class="target" r="12"/>{shape}</a>'
    ).format(css=call.verdict, place=place, number=number + 1, at=f"{call.at_s:.2f}", told=told, shape=shape)


def _n(value: float) -> str:
    """Return a coordinate with at most one decimal and no trailing zero."""
    return f"{value:.1f}".removesuffix(".0")
