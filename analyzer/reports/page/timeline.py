"""The timeline as data: the class in lines of two minutes, set like lines of a score.

Each line holds lanes, from the top: planned, recorded, time calls and counts, options, findings. Places are whole
thousandths of the line's length, so that the page's style holds one small rule for each place used and needs no style
attribute, which its Content-Security-Policy forbids.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from analyzer.model.audit import Audit, Finding, Interval
from analyzer.model.clock import clock
from analyzer.reports.digest import standing
from analyzer.reports.plain import seconds_words
from analyzer.reports.report_json import plan_shift_s

LINE_S = 120.0
_TICK_S = 30.0
_WHOLE = 1000
_SAME_S = 0.5  # a finding at a gap's start is about that gap


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch of a lane: seconds, style classes, the short label inside it, and what a screen reader says.

    ``href`` is where a reader gets when choosing it, "" when it is not to be chosen.
    """

    start_s: float
    end_s: float
    css: str
    label: str
    told: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """One instant of a lane: its glyph, style classes, and what a screen reader says; ``href`` as for a piece."""

    at_s: float
    shape: str
    css: str
    told: str
    href: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece or mark on a line: ``left`` and ``width`` in thousandths of the line; ``rest`` = begun on another."""

    left: int
    width: int
    item: Piece | Mark
    rest: bool = False


@dataclass(frozen=True, slots=True)
class Lane:
    """One lane of one line: its style class, its name, and what lies on it in order."""

    css: str
    name: str
    placed: tuple[Placed, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the timeline: the seconds it covers, its clock as (left, text), its lanes."""

    start_s: float
    end_s: float
    told: str
    ticks: tuple[tuple[int, str], ...]
    lanes: tuple[Lane, ...]


def timeline_lines(audit: Audit) -> tuple[Line, ...]:
    """Lay out the whole class, one :class:`Line` for every two minutes from its first planned or recorded second."""
    planned, recorded = tuple(_planned(audit)), tuple(_recorded(audit))
    marks = (
        ("calls", "Time calls and counts", tuple(_calls(audit))),
        ("options", "Options", tuple(_options(audit))),
        ("flags", "Findings", tuple(_findings(audit))),
    )
    worked = [p for p in (*planned, *recorded) if p.href]
    first = min([0.0, *(piece.start_s for piece in worked)])
    last = max([1.0, float(audit.transcript.duration_s), *(piece.end_s for piece in worked)])
    lines = []
    for number in range(math.floor(first / LINE_S), math.ceil(last / LINE_S)):
        start = number * LINE_S
        lanes = (
            Lane("planned", "Planned", tuple(_pieces_in(planned, start))),
            Lane("recorded", "Recorded", tuple(_pieces_in(recorded, start))),
            *(Lane(css, name, tuple(_marks_in(own, start))) for css, name, own in marks),
        )
        told = f"{signed_clock(start)} to {signed_clock(start + LINE_S)}"
        lines.append(Line(start, start + LINE_S, told, tuple(_ticks(start)), lanes))
    return tuple(lines)


def position_rules(lines: Iterable[Line]) -> str:
    """Return the style rules for every place the lines use: ``l`` and ``w`` with the thousandths after it."""
    lefts, widths = set(), set()
    for line in lines:
        lefts |= {left for left, _ in line.ticks}
        for placed in (placed for lane in line.lanes for placed in lane.placed):
            lefts.add(placed.left)
            widths.add(placed.width)
    rules = [f".l{n}{{left:{n / 10:g}%}}" for n in sorted(lefts)]
    rules += [f".w{n}{{width:{n / 10:g}%}}" for n in sorted(widths - {0})]
    return "".join(rules)


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


def _planned(audit: Audit) -> Iterator[Piece]:
    """Yield the plan on the recording's clock: welcome or demo, work, rest, in order."""
    shift = plan_shift_s(audit)
    rows = audit.schedule.intervals
    found = {i.planned: n for n, i in enumerate(audit.alignment.intervals) if i.planned is not None}
    at = shift
    for row in rows:
        start, end = row.start_s + shift, row.end_s + shift
        talk = start - max(row.demo_s, 0.0) if row.index else at
        yield from _gap(at, talk, "plan-rest", "Planned rest", "")
        demo = audit.plan.blocks[row.block].demo_s > 0
        yield from _gap(talk, start, "plan-talk", f"Planned {'demo' if demo else 'talk'}", "demo" if demo else "talk")
        yield _planned_work(audit, row.index, found.get(row.index), start, end)
        at = end
    yield from _gap(at, audit.schedule.total_s + shift, "plan-talk", "Planned talk", "talk")


def _planned_work(audit: Audit, index: int, number: int | None, start: float, end: float) -> Piece:
    row = audit.schedule.intervals[index]
    block = audit.plan.blocks[row.block]
    name = block.moves[row.move].name
    lost = number is None or audit.alignment.intervals[number].status == "missing"
    told = f"Planned: {_place(block.name, row.round, name, row.side)}, {signed_clock(start)} to {signed_clock(end)}, "
    told += f"{seconds_words(row.work_s)}{'; missing from the recording' if lost else ''}"
    short = _short(name, row.side)
    css, label = ("plan lost", f"missing: {short}") if lost else ("plan", short)
    return Piece(start, end, css, label, told, "" if number is None else f"#iv-{number + 1}")


def _recorded(audit: Audit) -> Iterator[Piece]:
    """Yield what was worked, and the gaps between: a rest, or the demo and talk where the plan has one."""
    found = [(n, i) for n, i in enumerate(audit.alignment.intervals) if i.start_s is not None and i.end_s is not None]
    found.sort(key=lambda item: item[1].start_s or 0.0)
    slips = standing(audit.findings)
    works = [_worked(audit, n, i, slips) for n, i in found]
    if not works:
        return
    yield from _gap(0.0, works[0].start_s, "talk", "Talk before the first interval", "talk")
    for (_, interval), (work, following) in zip(found[1:], pairwise(works), strict=True):
        yield work
        talk = interval.planned is not None and audit.schedule.intervals[interval.planned].demo_s > 0
        yield from _rest(work.end_s, following.start_s, talk, slips)
    yield works[-1]
    yield from _gap(works[-1].end_s, audit.transcript.duration_s, "talk", "Talk after the last interval", "talk")


def _rest(start: float, end: float, talk: bool, findings: tuple[Finding, ...]) -> Iterator[Piece]:
    """Yield the gap between two worked intervals, marked where a finding says its length is off."""
    off = next((f for f in findings if f.check.startswith("rest-") and _starts(f, start)), None)
    css, what = ("talk", "Demo or talk") if talk else ("rest", "Rest")
    label = f"{end - start:.0f} s"
    for piece in _gap(start, end, css, what, label):
        if off is None or off.expected is None:
            yield piece
        else:
            told = f"{piece.told}, {seconds_words(off.expected)} planned"
            yield replace(piece, css=f"{css} off", label=_sign(end - start - off.expected), told=told)


def _starts(finding: Finding, start: float) -> bool:
    return finding.at_s is not None and abs(finding.at_s - start) < _SAME_S


def _gap(start: float, end: float, css: str, what: str, label: str) -> Iterator[Piece]:
    if end - start >= 1.0:
        told = f"{what}, {signed_clock(start)} to {signed_clock(end)}, {seconds_words(end - start)}"
        yield Piece(start, end, css, label, told)


def _worked(audit: Audit, number: int, interval: Interval, slips: tuple[Finding, ...]) -> Piece:
    start, end = interval.start_s or 0.0, interval.end_s or 0.0
    told = f"{_place(interval.block, interval.round, interval.move, interval.side)}: {clock(start)} to {clock(end)}"
    css, label = "take", _short(interval.move, interval.side)
    if interval.planned is None:
        css, label, told = "take extra", f"+ {label}", f"{told}, unplanned, {seconds_words(end - start)}"
    else:
        planned = audit.schedule.intervals[interval.planned].work_s
        told = f"{told}, {seconds_words(end - start)} of {seconds_words(planned)} planned"
        if slip_of(interval, slips):
            css, label, told = "take off", f"{_sign(end - start - planned)} {label}", f"{told}, beyond the limit"
    return Piece(start, end, css, label, told, f"#iv-{number + 1}")


def _calls(audit: Audit) -> Iterator[Mark]:
    for number, call in enumerate(audit.facts.calls):
        shape = "count" if call.kind == "count" else "call"
        told = f"{clock(call.at_s)} {'count' if shape == 'count' else 'time call'}"
        told += {"fail": ", off", "unclear": ", not decided", "pass": ""}[call.verdict] + f": {call.text}"
        if call.verdict == "fail":
            shape = "count-struck" if shape == "count" else "struck"
        yield Mark(call.at_s, shape, f"call {call.verdict}", told, f"#c-{number + 1}")


def _options(audit: Audit) -> Iterator[Mark]:
    for number, option in enumerate(audit.facts.options):
        told = f"{clock(option.at_s)} {option.direction} option: {option.text}"
        yield Mark(option.at_s, option.direction, option.direction, told, f"#o-{number + 1}")


def _findings(audit: Audit) -> Iterator[Mark]:
    for number, finding in enumerate(audit.findings):
        if finding.at_s is not None and finding.verdict == "fail" and finding.waived is None:
            told = f"{clock(finding.at_s)} {finding.severity}: {finding.message}"
            yield Mark(finding.at_s, finding.severity, finding.severity, told, f"#f-{number + 1}")


def _pieces_in(pieces: Iterable[Piece], start: float) -> Iterator[Placed]:
    for piece in pieces:
        low, high = max(piece.start_s, start), min(piece.end_s, start + LINE_S)
        if low < high:
            left = round((low - start) / LINE_S * _WHOLE)
            width = max(round((high - start) / LINE_S * _WHOLE) - left, 2)
            named = high - low >= (piece.end_s - piece.start_s) / 2  # a piece over a line's end is named once
            yield Placed(left, width, piece if named else replace(piece, label=""), rest=piece.start_s < low)


def _marks_in(marks: Iterable[Mark], start: float) -> Iterator[Placed]:
    for mark in marks:
        if start <= mark.at_s < start + LINE_S:
            yield Placed(round((mark.at_s - start) / LINE_S * _WHOLE), 0, mark)


def _ticks(start: float) -> Iterator[tuple[int, str]]:
    for step in range(int(LINE_S / _TICK_S)):
        yield round(step * _TICK_S / LINE_S * _WHOLE), signed_clock(start + step * _TICK_S)


def _place(block: str, round_: int, move: str, side: str | None) -> str:
    return f"{block}, round {round_}, {move}{f' {side}' if side else ''}"


def _short(move: str, side: str | None) -> str:
    """Return a bar's label: the side first and by its initial, so that cutting the end never hides it."""
    return f"{side[0].upper()} {move}" if side else move


def _sign(seconds: float) -> str:
    return f"+{seconds_words(seconds)}" if seconds > 0 else seconds_words(seconds)
