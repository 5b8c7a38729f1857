"""Where the class begins on the recording's clock: a pre-roll, a cold open or a studio's timecode come before it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from analyzer.language import current_language, load_language
from analyzer.model.clock import clock
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Transcript

PRE_ROLL_S = 45.0
"""A recording in which nobody speaks for longer than this starts before its class (common practice, no source)."""
OPEN_SILENCE_S, OPEN_WITHIN_S, GREETING_WORDS = 6.0, 120.0, 4
"""A cold open ends in a silence, soon after the first word; a greeting is among the next sentence's first words
(common practice, no source)."""


def with_class_start(transcript: Transcript, starts_at_s: float | None = None) -> Transcript:
    """Return the transcript with the class's start: the one given, else the one heard, else the recording's own.

    Raises
    ------
    TranscriptError
        When the start given lies after the last words.
    """
    if starts_at_s is None:
        return replace(transcript, class_start_s=_heard_start_s(transcript))
    if starts_at_s >= transcript.duration_s:
        raise TranscriptError(
            transcript.name,
            "--starts-at",
            f"{clock(starts_at_s)} lies after the last words",
            f"a time before {clock(transcript.duration_s)}",
        )
    return replace(transcript, class_start_s=starts_at_s)


@cache
def _greetings(code: str) -> frozenset[str]:
    return frozenset(load_language(code).read("function")["greetings"])


def _heard_start_s(transcript: Transcript) -> float:
    """Return where the class begins by what is heard, 0 where nothing says that it is not the recording's start."""
    words = transcript.words
    if not len(words):
        return 0.0
    first_s = float(words.start_s[0])
    begins_s = first_s if first_s > PRE_ROLL_S else 0.0
    if transcript.grain == "stamp":
        return begins_s  # a paragraph hides its silences
    greetings = _greetings(current_language())
    silences = np.flatnonzero((words.pause_s >= OPEN_SILENCE_S) & (words.start_s < first_s + OPEN_WITHIN_S))
    for at in silences[silences > 0].tolist():
        closes = np.flatnonzero(words.closes[at : at + GREETING_WORDS])
        said = int(closes[0]) + 1 if len(closes) else GREETING_WORDS
        if not greetings.isdisjoint(words.norm[at : at + said]):
            return float(words.start_s[at])
    return begins_s
