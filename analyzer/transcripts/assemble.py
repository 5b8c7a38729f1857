"""A reading to a Transcript: captions put in order, doubts recorded, hopeless files refused, words timed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from analyzer.model.clock import clock
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Caption, Problem, Transcript
from analyzer.transcripts.clean import to_captions
from analyzer.transcripts.reading import Reading
from analyzer.transcripts.timing import time_words

BACKWARD_SHARE = 1 / 3  # over this share of captions that start before the last one, the order means nothing
MAX_WORDS = 150_000  # over twelve hours at 200 words a minute
_MIN_FOR_ORDER = 9
_STEPS_MS = (60_000, 30_000, 15_000, 10_000, 5000, 1000, 500, 100)
_MIN_FOR_STEP = 8  # so many stamps all fall on a multiple of 5 s by chance once in 400,000
_MAX_NOTES = 50


def to_transcript(reading: Reading, name: str, sha256: str, doubts: Sequence[Problem] = ()) -> Transcript:
    """Return the transcript of a reading.

    Raises
    ------
    TranscriptError
        When nothing usable is left: no caption, all at one time, no order, no length. When there are more words than
        in any class.
    """
    captions = to_captions(reading.blocks)
    if not captions:
        raise TranscriptError(name, *_nothing_left(reading))
    count = sum(len(caption.tokens) for caption in captions)
    if count > MAX_WORDS:
        raise TranscriptError(name, "", f"holds {count:,} words", f"one class, of at most {MAX_WORDS:,}, is allowed")
    captions, problems = _ordered(captions, name)
    step_ms = stamp_step_ms(captions, reading.printed_step_ms)
    words = time_words(captions, reading.grain, step_ms)
    ends = [caption.end_ms for caption in captions if caption.end_ms is not None]
    duration = max(float(words.end_s[-1]), max(ends, default=0) / 1000)
    return Transcript(
        name=name,
        sha256=sha256,
        form=reading.form,
        grain=reading.grain,
        captions=captions,
        words=words,
        duration_s=duration,
        problems=_summed((*doubts, *reading.problems, *problems)),
        stamp_step_ms=step_ms,
    )


def _nothing_left(reading: Reading) -> tuple[str, str, str]:
    """Return place, found and allowed for a file without a single usable caption."""
    allowed = "at least one caption with a time and words is needed"
    if reading.problems:
        first = reading.problems[0]
        return first.place, f"no usable caption; the first of {len(reading.problems)} skipped: {first.found}", allowed
    if reading.blocks:
        return "", "all captions are empty of words", allowed
    return "", "holds no caption", allowed


def _ordered(captions: tuple[Caption, ...], name: str) -> tuple[tuple[Caption, ...], list[Problem]]:
    """Return the captions by start, with a problem for each that goes back, overlaps or ends before it starts."""
    starts = [caption.start_ms for caption in captions]
    ends = [caption.end_ms for caption in captions if caption.end_ms is not None]
    if len(captions) > 1 and max(starts) == min(starts):
        found = f"all {len(captions)} captions start at {clock(starts[0] / 1000)}"
        raise TranscriptError(name, "", found, "each caption needs a time of its own")
    if ends and max(ends) <= min(starts):
        raise TranscriptError(name, "", "the captions span no time", "each caption needs a start and a later end")
    problems: list[Problem] = []
    backward = [index for index in range(1, len(starts)) if starts[index] < starts[index - 1]]
    if len(backward) > max(_MIN_FOR_ORDER * BACKWARD_SHARE, BACKWARD_SHARE * len(starts)):
        found = f"{len(backward)} of {len(starts)} captions start before the one ahead of them"
        raise TranscriptError(name, _place(captions[backward[0]]), found, "export the captions in order of time")
    for index in backward:
        found = f"starts at {clock(starts[index] / 1000)}, before the caption ahead of it"
        problems.append(Problem("order", _place(captions[index]), found, starts[index] / 1000))
    if backward:
        captions = tuple(sorted(captions, key=lambda caption: caption.start_ms))
    kept: list[Caption] = []
    latest: int | None = None
    for caption in captions:
        start, end = caption.start_ms, caption.end_ms
        if latest is not None and start < latest:
            found = f"starts {(latest - start) / 1000:.3f} s before an earlier one ends"
            problems.append(Problem("overlap", _place(caption), found, start / 1000))
        if end is not None and end <= start:
            found = "ends before it starts" if end < start else "ends when it starts"
            problems.append(Problem("order", _place(caption), found, start / 1000))
            caption, end = replace(caption, end_ms=None), None
        if end is not None:
            latest = end if latest is None else max(latest, end)
        kept.append(caption)
    return (tuple(kept) if any(a is not b for a, b in zip(kept, captions, strict=True)) else captions), problems


def _place(caption: Caption) -> str:
    return f"line {caption.line}" if caption.line else f"caption {caption.number}"


def stamp_step_ms(captions: Sequence[Caption], printed_step_ms: int) -> int:
    """Return the rounding of the captions' starts in milliseconds: the coarsest common step, or the printed one.

    A step is read from the times themselves when eight or more captions share it.
    """
    if len(captions) < _MIN_FOR_STEP:
        return printed_step_ms
    common = 0
    for caption in captions:
        common = math.gcd(common, caption.start_ms)
        if common == 1:
            return printed_step_ms
    return next((step for step in _STEPS_MS if common % step == 0 and step > printed_step_ms), printed_step_ms)


def _summed(problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Return the problems, each kind cut at fifty with one line that says how many more there are."""
    seen: dict[str, int] = {}
    kept: list[Problem] = []
    for problem in problems:
        seen[problem.kind] = seen.get(problem.kind, 0) + 1
        if seen[problem.kind] <= _MAX_NOTES:
            kept.append(problem)
    for kind, count in seen.items():
        if count > _MAX_NOTES:
            kept.append(Problem(kind, "", f"{count - _MAX_NOTES} more like these"))
    return tuple(kept)
