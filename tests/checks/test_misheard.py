"""Names of moves that the captions have wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import CHECKS
from analyzer.checks.rules_reader import parse

PLANK, LUNGE, SQUAT, COBRA = (2, 0), (2, 1), (2, 2), (3, 1)
NAMES = {PLANK: "Plank", LUNGE: "Side lunge", SQUAT: "Jump squat", COBRA: "Cobra"}


def heard(say, at_s, move, text, score=0.9, **changes):
    mention = say.mention(at_s, move, NAMES[move])
    return replace(mention, text=text, score=score, exact=False, **changes)


@pytest.mark.parametrize(
    ("key", "move", "text"),
    [("Plank", PLANK, "blank"), ("Side lunge/1/left", LUNGE, "sighed lunch"), ("Jump squat", SQUAT, "dump squad"),
     ("Cobra", COBRA, "copra")],
)  # fmt: skip
def test_a_misheard_name_is_told_with_the_right_one(take, say, key, move, text):
    found = take.add("mentions", heard(say, take.start(key) + 2.0, move, text)).findings("caption-misheard")
    assert [(f.verdict, f.severity, f.move) for f in found] == [("fail", "low", NAMES[move])]
    assert f"\u201c{text}\u201d" in found[0].message
    assert f"\u201c{NAMES[move]}\u201d" in found[0].message
    assert found[0].instead == NAMES[move]


def test_one_finding_a_name_lists_its_places(take, say):
    at = take.start("Plank")
    words = [(at - 25.0, "blank"), (at + 3.0, "prank"), (at + 9.0, "blank")]
    found = take.add("mentions", *(heard(say, t, PLANK, text) for t, text in words)).findings("caption-misheard")
    assert len(found) == 1
    assert found[0].measured == 3.0
    assert [e.text for e in found[0].evidence] == ["blank", "prank", "blank"]
    assert "\u201cblank\u201d, \u201cprank\u201d stand where" in found[0].message


@pytest.mark.parametrize(
    ("key", "move", "text"),
    [("Plank", PLANK, "planking"), ("Plank", PLANK, "planks"), ("Side lunge/1/left", LUNGE, "lunge to the side"),
     ("Side lunge/1/left", LUNGE, "side-lunges"), ("Jump squat", SQUAT, "jumpsquat"), ("Jump squat", SQUAT, "squat"),
     ("Jump squat", SQUAT, "jump and squat")],
)  # fmt: skip
def test_another_form_of_the_name_is_the_name(take, say, key, move, text):
    assert take.add("mentions", heard(say, take.start(key) + 2.0, move, text)).findings("caption-misheard") == []


def test_a_loose_likeness_a_right_name_or_one_far_from_its_move_is_not_told(take, say):
    at = take.start("Plank") + 2.0
    take.add("mentions", heard(say, at, PLANK, "blanket", 0.7), say.mention(at + 5, PLANK, "Plank"))
    take.add("mentions", heard(say, at, COBRA, "copper"), heard(say, take.start("Cobra") + 5, PLANK, "blank"))
    assert take.findings("caption-misheard") == []


def test_the_move_before_may_announce_it_and_the_house_may_ask_for_more(make_take, say):
    def spoilt(**changes):
        take = make_take(**changes)
        return take.add("mentions", heard(say, take.end("Plank") - 5.0, LUNGE, "sighed lunch", context="preview"))

    assert len(spoilt().findings("caption-misheard")) == 1
    rules = parse("checks: {caption-misheard: {least_score: 0.95}}", CHECKS, "house.yaml")
    assert spoilt(rules=rules).findings("caption-misheard") == []


@pytest.mark.parametrize(("score", "context", "times", "told"), [
    (0.83, "plain", 1, 0), (0.9, "plain", 1, 1), (0.83, "plain", 2, 1), (0.83, "preview", 1, 1), (0.83, "demo", 1, 1),
])  # fmt: skip
def test_one_plain_word_heard_once_must_sound_much_like_the_name(take, say, score, context, times, told):
    at = take.start("Plank") + 2.0
    take.add("mentions", *(heard(say, at + 5 * n, PLANK, "clank", score, context=context) for n in range(times)))
    assert len(take.findings("caption-misheard")) == told
