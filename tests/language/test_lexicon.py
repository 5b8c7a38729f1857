"""Words as codes: an expression over codes finds what one over letters would."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.language import SpokenText, load_language
from analyzer.language.lexicon import Lexicon
from analyzer.language.parts import either, join, one_of, optional
from tests.factory import words_from

NUMBERS = load_language("en").numbers
LEXICON = Lexicon.of({"go", "stretching", "5"}, {"stretch", "str"}, NUMBERS)


def codes_of(text):
    return LEXICON.text(LEXICON.encode(SpokenText.of(words_from([(0.0, text)]))))[1:-1]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("hello", "goodbye", True),
        ("hello", "go", False),
        ("stretched", "stretches", True),
        ("stretched", "stretching", False),
        ("stretched", "strong", False),
        ("thirty", "forty", True),
        ("thirty", "thirteen", False),
        ("7", "12", True),
        ("7", "12.5", False),
        ("7", "5", False),
        ("7", "1:30", False),
    ],
)
def test_words_share_a_code_when_no_phrase_can_tell_them_apart(one, other, same):
    assert (codes_of(one) == codes_of(other)) is same


@given(st.lists(st.sampled_from(["go", "stretching", "strong", "sixty", "5", "7", "oh"]), min_size=1, max_size=9))
def test_a_beginning_fits_the_words_that_start_so(words):
    """Outside reference: the same beginning as an expression over letters (Python's re)."""
    codes = codes_of(" ".join(words))
    fits = re.compile(one_of(LEXICON.beginnings["str"]).pattern)
    assert [bool(fits.match(code)) for code in codes] == [bool(re.match("str", word)) for word in words]


def test_codes_and_rows_lead_to_each_other():
    rows = LEXICON.encode(SpokenText.of(words_from([(0.0, "go and go")])))
    assert LEXICON.rows(LEXICON.text(rows)).tolist() == rows.tolist()
    assert rows.max() < LEXICON.size


def test_a_part_knows_its_first_places():
    a, b, c = one_of("¢"), one_of("£"), one_of("¤")
    part = join([optional(a), either([b, join([c, a])])])
    assert part.first == {"¢", "£", "¤"}
    assert part.at == ({"¢", "£", "¤"}, {"£", "¤", "¢"}, {"¢"})
    assert part.heads == (part.at[0], None, None)
    assert part.lengths == {1, 2, 3}


def test_only_a_part_that_always_starts_a_sentence_opens():
    start = join([one_of("¢")])
    opening = type(start)("", opens=True)
    assert join([opening, start]).opens
    assert not join([optional(start), opening, start]).opens
    assert not either([start, join([opening, start])]).opens
