import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.reports.plain import columns, cut, file_name, rounded, safe_text, seconds_words, terminal_text


@given(st.floats(), st.integers(0, 3))
def test_rounded_is_finite_and_never_minus_zero(value, digits):
    result = rounded(value, digits)
    assert result is None or (abs(result) < float("inf") and str(result) != "-0.0")


@given(st.text(alphabet=st.characters()))
def test_terminal_text_is_one_line_without_controls(text):
    result = terminal_text(text)
    assert not any(unicodedata.category(c) in ("Cc", "Cs") for c in result)
    assert not set(result) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")
    assert result == " ".join(result.split()) or "\u2028" in text or "\u2029" in text


@given(st.text(), st.integers(1, 40))
def test_cut_fits(text, width):
    assert columns(cut(text, width)) <= max(width, 1)


@given(st.text(alphabet=st.characters()))
def test_safe_text_can_be_encoded(text):
    safe_text(text).encode("utf-8")
    assert safe_text(safe_text(text)) == safe_text(text)


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (None, "—"),
        (float("nan"), "—"),
        (0.0, "0 s"),
        (0.04, "0 s"),
        (9.97, "10 s"),
        (59.6, "1 min 00 s"),
        (-75, "−1 min 15 s"),
        (-0.2, "−0.2 s"),
    ],
)
def test_seconds_words(value, said):
    assert seconds_words(value) == said


@pytest.mark.parametrize(
    ("name", "bare"), [("a.vtt", "a.vtt"), ("../x/a.vtt", "a.vtt"), ("C:\\x\\a.vtt", "a.vtt"), ("", "")]
)
def test_file_name(name, bare):
    assert file_name(name) == bare
