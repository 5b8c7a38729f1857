"""A plan's review as text."""

from __future__ import annotations

import re
from pathlib import Path

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import read_plan, review_plan
from analyzer.reports.digest import PLAN_CAUTIONS
from analyzer.reports.plan_review import review_text

PLAN = Plan(
    "Two\x1b[31m takes",
    (Block("A\u202e", "main", rounds=2, moves=(Move("Squat", 40.0, rest_s=10.0, effort="hard", side="left"),)),),
    length_s=300.0,
)


def test_everything_is_said_with_its_source_and_the_cautions() -> None:
    text = review_text(PLAN.title, review_plan(PLAN))
    flat = " ".join(text.split())
    assert "work 1:20, rest 0:20, talk 0:00" in flat
    assert "warm-up 0:00, 0 % of the class; published: 5:00 to 10:00 [1]" in flat
    assert "work to rest: A 8.0:1" in flat
    assert "METs, for adults in general [4]: Squat 6.5; their mean, over 100 % of the work: 6.5, vigorous [5]" in flat
    assert flat.index("To mend") < flat.index("hard, but no easier option") < flat.index("To look at")
    marks = {int(mark) for mark in re.findall(r"\[(\d+)\]", text)}
    assert marks == set(range(1, len(marks) + 1))
    assert all(f"\n[{mark}] " in text for mark in marks)
    assert " ".join(PLAN_CAUTIONS) in flat
    assert "Nothing to mend." not in text


def test_the_text_is_safe_and_fits() -> None:
    text = review_text(PLAN.title, review_plan(PLAN))
    assert not [c for c in text if (ord(c) < 32 and c != "\n") or c == "\u202e"]
    assert max(map(len, text.splitlines())) <= 88


def test_a_sample_has_nothing_to_mend_and_too_few_published_moves() -> None:
    plan = read_plan(Path("sample_data/harbour-strength/plan.yaml"))
    text = review_text(plan.title, review_plan(plan))
    assert "\nNothing to mend.\n" in text
    assert "too little for a mean" in " ".join(text.split())
