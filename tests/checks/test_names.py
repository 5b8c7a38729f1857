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
    "Plank/2": PLANK,
    "Side lunge/2": LUNGE,
    "Jump squat/2": JUMP,
    "Quad stretch": (3, 0),
    "Cobra": (3, 1),
}


def told(take, say, unnamed, *lines, heard=None, mentions=()):
    """Return (move, round, verdict) of name-missing when all moves are named at every start but one; ``lines`` are
    said."""
    for key, ref in ALL.items():
        if key != unnamed:
            take.add("mentions", say.mention(take.start(key), ref, key.split("/")[0], heard=heard))
    take.add("mentions", *mentions)
    context = take.context()
    words = words_from(lines or [(0.0, "Hello there.")])
    context = replace(context, transcript=replace(context.transcript, words=words))
    return [(f.move, f.round, f.verdict) for f in run_checks(context) if f.check == "name-missing"]


@pytest.mark.parametrize("key", ALL)
def test_a_move_without_its_name_is_told_in_its_round(take, say, key):
    move, _, number = key.partition("/")
    assert told(take, say, key) == [(move, int(number or 1), "fail")]


def test_a_name_said_after_the_first_third_or_only_before_the_block_does_not_count(take, say):
    late = say.mention(take.start("Plank") + 20, PLANK, "Plank", context="plain")
    early = say.mention(take.start("March") - 5, PLANK, "Plank")
    assert told(take, say, "Plank", mentions=(early, late)) == [("Plank", 1, "fail")]


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
        ("Side lunge", "Three lunch over to the side."),
        ("Jump squat", "Chump squad, go."),
        ("Quad stretch", "Quart stretch now."),
    ],
)
def test_a_misheard_or_turned_name_is_let_be(take, say, move, line):
    assert told(take, say, move, (take.start(move) + 2.0, line)) == []


def test_where_many_names_are_misheard_one_may_be_lost(take, say):
    assert told(take, say, "Plank", heard="blonk") == [("Plank", 1, "unclear")]


def test_a_doubtful_place_proves_nothing(take, say):
    assert told(take.change("Plank", confidence=0.4), say, "Plank") == [("Plank", 1, "unclear")]


def test_a_name_in_the_break_before_the_round_will_do(take, say):
    mention = say.mention(take.start("Plank/2") - 12, LUNGE, "Side lunge")
    assert told(take, say, "Side lunge/2", mentions=(mention,)) == []


CHATTER = "Blank looks all round, the plant is in the bank and the drank is flank."


@pytest.mark.parametrize(("elsewhere", "expected"), [(0, []), (12, [("Plank", 1, "fail")])])
def test_what_sounds_alike_all_over_the_class_is_no_name(take, say, elsewhere, expected):
    near = (
        take.start("Plank") + 2.0,
        "Into your blank, please, eyes on the floor and breathe and stay there for me, and again.",
    )
    lines = [(take.start("Quad stretch") + 4.0 * k, CHATTER) for k in range(elsewhere)]
    assert told(take, say, "Plank", near, *lines) == expected
