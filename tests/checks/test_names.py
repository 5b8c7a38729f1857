"""Moves that are worked without their name."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import run_checks
from tests.factory import words_from

PLANK, LUNGE, JUMP = (2, 0), (2, 1), (2, 2)
ALL = {
    "March": (1, 0),
    "Plank": PLANK,
    "Side lunge": LUNGE,
    "Jump squat": JUMP,
    "Quad stretch": (3, 0),
    "Cobra": (3, 1),
}


def told(take, say, unnamed, *lines, exact=True, mentions=()):
    """Return (move, verdict) of name-missing when all moves but one are named at their start; ``lines`` are said."""
    for name, ref in ALL.items():
        if name != unnamed:
            take.add("mentions", replace(say.mention(take.start(name), ref, name), exact=exact))
    take.add("mentions", *mentions)
    context = take.context()
    words = words_from(lines or [(0.0, "Hello there.")])
    context = replace(context, transcript=replace(context.transcript, words=words))
    return [(f.move, f.verdict) for f in run_checks(context) if f.check == "name-missing"]


@pytest.mark.parametrize("move", ["March", "Plank", "Side lunge", "Jump squat", "Cobra"])
def test_a_move_without_its_name_is_told_once(take, say, move):
    assert told(take, say, move) == [(move, "fail")]


def test_a_name_said_after_the_first_third_or_only_before_the_block_does_not_count(take, say):
    late = say.mention(take.start("Plank") + 20, PLANK, "Plank", context="plain")
    early = say.mention(take.start("March") - 5, PLANK, "Plank")
    assert told(take, say, "Plank", mentions=(early, late)) == [("Plank", "fail")]


@pytest.mark.parametrize(("key", "after"), [("Plank", -18), ("Plank", 10), ("March", 30), ("Plank", 13.5)])
def test_a_preview_a_demo_or_an_early_name_will_do(take, say, key, after):
    mention = say.mention(take.start(key) + after, PLANK, "Plank")
    assert told(take, say, "Plank", mentions=(mention,)) == []


@pytest.mark.parametrize(
    ("move", "line"),
    [
        ("Plank", "Into your blank, please."),
        ("Plank", "And plunk."),
        ("Side lunge", "We lunge over to the side."),
        ("Jump squat", "Chump squad, go."),
        ("Quad stretch", "Quart stretch now."),
    ],
)
def test_a_misheard_or_turned_name_is_let_be(take, say, move, line):
    assert told(take, say, move, (take.start(move) + 2.0, line)) == []


def test_where_many_names_are_misheard_one_may_be_lost(take, say):
    assert told(take, say, "Plank", exact=False) == [("Plank", "unclear")]


def test_later_rounds_need_no_name_and_a_doubtful_place_proves_nothing(take, say):
    assert told(take, say, None) == []
    take.change("Plank", confidence=0.4)
    assert ("Plank", "unclear") in told(type(take)().change("Plank", confidence=0.4), say, "Plank")
