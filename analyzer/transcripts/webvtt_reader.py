"""WebVTT captions, parsed by webvtt-py, with automatic captions that roll up read once and by word.

Notes on the library, and what is done here about them:
it makes objects of every cue's settings, which takes longer than all the rest and tells nothing that is needed (blocks
are found here, and each is read by the library); a caption whose time it cannot read is left out with no word (arrow
lines are counted and the missing ones reported). It is more lenient than the W3C parsing rules in four places, and so
are we: fractions of one or two digits, one-digit minutes or seconds, digits past the third of a fraction, and a bare
``<`` that no ``>`` follows.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

from analyzer.model.clock import MAX_MS, parse_clock_ms
from analyzer.model.transcript import Problem, Token
from analyzer.transcripts.clean import strip_tags
from analyzer.transcripts.reading import Block, Reading, skipped
from analyzer.transcripts.rollup import drop_repeated_lines, new_lines

_INNER = re.compile(r"<((?:[0-9]+:)?[0-9]{2}:[0-9]{2}\.[0-9]{3})>")
_TIME = r"(?:[0-9]{1,10}:)?[0-5]?[0-9]:[0-5]?[0-9]\.[0-9]{1,3}"
_TIMING = re.compile(rf"^[^\S\n]*{_TIME}[^\S\n]*-->[^\S\n]*{_TIME}", re.MULTILINE)
_INNER_SHARE = 0.2  # share of captions with inline times (half of a roll-up) from which the words are taken from them


def read_webvtt(text: str, name: str) -> Reading:
    """Return the captions of a WebVTT file (form ``webvtt``), or its words (form ``rollup``) where times are inline."""
    text = text.replace("\0", "\ufffd")
    cues = list(cues_of(text))
    places, problems = _places(text, len(cues))
    blocks = tuple(
        [
            Block(start_ms, end_ms, words, place)
            for (start_ms, end_ms, words), place in zip(cues, places, strict=True)
            if start_ms <= MAX_MS and end_ms <= MAX_MS
        ]
    )
    if len(blocks) < len(cues):
        problems.append(skipped("", f"captions beyond 100 hours: {len(cues) - len(blocks)}"))
    if text.count("><") and sum(1 for block in blocks if _INNER.search(block.text)) > _INNER_SHARE * len(blocks):
        return Reading(_by_word(blocks), "rollup", "word", tuple(problems))
    if not any("\n" in block.text for block in blocks):
        return Reading(blocks, "webvtt", "cue", tuple(problems))
    return Reading(drop_repeated_lines(blocks), "webvtt", "cue", tuple(problems))


def cues_of(text: str) -> Iterator[tuple[int, int, str]]:
    """Give start and end in milliseconds and the text of every cue whose times the library can read."""
    from webvtt.errors import MalformedCaptionError
    from webvtt.models import Timestamp
    from webvtt.vtt import WebVTTCueBlock

    for lines in _blocks_of_lines(text):
        if WebVTTCueBlock.is_valid(lines):
            cue = WebVTTCueBlock.from_lines(lines)
            try:
                start, end = Timestamp.from_string(cue.start), Timestamp.from_string(cue.end)
            except MalformedCaptionError:
                continue
            yield start.in_milliseconds(), end.in_milliseconds(), "\n".join(cue.payload)


def _blocks_of_lines(text: str) -> Iterator[list[str]]:
    """Give the lines of every block: it ends at an empty line, or before an arrow that is not in its own timing line.

    That is the header's first arrow; of another block one in its third line or later, or after another arrow.
    """
    block: list[str] = []
    in_header = True
    for line in text.split("\n"):
        if block and (not line or ("-->" in line and (in_header or len(block) > 1 or "-->" in block[0]))):
            yield block
            block, in_header = [], False
        if line:
            block.append(line)
    if block:
        yield block


def _places(text: str, parsed: int) -> tuple[list[int], list[Problem]]:
    """Return the line of each parsed caption (0 where unknown), and a problem for each arrow line that gave none."""
    good: list[int] = []
    number, at = 1, 0
    for match in _TIMING.finditer(text):
        first = match.start()
        number += text.count("\n", at, first)
        at = first
        good.append(number)
    problems: list[Problem] = []
    if text.count("-->") != len(good):
        readable = set(good)
        for number, line in enumerate(text.split("\n"), 1):
            if "-->" in line and number not in readable:
                why = "a time needs a point, not a comma" if "," in line.split("-->")[0] else "not a pair of times"
                problems.append(skipped(f"line {number}", f"'{line.strip()[:60]}': {why}"))
    if len(good) > parsed:
        problems.append(skipped("", f"captions that the parser left out: {len(good) - parsed}"))
    return (good if len(good) == parsed else [0] * parsed), problems


def _by_word(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """Return one block a new line, its words with their inline onsets."""
    result: list[Block] = []
    previous: list[str] = []
    for block in blocks:
        raw = block.text.split("\n")
        plain = [strip_tags(line) for line in raw]
        fresh = new_lines(previous, plain)
        previous = plain
        if not fresh:
            continue
        tokens: list[Token] = []
        for line in [raw[plain.index(fresh[0])]] if len(fresh) == 1 and plain[-1] != fresh[0] else raw[-len(fresh) :]:
            tokens.extend(_timed_tokens(line, block.start_ms))
        if tokens:
            result.append(Block(block.start_ms, block.end_ms, "", block.line, None, tuple(tokens)))
    return tuple(result)


def _timed_tokens(line: str, start_ms: int) -> list[Token]:
    """Return the words of a line; the first starts with the caption, a time holds for the next word."""
    pieces = _INNER.split(line)
    tokens: list[Token] = []
    onset: int | None = start_ms
    for stamp, piece in zip(["", *pieces[1::2]], pieces[::2], strict=True):
        if stamp:
            try:
                onset = parse_clock_ms(stamp)
            except ValueError:
                onset = None
        plain = strip_tags(piece)
        for word in (unescape(plain) if "&" in plain else plain).split():
            tokens.append(Token(word, onset))
            onset = None
    return tokens
