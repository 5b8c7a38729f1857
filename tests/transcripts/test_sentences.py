from __future__ import annotations

import numpy as np

from analyzer.transcripts.sentences import is_sparse, sentence_breaks
from analyzer.transcripts.speech import NO_STOP, SENTENCE_END


def breaks(stops, pauses, grain, speakers=None, caption=None):
    n = len(stops)
    opens, closes = sentence_breaks(
        np.array(stops), np.array(pauses), speakers or [None] * n, np.array(caption or [0] * n), grain
    )
    return opens.tolist(), closes.tolist()


def test_punctuation_decides_where_there_is_any():
    opens, closes = breaks([NO_STOP, SENTENCE_END, NO_STOP], [0.0, 3.0, 0.0], "word")
    assert closes == [False, True, True]
    assert opens == [True, False, True]


def test_silence_decides_where_there_is_none():
    assert breaks([NO_STOP] * 4, [0.0, 0.1, 0.5, 0.49], "word")[1] == [False, True, False, True]


def test_only_silence_between_captions_counts_at_caption_grain():
    assert breaks([NO_STOP] * 4, [0.0, 0.9, 0.9, 0.1], "cue", caption=[0, 0, 1, 1])[1] == [False, True, False, True]


def test_stamps_without_punctuation_give_no_break():
    assert breaks([NO_STOP] * 3, [0.0, 9.0, 9.0], "stamp")[1] == [False, False, True]


def test_a_change_of_speaker_breaks():
    assert breaks([NO_STOP] * 3, [0.0] * 3, "stamp", speakers=["A", "A", "B"])[1] == [False, True, True]


def test_sparse_is_under_one_mark_in_fifty_words():
    assert is_sparse(np.array([NO_STOP] * 99 + [SENTENCE_END]))
    assert not is_sparse(np.array([NO_STOP] * 19 + [SENTENCE_END]))
