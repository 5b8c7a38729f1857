"""Breathing, water, caution: what a class should say at least once."""

from __future__ import annotations

from dataclasses import replace

import pytest


def cue(say, at_s, kind, u=0.1):
    return say.cue(at_s, None, "", kind=kind, u=u)


@pytest.fixture
def breathing(take, say):
    """Return a take in which every block has its breathing cue."""
    for key in ("March", "Plank", "Cobra"):
        take.add("cues", cue(say, take.start(key) + 2, "breath"))
    return take


def test_a_block_without_breath_is_told(take, say):
    take.add("cues", cue(say, take.start("March") + 2, "breath"))
    assert [(f.block, f.verdict) for f in take.findings("breath-missing")] == [("Circuit", "fail"), ("Stretch", "fail")]


@pytest.mark.parametrize(("key", "after"), [("Plank", -15), ("Plank/2", 3), ("Jump squat/2", 39)])
def test_one_breath_anywhere_in_a_block_will_do(take, say, key, after):
    take.add("cues", cue(say, take.start(key) + after, "breath"))
    assert "Circuit" not in [f.block for f in take.findings("breath-missing")]


def test_all_is_said_and_short_blocks_need_none(breathing, take, say, make_take):
    assert breathing.findings("breath-missing") == []
    assert "Loosen" not in [f.block for f in make_take().findings("breath-missing")]  # 40 s


def test_a_breath_near_a_block_under_coarse_times_is_unclear(make_take, say):
    take = make_take(edge_u=2.0)
    take.add("cues", cue(say, take.end("Jump squat/2") + 3, "breath", u=3.0))
    assert [(f.block, f.verdict) for f in take.findings("breath-missing")] == [("Circuit", "unclear")]


@pytest.mark.parametrize("kind", ["safety", "water", "must-say"])
def test_other_cues_are_no_breath(take, say, kind):
    take.add("cues", cue(say, take.start("Plank") + 2, kind))
    assert "Circuit" in [f.block for f in take.findings("breath-missing")]


@pytest.mark.parametrize(("minutes", "told"), [(15, False), (20, False), (21, True), (60, True)])
def test_a_long_class_needs_water(make_take, minutes, told):
    assert bool(make_take(duration_s=minutes * 60.0).findings("water-missing")) is told


@pytest.mark.parametrize("at_s", [5, 300, 1290])
def test_one_drink_will_do(make_take, say, at_s):
    take = make_take(duration_s=1300.0).add("cues", cue(say, at_s, "water"))
    assert take.findings("water-missing") == []


def test_no_caution_before_the_first_hard_move_is_told_there(take):
    assert [(f.move, f.round, f.verdict) for f in take.findings("safety-missing")] == [("Plank", 1, "fail")]


def test_a_caution_that_comes_too_late_does_not_count(take, say):
    take.add("cues", cue(say, take.start("Plank") + 5, "safety"))
    assert take.verdicts("safety-missing") == ["fail"]


@pytest.mark.parametrize("kind", ["breath", "water", "must-say"])
def test_another_cue_is_no_caution(take, say, kind):
    take.add("cues", cue(say, 5, kind))
    assert take.verdicts("safety-missing") == ["fail"]


@pytest.mark.parametrize(("at_s", "u"), [(5, 0.1), (80, 0.1), (95, 10.0)])
def test_a_caution_before_it_will_do(take, say, at_s, u):
    assert take.start("Plank") == 90
    take.add("cues", cue(say, at_s, "safety", u=u))
    assert take.findings("safety-missing") == []


def test_a_class_without_hard_moves_needs_no_caution(take, make_take):
    blocks = tuple(
        replace(block, moves=tuple(replace(move, effort="moderate") for move in block.moves))
        for block in take.plan.blocks
    )
    assert make_take(plan=replace(take.plan, blocks=blocks)).findings("safety-missing") == []


@pytest.mark.parametrize("check", ["breath-missing", "water-missing", "safety-missing"])
def test_where_many_names_are_misheard_it_may_be_lost(make_take, say, check):
    take = make_take(duration_s=1300.0)
    assert set(take.verdicts(check)) == {"fail"}
    take.add("mentions", say.mention(take.start("Plank"), (2, 0), "Plank", heard="blank"))
    assert set(take.verdicts(check)) == {"unclear"}
