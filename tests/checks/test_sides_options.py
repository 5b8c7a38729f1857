"""Sides and options."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import CHECKS
from analyzer.checks.rules_reader import parse

PLANK, LUNGE, JUMP = (2, 0), (2, 1), (2, 2)


def test_even_sides_are_in_the_table_and_no_finding(take):
    assert take.findings("side-missing", "side-uneven", "side-wrong") == []
    rows = take.facts().sides
    assert [(s.round, s.move, s.left_seconds, s.right_seconds, s.verdict) for s in rows] == [
        (1, "Side lunge", 20.0, 20.0, "pass"),
        (2, "Side lunge", 20.0, 20.0, "pass"),
    ]


@pytest.mark.parametrize(("left", "right", "less"), [(4, -4, "right"), (-9, 0, "left")])
def test_uneven_sides_are_told(take, left, right, less):
    take.stretch("Side lunge/1/left", left).stretch("Side lunge/1/right", right)
    found = take.findings("side-uneven")
    assert [(f.verdict, f.round, f.side) for f in found] == [("fail", 1, None)]
    assert f"the {less} side gets" in found[0].message


def test_both_limits_must_be_passed(take, make_take):
    assert take.stretch("Side lunge/1/left", -4).findings("side-uneven") == []  # a fifth, but 4 s only
    block = take.plan.blocks[2]
    moves = (block.moves[0], replace(block.moves[1], work_s=120.0), block.moves[2])
    blocks = (*take.plan.blocks[:2], replace(block, moves=moves), *take.plan.blocks[3:])
    long = make_take(plan=replace(take.plan, blocks=blocks))
    assert long.stretch("Side lunge/1/left", -8).findings("side-uneven") == []  # 8 s, but 13 % only


def test_uneven_sides_under_doubt_are_unclear(make_take):
    assert make_take(edge_u=2.0).stretch("Side lunge/1/left", -8).verdicts("side-uneven") == ["unclear"]
    take = make_take().stretch("Side lunge/1/left", -9).change("Side lunge/1/left", length_doubtful=True)
    assert take.verdicts("side-uneven") == ["unclear"]


def test_a_missing_side_is_told_and_not_called_uneven(take):
    found = take.drop("Side lunge/2/left").findings("side-missing", "side-uneven")
    assert [(f.check, f.round, f.side, f.verdict) for f in found] == [("side-missing", 2, "left", "fail")]
    assert take.facts().sides[1].difference_percent == 100.0


def test_a_side_that_may_be_there_is_unclear_and_no_side_at_all_is_another_check(take, make_take):
    assert take.drop("Side lunge/2/left", confidence=0.4).verdicts("side-missing") == ["unclear"]
    both = make_take().drop("Side lunge/2/left", "Side lunge/2/right")
    assert both.verdicts("side-missing") == []


def test_the_wrong_side_is_told(take, say):
    take.add("sides", say.side(take.start("Quad stretch") + 4, "right"))
    found = take.findings("side-wrong")
    assert [(f.move, f.side, f.verdict) for f in found] == [("Quad stretch", "left", "fail")]


@pytest.mark.parametrize(
    "calls",
    [
        [(4, "right", True)],
        [(4, "right", False), (6, "left", False)],
        [(4, "left", False)],
        [(-20, "right", False)],
    ],
)
def test_tempting_side_words_are_let_be(take, say, calls):
    for after, side, corrected in calls:
        take.add("sides", say.side(take.start("Quad stretch") + after, side, corrected=corrected))
    assert take.findings("side-wrong") == []


def test_sides_of_an_each_move_may_come_in_any_order(take, say):
    take.add("sides", say.side(take.start("Side lunge/1/left") + 4, "right"))
    assert take.findings("side-wrong") == []


def test_a_side_said_near_the_edge_is_unclear(take, say):
    take.add("sides", say.side(take.end("Quad stretch") - 1, "right", u=2.0))
    assert take.verdicts("side-wrong") == ["unclear"]


# options


def missing(take):
    return [(f.move, f.round, f.verdict) for f in take.findings("easier-missing")]


ALL = [("Plank", 1, "fail"), ("Jump squat", 1, "fail"), ("Plank", 2, "fail"), ("Jump squat", 2, "fail")]


def test_hard_moves_without_options_are_told_a_round(take):
    assert missing(take) == ALL
    assert "knees down" in take.findings("easier-missing")[0].advice


def test_an_option_in_the_work_counts_for_its_round_only(take, say):
    take.add("options", say.option(take.start("Plank") + 5))
    assert missing(take) == ALL[1:]
    row = take.facts().coverage[0]
    assert (row.options, row.first_fraction) == (1, pytest.approx(5 / 40))


def test_harder_options_do_not_help(take, say):
    take.add("options", say.option(take.start("Plank") + 5, "harder"))
    assert missing(take) == ALL


def test_a_demo_option_is_for_the_move_named_before_it_and_round_one(take, say):
    start = take.start("Plank")
    take.add("mentions", say.mention(start - 16, PLANK, "Plank"), say.mention(start - 8, JUMP, "Jump squat"))
    take.add("options", say.option(start - 6))
    assert missing(take) == [ALL[0], *ALL[2:]]
    placed = take.facts().options[0]
    assert (placed.move, placed.interval) == ("Jump squat", take.rows[take.find("Jump squat")].id)


def test_a_move_spoken_of_as_over_does_not_draw_an_option(take, say):
    start = take.start("Plank")
    take.add("mentions", say.mention(start - 16, PLANK, "Plank"))
    take.add("mentions", say.mention(start - 8, JUMP, "Jump squat", context="past"))
    take.add("options", say.option(start - 6))
    assert missing(take) == ALL[1:]


def test_an_option_that_names_its_move_clears_no_other(take, say):
    take.add("options", say.option(take.start("Side lunge") + 2, moves=[JUMP], u=8.0))
    assert missing(take)[0] == ALL[0]


def test_an_option_in_the_rest_is_for_the_coming_move(take, say):
    take.add("options", say.option(take.start("Plank/2") - 5))
    assert missing(take) == [ALL[0], ALL[1], ALL[3]]
    assert take.facts().coverage[2].first_fraction < 0


def test_an_option_that_names_a_move_is_for_its_next_interval(take, say):
    take.add("options", say.option(take.start("Side lunge/2") + 5, moves=[JUMP]))
    assert missing(take) == ALL[:3]


def test_a_name_of_another_block_in_mid_work_is_a_word_like_another(take, say):
    cobra = (3, 1)
    take.add("options", say.option(take.start("Plank") + 5, moves=[cobra]))
    assert missing(take) == ALL[1:]
    take.add("options", say.option(take.start("Plank/2") - 5, moves=[cobra]))
    assert missing(take) == ALL[1:]


def test_a_blanket_offer_covers_its_block_from_then_on(take, say):
    take.add("options", say.option(take.start("Plank/2") - 10, scope="block"))
    assert missing(take) == ALL[:2]
    take.add("options", say.option(take.start("Plank") - 10, scope="block"))
    assert missing(take) == []


def test_a_missing_interval_needs_no_option(take):
    assert ("Plank", 2, "fail") not in missing(take.drop("Plank/2"))


def test_an_option_that_may_have_been_said_inside_makes_it_unclear(take, say):
    take.add("options", say.option(take.start("Side lunge") + 2, u=8.0))
    assert missing(take)[0] == ("Plank", 1, "unclear")


def test_a_late_option_is_told(take, say):
    take.add("options", say.option(take.start("Plank") + 28))
    found = take.findings("easier-late")
    assert [(f.move, f.round, f.verdict, f.measured) for f in found] == [("Plank", 1, "fail", pytest.approx(0.7))]
    assert "28 s into 40 s" in found[0].message


def test_a_reminder_after_an_early_option_is_not_late(take, say):
    take.add("options", say.option(take.start("Plank") + 6), say.option(take.start("Plank") + 35))
    assert take.findings("easier-late") == []


@pytest.mark.parametrize(("into", "u", "verdicts"), [(19, 0.1, []), (21, 3.0, ["unclear"]), (12, 3.0, [])])
def test_lateness_near_the_half_is_not_proved(take, say, into, u, verdicts):
    take.add("options", say.option(take.start("Plank") + into, u=u))
    assert take.verdicts("easier-late") == verdicts


def test_both_sides_of_a_hard_move_are_one(make_take, say):
    plan = make_take().plan
    block = plan.blocks[2]
    moves = (block.moves[0], replace(block.moves[1], effort="hard"), block.moves[2])
    plan = replace(plan, blocks=(*plan.blocks[:2], replace(block, moves=moves), *plan.blocks[3:]))
    take = make_take(plan=plan)
    take.add("options", say.option(take.start("Side lunge/1/left") + 15))  # late in the side, not in the move
    assert [f for f in take.findings("easier-late") if f.move == "Side lunge"] == []
    take.add("options", say.option(take.start("Side lunge/2/right") + 5))
    assert [(f.round, f.measured) for f in take.findings("easier-late")] == [(2, pytest.approx(25 / 40))]
    assert [f.round for f in take.findings("easier-missing") if f.move == "Side lunge"] == []


def test_harder_options_are_asked_for_only_where_a_house_wants_them(take, say):
    assert take.findings("harder-missing") == []
    take.rules = parse("checks: {harder-missing: {on: true}}", CHECKS, "x")
    take.add("options", say.option(take.start("Plank") + 5, "harder"))
    assert [(f.move, f.round) for f in take.findings("harder-missing")] == [(m, r) for m, r, _ in ALL[1:]]


def test_a_doubtful_offer_is_not_listed_and_still_answers_for_its_move(take, say):
    hard = take.start("Plank")
    take.add("options", replace(say.option(hard + 5, moves=((2, 0),)), doubtful=True))
    assert take.facts().options == ()
    assert ("Plank", 1) not in {(f.move, f.round) for f in take.findings("easier-missing")}
