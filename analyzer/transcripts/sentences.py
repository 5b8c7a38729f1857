"""Where sentences open and close: by punctuation, and by silence where a transcript has next to none."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from analyzer.model.transcript import Bools, Floats, Grain, Ints
from analyzer.transcripts.speech import SENTENCE_END

SPARSE = 0.02  # a punctuated transcript closes a sentence about every eight words; under one in fifty is none
BREAK_S = 0.5  # a silence from which a sentence ends where nothing is punctuated (common practice)


def is_sparse(stop: Ints) -> bool:
    """Tell whether a transcript has next to no sentence marks. Shape (n,)."""
    return not len(stop) or float(np.mean(stop == SENTENCE_END)) < SPARSE


def sentence_breaks(
    stop: Ints, pause_s: Floats, speaker: Sequence[str | None], caption: Ints, grain: Grain
) -> tuple[Bools, Bools]:
    """Return ``(opens, closes)``, shape (n,) each: True where a sentence starts, and where one ends.

    ``pause_s`` is the silence before each word. Without punctuation a silence of half a second breaks at word grain,
    and between captions at caption grain; stamps then give none. A change of speaker always breaks.
    """
    n = len(stop)
    closes = stop == SENTENCE_END
    if n == 0:
        return np.zeros(0, dtype=np.bool_), closes
    if is_sparse(stop) and grain != "stamp":
        silent = pause_s[1:] >= BREAK_S
        if grain == "cue":
            silent &= caption[1:] != caption[:-1]
        closes[:-1] |= silent
    if len(set(speaker)) > 1:
        closes[:-1] |= np.array([left != right for left, right in pairwise(speaker)])
    closes[-1] = True
    return np.append(True, closes[:-1]), closes
