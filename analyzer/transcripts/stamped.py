"""Plain text with time stamps: at the start of a line, on a line of its own, or in brackets inside a line.

A stamp's text runs to the next stamp, over blank lines too. Stamps are read by the one clock parser.
"""

from __future__ import annotations

import re

from analyzer.model.clock import parse_clock_ms
from analyzer.model.transcript import Problem
from analyzer.transcripts.reading import Block, Reading, skipped

_CLOCK = r"[0-9]{1,4}(?::[0-9]{1,4}){1,2}(?:[.,][0-9]{1,9})?"
_RANGE = rf"({_CLOCK})(?:[ \t]*(?:-->|->|-|–|—|to|/)[ \t]*({_CLOCK}))?"
_BRACKETED = re.compile(rf"[\[(<{{][ \t]*{_RANGE}[ \t]*[\])>}}]")
_BARE = re.compile(rf"[ \t]*{_RANGE}(?![0-9:])(?:[ \t]*[-–—:|•]|(?=\s|$))")
_SPEAKER = r"([A-Z][\w.'’-]{0,30}(?:[ \t]{1,3}[\w.'’-]{1,30}){0,3})"
_NAMED = re.compile(
    rf"[ \t]{{0,9}}{_SPEAKER}[ \t]{{0,9}}[:,|-]?[ \t]{{0,9}}[\[(]?({_CLOCK})[\])]?[ \t]{{0,9}}:?[ \t]*$"
)
_LABELLED = re.compile(rf"[ \t]{{0,9}}{_SPEAKER}[ \t]{{0,9}}:?[ \t]{{0,9}}[\[(]{_CLOCK}[\])](?:[ \t]{{0,9}}:)?")
_LEAD = re.compile(r"^[ \t]*[-–—:|•]+[ \t]*")
_DIGITS = re.compile(r"[.,]([0-9]+)$")


def stamped_share(text: str) -> float:
    """Return the share of non-blank lines that start with a stamp, or hold one after a speaker's name (0 to 1)."""
    lines = [line for line in text.split("\n") if line.strip()]
    hits = sum(1 for line in lines if _stamp_of(line) is not None)
    return hits / len(lines) if lines else 0.0


def _stamp_of(line: str) -> re.Match[str] | None:
    start = line.lstrip()
    if not start:
        return None
    if start[0] in "[(<{":
        return _BRACKETED.match(start)
    if start[0].isdigit():
        return _BARE.match(start)
    if ":" not in line:
        return None
    return _NAMED.match(line) or _LABELLED.match(line)


def read_stamped(text: str, name: str) -> Reading:
    """Return one block a stamp; ``printed_step_ms`` is 1000 for whole seconds, 100, 10 or 1 with fractions.

    A stamp that is out of range (1:75) is reported with its line, and the text up to the next stamp is left out.
    """
    del name
    lines = text.split("\n")
    bracketed = _mostly_bracketed(lines)
    blocks: list[Block] = []
    problems: list[Problem] = []
    open_block: tuple[int, int | None, int, str | None] | None = None
    body: list[str] = []
    digits, seen = 0, False

    def flush() -> None:
        if open_block is not None:
            start, end, line, speaker = open_block
            blocks.append(Block(start, end, "\n".join(body), line, speaker))
        elif not seen and any(part.strip() for part in body):
            problems.append(skipped("line 1", "text before the first stamp"))

    for number, line in enumerate(lines, 1):
        for piece, stamp in _pieces(line, bracketed):
            if stamp is None:
                body.append(piece)
                continue
            flush()
            seen, body, open_block = True, [piece], None
            first, second, speaker = stamp
            digits = max(digits, _fraction_digits(first))
            try:
                end = parse_clock_ms(second) if second else None
                open_block = (parse_clock_ms(first), end, number, speaker)
            except ValueError as error:
                problems.append(skipped(f"line {number}", str(error)))
    flush()
    return Reading(tuple(blocks), "stamped", "stamp", tuple(problems), (1000, 100, 10, 1)[min(3, digits)])


_Stamp = tuple[str, str | None, str | None]


def _pieces(line: str, bracketed: bool) -> list[tuple[str, _Stamp | None]]:
    """Return the line in pieces: (text, the stamp it follows, or None where it goes on from the line before)."""
    if not line.strip():
        return []
    if bracketed:
        return _bracketed_pieces(line)
    match = _stamp_of(line)
    if match is None or match.re in (_BRACKETED, _LABELLED):
        return [(line, None)]
    if match.re is _NAMED:
        return [("", (match[2], None, " ".join(match[1].split())))]
    rest = line.lstrip()[match.end() :]
    return [(_LEAD.sub("", rest), (match[1], match[2], None))]


def _bracketed_pieces(line: str) -> list[tuple[str, _Stamp | None]]:
    matches = list(_BRACKETED.finditer(line))
    if not matches:
        return [(line, None)]
    pieces: list[tuple[str, _Stamp | None]] = []
    head = line[: matches[0].start()]
    speaker = None
    if head.strip():
        named = _NAMED.match(line[: matches[0].end()])
        tail = line[matches[0].end() :].strip()
        if named and (not tail or head.rstrip().endswith(":") or tail.startswith(":")):
            speaker = " ".join(named[1].split())
        else:
            pieces.append((head, None))
    ends = [match.start() for match in matches[1:]] + [len(line)]
    for match, end in zip(matches, ends, strict=True):
        text = _LEAD.sub("", line[match.end() : end])
        pieces.append((text, (match[1], match[2], speaker)))
        speaker = None
    return pieces


def _mostly_bracketed(lines: list[str]) -> bool:
    """Tell whether the file's stamps stand in brackets; then a bare time at a line's start is spoken text."""
    brackets = bare = 0
    for line in lines:
        match = _stamp_of(line)
        if match is None:
            continue
        if match.re is _BRACKETED or (match.re is not _BARE and _BRACKETED.search(line)):
            brackets += 1
        else:
            bare += 1
    return brackets >= bare


def _fraction_digits(stamp: str) -> int:
    match = _DIGITS.search(stamp)
    return len(match[1]) if match else 0
