"""Word times as speech recognisers write them in JSON: segments with words, segments alone, or a list of words."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from analyzer.model.clock import MAX_MS, parse_clock_ms
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem, Token
from analyzer.transcripts.reading import Block, Reading, skipped

_ALLOWED = 'give {"segments": [{"start", "end", "words": [{"word", "start", "end"}]}]} or a list of words'
_LIST_BREAK_MS = 2000  # a flat list is cut into captions at silences this long, and at full stops
_LIST_WORDS = 12
_MAX_S = MAX_MS / 1000


def read_words_json(text: str, name: str) -> Reading:
    """Return segments as blocks, their words as timed tokens where the words have times (grain ``word``).

    Raises
    ------
    TranscriptError
        When it is not JSON, nested too deeply, or holds neither segments nor words.
    """
    data = _load(text, name)
    problems: list[Problem] = []
    if isinstance(data, Mapping) and isinstance(data.get("segments"), list) and data["segments"]:
        blocks = _segments(data["segments"], problems)
    else:
        words = data.get("words") if isinstance(data, Mapping) else data
        if not isinstance(words, list) or not words:
            raise TranscriptError(name, "", "holds neither segments nor words", _ALLOWED)
        if not any(_word_text(item) is not None for item in words if isinstance(item, Mapping)):
            raise TranscriptError(name, "item 1", "is not a word with text and times", _ALLOWED)
        if all(isinstance(item, Mapping) and " " in (_word_text(item) or "").strip() for item in words):
            blocks = _segments(words, problems)
        else:
            blocks = _list_blocks(_tokens(words, "item", problems))
    timed = sum(1 for block in blocks if block.tokens)
    grain_word = timed * 2 >= len(blocks) and timed > 0
    if not grain_word:
        blocks = [_untimed(block) for block in blocks]
    return Reading(tuple(blocks), "words-json", "word" if grain_word else "cue", tuple(problems))


def _load(text: str, name: str) -> Any:
    try:
        return json.loads(text)
    except RecursionError as error:
        raise TranscriptError(name, "", "the JSON is nested too deeply", _ALLOWED) from error
    except json.JSONDecodeError as error:
        raise TranscriptError(name, f"line {error.lineno}", f"is not JSON ({error.msg})", "repair the file") from error
    except ValueError as error:  # an integer of thousands of digits
        raise TranscriptError(name, "", "holds a number that is too long", "repair the file") from error


def _word_text(item: Mapping[str, Any]) -> str | None:
    for key in ("word", "text"):
        value = item.get(key)
        if isinstance(value, str):
            return value
    return None


def _time(value: Any) -> int | None:
    """Return a time in milliseconds from seconds or a stamp; None when absent, ValueError when it can't be."""
    if value is None:
        return None
    if type(value) is float and 0.0 <= value <= _MAX_S:  # nearly all of them
        return round(value * 1000)
    if isinstance(value, str) and ":" in value:
        return parse_clock_ms(value)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"{str(value)[:40]!r} is not a time")
    try:
        seconds = float(value)
    except (ValueError, OverflowError) as error:
        raise ValueError(f"{str(value)[:40]!r} is not a time") from error
    if not math.isfinite(seconds) or not 0 <= seconds <= _MAX_S:
        raise ValueError(f"{seconds:g} s is no time in a recording")
    return round(seconds * 1000)


def _segments(items: Sequence[Any], problems: list[Problem]) -> list[Block]:
    blocks: list[Block] = []
    for number, item in enumerate(items, 1):
        place = f"segment {number}"
        if not isinstance(item, Mapping):
            problems.append(skipped(place, "is not a segment"))
            continue
        words = item.get("words")
        tokens = _tokens(words, f"{place}, word", problems) if isinstance(words, list) else []
        text = _word_text(item) or " ".join(token.text.strip() for token in tokens)
        try:
            start, end = _time(item.get("start")), _time(item.get("end"))
        except ValueError as error:
            problems.append(skipped(place, str(error)))
            continue
        onsets = [token.start_ms for token in tokens if token.start_ms is not None]
        if start is None and not onsets:
            problems.append(skipped(place, "has no start"))
            continue
        speaker = item.get("speaker")
        voice = speaker.strip() or None if isinstance(speaker, str) else None
        begin = onsets[0] if start is None else start
        blocks.append(Block(begin, end, text, 0, voice, tuple(tokens) if onsets else ()))
    return blocks


def _tokens(items: Sequence[Any], place: str, problems: list[Problem]) -> list[Token]:
    """Return the words as tokens; a piece without the leading space that the others have goes on its word."""
    spaced = sum(1 for item in items if isinstance(item, Mapping) and (_word_text(item) or "").startswith(" "))
    parted = spaced * 2 > len(items)
    tokens: list[Token] = []
    for number, item in enumerate(items, 1):
        text = _word_text(item) if isinstance(item, Mapping) else None
        if text is None:
            problems.append(skipped(f"{place} {number}", "is not a word with text"))
            continue
        try:
            start, end = _time(item.get("start")), _time(item.get("end"))
        except ValueError as error:
            problems.append(skipped(f"{place} {number}", f"'{text.strip()[:30]}': {error}"))
            continue
        if parted and tokens and text and not text.startswith(" "):
            last = tokens[-1]
            tokens[-1] = Token(
                last.text + text.rstrip(), last.start_ms, end if end is not None else last.end_ms, last.probability
            )
            continue
        tokens.append(Token(text.strip(), start, end, _probability(item)))
    return [token for token in tokens if token.text]


def _probability(item: Mapping[str, Any]) -> float | None:
    for key in ("probability", "confidence", "score"):
        value = item.get(key)
        if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1:
            return float(value)
    return None


def _list_blocks(tokens: list[Token]) -> list[Block]:
    """Return a flat list of words as blocks, cut after a full stop, at a long silence, or after a dozen words."""
    blocks: list[Block] = []
    group: list[Token] = []

    def flush() -> None:
        onsets = [token.start_ms for token in group if token.start_ms is not None]
        if onsets:
            ends = [token.end_ms for token in group if token.end_ms is not None]
            end = max(ends) if ends else None
            blocks.append(Block(onsets[0], end, "", 0, None, tuple(group)))
        group.clear()

    last_ms = 0
    for token in tokens:
        if group and token.start_ms is not None:
            stop = group[-1].text[-1:] in ".!?…" or len(group) >= _LIST_WORDS
            if stop or token.start_ms - last_ms > _LIST_BREAK_MS or token.start_ms < last_ms - _LIST_BREAK_MS:
                flush()
        group.append(token)
        last_ms = token.end_ms or token.start_ms or last_ms
    flush()
    return blocks


def _untimed(block: Block) -> Block:
    return Block(block.start_ms, block.end_ms, block.text, block.line, block.speaker)
