"""Loading a language and its phrase files."""

import pytest

from analyzer.language import find, languages, load_language
from analyzer.language.patterns import SpokenText
from analyzer.model.errors import AnalyzerError
from tests.factory import words_from


def test_loaded_once():
    assert load_language("en") is load_language("en")
    assert load_language().phrases("calls") is load_language().phrases("calls")


def test_unknown_language_says_what_there_is():
    with pytest.raises(AnalyzerError, match="no language 'xx'; there is: en"):
        load_language("xx")


@pytest.mark.parametrize("code", ["../en", "", "EN"])
def test_a_code_is_no_path(code):
    with pytest.raises(AnalyzerError, match="no language"):
        load_language(code)


def test_unknown_phrase_file_says_what_there_is():
    with pytest.raises(AnalyzerError, match=r"en/songs\.yaml: no such phrase file; there is: .*calls"):
        load_language().phrases("songs")


@pytest.mark.parametrize("file", ["calls", "counts", "promises", "sides", "signals"])
@pytest.mark.parametrize("code", languages())
def test_every_phrase_file_compiles(code, file):
    phrases = load_language(code).phrases(file)
    assert phrases.groups
    assert all(group.low < group.high for group in phrases.groups.values())
    assert all(part.any(axis=0).any() for part in phrases.heads)


def test_words_that_yaml_would_read_as_something_else_stay_words():
    """``no``, ``on`` and ``off`` are booleans in YAML 1.1; in a phrase file they are words."""
    spoken = SpokenText.of(words_from([(0.0, "No, sorry.")]))
    assert [match.first for match in find(load_language().phrases("sides"), spoken, ["taken back"])] == [0, 1]
