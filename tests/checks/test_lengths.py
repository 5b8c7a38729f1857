"""Interval, rest, block, class and drift: how long things ran."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import CHECKS
from analyzer.checks.rules_reader import parse
from analyzer.checks.start_drift import drifts

LENGTHS = (
    "interval-long", "interval-short", "rest-long", "rest-short", "block-long", "block-short", "class-long",
    "class-short", "start-drift",
)  # fmt: skip


def test_a_class_as_planned_has_no_finding_about_length(take):
    assert take.findings(*LENGTHS) == []


@pytest.mark.parametrize(
    ("key", "by_s", "check", "severity"),
    [
        ("Plank", 10, "interval-long", "medium"),
        ("Plank/2", 16, "interval-long", "high"),
        ("Side lunge/1/left", 7, "interval-long", "medium"),
        ("Jump squat", -11, "interval-short", "medium"),
        ("Plank", -20, "interval-short", "high"),
    ],
)
def test_slips_of_work_are_told(take, key, by_s, check, severity):
    found = take.stretch(key, by_s).findings("interval-long", "interval-short")
    assert [(f.check, f.verdict, f.severity) for f in found] == [(check, "fail", severity)]
    assert found[0].measured == pytest.approx(found[0].expected + by_s)
    assert found[0].uncertainty == pytest.approx(2 * (0.2**2 + 0.2**2) ** 0.5)


def test_the_words_of_a_slip(take):
    finding = take.stretch("Plank", 10).findings("interval-long")[0]
    assert finding.message == "Plank (Circuit, round 1) ran 50 s; the plan says 40 s."
    assert "10 s" in finding.advice
    assert (finding.block, finding.round, finding.move, finding.side) == ("Circuit", 1, "Plank", None)
    assert finding.evidence[0].text.startswith("word")


@pytest.mark.parametrize("by_s", [4, -4, 0])
def test_slips_inside_the_limit_are_not_told(take, by_s):
    assert take.stretch("Plank", by_s).findings("interval-long", "interval-short") == []


def test_a_coarse_recording_never_fails_on_a_slip_it_cannot_prove(make_take):
    take = make_take(grain="stamp", edge_u=5.0).stretch("Plank", 14)
    assert take.verdicts("interval-long") == ["unclear"]
    assert "caption times" in take.findings("interval-long")[0].message
    assert make_take(grain="stamp", edge_u=5.0).findings("interval-long", "interval-short") == []


def test_the_joint_uncertainty_of_a_length_is_used_where_known(make_take):
    take = make_take(edge_u=5.0).stretch("Plank", 10)
    assert take.change("Plank", length_u=0.3).verdicts("interval-long") == ["fail"]


def test_an_interval_that_may_not_have_been_worked_is_at_best_unclear(take):
    assert take.stretch("Plank", 12).change("Plank", confidence=0.4).verdicts("interval-long") == ["unclear"]


def test_a_length_that_fails_in_spite_of_the_plans_pull_fails(take):
    assert take.stretch("Plank", 12).change("Plank", length_doubtful=True).verdicts("interval-long") == ["fail"]


@pytest.mark.parametrize(
    ("by_s", "u", "told"), [(0, 0.5, False), (0, 6, False), (2, 1, False), (3, 6, True), (4, 1, True), (9, 3, True)]
)
def test_a_doubtful_length_is_told_where_it_leans(take, by_s, u, told):
    take.stretch("Plank", by_s).change("Plank", length_doubtful=True, length_u=u)
    found = take.findings("interval-long", "interval-short")
    assert [f.verdict for f in found if f.move == "Plank"] == ["unclear"] * told


def test_a_doubtful_length_is_told_once(take):
    take.stretch("Plank", 3).change("Plank", length_doubtful=True, length_u=6.0)
    assert [f.verdict for f in take.findings("interval-long", "interval-short")] == ["unclear"]


def test_house_limits_and_severity_hold(take):
    rules = parse("checks: {interval-long: {limit_s: 12, severity: low}}", CHECKS, "x")
    take.rules = rules
    take.stretch("Plank", 10).stretch("Plank/2", 30)
    assert [(f.severity, f.round) for f in take.findings("interval-long")] == [("low", 2)]
    take.rules = parse("checks: {interval-long: {on: false}}", CHECKS, "x")
    assert take.findings("interval-long") == []


# rests


@pytest.mark.parametrize(
    ("key", "by_s", "check", "words"),
    [
        ("Side lunge", 9, "rest-long", "The rest after Plank"),
        ("Plank/2", 40, "rest-long", "The rest between rounds after Jump squat"),
        ("Plank", 15, "rest-long", "The break between blocks after March"),
        ("Plank/2", -9, "rest-short", "was 6 s; the plan says 15 s"),
    ],
)
def test_slips_of_rest_are_told(take, key, by_s, check, words):
    found = take.delay(key, by_s).findings("rest-long", "rest-short")
    assert [(f.check, f.verdict, f.severity) for f in found] == [(check, "fail", "low")]
    assert words in found[0].message


@pytest.mark.parametrize(
    ("key", "by_s"),
    [
        ("Side lunge", 4),
        ("Plank", 9),  # a demo in the gap
        ("Cobra", 8),  # no rest planned: a change-over
        ("Side lunge/1/right", 6),  # the switch of sides
        ("Side lunge", -4),
    ],
)
def test_rests_near_enough_are_not_told(take, key, by_s):
    assert take.delay(key, by_s).findings("rest-long", "rest-short") == []


def test_a_gap_around_something_missing_is_not_judged(take):
    take.drop("Side lunge/1/left", "Side lunge/1/right").delay("Jump squat", 30)
    assert take.findings("rest-long", "rest-short") == []


def test_sides_in_the_other_order_keep_their_rests(take):
    left, right = take.find("Side lunge/1/left"), take.find("Side lunge/1/right")
    a, b = take.rows[left], take.rows[right]
    take.rows[left] = replace(b, start_s=a.start_s, end_s=a.end_s)
    take.rows[right] = replace(a, start_s=b.start_s, end_s=b.end_s)
    assert take.findings(*LENGTHS, "order-changed") == []
    take.delay("Jump squat", 20)
    assert [f.check for f in take.findings("rest-long")] == ["rest-long"]


def test_an_unsure_neighbour_makes_a_rest_unclear(take):
    assert take.delay("Side lunge", 20).change("Side lunge", confidence=0.3).verdicts("rest-long") == ["unclear"]


# blocks and the class


def test_block_lengths_leave_the_demo_out(take):
    assert take.delay("Plank", 60).findings("block-long") == []
    found = take.delay("Plank/2", 20).findings("block-long")
    assert [(f.block, f.verdict) for f in found] == [("Circuit", "fail")]
    assert found[0].measured - found[0].expected == pytest.approx(20)


def test_a_lost_round_shortens_its_block_and_says_so(take):
    take.drop("Plank/2", "Side lunge/2/left", "Side lunge/2/right", "Jump squat/2")
    found = take.findings("block-short")
    assert [f.block for f in found] == ["Circuit"]
    assert "1 lost round" in found[0].advice
    assert take.findings("rest-long", "rest-short", "start-drift") == []


def test_blocks_inside_the_limit_or_not_provable_are_quiet(take, make_take):
    assert take.delay("Plank/2", 14).findings("block-long", "block-short") == []
    assert make_take(edge_u=6.0).delay("Plank/2", 25).verdicts("block-long") == ["unclear"]


@pytest.mark.parametrize(("by_s", "checks"), [(70, ["class-long"]), (-70, ["class-short"]), (50, []), (-50, [])])
def test_class_length(make_take, by_s, checks):
    take = make_take()
    take.duration_s = take.schedule.total_s + by_s
    assert [f.check for f in take.findings("class-long", "class-short")] == checks


def test_a_long_class_is_held_to_a_share(make_take):
    take = make_take(plan=replace(make_take().plan, length_s=3000.0), duration_s=3140.0)
    assert take.findings("class-long", "class-short") == []
    take.duration_s = 3170.0
    assert [f.severity for f in take.findings("class-long")] == ["high"]


# drift


def test_drift_is_told_where_it_begins_and_not_again(take):
    take.delay("Plank/2", 30)
    found = take.findings("start-drift")
    assert [(f.round, f.move, round(f.measured)) for f in found] == [(2, "Plank", 30)]


def test_drift_is_told_again_when_it_moves_by_another_limit(take):
    take.delay("Plank/2", 30).delay("Quad stretch", 25)
    assert [round(f.measured) for f in take.findings("start-drift")] == [30, 55]


def test_slow_drift_is_told_when_it_has_added_up(take):
    for key in ("Side lunge", "Jump squat", "Plank/2", "Side lunge/2", "Jump squat/2", "Quad stretch"):
        take.delay(key, 4)
    found = take.findings("start-drift")
    assert [(f.move, round(f.measured)) for f in found] == [("Quad stretch", 24)]


def test_a_late_first_start_is_no_drift(take):
    assert take.delay("March", 45).findings("start-drift") == []


def test_what_is_missing_is_no_drift(take):
    take.drop("Side lunge/1/left", "Side lunge/1/right")
    assert take.findings("start-drift") == []


def test_a_lost_round_leaves_no_drift_at_all(take):
    take.drop("Plank/2", "Side lunge/2/left", "Side lunge/2/right", "Jump squat/2")
    assert [point.drift_s for point in drifts(take.context())] == pytest.approx([0.0] * 7)


def test_an_unproved_crossing_gives_way_to_a_proved_one(take):
    take.delay("Plank/2", 20.1)
    assert take.verdicts("start-drift") == ["unclear"]
    assert take.delay("Quad stretch", 9).verdicts("start-drift") == ["fail"]
