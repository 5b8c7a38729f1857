"""Promises: what is announced for later."""

import pytest

from analyzer.language import load_language
from analyzer.model.plan import Plan
from analyzer.spotting import SpotContext
from analyzer.spotting.promises import spot_promises
from tests.factory import transcript_from


def promises(*sentences, start_s=0.0, end_s=0.0):
    said = [(start_s + 5.0 * number, sentence) for number, sentence in enumerate(sentences)]
    if end_s:
        said.append((end_s, "Bye."))
    return spot_promises(SpotContext.of(transcript_from(said), Plan("", ()), load_language()))


MADE = [
    ("Two rounds of this.", ("rounds", 2, "block")),
    ("We go twice through.", ("rounds", 2, "block")),
    ("Three times the whole circuit.", ("rounds", 3, "block")),
    ("We run through these three times.", ("rounds", 3, "block")),
    ("Three laps.", ("rounds", 3, "block")),
    ("Once more, the same four.", ("rounds", 2, "block")),
    ("Again from the top, all of them.", ("rounds", 2, "block")),
    ("Everything twice today.", ("rounds", 2, "block")),
    ("This is round one of three.", ("rounds", 3, "block")),
    ("Thirty seconds per side.", ("seconds", 30, "interval")),
    ("It's a twenty minute workout.", ("seconds", 1200, "class")),
    ("I've got modifications for everybody.", ("options", None, "class")),
    ("Just once through.", ("rounds", 1, "block")),
    ("Every block gets two rounds.", ("rounds", 2, "class")),
    ("Four moves in this one.", ("moves", 4, "block")),
    ("There are three exercises.", ("moves", 3, "block")),
    ("Five simple moves.", ("moves", 5, "block")),
    ("Forty five seconds each.", ("seconds", 45, "interval")),
    ("A minute each.", ("seconds", 60, "interval")),
    ("Thirty seconds of work.", ("seconds", 30, "interval")),
    ("This one lasts a full minute.", ("seconds", 60, "interval")),
    ("A fifteen minute class.", ("seconds", 900, "class")),
    ("Today we have twenty minutes.", ("seconds", 1200, "class")),
    ("It's just under twenty minutes, all in.", ("seconds", 1200, "class")),
    ("I'll give you options for all of these.", ("options", None, "class")),
    ("There's always an easier version along the way.", ("options", None, "class")),
]


@pytest.mark.parametrize(("sentence", "expected"), MADE)
def test_made(sentence, expected):
    assert [(promise.kind, promise.value, promise.scope) for promise in promises(sentence)] == [expected]


NOT_MADE = [
    "One minute left.",
    "Two rounds left.",
    "Two rounds done.",
    "That's twice through.",
    "You've had two rounds of this.",
    "She got through three rounds of aunties.",
    "I do these twice a week.",
    "I said three rounds.",
    "So that is one time through, now we rest.",
    "Last two moves.",
    "Breathe two times.",
    "Press back to the top.",
    "Thirty seconds to go.",
    "Take thirty seconds rest.",
    "That's two rounds behind you.",
    "As many rounds as you like.",
    "Hundred moves.",
    "Last fifteen seconds of this block.",
    "One minute of this left.",
    "Hold it for five seconds.",
    "Every fifteen seconds we go lower.",
]


@pytest.mark.parametrize("sentence", NOT_MADE)
def test_not_made(sentence):
    assert promises(sentence) == ()


def test_two_in_one_sentence():
    found = [(promise.kind, promise.value) for promise in promises("Four moves, and we do all of them twice.")]
    assert found == [("moves", 4), ("rounds", 2)]


def test_a_class_length_does_not_swallow_the_seconds_after_it():
    found = [(promise.value, promise.scope) for promise in promises("So, twelve minutes, thirty seconds each.")]
    assert found == [(720, "class"), (30, "interval")]


def test_said_twice_is_one_promise():
    assert len(promises("Two rounds.", "Two rounds.")) == 1


def test_a_class_length_is_promised_early_only():
    assert promises("We've got twenty minutes.", start_s=900.0) == ()


@pytest.mark.parametrize(("gap_s", "made"), [(0.2, [2]), (4.0, [])])
def test_a_number_and_a_word_that_a_silence_parts_promise_nothing(gap_s, made):
    said = [(5.0, "four three two"), (6.0 + gap_s, "stations for this part")]
    found = spot_promises(SpotContext.of(transcript_from(said), Plan("", ()), load_language()))
    assert [promise.value for promise in found] == made


def test_minutes_that_were_probably_misheard_promise_nothing():
    assert promises("So, fifty minutes together.", end_s=920.0) == ()
    assert [promise.value for promise in promises("So, fifty minutes together.", end_s=3000.0)] == [3000]


IN_OWN_WORDS = [
    ("Right, the orchard. Three jobs in it, and we go along it twice.", {("moves", 3), ("rounds", 2)}),
    ("Next block is called the harbour. Four things, two goes.", {("moves", 4), ("rounds", 2)}),
    ("Now the long shed, five exercises, and you'll do the lot of them twice.", {("moves", 5), ("rounds", 2)}),
    ("This next part has three shapes, and we visit each of them two times.", {("moves", 3), ("rounds", 2)}),
    ("Lovely. Circuit two, four moves, thirty seconds on, ten off, three trips.", {("moves", 4), ("seconds", 30)}),
]


@pytest.mark.parametrize(("said", "expected"), IN_OWN_WORDS)
def test_promises_counted_in_words_that_no_list_holds(said, expected):
    found = promises("And shake it out, lovely work.", said, "Feet under the hips to start.", start_s=200.0)
    assert {(promise.kind, promise.value) for promise in found} >= expected


@pytest.mark.parametrize(
    "said",
    [
        "I had three coffees before this and I can feel every one.",
        "My sister rang me twice this morning about the cat.",
        "Two feet on the floor, one hand on the wall.",
        "There are four pigeons on the roof watching us.",
        "I've lived in three houses on this street.",
        "Tap it twice, then switch your feet.",
    ],
)
def test_numbers_of_other_things_promise_nothing(said):
    assert promises("Keep going, that's it.", said, "Nice and steady.", start_s=200.0) == ()


def test_a_promise_in_own_words_is_told_with_its_clause():
    found = promises("Right, the orchard. Three jobs in it, and we go along it twice.", start_s=200.0)
    assert [promise.text for promise in found] == ["Three jobs in it,", "and we go along it twice."]
