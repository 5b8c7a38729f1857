"""The phrase syntax, and the way back from text to words."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.language import SpokenText, find, load_language
from analyzer.language.patterns import compile_phrases
from tests.factory import words_from

NUMBERS = load_language("en").numbers


def found(phrase, sentence):
    words = words_from([(0.0, sentence)])
    spoken = SpokenText.of(words)
    return [words.phrase(m.first, m.last) for m in find(compile_phrases({"g": [phrase]}, NUMBERS), spoken)]


FITS = [
    ("keep going", "Keep going, keep going!", ["Keep going,", "keep going!"]),
    ("(left|right) leg", "right leg and left leg", ["right leg", "left leg"]),
    ("(a b|c) d", "a b d c d b d", ["a b d", "c d"]),
    ("[and] rest", "and rest. Rest.", ["and rest.", "Rest."]),
    ("[the|your] knees up", "knees up, your knees up", ["knees up,", "your knees up"]),
    ("keep * moving", "keep it all moving", ["keep it all moving"]),
    ("keep * moving", "keep one two three four moving", []),
    ("keep * moving", "Keep it. Moving on.", []),
    ("stretch*", "stretching after a stretch", ["stretching", "stretch"]),
    ("{n} rounds", "forty-five rounds and 3 rounds", ["forty-five rounds", "3 rounds"]),
    ("{t} left", "half a minute left", ["half a minute left"]),
    ("^ go $", "Go! We go. Go now.", ["Go!"]),
    ("go $", "We go. Go now.", ["go."]),
    ("ready / go", "Ready? Go!", ["Ready? Go!"]),
    ("ready go", "Ready? Go!", []),
    ("half-way", "half-way, half way", ["half-way,", "half way"]),
    ("(go [now]|begin) please", "go now please begin please", ["go now please", "begin please"]),
    ("rest", "restful arrest", []),
]


@pytest.mark.parametrize(("phrase", "sentence", "expected"), FITS)
def test_syntax(phrase, sentence, expected):
    assert found(phrase, sentence) == expected


BROKEN = [
    ("(a|b", "'\\(' is never closed"),
    ("a)", "without its opening bracket"),
    ("[a", "'\\[' is never closed"),
    ("* a", "must start with a word or a number"),
    ("[a]", "must start with a word or a number"),
    ("a {q}", "can't read '{q}'"),
    ("What!", "can't read 'What!'"),
]


@pytest.mark.parametrize(("phrase", "message"), BROKEN)
def test_a_broken_phrase_is_named(phrase, message):
    with pytest.raises(ValueError, match=f"group 'g', phrase .*{message}"):
        compile_phrases({"g": [phrase]}, NUMBERS)


def test_an_empty_group_is_named():
    with pytest.raises(ValueError, match="group 'g' has no phrases"):
        compile_phrases({"g": []}, NUMBERS)


def test_the_earlier_phrase_wins_and_places_do_not_overlap():
    spoken = SpokenText.of(words_from([(0.0, "ten more seconds left")]))
    matches = find(compile_phrases({"g": ["{t} left", "{t}", "more seconds"]}, NUMBERS), spoken)
    assert [(m.first, m.last, m.number) for m in matches] == [(0, 3, 10.0)]


def test_groups_may_be_chosen():
    spoken = SpokenText.of(words_from([(0.0, "go and rest")]))
    phrases = compile_phrases({"start": ["go"], "stop": ["rest"]}, NUMBERS)
    assert [m.group for m in find(phrases, spoken)] == ["start", "stop"]
    assert [m.group for m in find(phrases, spoken, ["stop"])] == ["stop"]


def test_the_last_number_of_a_phrase_is_its_number():
    spoken = SpokenText.of(words_from([(0.0, "two sets of twelve")]))
    (match,) = find(compile_phrases({"g": ["{n} sets of {n}"]}, NUMBERS), spoken)
    assert match.number == 12.0


def test_spoken_text_marks_sentences_and_leads_back_to_words():
    words = words_from([(0.0, "Half-way, folks! - Keep going 5,4,3")])
    spoken = SpokenText.of(words)
    assert spoken.text == "| half way folks | keep going 5 4 3 |"
    assert spoken.sentences == ((0, 1), (2, 5))
    assert [int(spoken.word_at[spoken.text.index(token)]) for token in ("half", "way", "keep", "4")] == [0, 0, 3, 5]


@pytest.mark.parametrize(
    ("written", "read"),
    [("54321", "5 4 3 2 1"), ("3.2.1", "3 2 1"), ("3-2-1", "3 2 1"), ("321", "3 2 1"), ("123", "123"), ("1.5", "1.5")],
)
def test_a_count_written_as_one_number_is_read_apart(written, read):
    assert SpokenText.of(words_from([(0.0, f"and {written} rest")])).text == f"| and {read} rest |"


def test_no_words():
    spoken = SpokenText.of(words_from([]))
    assert spoken.sentences == ()
    assert find(compile_phrases({"g": ["^ go $"]}, NUMBERS), spoken) == []


@given(st.lists(st.sampled_from(["go", "go.", "ten", "seconds", "left.", "a-b", "—", "…", "|", "x|y"]), max_size=30))
def test_every_character_leads_to_a_word_that_holds_it(tokens):
    words = words_from([(0.0, " ".join(tokens))])
    spoken = SpokenText.of(words)
    assert len(spoken.word_at) == len(spoken.text)
    for token, owner, place in zip(spoken.tokens, spoken.owners, spoken.offsets, strict=False):
        assert spoken.text[place : place + len(token)] == token
        assert spoken.word_at[place] == owner
        if token != "|":
            assert token in words.norm[owner]


def test_hostile_text_costs_no_more_than_ten_times_for_ten_times_the_words():
    phrases = compile_phrases({"g": ["keep * (a|b) * {n} * going", "[keep] [on] * going {t} left"]}, NUMBERS)

    def cost(times):
        spoken = SpokenText.of(words_from([(0.0, "keep a one hundred and " * times)]))
        best = float("inf")
        for _ in range(3):
            begun = time.perf_counter()
            find(phrases, spoken)
            best = min(best, time.perf_counter() - begun)
        return best

    assert cost(3000) < 60 * cost(300)


def test_a_word_may_be_read_otherwise():
    spoken = SpokenText.of(words_from([(0.0, "Bent niece. A-b neat!")]))
    respelt = spoken.respelt({1: "knees", 3: "need"})
    assert respelt.text == "| bent knees | a b need |"
    assert respelt.sentences == spoken.sentences
    assert [int(respelt.word_at[respelt.text.index(token)]) for token in ("bent", "knees", "a b", "need")] == [
        0,
        1,
        2,
        3,
    ]


def test_a_beginning_is_no_number():
    with pytest.raises(ValueError, match="group 'g', phrase '3\\* go': a word that starts like a number"):
        compile_phrases({"g": ["3* go"]}, NUMBERS)
