"""Missing and extra moves, lost rounds, changed order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.model.audit import Interval

STRUCTURE = ("move-missing", "round-missing", "move-extra", "order-changed", "side-missing")
ROUND_TWO = ("Plank/2", "Side lunge/2/left", "Side lunge/2/right", "Jump squat/2")


def test_a_class_as_planned_misses_nothing(take):
    assert take.findings(*STRUCTURE) == []


@pytest.mark.parametrize("known", [True, False])
def test_a_lost_round_is_one_finding(take, known):
    take.drop(*ROUND_TWO)
    take.lost = (("Circuit", 2),) if known else ()
    found = take.findings(*STRUCTURE)
    assert [(f.check, f.block, f.round, f.move, f.verdict) for f in found] == [
        ("round-missing", "Circuit", 2, None, "fail")
    ]
    assert found[0].at_s == take.end("Jump squat")


def test_a_wholly_missing_block_is_a_lost_round(take):
    found = take.drop("March").findings(*STRUCTURE)
    assert [(f.check, f.block) for f in found] == [("round-missing", "Loosen")]
    assert "Loosen is not on the recording" in found[0].message


def test_an_unsure_loss_is_unclear_and_an_unlikely_one_is_not_told(take, make_take):
    take.drop(*ROUND_TWO, confidence=0.6).delay("Quad stretch", 120)  # room enough for it
    assert take.verdicts("round-missing") == ["unclear"]
    assert make_take().drop(*ROUND_TWO, confidence=0.2).verdicts("round-missing") == []


def test_a_missing_move_is_told_with_its_round(take):
    found = take.drop("Plank/2").findings(*STRUCTURE)
    assert [(f.check, f.round, f.move) for f in found] == [("move-missing", 2, "Plank")]
    assert found[0].at_s == take.end("Jump squat")


def test_both_sides_missing_are_one_move(take):
    found = take.drop("Side lunge/1/left", "Side lunge/1/right").findings(*STRUCTURE)
    assert [(f.check, f.move, f.side) for f in found] == [("move-missing", "Side lunge", None)]


def test_one_side_missing_is_no_missing_move(take):
    assert [f.check for f in take.drop("Side lunge/1/right").findings(*STRUCTURE)] == ["side-missing"]


def test_an_unsure_missing_move_is_unclear(take):
    take.drop("Plank/2", confidence=0.5).delay("Side lunge/2", 30)
    assert take.verdicts("move-missing") == ["unclear"]


def test_where_there_is_no_room_for_it_a_likely_loss_is_stated(take, make_take):
    assert take.drop(*ROUND_TWO, confidence=0.6).verdicts("round-missing") == ["fail"]
    assert make_take().drop("Plank/2", confidence=0.5).verdicts("move-missing") == ["fail"]
    assert make_take(edge_u=8.0).drop("Plank/2", confidence=0.5).verdicts("move-missing") == ["unclear"]


def extra(move="Plank", confidence=0.9):
    return Interval("x1", None, "Circuit", 2, move, None, "extra", 500.0, 540.0, 0.2, 0.2, confidence)


@pytest.mark.parametrize(("move", "words"), [("Plank", "once more than planned"), ("unplanned", "not in the plan")])
def test_extra_work_is_told(take, move, words):
    take.rows.append(extra(move))
    found = take.findings("move-extra")
    assert [f.verdict for f in found] == ["fail"]
    assert words in found[0].message


@pytest.mark.parametrize(("confidence", "verdicts"), [(0.6, ["unclear"]), (0.2, [])])
def test_a_doubtful_extra_is_no_accusation(take, confidence, verdicts):
    take.rows.append(extra(confidence=confidence))
    assert take.verdicts("move-extra") == verdicts


def test_changed_order_is_told_once_a_round(take):
    a, b = take.find("Plank/2"), take.find("Jump squat/2")
    first, second = take.rows[a], take.rows[b]
    take.rows[a] = replace(second, start_s=first.start_s, end_s=first.end_s)
    take.rows[b] = replace(first, start_s=second.start_s, end_s=second.end_s)
    take.reordered = (first.id, second.id)
    found = take.findings("order-changed")
    assert [(f.block, f.round, f.verdict) for f in found] == [("Circuit", 2, "fail")]
    assert "Jump squat, Plank" in found[0].message


def test_swapped_sides_are_no_changed_order(take):
    take.reordered = tuple(take.rows[take.find(f"Side lunge/1/{side}")].id for side in ("left", "right"))
    assert take.findings("order-changed") == []


def test_an_unsure_place_is_an_unclear_order(take):
    take.reordered = (take.rows[take.find("Plank/2")].id,)
    assert take.change("Plank/2", confidence=0.4).verdicts("order-changed") == ["unclear"]
