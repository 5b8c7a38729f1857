"""Builds small transcripts from sentences, so that a test shows only what was said and when."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from analyzer.model.transcript import Transcript, Words

WORD_S = 0.35
ENDS = (".", "!", "?", "…")


def words_from(sentences: Sequence[tuple[float, str]], word_s: float = WORD_S, u_s: float = 0.05) -> Words:
    """Return words that start ``word_s`` apart from each given onset (seconds); punctuation parts sentences."""
    text: list[str] = []
    start: list[float] = []
    closes: list[bool] = []
    caption: list[int] = []
    for number, (start_s, sentence) in enumerate(sentences):
        for place, word in enumerate(sentence.split()):
            text.append(word)
            start.append(start_s + place * word_s)
            closes.append(word.endswith(ENDS))
            caption.append(number)
    onset = np.asarray(start, dtype=np.float64)
    end = np.minimum(onset + 0.9 * word_s, np.append(onset[1:], np.inf)) if len(text) else onset
    pause = np.maximum(0.0, onset - np.append(onset[:1], end[:-1]))
    close = np.asarray(closes, dtype=np.bool_)
    return Words(
        text=tuple(text),
        norm=tuple(re.sub(r"^[^\w]+|[^\w]+$", "", word.lower().replace("’", "'")) for word in text),
        speaker=(None,) * len(text),
        start_s=onset,
        end_s=end,
        earliest_s=onset - 2 * u_s,
        latest_s=onset + 2 * u_s,
        u_s=np.full(len(text), u_s),
        pause_s=pause,
        opens=np.append(np.ones(min(1, len(text)), dtype=np.bool_), close[:-1]),
        closes=close,
        caption=np.asarray(caption, dtype=np.int64),
    )


def transcript_from(sentences: Sequence[tuple[float, str]], word_s: float = WORD_S) -> Transcript:
    """Return a word-grain transcript of these sentences."""
    words = words_from(sentences, word_s)
    last = float(words.end_s[-1]) if len(words) else 0.0
    return Transcript("test", "", "words-json", "word", (), words, last)
