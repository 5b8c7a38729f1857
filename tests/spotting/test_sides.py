"""Sides: which side is the working one."""

import pytest

from analyzer.language import load_language
from analyzer.model.plan import Plan
from analyzer.spotting import SpotContext
from analyzer.spotting.sides import spot_sides
from tests.factory import transcript_from


def sides(*sentences, gap_s=8.0):
    said = [(number * gap_s, sentence) for number, sentence in enumerate(sentences)]
    return spot_sides(SpotContext.of(transcript_from(said), Plan("", ()), load_language()))


CALLED = [
    ("Right leg goes first.", ["right"]),
    ("Left leg now.", ["left"]),
    ("Swap, left foot forward.", ["left"]),
    ("Lying on your side, right arm up.", ["right"]),
    ("Start on the left.", ["left"]),
    ("We start with the right side.", ["right"]),
    ("And on the right.", ["right"]),
    ("Left side first.", ["left"]),
    ("Step back with the left foot.", ["left"]),
    ("Left hand on the rail, right leg lifts.", ["right"]),
    ("Right hand on the wall, left leg lifts.", ["left"]),
    ("Left.", ["left"]),
    ("The right one's turn.", ["right"]),
    ("Right leg done, left leg next.", ["left"]),
    ("all right, left leg, let's go", ["left"]),
    ("Left elbow under the shoulder.", ["left"]),
    ("Ten seconds left. Right leg next.", ["right"]),
    ("Write leg forward.", ["right"]),
    ("Step the left foot back.", ["left"]),
    ("Cross the right ankle over the left knee.", ["right"]),
    ("Right foot forward, left foot back.", ["right"]),
    ("Finish on the left.", ["left"]),
    ("Left heel on the right thigh, and hug it in.", ["left"]),
    ("And we switch to the left.", ["left"]),
]


@pytest.mark.parametrize(("sentence", "expected"), CALLED)
def test_working_side(sentence, expected):
    assert [call.side for call in sides(sentence) if not call.corrected] == expected


NOT_CALLED = [
    "Keep the left foot on the floor.",
    "Leave your right leg straight.",
    "Ten seconds left.",
    "Ten left, arms up.",
    "The gull's left.",
    "There's nothing left in my legs.",
    "Right then, knees up.",
    "Right, knees up.",
    "All right, legs up.",
    "Right now, one more.",
    "That's right.",
    "Do it right.",
    "A right angle at the knee.",
    "Right hand, left shoulder.",
    "Left knee to right elbow, and change.",
    "Right, left, right, left.",
    "Turn to the left.",
    "Look to the right and back.",
    "Other side.",
    "Two rounds left and we're there.",
    "Who left the door open?",
    "The camera on the left.",
    "My friend on the left shows the low one.",
    "Two steps right, two steps left.",
    "Step out to the right.",
    "We're right on time.",
    "Lift the foot off the floor.",
    "Right in the middle of the mat.",
    "Two left each leg.",
]


@pytest.mark.parametrize("sentence", NOT_CALLED)
def test_no_side(sentence):
    assert [call.side for call in sides(sentence)] == []


CORRECTED = [
    ("Left leg, sorry, right leg.", [("left", True), ("right", False)]),
    ("Right foot first. No, left foot first.", [("right", True), ("left", False)]),
    ("Right arm up. I mean left arm up.", [("right", True), ("left", False)]),
]


@pytest.mark.parametrize(("sentence", "expected"), CORRECTED)
def test_taken_back(sentence, expected):
    assert [(call.side, call.corrected) for call in sides(sentence)] == expected


def test_a_side_taken_back_in_a_sentence_of_its_own():
    taken, meant = sides("And the left. No, the right. Off it goes.")
    assert (taken.side, taken.corrected) == ("left", True)
    assert (meant.side, meant.corrected) == ("right", False)


def test_each_side_in_its_own_time():
    assert [call.side for call in sides("Right leg first.", "Now the left leg.")] == ["right", "left"]


def test_a_rhythm_calls_no_side():
    assert sides("Left knee.", "Right knee.", "Left knee.", "Right knee.", gap_s=1.2) == ()


def test_nothing_said():
    assert sides() == ()
