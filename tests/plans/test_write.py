"""Plans written as YAML."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import read_plan, to_yaml
from analyzer.plans.mistakes import Mistakes
from analyzer.plans.validate import build_plan
from analyzer.plans.write import scalar
from analyzer.plans.yaml_reader import read_tree
from tests.plans.strategies import PLANS, WORDS

PLAN = Plan(
    title="Pier Legs",
    coach="Coach B",
    length_s=95.0,
    equipment=("mat", "no"),
    blocks=(
        Block("Hello", "talk", length_s=20.0),
        Block(
            "Steps: one",
            "main",
            demo_s=10.0,
            rounds=2,
            rest_after_s=7.5,
            moves=(Move("Calf raise", 40.0, rest_s=5.0, side="each", effort="hard", easier=("hold the rail",)),),
        ),
    ),
)
TEXT = """\
# Drawn up on Monday
# twice over
title: Pier Legs
coach: Coach B
length: 1m35s  # as announced
equipment: [mat, "no"]
blocks:
  - name: Hello
    kind: talk
    length: 20s
  # the part with the stairs
  - name: "Steps: one"
    kind: main
    demo: 10s
    rounds: 2
    rest_after: 7.5s
    moves:
      - name: Calf raise
        work: 40s  # halved for the sides
        # heard once
        # and clearly
        rest: 5s
        side: each
        effort: hard
        easier: [hold the rail]
"""
COMMENTS = {
    "": "Drawn up on Monday\ntwice over\n",
    "length": "as announced",
    "blocks[1]": "the part with the stairs",
    "blocks[1].moves[0].work": "halved for the sides",
    "blocks[1].moves[0].rest": "heard once\nand clearly",
    "blocks[1].quiet": "a default has no line",
}


def _read(text: str) -> Plan:
    return build_plan(read_tree(text.encode(), "plan.yaml"), Mistakes("plan.yaml"))


def test_a_plan_with_comments() -> None:
    assert to_yaml(PLAN, COMMENTS) == TEXT
    assert _read(TEXT) == PLAN


@settings(deadline=None)
@given(PLANS)
def test_what_is_written_reads_back(plan: Plan) -> None:
    assert _read(to_yaml(plan)) == plan


@given(WORDS)
def test_other_readers_of_yaml_take_every_text_for_that_text(text: str) -> None:
    """PyYAML as an outside judge."""
    assert yaml.safe_load(f"[{scalar(text)}, 1]") == [text, 1]
    assert yaml.safe_load(f"name: {scalar(text)}  # remark") == {"name": text}


@given(st.text(max_size=40))
def test_no_comment_changes_the_plan(remark: str) -> None:
    places = ("", "title", "blocks[0]", "blocks[1].name", "blocks[1].moves[0]", "blocks[1].moves[0].name")
    assert _read(to_yaml(PLAN, dict.fromkeys(places, remark))) == PLAN


@pytest.mark.parametrize("folder", sorted(p.name for p in Path("sample_data").iterdir() if p.is_dir()))
def test_the_shipped_plans_survive(folder: str, tmp_path: Path) -> None:
    plan = read_plan(Path("sample_data") / folder / "plan.yaml")
    path = tmp_path / "plan.yaml"
    path.write_text(to_yaml(plan), encoding="utf-8")
    again = read_plan(path)
    assert (again.title, again.coach, again.length_s, again.equipment) == (
        plan.title,
        plan.coach,
        plan.length_s,
        plan.equipment,
    )
    assert again.blocks == plan.blocks
