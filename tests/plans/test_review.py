"""What a plan adds up to and what it lacks."""

from __future__ import annotations

import pytest

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import review_plan


def _plan(*moves: Move, length_s: float | None = None) -> Plan:
    return Plan(title="Any class", blocks=(Block("Main A", "main", moves=moves),), length_s=length_s)


def test_totals_add_up() -> None:
    plan = Plan(
        title="Any class",
        length_s=200,
        blocks=(
            Block("Welcome", "talk", length_s=40),
            Block(
                "Main A",
                "main",
                demo_s=10,
                rounds=2,
                rest_between_rounds_s=15,
                moves=(Move("Lunge", 40, rest_s=5, side="each"), Move("Side plank", 20, side="left")),
            ),
        ),
    )
    review = review_plan(plan)
    assert (review.intervals, review.work_s, review.talk_s, review.rest_s) == (6, 120, 50, 25)
    assert review.work_s + review.talk_s + review.rest_s == review.total_s == 195
    assert (review.left_s, review.right_s, review.length_s) == (80, 40, 200)


def test_a_sound_plan_lacks_nothing() -> None:
    plan = _plan(
        Move("Burpee", 40, effort="hard", easier=("step it",)), Move("Lunge", 40, side="each"), Move("March", 40)
    )
    assert review_plan(plan).lacks == ()


def test_a_hard_move_needs_an_easier_option() -> None:
    (message,) = review_plan(_plan(Move("Burpee", 40, effort="hard"), Move("March", 40))).lacks
    assert message == "block 'Main A', move 'Burpee': hard, but no easier option is written"


@pytest.mark.parametrize(
    ("moves", "message"),
    [
        ((Move("Side plank", 30, side="left"),), "'Side plank': planned on the left side only, never on the right"),
        ((Move("Right lunge", 30, side="right"),), "planned on the right side only, never on the left"),
        ((Move("Left lunge", 30, side="left"), Move("Right lunge", 30, side="right")), None),
        ((Move("Lunge left", 30, side="left"), Move("Lunge", 30, side="each")), None),
        ((Move("Lunge", 30, side="alternating"),), None),
    ],
)
def test_one_side_only(moves: tuple[Move, ...], message: str | None) -> None:
    lacks = review_plan(_plan(*moves)).lacks
    assert len(lacks) == (0 if message is None else 1)
    assert message is None or message in lacks[0]


def test_the_other_side_may_be_in_another_block() -> None:
    blocks = tuple(Block(side, "main", moves=(Move("Lunge", 30, side=side),)) for side in ("left", "right"))  # type: ignore[arg-type]
    assert review_plan(Plan(title="Any class", blocks=blocks)).lacks == ()


@pytest.mark.parametrize(
    ("work_s", "length_s", "told"),
    [
        (600, 600, None),
        (630, 600, None),  # just at one part in twenty
        (631, 600, "31s longer"),
        (569, 600, "31s shorter"),
        (3660, 3600, None),  # just at one minute
        (3661, 3600, "1m1s longer"),
    ],
)
def test_the_promised_length_is_compared_with_the_sum(work_s: float, length_s: float, told: str | None) -> None:
    lacks = review_plan(_plan(Move("March", work_s), length_s=length_s)).lacks
    assert len(lacks) == (0 if told is None else 1)
    assert told is None or lacks[0].endswith(told)
