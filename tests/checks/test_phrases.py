"""Pet phrases, and the phrases of the house."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import CHECKS, run_checks
from analyzer.checks.phrase_search import find_phrase, misspelt, stream_of
from analyzer.checks.rules_reader import parse
from tests.factory import words_from


def told(take, check, lines, rules=""):
    """Return one check's findings for what was said, given as (seconds, sentence)."""
    context = take.context()
    words = words_from(sorted(lines))
    house = parse(f"checks: {{{check}: {{{rules}}}}}", CHECKS, "house.yaml") if rules else context.rules
    transcript = replace(context.transcript, words=words)
    context = replace(context, transcript=transcript, rules=house)
    return [f for f in run_checks(context) if f.check == check]


def often(sentence, times=12, first=5.0, step=30.0):
    return [(first + step * n, sentence) for n in range(times)]


FILLER = [(7.0 + 30.0 * n, f"word{'abcdefghijklmnop'[n]} here and there.") for n in range(12)]


@pytest.mark.parametrize(
    ("sentence", "phrase"),
    [
        ("You got this.", "you got this"),
        ("Lovely work team.", "lovely work team"),
        ("Shine bright like always.", "shine bright"),
        ("Stay strong my friends.", "stay strong my friends"),
        ("Breezy and beautiful.", "breezy and beautiful"),
    ],
)
def test_a_pet_phrase_is_found_without_a_list(take, sentence, phrase):
    found = told(take, "phrase-overused", [*often(sentence), *FILLER])
    assert [f.verdict for f in found] == ["fail"]
    assert phrase in found[0].message
    assert "12 times" in found[0].message
    assert found[0].measured > found[0].limit


@pytest.mark.parametrize(
    "sentence",
    [
        "Down to the floor.",  # where it goes
        "And then you go to the left.",  # no meaning of its own
        "Knees down.",  # the plan's own option
        "Long neck.",  # the plan's own cue
        "Side lunge.",  # a name
        "Twenty seconds.",  # a number
        "Hands and knees.",  # parts of the body
        "Over to it.",
    ],
)
def test_what_a_class_needs_said_again_is_no_pet_phrase(take, sentence):
    assert told(take, "phrase-overused", [*often(sentence), *FILLER]) == []


def test_seldom_or_in_one_block_only_is_fine(take):
    assert told(take, "phrase-overused", [*often("Shine bright.", 6), *FILLER]) == []
    assert told(take, "phrase-overused", [*often("Shine bright.", 12, step=4.0), *FILLER]) == []
    assert told(take, "phrase-overused", FILLER) == []


def test_words_of_events_are_no_habit(take, say):
    lines = [*often("Shake it loose everybody."), *FILLER]
    assert len(told(take, "phrase-overused", lines)) == 1
    words = words_from(sorted(lines))
    starts = [n for n, word in enumerate(words.text) if word == "Shake"]
    options = [replace(say.option(float(words.start_s[n])), first=n, last=n + 3) for n in starts]
    assert told(take.add("options", *options), "phrase-overused", lines) == []


def test_the_house_may_allow_a_phrase_or_set_the_rate(take):
    lines = [*often("Shine bright."), *FILLER]
    assert told(take, "phrase-overused", lines, "phrases: [shine bright]") == []
    assert told(take, "phrase-overused", lines, "limit_per_minute: 5") == []
    lower = "least_count: 3, limit_per_minute: 0.2"
    assert len(told(take, "phrase-overused", [*often("Shine bright.", 5, step=70.0), *FILLER], lower)) == 1


def test_at_most_three_are_told_and_none_inside_another(take):
    lines = [(5.0 + 30.0 * n + 3 * k, s) for n in range(12) for k, s in enumerate(
        ("Shine bright today.", "Sparkle proudly.", "Glow gladly.", "Smile widely."))]  # fmt: skip
    found = told(take, "phrase-overused", lines)
    assert len(found) == 3
    assert sum("bright" in f.message for f in found) <= 1


BAN = "phrases: [burn off that cake, skinny legs, no excuses, detox]"


@pytest.mark.parametrize(
    ("sentence", "verdict"),
    [
        ("Time to burn off that cake, friends.", "fail"),
        ("We are burning off that cake today.", "fail"),  # inflected
        ("This gives you a skinny leg.", "fail"),  # another number
        ("No-excuses today.", "fail"),  # a hyphen
        ("A little skinnny leg.", "fail"),  # misspelt
        ("A little detoxx for you.", "unclear"),
        ("NO EXCUSES!", "fail"),
        ("Time to burn of that cake.", "unclear"),
        ("We want skinny lakes here.", "unclear"),  # sounds alike
    ],
)
def test_a_banned_phrase_is_found(take, sentence, verdict):
    found = told(take, "phrase-banned", [(30.0, sentence), *FILLER], BAN)
    assert [f.verdict for f in found] == [verdict]
    assert found[0].at_s == pytest.approx(30.0, abs=2.0)


@pytest.mark.parametrize(
    "sentence",
    [
        "Burn it up. Off that mat. Cake later.",  # across sentences
        "Feel the burn in your legs.",
        "No need to excuse yourself.",
        "There are no excursions today.",
        "Skin and legs.",
        "The dentist called.",
        "Off that step and back.",
    ],
)
def test_other_words_are_not_banned(take, sentence):
    assert told(take, "phrase-banned", [(30.0, sentence), *FILLER], BAN) == []


def test_without_a_list_nothing_is_banned_or_required(take):
    lines = [(30.0, "No excuses, burn off that cake."), *FILLER]
    assert told(take, "phrase-banned", lines) == []
    assert told(take, "phrase-required", lines) == []


def test_every_place_of_a_banned_phrase_is_listed_in_one_finding(take):
    found = told(take, "phrase-banned", [*often("No excuses.", 8), *FILLER], BAN)
    assert [f.measured for f in found] == [8.0]
    assert len(found[0].evidence) == 8
    assert "0:05, 0:35, 1:05" in found[0].message
    assert "2 more times" in found[0].message


MUST = "phrases: [stop if anything hurts]"


@pytest.mark.parametrize(
    "sentence",
    [
        "Stop if anything hurts.",
        "Please stop, if anything hurts, at once.",
        "And stopping if anything is hurting is wise.",
        "Stop if any thing hurts.",  # split by the recogniser, heard by its sound: at least never certain
        "You stop if anything hurts you.",
    ],
)
def test_a_required_phrase_that_is_said_is_never_a_failure(take, sentence):
    found = told(take, "phrase-required", [(30.0, sentence), *FILLER], MUST)
    assert [f.verdict for f in found if f.verdict == "fail"] == []


@pytest.mark.parametrize("sentence", ["Stop. If anything, it hurts less.", "Anything hurts.", "Go on.", "Rest now."])
def test_a_required_phrase_that_is_not_said_is_told(take, sentence):
    found = told(take, "phrase-required", [(30.0, sentence), *FILLER], MUST)
    assert [f.verdict for f in found] == ["fail"]
    assert "must be said" in found[0].message


def test_what_sounds_like_the_required_phrase_is_unclear(take):
    found = told(take, "phrase-required", [(30.0, "Stop if any thing hurts."), (40.0, "Go."), *FILLER], MUST)
    assert {f.verdict for f in found} <= {"unclear"}


def test_a_phrase_may_be_required_in_every_block_of_a_kind(take):
    rules = "by_kind: {cool-down: [take your time], main: [share the load], talk: [welcome back]}"
    inside = take.start("Cobra") + 3.0, take.start("Plank") + 3.0
    lines = [(inside[0], "Take your time."), (inside[1], "Share the load."), (2.0, "Welcome back."), *FILLER]
    assert told(take, "phrase-required", lines, rules) == []
    swapped = [
        (inside[1], "Take your time."),
        (inside[0], "Share the load."),
        (inside[1] + 9, "Welcome back."),
        *FILLER,
    ]
    found = told(take, "phrase-required", swapped, rules)
    assert {f.block for f in found} == {"Circuit", "Stretch", None}
    assert all(f.verdict == "fail" for f in found)


def test_many_misheard_names_make_a_missing_phrase_unclear(take, say):
    heard = [replace(say.mention(40.0 + n, (2, 0), "blank"), exact=False) for n in range(5)]
    assert [f.verdict for f in told(take.add("mentions", *heard), "phrase-required", FILLER, MUST)] == ["unclear"]


@pytest.mark.parametrize(
    ("word", "wanted", "how"),
    [
        ("skinnny", "skinny", "misspelt"),
        ("celulite", "cellulite", "misspelt"),
        ("detoxx", "detox", "sounds"),
        ("garanteed", "guaranteed", "sounds"),
        ("legs", "lags", None),  # short words have real words beside them
        ("breath", "breadth", None),  # usual in a class
        ("detached", "detox", None),
        ("skimmy", "skinny", None),
        ("", "a", None),
    ],
)
def test_misspelt_words_and_other_words(word, wanted, how):
    assert misspelt(word, wanted) == how


def test_hits_come_in_order_and_apart():
    stream = stream_of(words_from([(0.0, "no excuses no excuses no."), (9.0, "excuses")]))
    assert [(hit.first, hit.last) for hit in find_phrase(stream, "no excuses")] == [(0, 1), (2, 3)]
    assert find_phrase(stream_of(words_from([])), "no excuses") == ()
