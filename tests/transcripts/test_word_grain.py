from __future__ import annotations

import numpy as np
import pytest

from analyzer.model.transcript import Caption, Token
from analyzer.transcripts.timing import time_words


def words_of(*tokens: tuple[str, float | None, float | None]):
    made = tuple(
        Token(text, None if start is None else round(start * 1000), None if end is None else round(end * 1000))
        for text, start, end in tokens
    )
    return time_words([Caption(1, 0, None, made)], "word")


def test_given_onsets_are_kept():
    words = words_of(("and", 1.0, 1.2), ("march", 1.25, 1.6), ("rest", 4.0, 4.3))
    assert words.start_s.tolist() == [1.0, 1.25, 4.0]
    assert words.end_s.tolist() == [1.2, 1.6, 4.3]
    assert words.pause_s.tolist() == pytest.approx([1.0, 0.05, 2.4])
    # recognisers' word times are usually within 0.05 to 0.2 s (common practice, no source)
    assert words.u_s.tolist() == pytest.approx([0.1, 0.1, 0.1])


FILLED = {
    "missing": (None, None),
    "the same as the one before": (1.0, 1.0),
    "earlier than the one before": (0.4, 0.5),
}


@pytest.mark.parametrize("case", FILLED)
def test_a_word_without_a_time_of_its_own_lies_between(case):
    words = words_of(("and", 1.0, None), ("march", *FILLED[case]), ("rest", 1.6, None))
    assert 1.0 < words.start_s[1] < 1.6
    assert words.u_s[1] > words.u_s[0]
    assert words.earliest_s[1] <= 1.0
    assert words.latest_s[1] >= 1.6


def test_a_silence_is_not_spread_over_the_words_before_it():
    words = words_of(("and", 1.0, None), ("march", None, None), ("on", None, None), ("rest", 30.0, None))
    assert words.start_s[2] < 2.5
    assert words.latest_s[2] >= 30.0
    assert words.u_s[2] > 5


def test_words_before_the_first_known_one_come_just_before_it():
    words = words_of(("and", None, None), ("march", 5.0, None))
    assert 4.0 < words.start_s[0] < 5.0


def test_a_word_that_lasts_too_long_is_less_sure():
    words = words_of(("and", 1.0, 1.2), ("march", 1.3, 5.0), ("rest", 5.1, 5.4))
    assert words.u_s[1] > 0.5
    assert words.latest_s[1] > 3.0


def test_rounded_times_add_their_rounding():
    tokens = tuple(Token("go", second * 1000) for second in range(5))
    words = time_words([Caption(1, 0, None, tokens)], "word", 1000)
    assert (words.u_s >= 1 / np.sqrt(12)).all()  # JCGM 100:2008, 4.3.7
