"""The timeline as inline SVG: the class in lines of two minutes, set like lines of a score.

Each line holds, from the top: the clock, the planned lane, the recorded lane, calls and counts, options, findings.
Lines carry no padding at their ends, so that side by side they read on. Coordinates: x in units of 0.3 s from the
line's start; text sizes are in the same units. Colours come from style classes; every one has a shape or word too.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from analyzer.model.audit import Audit, Finding, Interval
from analyzer.model.clock import clock
from analyzer.reports.digest import standing
from analyzer.reports.plain import cut, safe_text, seconds_words
from analyzer.reports.report_json import plan_shift_s

LINE_S = 120.0
WIDTH = 400.0
HEIGHT = 138.0
_UNITS = WIDTH / LINE_S
_CHAR = 6.3  # mean advance of a letter at the bars' text size, in units
_PLAN_Y, _PLAN_H, _TAKE_Y, _TAKE_H = 22.0, 18.0, 43.0, 30.0
_CALLS_Y, _OPTIONS_Y, _FINDINGS_Y = 86.0, 106.0, 126.0

_RING = Markup('<path class="ring" d="M-7 7L7 -7"/>')
SHAPES: Mapping[str, Markup] = {
    "call": Markup('<path d="M-5 -4.5H5L0 5Z"/>'),
    "struck": Markup('<path d="M-5 -4.5H5L0 5Z"/>') + _RING,
    "count": Markup("").join(Markup('<circle cx="{}" cy="0" r="2"/>').format(x) for x in (-5, 0, 5)),
    "easier": Markup('<path d="M-5 -4L0 1L5 -4V0L0 5L-5 0Z"/>'),
    "harder": Markup('<path d="M-5 4L0 -1L5 4V0L0 -5L-5 0Z"/>'),
    "high": Markup('<path d="M-4.5 -4.5H4.5V4.5H-4.5Z"/>'),
    "medium": Markup('<path d="M0 -5.6L5.6 0L0 5.6L-5.6 0Z"/>'),
    "low": Markup('<path d="M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0"/>'),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the timeline: the seconds it covers and its drawing."""

    start_s: float
    end_s: float
    svg: Markup


@dataclass(frozen=True, slots=True)
class _Bar:
    start_s: float
    end_s: float
    css: str
    label: str
    told: str
    href: str
    y: float
    height: float


def timeline_lines(audit: Audit) -> tuple[Line, ...]:
    """Draw the whole class, one :class:`Line` for every two minutes from its first planned or recorded second."""
    bars = (*_planned_bars(audit), *_recorded_bars(audit))
    marks = (*_call_marks(audit), *_option_marks(audit), *_finding_marks(audit))
    first = min([0.0, *(bar.start_s for bar in bars)])
    last = max([1.0, float(audit.transcript.duration_s), *(bar.end_s for bar in bars)])
    begin = math.floor(first / LINE_S)
    return tuple(_line(n * LINE_S, bars, marks) for n in range(begin, math.ceil(last / LINE_S)))


def glyph(shape: str, css: str = "") -> Markup:
    """Return one mark as a small drawing of its own for legends and lists; hidden from screen readers."""
    return Markup('<svg class="glyph {}" viewBox="-8 -8 16 16" aria-hidden="true" focusable="false">{}</svg>').format(
        css, SHAPES[shape]
    )


def signed_clock(seconds: float) -> str:
    """Return a time that may lie before the recording's start: ``\u22120:30``.

    >>> signed_clock(90), signed_clock(-30)
    ('1:30', '\u22120:30')
    """
    return f"\u2212{clock(-seconds)}" if seconds < -0.5 else clock(seconds)


def slip_of(interval: Interval, findings: Iterable[Finding]) -> Finding | None:
    """Return the finding that says an interval's length is off, if one is among ``findings``."""
    for finding in findings:
        same = (finding.block, finding.round, finding.move) == (interval.block, interval.round, interval.move)
        if same and finding.check in ("interval-long", "interval-short") and finding.side in (None, interval.side):
            return finding
    return None


def _planned_bars(audit: Audit) -> Iterable[_Bar]:
    shift = plan_shift_s(audit)
    missing = {i.planned for i in audit.alignment.intervals if i.status == "missing"}
    for row in audit.schedule.intervals:
        block = audit.plan.blocks[row.block]
        name = block.moves[row.move].name + (f" {row.side}" if row.side else "")
        lost = row.index in missing
        told = f"Planned: {block.name}, round {row.round}, {name}, {seconds_words(row.work_s)}"
        short = _short(block.moves[row.move].name, row.side)
        css, label = ("plan lost", f"missing: {short}") if lost else ("plan", short)
        told += "; missing from the recording" if lost else ""
        yield _Bar(row.start_s + shift, row.end_s + shift, css, label, told, "", _PLAN_Y, _PLAN_H)


def _recorded_bars(audit: Audit) -> Iterable[_Bar]:
    slips = standing(audit.findings)
    for index, interval in enumerate(audit.alignment.intervals):
        if interval.start_s is None or interval.end_s is None:
            continue
        length = interval.end_s - interval.start_s
        name = interval.move + (f" {interval.side}" if interval.side else "")
        told = f"{interval.block}, round {interval.round}, {name}: {clock(interval.start_s)} to {clock(interval.end_s)}"
        css, label = "take", _short(interval.move, interval.side)
        if interval.status == "extra":
            css, label, told = "take extra", f"+ {label}", f"{told}, unplanned, {seconds_words(length)}"
        elif interval.planned is not None:
            planned = audit.schedule.intervals[interval.planned].work_s
            told = f"{told}, {seconds_words(length)} of {seconds_words(planned)} planned"
            if slip_of(interval, slips):
                css, label = "take off", f"{_sign(length - planned)} {label}"
        yield _Bar(interval.start_s, interval.end_s, css, label, told, f"#iv-{index + 1}", _TAKE_Y, _TAKE_H)


def _short(move: str, side: str | None) -> str:
    """Return a bar's label: the side first and by its initial, so that cutting the end never hides it."""
    return f"{side[0].upper()} {move}" if side else move


def _sign(seconds: float) -> str:
    return f"+{seconds_words(seconds)}" if seconds > 0 else seconds_words(seconds)


@dataclass(frozen=True, slots=True)
class _Mark:
    at_s: float
    y: float
    shape: str
    css: str
    told: str
    href: str = ""


def _call_marks(audit: Audit) -> Iterable[_Mark]:
    for call in audit.facts.calls:
        shape = "count" if call.kind == "count" else "call"
        word = {"fail": ", off", "unclear": ", not decided", "pass": ""}[call.verdict]
        told = f"{clock(call.at_s)} {'count' if shape == 'count' else 'time call'}{word}: {call.text}"
        yield _Mark(call.at_s, _CALLS_Y, shape, f"call {call.verdict}", told)


def _option_marks(audit: Audit) -> Iterable[_Mark]:
    for option in audit.facts.options:
        told = f"{clock(option.at_s)} {option.direction} option: {option.text}"
        yield _Mark(option.at_s, _OPTIONS_Y, option.direction, option.direction, told)


def _finding_marks(audit: Audit) -> Iterable[_Mark]:
    for index, finding in enumerate(audit.findings):
        if finding.at_s is not None and finding.verdict == "fail" and finding.waived is None:
            told = f"{clock(finding.at_s)} {finding.severity}: {finding.message}"
            yield _Mark(finding.at_s, _FINDINGS_Y, finding.severity, finding.severity, told, f"#f-{index + 1}")


def _line(start: float, bars: tuple[_Bar, ...], marks: tuple[_Mark, ...]) -> Line:
    end = start + LINE_S
    parts = [_ticks(start)]
    parts += [_bar(bar, start, end) for bar in bars if bar.start_s < end and bar.end_s > start]
    parts += [_mark(mark, start) for mark in marks if start <= mark.at_s < end]
    title = f"Timeline from {signed_clock(start)} to {signed_clock(end)}"
    svg = Markup(
        '<svg class="line" viewBox="0 0 {w} {h}" role="group" aria-label="{title}"><title>{title}</title>{body}</svg>'
    ).format(w=_n(WIDTH), h=_n(HEIGHT), title=title, body=Markup("").join(parts))
    return Line(start, end, svg)


def _ticks(start: float) -> Markup:
    parts = []
    for step in range(0, int(LINE_S), 30):
        x = step * _UNITS
        parts.append(
            Markup('<path class="tick{}" d="M{x} {}V{}"/><text class="hour" x="{tx}" y="11">{}</text>').format(
                "" if step else " first",
                4 if step == 0 else 16,
                _n(HEIGHT),
                signed_clock(start + step),
                x=_n(x),
                tx=_n(x + 3),
            )
        )
    return Markup("").join(parts)


def _bar(bar: _Bar, start: float, end: float) -> Markup:
    left, right = max(bar.start_s, start), min(bar.end_s, end)
    x, width = (left - start) * _UNITS, max((right - left) * _UNITS, 1.0)
    room = int((width - 8) / _CHAR)
    widest = right - left >= (bar.end_s - bar.start_s) / 2  # a bar that runs over a line's end is named once
    label = cut(safe_text(bar.label), room) if room >= 3 and widest else ""
    drawn = Markup(
        '<rect x="{x}" y="{y}" width="{w}" height="{h}" rx="2"/>{cross}<text x="{tx}" y="{ty}">{label}</text>'
    ).format(
        x=_n(x + 0.5), y=_n(bar.y), w=_n(max(width - 1, 1)), h=_n(bar.height), tx=_n(x + 5),
        ty=_n(bar.y + bar.height / 2 + 4), label=label, cross=_cross(bar, x, width),
    )  # fmt: skip
    title = Markup("<title>{}</title>").format(safe_text(bar.told))
    if not bar.href:
        return Markup('<g class="{}">{}{}</g>').format(bar.css, title, drawn)
    if bar.start_s < start:  # the rest of a bar begun on the line above: seen, but not a second stop for the keyboard
        return Markup('<g class="{}" aria-hidden="true">{}{}</g>').format(bar.css, title, drawn)
    return Markup('<a class="{}" href="{}" data-at="{}" aria-label="{}">{}{}</a>').format(
        bar.css, bar.href, _n(bar.start_s), safe_text(bar.told), title, drawn
    )


def _cross(bar: _Bar, x: float, width: float) -> Markup:
    """Hatching for unplanned bars and a strike for lost ones: told apart without colour."""
    if "extra" in bar.css:
        steps = range(8, int(width), 8)
        path = " ".join(f"M{_n(x + s)} {_n(bar.y)}l-6 {_n(bar.height)}" for s in steps)
        return Markup('<path class="hatch" d="{}"/>').format(path)
    if "lost" in bar.css:
        return Markup('<path class="strike" d="M{} {}L{} {}"/>').format(
            _n(x + 1), _n(bar.y + bar.height), _n(x + width - 1), _n(bar.y)
        )
    return Markup("")


def _mark(mark: _Mark, start: float) -> Markup:
    x = min(max((mark.at_s - start) * _UNITS, 6.0), WIDTH - 6.0)
    told = safe_text(mark.told)
    ring = _RING if mark.css == "call fail" else Markup("")
    inner = Markup("<title>{}</title>{}{}").format(told, SHAPES[mark.shape], ring)
    place = f"translate({_n(x)} {_n(mark.y)})"
    if not mark.href:
        return Markup('<g class="mark {}" transform="{}">{}</g>').format(mark.css, place, inner)
    return Markup('<a class="mark {}" transform="{}" href="{}" data-at="{}" aria-label="{}">{}</a>').format(
        mark.css, place, mark.href, _n(mark.at_s), told, inner
    )


def _n(value: float) -> str:
    """Return a coordinate with at most two decimals and no trailing zeros."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
