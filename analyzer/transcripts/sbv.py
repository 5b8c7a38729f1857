"""SBV captions: a line ``start,end``, lines of text, a blank line."""

from __future__ import annotations

import re

from analyzer.model.clock import parse_clock_ms
from analyzer.model.transcript import Problem
from analyzer.transcripts.reading import Block, Reading, skipped

_TIME = r"([0-9]{1,4}(?::[0-9]{1,4}){1,3}\.[0-9]{1,9})"
TIMES_LINE = rf"^[ \t]*{_TIME}[ \t]*,[ \t]*{_TIME}[ \t]*$"
_TIMES = re.compile(TIMES_LINE)


def read_sbv(text: str, name: str) -> Reading:
    """Return the captions of an SBV file; a times line out of range is reported and its text left out."""
    del name
    blocks: list[Block] = []
    problems: list[Problem] = []
    start: tuple[int, int, int] | None = None
    body: list[str] = []

    def flush() -> None:
        if start is not None:
            blocks.append(Block(start[0], start[1], "\n".join(body), start[2]))

    for number, line in enumerate(text.split("\n"), 1):
        match = _TIMES.fullmatch(line)
        if match is None:
            body.append(line)
            continue
        flush()
        body, start = [], None
        try:
            start = (parse_clock_ms(match[1]), parse_clock_ms(match[2]), number)
        except ValueError as error:
            problems.append(skipped(f"line {number}", str(error)))
    flush()
    return Reading(tuple(blocks), "sbv", "cue", tuple(problems))
