"""Tables: CSV or TSV with a start, an end and a text column, header names forgiving."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.model.clock import MAX_MS, parse_clock_ms
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem, Token
from analyzer.transcripts.reading import Block, Reading, skipped

_NAMES = {
    "start": (
        "start",
        "begin",
        "from",
        "in",
        "starts",
        "startat",
        "starttime",
        "begintime",
        "onset",
        "time",
        "timestamp",
        "timein",
        "tc",
        "stamp",
        "at",
        "timecode",
    ),
    "end": ("end", "stop", "to", "out", "ends", "endat", "endtime", "stoptime", "offset", "timeout", "until"),
    "text": (
        "text",
        "words",
        "word",
        "caption",
        "captions",
        "transcript",
        "line",
        "content",
        "utterance",
        "subtitle",
        "said",
        "speech",
        "transcription",
        "sentence",
    ),
    "speaker": ("speaker", "name", "who", "voice"),
}
_UNITS = re.compile(r"[_ (\[]*(ms|msec|milliseconds|s|sec|secs|seconds)[)\]]*$")
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(?:[.,][0-9]{1,9})?")
_MAX_NAME = 40
_WORD_ROWS = 0.9  # share of rows of one word from which a table counts as word times


@dataclass(frozen=True, slots=True)
class Header:
    """Where the columns of a table are. ``end`` and ``speaker`` are None where missing; ``milliseconds`` the unit."""

    delimiter: str
    start: int
    text: int
    end: int | None
    speaker: int | None
    milliseconds: bool


def find_header(text: str) -> Header | None:
    """Return the columns when the first non-blank line is a header with a start and a text column, else None."""
    line = next((line for line in text.split("\n") if line.strip()), "")
    for delimiter in ("\t", ";", ",", "|"):
        if delimiter in line:
            try:
                cells = next(csv.reader([line], delimiter=delimiter))
            except csv.Error:
                return None
            header = _columns(cells, delimiter)
            if header is not None:
                return header
    return None


def _columns(cells: Sequence[str], delimiter: str) -> Header | None:
    found: dict[str, int] = {}
    milliseconds = False
    for index, cell in enumerate(cells):
        name = cell.strip().lower()
        if len(name) > _MAX_NAME:
            continue
        unit = _UNITS.search(name)
        bare = _UNITS.sub("", name) if unit and name not in ("s", "ms") else name
        plain = re.sub(r"[^a-z]", "", bare)
        for column, names in _NAMES.items():
            if plain in names and column not in found:
                found[column] = index
                if column == "start" and unit and unit[1].startswith("m"):
                    milliseconds = True
                break
    if "start" not in found or "text" not in found:
        return None
    return Header(delimiter, found["start"], found["text"], found.get("end"), found.get("speaker"), milliseconds)


def read_table(text: str, name: str) -> Reading:
    """Return one block a row. A row whose time cannot be read is reported and left out.

    Raises
    ------
    TranscriptError
        When there is no header, or the table itself is broken.
    """
    header = find_header(text)
    if header is None:
        raise TranscriptError(name, "row 1", "no start and text columns", "name them start, end, text")
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=header.delimiter)
    blocks: list[Block] = []
    problems: list[Problem] = []
    started = False
    fractions = False
    try:
        for row in rows:
            if not any(cell.strip() for cell in row):
                continue
            if not started:
                started = True
                continue
            try:
                blocks.append(_block(row, header, rows.line_num))
            except ValueError as error:
                problems.append(skipped(f"row {rows.line_num}", str(error)))
                continue
            fractions = fractions or blocks[-1].start_ms % 1000 != 0
    except csv.Error as error:
        raise TranscriptError(
            name, f"row {rows.line_num}", f"broken table ({error})", "save it as CSV again"
        ) from error
    return _as_reading(blocks, problems, header, fractions)


def _as_reading(blocks: list[Block], problems: list[Problem], header: Header, fractions: bool) -> Reading:
    single = sum(1 for block in blocks if len(block.text.split()) == 1)
    step = 1 if fractions or header.milliseconds else 1000
    if len(blocks) >= 20 and single >= _WORD_ROWS * len(blocks):
        return Reading(_rows_as_words(blocks), "table", "word", tuple(problems), step)
    return Reading(tuple(blocks), "table", "stamp" if header.end is None else "cue", tuple(problems), step)


def _rows_as_words(blocks: list[Block]) -> tuple[Block, ...]:
    """Return the rows of a word table as blocks of timed words."""
    return tuple(Block(block.start_ms, block.end_ms, "", block.line, block.speaker, _spread(block)) for block in blocks)


def _spread(block: Block) -> tuple[Token, ...]:
    words = block.text.split()
    return tuple(
        Token(word, block.start_ms if not index else None, block.end_ms if len(words) == 1 else None)
        for index, word in enumerate(words)
    )


def _block(row: Sequence[str], header: Header, line: int) -> Block:
    def cell(index: int | None) -> str:
        return row[index].strip() if index is not None and index < len(row) else ""

    start = _time_ms(cell(header.start), header.milliseconds)
    end = _time_ms(cell(header.end), header.milliseconds) if cell(header.end) else None
    return Block(start, end, cell(header.text), line, cell(header.speaker) or None)


def _time_ms(text: str, milliseconds: bool) -> int:
    """Return a cell's time in milliseconds: a stamp, or a number of seconds (of milliseconds with that unit)."""
    if ":" in text:
        return parse_clock_ms(text)
    if _NUMBER.fullmatch(text) is None:
        raise ValueError(f"'{text[:40]}' is not a time like 61.5 or 1:01.500")
    value = float(text.replace(",", ".")) * (1 if milliseconds else 1000)
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"'{text[:40]}' is before the start of the recording")
    if value > MAX_MS:
        raise ValueError(f"'{text[:40]}' lies beyond 100 hours")
    return round(value)
