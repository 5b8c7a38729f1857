"""Edit markers: what an editor should look at, on the frames of the recording. Which ones, not in which file form."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from analyzer.model.clock import clock
from analyzer.model.errors import OutputError
from analyzer.reports.exports.stored import length_s, recorded
from analyzer.reports.exports.timecode import FrameRate, frame_at, parse_timecode, timecode
from analyzer.reports.plain import cut, seconds_words, terminal_text
from analyzer.reports.report_json import Json

KINDS = ("findings", "unclear", "intervals")
COLOURS = {"high": "RED", "medium": "YELLOW", "low": "CYAN", "unclear": "WHITE", "interval": "GREEN"}
"""Colour by level; each marker's name starts with the level in words too."""


LINE = 200  # our judgement: letters of a marker's line that any editor's import can take


@dataclass(frozen=True, slots=True)
class Marker:
    """A mark over frames ``first`` to ``last`` of the recording (exclusive; both the same at an instant).

    ``level`` a key of :data:`COLOURS`; ``name`` short, ``note`` the sentences; ``at_s`` the time before rounding.
    """

    first: int
    last: int
    level: str
    name: str
    note: str
    at_s: float

    @property
    def colour(self) -> str:
        """The marker's colour, by a name that edit lists and OpenTimelineIO share."""
        return COLOURS[self.level]

    @property
    def line(self) -> str:
        """Name and note in one line, for forms that hold a name alone."""
        return cut(f"{self.name}. {self.note}", LINE)


@dataclass(frozen=True, slots=True)
class MarkerList:
    """All markers of a recording of ``length`` frames, the first of which bears timecode number ``start``."""

    title: str
    recording: str
    rate: FrameRate
    start: int
    length: int
    markers: tuple[Marker, ...]

    def label(self, frame: int) -> str:
        """Return the timecode of a frame of the recording."""
        return timecode(self.start + frame, self.rate)


def marker_list(
    report: Json, rate: FrameRate, start: str = "00:00:00:00", kinds: Iterable[str] = KINDS[:1]
) -> MarkerList:
    """Return the markers of a report at a frame rate.

    Parameters
    ----------
    report : as :func:`analyzer.reports.exports.stored.read_report` gives it.
    start : timecode of the recording's first frame.
    kinds : ``findings`` (those that stand), ``unclear`` (not decided), ``intervals``. What was waived gets no marker.

    Raises
    ------
    OutputError
        When ``start`` is no timecode at this rate, or the recording would run past 24 hours of it.
    """
    length = max(1, frame_at(length_s(report), rate))
    try:
        first = parse_timecode(start, rate)
    except ValueError as error:
        raise OutputError(place="--start", found=str(error), allowed="give the recording's first timecode") from error
    if first + length >= rate.frames_a_day:
        found = f"{start} and {clock(length / rate.fps)} of recording pass 24 hours"
        raise OutputError(place="--start", found=found, allowed="give an earlier one")
    wanted = set(kinds)
    markers = [_finding(f, rate, length) for f in report["findings"] if f["waived"] is None and _kind(f) in wanted]
    if "intervals" in wanted:
        markers += [_interval(row, rate, length) for row in recorded(report)]
    markers.sort(key=lambda marker: (marker.first, list(COLOURS).index(marker.level), marker.name))
    title = terminal_text(report["title"]) or "Untitled class"
    return MarkerList(title, terminal_text(report["recording"]["file"]), rate, first, length, tuple(markers))


def _kind(finding: dict[str, Any]) -> str:
    return "findings" if finding["verdict"] == "fail" else "unclear"


def _finding(finding: dict[str, Any], rate: FrameRate, length: int) -> Marker:
    level = finding["severity"] if finding["verdict"] == "fail" else "unclear"
    sentences = [finding["message"], finding["advice"]]
    if finding["at"] is None:
        sentences.insert(0, "The whole class.")
    note = " ".join(terminal_text(text) for text in sentences if text)
    return _marker(
        finding["at"] or 0.0, finding["until"], rate, length, level, f"{level.upper()} {finding['check']}", note
    )


def _interval(row: dict[str, Any], rate: FrameRate, length: int) -> Marker:
    note = f"{seconds_words(row['end'] - row['start'])} of work"
    if row["planned_seconds"] is None:
        note += ", unplanned"
    else:
        note += f", {seconds_words(row['planned_seconds'])} planned"
    return _marker(row["start"], row["end"], rate, length, "interval", f"INTERVAL {_place(row)}", note)


def _marker(at: float, until: float | None, rate: FrameRate, length: int, level: str, name: str, note: str) -> Marker:
    first = min(frame_at(max(0.0, at), rate), length - 1)
    last = first if until is None else min(max(first, frame_at(until, rate)), length)
    return Marker(first, last, level, name, note, at)


def _place(row: dict[str, Any]) -> str:
    parts = [row["block"], f"round {row['round']}", row["move"], row["side"] and f"{row['side']} side"]
    return ", ".join(terminal_text(part) for part in parts if part)
