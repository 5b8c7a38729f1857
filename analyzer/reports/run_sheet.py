"""The run sheet of a plan: what to say when, to rehearse with. As text, CSV, one page to print or read off a tablet,
and WebVTT cues to lay over a rehearsal's video.
"""

from __future__ import annotations

import math
import textwrap
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from analyzer import __version__
from analyzer.model.clock import clock
from analyzer.model.plan import Block, Plan, PlannedInterval, Schedule
from analyzer.plans.script import Line
from analyzer.reports.digest import PLAN_CAUTIONS
from analyzer.reports.exports.vtt import TimedText, in_order, webvtt_bytes
from analyzer.reports.plain import columns, cut, seconds_words, terminal_text
from analyzer.reports.tables import table_bytes

CSV_COLUMNS = ("clock", "at", "until", "block", "round", "move", "side", "kind", "say", "fits")
NO_ROOM = "no time for this"
_NAME_WIDTH = 38
_TEXT_WIDTH = 80


@dataclass(frozen=True, slots=True)
class Stretch:
    """One planned interval with what is said on the way into it, in it and right after it."""

    row: PlannedInterval
    move: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One block: its first and last second on the plan's clock, its own lines, then its intervals."""

    block: Block
    start_s: float
    end_s: float
    lines: tuple[Line, ...]
    stretches: tuple[Stretch, ...]


def sheet_parts(plan: Plan, schedule: Schedule, script: Sequence[Line]) -> tuple[Part, ...]:
    """Return the run sheet block by block; ``script`` is the plan's own."""
    lines: dict[tuple[int, int | None], list[Line]] = defaultdict(list)
    for line in script:
        lines[line.block, line.interval].append(line)
    rows: dict[int, list[PlannedInterval]] = defaultdict(list)
    for row in schedule.intervals:
        rows[row.block].append(row)
    return tuple(_part(n, block, rows[n], lines) for n, block in enumerate(plan.blocks))


def _part(
    number: int, block: Block, rows: list[PlannedInterval], lines: Mapping[tuple[int, int | None], list[Line]]
) -> Part:
    own = tuple(lines[number, None])
    stretches = tuple(Stretch(row, block.moves[row.move].name, tuple(lines[number, row.index])) for row in rows)
    starts = [line.at_s for line in own] + [row.start_s for row in rows[:1]]
    ends = [line.until_s for line in own] + [row.end_s for row in rows[-1:]]
    return Part(block, min(starts), max(ends), own, stretches)


def sheet_text(plan: Plan, schedule: Schedule, script: Sequence[Line], brief: bool = False) -> str:
    """Return the run sheet for a terminal; ``brief`` leaves out what to say."""
    lines = [f"{terminal_text(plan.title)}, {clock(schedule.total_s)}"]
    for part in sheet_parts(plan, schedule, script):
        lines += ["", terminal_text(part.block.name)]
        lines += [_said(line) for line in part.lines if line.kind == "talk" or not brief]
        for stretch in part.stretches:
            said = () if brief else stretch.lines
            before = [_said(line) for line in said if line.at_s < stretch.row.start_s]
            after = [_said(line) for line in said if line.at_s >= stretch.row.start_s]
            lines += [*before, _row(stretch), *after]
    cautions = [] if brief else ["", *textwrap.wrap(" ".join(PLAN_CAUTIONS), _TEXT_WIDTH)]
    return "\n".join([*lines, *cautions]) + "\n"


def _row(stretch: Stretch) -> str:
    row = stretch.row
    name = cut(terminal_text(stretch.move + (f", {row.side}" if row.side else "")), _NAME_WIDTH)
    padded = name + " " * (_NAME_WIDTH - columns(name))
    rest = f"then {seconds_words(row.rest_s)}" if row.rest_s else ""
    return f"{clock(row.start_s):>8}  round {row.round:<2} {padded}  {seconds_words(row.work_s):>10}  {rest}".rstrip()


def _said(line: Line) -> str:
    mark = "" if line.room else f"  ({NO_ROOM})"
    text = f"talk, {seconds_words(line.until_s - line.at_s)}" if line.kind == "talk" else terminal_text(line.text)
    return f"{clock(line.at_s):>8}    {text}{mark}"


def sheet_csv(plan: Plan, schedule: Schedule, script: Sequence[Line]) -> bytes:
    """Return the run sheet as a CSV table, a row a line, times in seconds on the plan's clock."""
    return table_bytes(CSV_COLUMNS, (_csv_row(line, plan, schedule) for line in script))


def _csv_row(line: Line, plan: Plan, schedule: Schedule) -> dict[str, object]:
    row = None if line.interval is None else schedule.intervals[line.interval]
    block = plan.blocks[line.block]
    return {
        "clock": clock(line.at_s),
        "at": line.at_s,
        "until": line.until_s,
        "block": block.name,
        "round": row and row.round,
        "move": row and block.moves[row.move].name,
        "side": row and row.side,
        "kind": line.kind,
        "say": line.text,
        "fits": "yes" if line.room else "no",
    }


def sheet_vtt(plan: Plan, script: Sequence[Line]) -> bytes:
    """Return the lines as WebVTT cues. None lasts into the next; a talk is shown by its name and length in brackets."""
    return webvtt_bytes(_cues(script), plan.title)


def _cues(script: Sequence[Line]) -> Iterator[TimedText]:
    together = [(at_s, list(lines)) for at_s, lines in groupby(script, key=lambda line: line.at_s)]
    following = [at_s for at_s, _ in together[1:]] + [math.inf]
    for (at_s, lines), next_s in zip(together, following, strict=True):
        start_ms, end_ms = in_order(at_s, min(max(line.until_s for line in lines), next_s))
        yield TimedText(start_ms, end_ms, "\n".join(map(_shown, lines)))


def _shown(line: Line) -> str:
    return f"[{line.text}, {seconds_words(line.until_s - line.at_s)}]" if line.kind == "talk" else line.text


def sheet_html(plan: Plan, schedule: Schedule, script: Sequence[Line]) -> str:
    """Return the run sheet as one self-contained page; the same plan gives the same page. It runs no script."""
    from analyzer.reports.html import content_policy, part, template  # the template engine is only paid for when asked

    style = part("report.css") + part("run_sheet.css")
    return template("run_sheet.html.j2").render(
        plan=plan,
        total_s=schedule.total_s,
        parts=sheet_parts(plan, schedule, script),
        policy=content_policy("", style),
        style=Markup(style),
        no_room=NO_ROOM,
        crowded=sum(not line.room for line in script),
        cautions=PLAN_CAUTIONS,
        version=__version__,
    )
