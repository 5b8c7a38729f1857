"""The plan on its own clock."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule


def _moves(number: int, work_s: float, rest_s: float = 0.0) -> tuple[Move, ...]:
    return tuple(Move(name=f"Move {index}", work_s=work_s, rest_s=rest_s) for index in range(number))


def _plan(*blocks: Block) -> Plan:
    return Plan(title="Any class", blocks=blocks)


@pytest.mark.parametrize(
    ("block", "total_s"),
    [  # round arithmetic as coaches do it: common practice, no source
        (Block("A", "main", rounds=2, moves=_moves(4, 60)), 480),
        (Block("A", "main", rounds=2, moves=_moves(4, 60, 15)), 7 * 15 + 480 + 15),
        (Block("A", "main", moves=(*_moves(5, 45, 15), Move("Last", 45))), 345),
        (Block("A", "main", rounds=2, rest_between_rounds_s=15, moves=(*_moves(3, 60, 15), Move("Last", 60))), 585),
        (Block("A", "main", rounds=3, moves=_moves(1, 40, 20)), 180),  # forty on, twenty off
    ],
)
def test_round_arithmetic(block: Block, total_s: float) -> None:
    assert make_schedule(_plan(block)).total_s == total_s


def test_an_each_move_is_two_halves_without_rest_between() -> None:
    block = Block("A", "main", moves=(Move("Split squat", 45, rest_s=10, side="each"), Move("Plank", 30)))
    left, right, plank = make_schedule(_plan(block)).intervals
    assert [(i.side, i.start_s, i.work_s, i.rest_s, i.order_free) for i in (left, right, plank)] == [
        ("left", 0.0, 22.5, 0.0, True),
        ("right", 22.5, 22.5, 10.0, True),
        (None, 55.0, 30.0, 0.0, False),
    ]


@pytest.mark.parametrize(("side", "expected"), [("left", "left"), ("right", "right"), ("both", None)])
def test_one_interval_keeps_its_side(side: str, expected: str | None) -> None:
    (interval,) = make_schedule(_plan(Block("A", "main", moves=(Move("Plank", 30, side=side),)))).intervals  # type: ignore[arg-type]
    assert interval.side == expected
    assert not interval.order_free


def test_an_alternating_move_is_one_interval() -> None:
    (interval,) = make_schedule(_plan(Block("A", "main", moves=(Move("March", 30, side="alternating"),)))).intervals
    assert (interval.side, interval.work_s) == (None, 30)


@pytest.mark.parametrize(
    ("between_s", "after_s", "gaps"),
    [  # the rest between rounds and after a block stands in the place of the last move's own rest
        (0, 0, [5, 8, 5, 8]),
        (30, 0, [5, 30, 5, 8]),
        (0, 40, [5, 8, 5, 40]),
        (30, 40, [5, 30, 5, 40]),
    ],
)
def test_rest_at_the_end_of_rounds_and_blocks(between_s: float, after_s: float, gaps: list[float]) -> None:
    moves = (Move("One", 20, rest_s=5), Move("Two", 20, rest_s=8))
    block = Block("A", "main", rounds=2, rest_between_rounds_s=between_s, rest_after_s=after_s, moves=moves)
    schedule = make_schedule(_plan(block))
    assert [interval.rest_s for interval in schedule.intervals] == gaps
    assert schedule.tail_s == gaps[-1]
    assert [interval.round for interval in schedule.intervals] == [1, 1, 2, 2]


def test_demo_and_talk_come_before_the_next_interval() -> None:
    plan = _plan(
        Block("Welcome", "talk", length_s=40),
        Block("A", "warm-up", demo_s=10, rest_after_s=20, moves=(Move("One", 30),)),
        Block("Water", "talk", length_s=25, rest_after_s=5),
        Block("B", "main", demo_s=15, rounds=2, moves=(Move("Two", 30, rest_s=3),)),
        Block("Goodbye", "talk", length_s=12),
    )
    schedule = make_schedule(plan)
    first, second, third = schedule.intervals
    assert (schedule.lead_s, first.start_s, first.demo_s, first.end_s) == (50, 50, 50, 80)
    assert (first.rest_s, second.start_s, second.demo_s, second.block) == (20 + 25 + 5 + 15, 145, 40, 3)
    assert (second.rest_s, third.demo_s, third.rest_s) == (3, 0, 3)
    assert (schedule.tail_s, schedule.total_s) == (15, third.end_s + 15)


def test_a_plan_without_moves_is_all_lead() -> None:
    schedule = make_schedule(_plan(Block("Welcome", "talk", length_s=40), Block("Goodbye", "talk", length_s=5)))
    assert (schedule.intervals, schedule.lead_s, schedule.tail_s, schedule.total_s) == ((), 45, 0, 45)


_SECONDS = st.integers(0, 600_000).map(lambda ms: ms / 1000)
_MOVE = st.builds(
    Move,
    name=st.just("Any"),
    work_s=st.integers(1000, 600_000).map(lambda ms: ms / 1000),
    rest_s=_SECONDS,
    side=st.sampled_from(["both", "left", "right", "each", "alternating"]),
)
_BLOCK = st.one_of(
    st.builds(Block, name=st.just("T"), kind=st.just("talk"), length_s=_SECONDS, rest_after_s=_SECONDS),
    st.builds(
        Block,
        name=st.just("M"),
        kind=st.just("main"),
        demo_s=_SECONDS,
        rounds=st.integers(1, 4),
        rest_between_rounds_s=_SECONDS,
        rest_after_s=_SECONDS,
        moves=st.lists(_MOVE, min_size=1, max_size=4).map(tuple),
    ),
)


@given(st.lists(_BLOCK, max_size=5).map(tuple))
def test_parts_add_up_and_never_overlap(blocks: tuple[Block, ...]) -> None:
    schedule = make_schedule(Plan(title="Any", blocks=blocks))
    intervals = schedule.intervals
    expected = sum(b.rounds * sum(2 if m.side == "each" else 1 for m in b.moves) for b in blocks)
    assert [interval.index for interval in intervals] == list(range(expected))
    for one, two in pairwise(intervals):
        assert two.start_s == pytest.approx(one.end_s + one.rest_s, abs=1e-3)
        assert 0 <= two.demo_s <= one.rest_s + 1e-3
    work_s = sum(interval.work_s for interval in intervals)
    assert work_s == pytest.approx(sum(b.rounds * sum(m.work_s for m in b.moves) for b in blocks), abs=1e-3)
    gaps_s = sum(interval.rest_s for interval in intervals[:-1])
    assert schedule.total_s == pytest.approx(schedule.lead_s + work_s + gaps_s + schedule.tail_s, abs=1e-2)
    if intervals:
        assert intervals[0].start_s == schedule.lead_s
