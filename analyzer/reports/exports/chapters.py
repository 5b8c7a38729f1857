"""Chapters of the recording: where each block, round or move begins, as it was worked.

A block's or a round's chapter begins where the work before it ended, so that its demo and talk come with it; a move's
begins with its own work. What comes before the first work is a chapter too, when there is enough of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from analyzer.model.clock import clock
from analyzer.reports.exports.stored import length_s, recorded
from analyzer.reports.exports.vtt import TimedText, in_order, webvtt_bytes
from analyzer.reports.plain import terminal_text
from analyzer.reports.report_json import Json

LEVELS = ("block", "round", "move")
OPENING = "Introduction"
OPENING_S = 10.0  # common practice, no source: players that list chapters want ten seconds of each


@dataclass(frozen=True, slots=True)
class Chapter:
    """A named part of the recording, seconds."""

    start_s: float
    end_s: float
    title: str


def chapters(report: Json, level: str = "block") -> tuple[Chapter, ...]:
    """Return the chapters of a report in order, without gap or overlap, from 0 to the recording's end.

    ``level`` is one of :data:`LEVELS`. Without any work there is one chapter, the class.
    """
    name = _namer(report, level)
    marks: list[tuple[float, str]] = []
    before = ""
    worked_s = 0.0
    for number, row in enumerate(recorded(report)):
        if level == "move" or name(row) != before:
            starts = row["start"] if level == "move" or not number else worked_s
            marks.append((max(0.0, float(starts)), name(row)))
        before, worked_s = name(row), row["end"]
    if not marks:
        return (Chapter(0.0, length_s(report), terminal_text(report["title"]) or OPENING),)
    if marks[0][0] >= OPENING_S:
        marks.insert(0, (0.0, OPENING))
    marks[0] = (0.0, marks[0][1])
    ends = [start for start, _ in marks[1:]] + [length_s(report)]
    return tuple(Chapter(start, end, title) for (start, title), end in zip(marks, ends, strict=True) if end > start)


def chapters_vtt(report: Json, level: str = "block") -> bytes:
    """Return the chapters as a WebVTT chapters track."""
    title = f"Chapters of {terminal_text(report['title']) or 'a class'}"
    return webvtt_bytes((TimedText(*in_order(c.start_s, c.end_s), c.title) for c in chapters(report, level)), title)


def chapters_text(report: Json, level: str = "block") -> bytes:
    """Return the chapters as lines of a time and a title, for a description. Times are cut to whole seconds.

    A chapter shorter than the time shown gives way to the one that follows it.
    """
    found = [(math.floor(chapter.start_s), chapter.title) for chapter in chapters(report, level)]
    kept = [now for now, after in pairwise([*found, (-1, "")]) if now[0] != after[0]]
    kept[0] = (0, kept[0][1])
    return "".join(f"{clock(at)} {title}\n" for at, title in kept).encode("utf-8")


def _namer(report: Json, level: str) -> Callable[[dict[str, Any]], str]:
    """Return what gives an interval's chapter its title; the round is told where the block has more than one."""
    rounds: dict[str, int] = {}
    for row in report["intervals"]:
        rounds[row["block"]] = max(rounds.get(row["block"], 1), row["round"])

    def name(row: dict[str, Any]) -> str:
        title = terminal_text(row["block"]) or "Block"
        if level != "block" and rounds[row["block"]] > 1:
            title += f", round {row['round']}"
        if level == "move":
            title += f": {terminal_text(row['move'])}" + (f", {row['side']}" if row["side"] else "")
        return title

    return name
