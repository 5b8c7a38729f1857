"""The model of words: adding up a whole text at once must give what the features give one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.language import SpokenText, load_language
from analyzer.spotting.options import WEIGHTS_FILE
from analyzer.spotting.text_model import (
    BIAS,
    chances,
    features,
    kinds_of,
    read_kinds,
    read_weights,
    text_model,
)
from tests.factory import words_from

LANGUAGE = load_language("en")
KINDS = read_kinds(LANGUAGE)
WORDS = ("if", "your", "knees", "knee's", "wobble", "hold", "the", "chair", "jump.", "Or", "slower", "zzyzx", "twenty.")
GROUPS = ("bother", "push", "lessen", "no such group")


WEIGHTS = read_weights(LANGUAGE.folder / WEIGHTS_FILE)


def slow_lean(tokens: list[str], groups: tuple[str, ...]) -> np.ndarray:
    """The reference: every feature's weight, one by one."""
    return sum((WEIGHTS.get(name, np.zeros(2)) for name in features(tokens, groups, KINDS)), np.zeros(2))


@given(st.lists(st.sampled_from(WORDS), min_size=1, max_size=25), st.frozensets(st.sampled_from(GROUPS)), st.data())
def test_a_reading_adds_up_what_the_features_say_one_by_one(said, groups, data):
    words = words_from([(0.0, " ".join(said))])
    spoken = SpokenText.of(words)
    reading = text_model("en", WEIGHTS_FILE).read(spoken)
    first = data.draw(st.integers(0, len(words) - 1))
    last = data.draw(st.integers(first, len(words) - 1))
    start, stop = reading.tokens(first, last)
    wanted = slow_lean(list(spoken.tokens[start:stop]), tuple(groups))
    assert reading.leans([first], [last], [groups])[0] == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("first", "last", "tokens"),
    [
        (0, 1, "| march on |"),
        (2, 2, "| good |"),
        (3, 4, "| now rest a"),
        (0, 6, "| march on | good | now rest a while |"),
    ],
)
def test_a_run_is_read_with_what_stands_on_either_side(first, last, tokens):
    spoken = SpokenText.of(words_from([(0.0, "March on. Good. Now rest a while.")]))
    start, stop = text_model("en", WEIGHTS_FILE).read(spoken).tokens(first, last)
    assert " ".join(spoken.tokens[start:stop]) == tokens


def test_what_a_run_holds():
    found = list(features(["|", "if", "knees", "|"], ("bother",), {"if": ("if",), "knees": ("body",), "|": ("|",)}))
    assert (BIAS,) in found
    assert ("length", "0") in found
    assert ("group", "bother") in found
    assert ("beside", "if", "knees") in found
    assert ("across", "if", "|") in found
    assert ("kinds beside", "|", "if") in found
    assert ("kinds across", "|", "body") in found
    assert ("beginning", "knees") not in found  # no longer than the beginning itself


@pytest.mark.parametrize(("word", "kinds"), [("knees", True), ("knee's", True), ("zzyzx", False)])
def test_kinds_of_a_word(word, kinds):
    assert bool(kinds_of(word, KINDS)) is kinds


@given(st.floats(-800, 800), st.floats(-800, 800))
def test_chances_are_a_distribution(towards_easier, towards_harder):
    easier, harder = chances(np.array([[towards_easier, towards_harder]]))[0]
    assert 0.0 <= easier <= 1.0
    assert 0.0 <= harder <= 1.0
    assert easier + harder <= 1.0 + 1e-9
    assert (easier >= harder) == (towards_easier >= towards_harder) or easier == pytest.approx(harder)


def test_a_language_without_weights_has_no_model():
    assert text_model("es", WEIGHTS_FILE) is None
