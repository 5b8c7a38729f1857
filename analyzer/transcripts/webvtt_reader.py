"""WebVTT captions, parsed by webvtt-py, with automatic captions that roll up read once and by word.

Notes on the library, and what is done here about them:
``start_in_seconds`` is cut to whole seconds (the milliseconds are asked for); a caption whose time it cannot read is
left out with no word (arrow lines are counted and the missing ones reported); inner word times survive only in
``raw_text``. It is more lenient than the W3C parsing rules in four places, and so are we: fractions of one or two
digits, one-digit minutes or seconds, digits past the third of a fraction, and a bare ``<`` that no ``>`` follows.
"""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from analyzer.model.clock import MAX_MS, parse_clock_ms
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem, Token
from analyzer.transcripts.clean import strip_tags
from analyzer.transcripts.reading import Block, Reading, skipped
from analyzer.transcripts.rollup import drop_repeated_lines, new_lines

_INNER = re.compile(r"<((?:[0-9]+:)?[0-9]{2}:[0-9]{2}\.[0-9]{3})>")
_TIME = r"(?:[0-9]{1,10}:)?[0-5]?[0-9]:[0-5]?[0-9]\.[0-9]{1,3}"
_TIMING = re.compile(rf"^[^\S\n]*{_TIME}[^\S\n]*-->[^\S\n]*{_TIME}", re.MULTILINE)
_INNER_SHARE = 0.2  # share of captions with inline times (half of a roll-up) from which the words are taken from them


def read_webvtt(text: str, name: str) -> Reading:
    """Return the captions of a WebVTT file (form ``webvtt``), or its words (form ``rollup``) where times are inline.

    Raises
    ------
    TranscriptError
        When the library refuses the file.
    """
    import webvtt

    text = text.replace("\0", "\ufffd")
    try:
        parsed: Any = webvtt.from_string(text)
    except Exception as error:  # the library's own errors, and what it misses
        raise TranscriptError(name, "", f"cannot be read as WebVTT ({error})", "export the captions again") from error
    captions = list(parsed)
    places, problems = _places(text, len(captions))
    times = [(caption.start_time.in_milliseconds(), caption.end_time.in_milliseconds()) for caption in captions]
    kept = [index for index, (start, end) in enumerate(times) if start <= MAX_MS and end <= MAX_MS]
    if len(kept) < len(times):
        problems.append(skipped("", f"captions beyond 100 hours: {len(times) - len(kept)}"))
    blocks = tuple(Block(*times[index], captions[index].raw_text, places[index]) for index in kept)
    if text.count("><") and sum(1 for block in blocks if _INNER.search(block.text)) > _INNER_SHARE * len(blocks):
        return Reading(_by_word(blocks), "rollup", "word", tuple(problems))
    if not any("\n" in block.text for block in blocks):
        return Reading(blocks, "webvtt", "cue", tuple(problems))
    return Reading(drop_repeated_lines(blocks), "webvtt", "cue", tuple(problems))


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
