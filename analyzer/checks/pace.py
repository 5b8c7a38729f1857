"""Pace-fast and caption-fast: more words than a viewer can take in."""

from __future__ import annotations

import math

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import at_time, worked_intervals
from analyzer.checks.verdict import judge
from analyzer.model.audit import Evidence, Finding
from analyzer.model.transcript import Caption, Floats, Ints

READING = "Ofcom guidance, as stated by BBC R&D, September 2015: above 200 words a minute is hard for many viewers"
CAPTION_FORMS = frozenset({"webvtt", "subrip", "sbv", "ass", "ttml"})
LINGER_MS = 2000  # common practice: longer than this a caption does not stay after its words
FEWEST_WORDS = 4  # our judgement: shorter captions are read at a glance


def fast_talk(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every stretch of talk, a window long or longer, that is faster than the limit."""
    limit = context.rules.value("pace-fast", "limit_wpm")
    window = context.rules.value("pace-fast", "window_s")
    words = context.transcript.words
    counts = _words_ahead(words.start_s, window)
    out: list[Finding] = []
    covered = -math.inf
    for first in np.flatnonzero(counts > limit * window / 60.0).tolist():
        start = float(words.start_s[first])
        if start < covered:
            continue
        reach = int(np.searchsorted(words.start_s, start + window))
        peak = first + int(np.argmax(counts[first:reach]))
        covered = float(words.start_s[peak]) + window
        out += _fast(context, peak, int(counts[peak]), limit, window)
    return tuple(out)


def _words_ahead(start_s: Floats, window_s: float) -> Ints:
    """Return, by word, how many words start within the window that it opens."""
    ends = np.searchsorted(start_s, start_s + window_s)
    return np.asarray(ends - np.arange(len(start_s)), dtype=np.int64)


def _fast(context: CheckContext, first: int, count: int, limit: float, window: float) -> list[Finding]:
    words = context.transcript.words
    pace = 60.0 * count / window
    u = pace * math.hypot(float(words.u_s[first]), float(words.u_s[first + count - 1])) / window
    judged = judge(pace, u, high=limit)
    if not judged.reported:
        return []
    at = float(words.start_s[first])
    row = at_time(worked_intervals(context), at + window / 2)
    place = Place.of(row.interval) if row else Place()
    return [
        build(
            context,
            "pace-fast",
            place,
            f"{place}: {pace:.0f} words a minute for {seconds(window)}.",
            "Leave out what the picture shows, or record it again in fewer words.",
            verdict=judged.verdict,
            at_s=at,
            until_s=at + window,
            measured=pace,
            limit=limit,
            u=u,
            unit="wpm",
        )
    ]


def fast_captions(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding when more than a share of the captions is too fast to read, with the fastest as evidence.

    Only for forms that are shown as captions. A caption that is brief in front of a gap can simply stand longer, so
    it counts with the time up to the next one; what is left is too much text, and needs an edit.
    """
    transcript = context.transcript
    if transcript.form not in CAPTION_FORMS or not transcript.captions:
        return ()
    limit = context.rules.value("caption-fast", "limit_wpm")
    share = context.rules.value("caption-fast", "share_percent") / 100.0
    rows = transcript.captions
    paced = [(_wpm(c, after), c) for c, after in zip(rows, (*rows[1:], None), strict=True)]
    fast = [(wpm, c) for wpm, c in paced if wpm > limit]
    if len(fast) <= share * len(paced):
        return ()
    fast.sort(key=lambda pair: (-pair[0], pair[1].start_ms))
    (top, worst), quoted = fast[0], [c for _, c in fast[:3]]
    return (
        build(
            context,
            "caption-fast",
            Place(),
            f"{len(fast)} of {len(transcript.captions)} captions are shown too briefly to be read; the fastest, number "
            f"{worst.number}, at {top:.0f} words a minute.",
            "Shorten their text; part or join captions so that each has more time.",
            at_s=worst.start_ms / 1000,
            measured=top,
            limit=limit,
            unit="wpm",
            evidence=tuple(Evidence(c.start_ms / 1000, c.text) for c in quoted),
        ),
    )


def _wpm(caption: Caption, following: Caption | None) -> float:
    """Return a caption's reading speed up to the next one, words a minute; 0 when it has few words or no end."""
    if caption.end_ms is None or len(caption.tokens) < FEWEST_WORDS:
        return 0.0
    words = sum([token.text[:1].isalnum() or any(map(str.isalnum, token.text)) for token in caption.tokens])
    if words < FEWEST_WORDS:
        return 0.0
    longest = caption.end_ms + LINGER_MS
    end_ms = longest if following is None else max(caption.end_ms, min(following.start_ms, longest))
    return 60_000.0 * words / max(1, end_ms - caption.start_ms)


PACE_FAST = Check(
    id="pace-fast",
    title="The coach talks too fast",
    means="Viewers out of breath cannot follow, and captions cannot keep up.",
    measured="Words that start within a sliding window, as words a minute.",
    fix="Say less there, or record it again.",
    severity="low",
    mend="plan",
    function=fast_talk,
    parameters=(
        Parameter("limit_wpm", 200.0, "words a minute", 60.0, 600.0, "fastest pace tolerated", READING),
        Parameter("window_s", 60.0, "s", 10.0, 600.0, "over this long"),
    ),
)
CAPTION_FAST = Check(
    id="caption-fast",
    title="Captions are too fast to read",
    means="Viewers who need the captions lose the thread.",
    measured="Words of a caption over the time until the next, at most 2 s past its own end; four words up.",
    fix="Let captions stand longer, or shorten them.",
    severity="low",
    mend="captions",
    function=fast_captions,
    parameters=(
        Parameter("limit_wpm", 200.0, "words a minute", 60.0, 600.0, "fastest caption tolerated", READING),
        Parameter("share_percent", 10.0, "%", 0.0, 100.0, "share of the captions that may be faster"),
    ),
)
