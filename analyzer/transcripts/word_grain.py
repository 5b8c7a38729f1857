"""Words that have times of their own: missing and equal ones filled in, bounds and uncertainty added."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.model.transcript import Bools, Caption, Floats

WORD_U_S = 0.1  # a recogniser's word times are usually within 0.05 to 0.2 s (common practice)
WORD_BOUND_S = 0.5  # and never known to be better than this
LONG_WORD_S = 0.6  # a word that lasts this much over twice its natural length holds silence
LONG_WORD_SHARE = 0.3  # ... and its onset is uncertain by this share of the surplus


def time_given_words(
    captions: Sequence[Caption], length_s: Floats, fastest_s: Floats, step_s: float
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return start, end, earliest, latest and u, seconds, shape (n,) each.

    A word without a time, with the same time as the one before, or with an earlier one, lies between its neighbours
    by natural length. ``step_s`` is the rounding of the given times.
    """
    start, end = _given(captions)
    known = _rising(start)
    position = np.cumsum(length_s) - length_s
    if not known.any():
        known[0] = True
        start[0] = captions[0].start_ms / 1000
    at, when = position[known], start[known]
    filled = np.interp(position, at, when)
    index = np.arange(len(start))
    previous = np.maximum.accumulate(np.where(known, index, -1))
    after = np.minimum.accumulate(np.where(known, index, len(start))[::-1])[::-1]
    has_previous, has_after = previous >= 0, after < len(start)
    anchor = np.where(has_previous, previous, 0)
    run = position - position[anchor]
    # a silence before the next known word is not spread over the words before it
    spread = np.where(has_previous, np.minimum(np.where(has_after, filled, np.inf), start[anchor] + 1.3 * run), filled)
    first = int(np.argmax(known))
    spread[:first] = np.maximum(0.0, start[first] - (position[first] - position[:first]))
    onset = np.maximum.accumulate(np.where(known, start, spread))
    earliest = np.where(known, onset, np.where(has_previous, onset[anchor], 0.0)) - WORD_BOUND_S - step_s
    target = np.where(has_after, after, len(start) - 1)
    latest = np.where(known, onset, np.where(has_after, onset[target], onset + length_s)) + WORD_BOUND_S + step_s
    gap = np.where(known, 0.0, np.where(has_after & has_previous, onset[target] - onset[anchor], 2 * length_s))
    surplus = np.where(known, np.nan_to_num(end - start - 2 * length_s - LONG_WORD_S), 0.0).clip(0.0)
    latest += surplus
    u = np.sqrt(WORD_U_S**2 + step_s**2 / 12 + gap**2 / 12 + (LONG_WORD_SHARE * surplus) ** 2)
    earliest = np.minimum(np.maximum(0.0, earliest), onset)
    limit = np.append(onset[1:], np.inf)
    offset = np.where(known & (end > onset), end, onset + np.maximum(length_s, fastest_s))
    return onset, np.maximum(onset, np.minimum(offset, limit)), earliest, np.maximum(latest, onset), u


def _given(captions: Sequence[Caption]) -> tuple[Floats, Floats]:
    """Return the onsets and offsets as given, NaN where not; a caption without any starts its first word."""
    nan = float("nan")
    starts: list[float] = []
    ends: list[float] = []
    for caption in captions:
        times = [nan if token.start_ms is None else token.start_ms / 1000 for token in caption.tokens]
        if all(token.start_ms is None for token in caption.tokens):
            times[0] = caption.start_ms / 1000
        starts.extend(times)
        ends.extend([nan if token.end_ms is None else token.end_ms / 1000 for token in caption.tokens])
    return np.array(starts, dtype=np.float64), np.array(ends, dtype=np.float64)


def _rising(start: Floats) -> Bools:
    """Return True where an onset is given and later than all given before it."""
    given = np.where(np.isnan(start), -np.inf, start)
    before = np.append(-np.inf, np.maximum.accumulate(given)[:-1])
    return np.asarray(given > before, dtype=np.bool_)
