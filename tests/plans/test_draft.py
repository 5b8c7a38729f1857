"""A plan drawn from rows of work: lengths, sides, names, blocks, and a clock that stays with the recording."""

import pytest

from analyzer.model.plan import Move
from analyzer.plans import make_schedule
from analyzer.plans.draft import UNNAMED, draft
from tests.plans.test_rounds import NAMES, row, rows

MOVES = tuple(Move(name, 45.0, side=side) for name, side in zip("abcdef", ["both"] * 4 + ["each"] * 2, strict=True))


def drawn(given, total_s=600.0):
    return draft("T", given, MOVES, (0.0, total_s))


def test_rounds_with_rests():
    plan = drawn(rows([0, 1, 2, 0, 1, 2])).plan
    welcome, main, goodbye = plan.blocks
    assert (welcome.length_s, main.rounds, main.rest_between_rounds_s, plan.drawn) == (30.0, 2, 20.0, True)
    assert [(m.name, m.work_s, m.rest_s) for m in main.moves] == [("a", 40, 20), ("b", 40, 20), ("c", 40, 0)]
    assert goodbye.length_s == 600.0 - 370.0


def test_the_plan_keeps_the_recordings_clock():
    given = [*rows([3, 4]), *(row(200.0 + 52.0 * at, 41.0, at % 3) for at in range(6)), row(560.0, 30.0, 5)]
    found = drawn(given)
    starts = [interval.start_s for interval in make_schedule(found.plan).intervals]
    assert max(abs(a - b.start_s) for a, b in zip(starts, found.rows, strict=True)) <= 10.0
    assert make_schedule(found.plan).total_s == pytest.approx(600.0, abs=2.5)
    assert [block.kind for block in found.plan.blocks] == ["talk", "warm-up", "main", "cool-down", "talk"]


@pytest.mark.parametrize(
    ("heard", "work_s"),
    [
        ([38.0, 41.0, 42.0], 40.0),
        ([37.0], 40.0),
        ([30.0], 30.0),
        ([40.0, 52.0], 40.0),
        ([52.0, 53.0], 50.0),
        ([4.0], 5.0),
    ],
)
def test_lengths_are_what_coaches_plan(heard, work_s):
    usual = [row(30.0 + 60.0 * at, move=at % 2) for at in range(8)]
    odd = [row(600.0 + 100.0 * at, length, 2) for at, length in enumerate(heard)]
    plan = drawn([*usual, *odd], 2000.0).plan
    assert [m.work_s for block in plan.blocks for m in block.moves if m.name.startswith("c")][:1] == [work_s]


@pytest.mark.parametrize(
    ("given", "side", "work_s"),
    [
        ([row(0.0, 30.0, 0), row(31.0, 30.0, 0, second=True)], "each", 60.0),
        ([row(0.0, 60.0, 4, turns=True)], "each", 60.0),
        ([row(0.0, 60.0, 0, turns=True)], "both", 60.0),
        ([row(0.0, 60.0, 4)], "alternating", 60.0),
        ([row(0.0, 30.0, 0, side="left")], "left", 30.0),
        ([row(0.0, 30.0, 0)], "both", 30.0),
    ],
)
def test_sides(given, side, work_s):
    (move,) = next(block.moves for block in drawn(given).plan.blocks if block.moves)
    assert (move.side, move.work_s) == (side, work_s)


def test_unnamed_and_doubled_moves_have_names_of_their_own():
    (block, _) = drawn([row(0.0, 40.0), row(45.0, 30.0, 0), row(80.0, 20.0, 0)]).plan.blocks
    first, second, third = (move.name for move in block.moves)
    assert (first, second, third) == (f"{UNNAMED} 1.1", "a", "a 2")
    assert block.moves[2].also == ("a",)


def test_a_longer_name_wins_a_near_tie():
    moves = (Move("squat", 45.0), Move("pause squat", 45.0))
    named = [row(0.0, 40.0)]
    named = [type(named[0])(0.0, 40.0, (5.0, 4.6), 6.0)]
    (block, _) = draft("T", named, moves, (0.0, 100.0)).plan.blocks
    assert block.moves[0].name == "pause squat"


def test_a_list_before_a_block_makes_its_gap_a_demo():
    given = [*rows([3]), *(row(150.0 + 60.0 * at, move=at, listed=(0, 1, 2) * (at == 0)) for at in range(3))]
    blocks = [block for block in drawn(given).plan.blocks if block.moves]
    assert [(block.demo_s, block.rest_after_s) for block in blocks] == [(0.0, 0.0), (80.0, 0.0)]


def test_nothing_heard_gives_a_plan_without_blocks():
    assert (drawn([]).plan.blocks, drawn([]).rows, NAMES) == ((), (), len(MOVES))


def test_the_class_may_begin_late_on_the_recordings_clock():
    late = [row(3600.0 + 30.0 + 60.0 * at, move=at % 3) for at in range(6)]
    at_once = drawn([row(30.0 + 60.0 * at, move=at % 3) for at in range(6)], 420.0).plan
    assert draft("T", late, MOVES, (3600.0, 4020.0)).plan == at_once
