"""The promises of the timing module, and its sense: where words of a caption lie, and how sure that is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.model.transcript import Caption, Token, Words
from analyzer.transcripts.speech import NOT_A_NUMBER
from analyzer.transcripts.timing import count_steps, time_words

FASTEST_SYLLABLE_S = 0.1  # natural fast speech tops out at 8 to 10 syllables a second (common practice, no source)


def caption(number: int, start_s: float, end_s: float | None, text: str) -> Caption:
    end_ms = None if end_s is None else round(end_s * 1000)
    return Caption(number, round(start_s * 1000), end_ms, tuple(Token(word) for word in text.split()))


def captions(*rows: tuple[float, float | None, str]) -> list[Caption]:
    return [caption(number, *row) for number, row in enumerate(rows, 1)]


def assert_promises(words: Words) -> None:
    assert (np.diff(words.start_s) >= 0).all()
    assert (words.earliest_s <= words.start_s).all()
    assert (words.start_s <= words.latest_s).all()
    assert (words.end_s >= words.start_s).all()
    assert (words.earliest_s >= 0).all()
    assert (words.u_s >= 0).all()
    assert (words.pause_s >= 0).all()
    for array in (words.start_s, words.end_s, words.earliest_s, words.latest_s, words.u_s, words.pause_s):
        assert np.isfinite(array).all()


token = st.builds(
    Token,
    st.sampled_from(["and", "Rest.", "three,", "two", "one.", "shoulders", "45", "won't", "...", "é"]),
    st.none() | st.integers(0, 60_000),
    st.none() | st.integers(0, 60_000),
)
block = st.builds(
    Caption,
    st.just(1),
    st.integers(0, 60_000),
    st.none() | st.integers(0, 90_000),
    st.lists(token, min_size=0, max_size=8).map(tuple),
    st.sampled_from([None, "Coach A"]),
)
blocks = st.lists(block, max_size=12).map(lambda items: sorted(items, key=lambda item: item.start_ms))


@settings(max_examples=300, deadline=None)
@given(
    blocks,
    st.sampled_from(["word", "cue", "stamp"]),
    st.sampled_from([1, 100, 1000, 30_000]),
    st.none() | st.integers(0, 99_000),
)
def test_promises_hold_for_anything(items, grain, step, duration):
    words = time_words(items, grain, step, duration)
    assert len(words) == sum(len(item.tokens) for item in items) == len(words.start_s) == len(words.opens)
    assert_promises(words)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.floats(0.0, 30.0), st.integers(1, 9)), min_size=1, max_size=10))
def test_words_of_separate_captions_lie_inside_them(spans):
    rows, at = [], 0.0
    for gap, count in spans:
        rows.append((at + gap, at + gap + 0.5 * count, " ".join(["march"] * count)))
        at += gap + 0.5 * count
    words = time_words(captions(*rows), "cue")
    for index, (start, end, _) in enumerate(rows):
        inside = words.start_s[words.caption == index]
        assert inside[0] == pytest.approx(start, abs=0.002)
        assert (inside < end + 0.002).all()


def test_continuous_speech_fills_its_caption_evenly():
    words = time_words(captions((10.0, 13.0, "one side then the other side then the middle")), "cue")
    steps = np.diff(words.start_s)
    assert words.start_s[0] == 10.0
    assert 12.3 < words.start_s[-1] < 12.95
    assert steps.max() < 3 * steps.min()


def test_more_free_time_means_more_doubt_and_most_in_the_middle():
    text = "Feet apart. Arms up high. Breathe out slowly. And rest here."
    doubts = [
        time_words(captions((0.0, length, text), (60.0, 61.0, "Go")), "cue").u_s[:11]
        for length in (3.0, 6.0, 12.0, 24.0)
    ]
    middle = [u[5] for u in doubts]
    assert middle == sorted(middle)
    assert middle[-1] > 3 * middle[0]
    assert doubts[-1][5] > doubts[-1][0]
    assert all(u[0] < 0.31 for u in doubts)


def test_wider_grain_wider_doubt():
    sentences = ("Feet apart.", "Arms up high.", "Breathe out.", "And rest.", "Well done.", "Once more.")
    fine = time_words(captions(*((5.0 * i, 5.0 * i + 1.5, text) for i, text in enumerate(sentences))), "cue")
    merged = captions((0.0, None, " ".join(sentences[:3])), (15.0, None, " ".join(sentences[3:])))
    coarse = time_words(merged, "stamp", 1000)
    assert fine.text == coarse.text
    assert (coarse.u_s > fine.u_s).all()
    # the rounding alone gives step / sqrt(12) (JCGM 100:2008, 4.3.7)
    assert coarse.u_s.min() > 1 / 12**0.5


COUNTS = ("Three. Two. One.", "3, 2, 1.", "three to one")


@pytest.mark.parametrize("text", COUNTS)
def test_a_count_runs_at_a_number_a_second_where_there_is_room(text):
    # common practice, no source: counts into a change run with the clock
    words = time_words(captions((10.0, 12.4, text), (30.0, 31.0, "rest")), "cue")
    assert np.diff(words.start_s[:3]) == pytest.approx([1.0, 1.0], abs=0.15)
    assert words.start_s[2] == pytest.approx(12.0, abs=0.25)


def test_a_count_in_a_stamped_block_keeps_its_pace():
    words = time_words(
        captions((0.0, None, "Keep going. Five. Four. Three. Two. One. Rest."), (20.0, None, "Go.")), "stamp", 1000
    )
    steps = np.diff(words.start_s[2:7])
    assert (steps > 0.9).all()
    assert (steps < 1.7).all()


def test_a_count_without_room_is_squeezed_into_its_caption():
    words = time_words(captions((10.0, 11.0, "Five, four, three, two, one.")), "cue")
    assert words.start_s[-1] < 11.0
    assert np.diff(words.start_s) == pytest.approx(0.2, abs=0.06)


def test_only_the_next_lower_number_continues_a_count():
    numbers = np.array([3, 2, 1, 8, 4, NOT_A_NUMBER, 2, 5, 6])
    maybe = np.array([NOT_A_NUMBER] * 5 + [3] + [NOT_A_NUMBER] * 3)
    assert count_steps(numbers, maybe).tolist() == [True, True, False, False, True, True, False, False, False]


def test_free_time_goes_to_sentence_ends():
    words = time_words(captions((0.0, 8.0, "Shoulders down and back. Now breathe."), (9.0, 10.0, "Go.")), "cue")
    assert words.pause_s[4] == max(words.pause_s[1:6])
    assert words.pause_s[4] > 1.5


def test_a_sentence_cut_by_a_stamp_leaves_no_silence_at_the_cut():
    cut = time_words(
        captions((0.0, None, "Arms up. Breathe out and keep your"), (10.0, None, "knees soft. Rest.")), "stamp", 1000
    )
    whole = time_words(
        captions((0.0, None, "Arms up. Breathe out and keep your."), (10.0, None, "Knees soft. Rest.")), "stamp", 1000
    )
    assert cut.start_s[6] > whole.start_s[6] + 1.0


def test_hard_bounds_leave_room_for_the_other_words():
    words = time_words(captions((0.0, 10.0, "one two three four five six"), (10.0, 11.0, "go")), "cue")
    slack = 0.3
    for index in range(6):
        assert words.earliest_s[index] == pytest.approx(max(0.0, FASTEST_SYLLABLE_S * index - slack))
        assert words.latest_s[index] == pytest.approx(10.0 + slack - FASTEST_SYLLABLE_S * (6 - index))


def test_captions_that_leave_no_room_are_said_one_after_the_other():
    words = time_words(captions((5.0, 8.0, "and now we march"), (5.1, 8.0, "and now we rest")), "cue")
    assert words.start_s[0] == 5.0
    assert (np.diff(words.start_s) > 0.2).all()
    assert words.start_s[-1] < 8.0


def test_the_recordings_length_ends_the_last_stamp():
    rows = captions((0.0, None, "Begin."), (20.0, None, "Arms up. Breathe out. Goodbye."))
    short, long = (time_words(rows, "stamp", 1000, length).start_s[-1] for length in (24_000, 60_000))
    assert 20 < short < 24 < long < 60


def test_the_last_stamp_is_over_when_its_words_are_at_the_pace_of_the_others():
    talk = "Arms up and breathe. Hold it there. And down again. Other side now. Good work."
    rows = tuple((20.0 * i, None, talk) for i in range(10))
    words = time_words(captions(*rows, (200.0, None, talk[:20])), "stamp", 1000)
    paced, whole = float(words.end_s[-1]), float(time_words(captions(*rows), "stamp", 1000).end_s[-1])
    assert 201.0 < paced < 208.0
    assert whole == pytest.approx(200.0, abs=6.0)


def test_the_end_of_the_last_stamp_is_less_sure_where_the_pace_varies():
    talk = "Arms up and breathe. Hold it there. And down again. Other side now. Good work."
    even, uneven = ([0.0, 20, 40, 60, 80, 100, 120, 140], [0.0, 10, 40, 46, 80, 90, 130, 140])
    u = [time_words(captions(*((at, None, talk) for at in starts)), "stamp", 1000).u_s[-1] for starts in (even, uneven)]
    assert u[1] > 1.5 * u[0]


def test_a_faster_speaker_is_told_from_full_captions():
    rows = tuple((3.0 * i, 3.0 * i + 0.9, "now we march on together") for i in range(30))
    mixed = (*rows, (100.0, 110.0, "now we march on together. Rest."))
    fast = time_words(captions(*mixed), "cue")
    slow = time_words(captions(*((a, a + 2.0, text) for a, _, text in rows), mixed[-1]), "cue")
    assert fast.start_s[-2] < slow.start_s[-2]


def test_no_caption_gives_no_word():
    assert len(time_words([], "cue")) == 0
