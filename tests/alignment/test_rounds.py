"""Which round starts and which has ended, by what is told."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.alignment.candidates import find_candidates
from analyzer.alignment.evidence import WEIGHTS
from analyzer.alignment.graph import build_graph
from analyzer.alignment.rounds import explained, round_ends, round_marks, round_starts, turns_of
from analyzer.model.events import Events, Mention, Signal
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule
from tests.factory import transcript_from

AT = find_candidates(transcript_from([(10.0 * k, "Down and up.") for k in range(1, 12)]), Events())

NOTHING_NAMED = np.zeros(len(AT), dtype=np.bool_)


def said(at_s: float, number: int | None, final: bool = False, done: bool = False) -> Signal:
    return Signal(0, 0, at_s, at_s + 1, 0.1, "round", "round", 1.0, number, done, final)


def near(values: np.ndarray, at_s: float) -> float:
    """The value at the candidate nearest to a time."""
    return float(values[np.abs(AT.time_s - at_s).argmin()])


@pytest.mark.parametrize(
    ("signals", "number", "rounds", "sign"),
    [
        ([said(20, 2)], 2, 3, 1),
        ([said(20, 2)], 3, 3, -1),
        ([said(20, None, True)], 3, 3, 1),
        ([said(20, None, True)], 2, 3, -1),
        ([said(20, 2), said(30, 3)], 3, 3, 1),  # an edit may have cut away the round named first
        ([said(20, 2), said(30, 3)], 2, 3, -1),
        ([said(20, None)], 2, 3, 1),
        ([said(20, None)], 1, 3, -1),
        ([said(20, 1, done=True)], 2, 3, 1),  # "that's round one": the next is the second
        ([said(20, 1, done=True)], 1, 3, -1),
        ([said(20, 3, done=True)], 3, 3, 0),  # all are over
        ([said(20, 8)], 2, 3, 0),  # "set eight": no round of a block of three
    ],
)
def test_the_round_named_last_is_the_one_that_starts(signals, number, rounds, sign):
    starts = round_starts(AT, signals, number, rounds, NOTHING_NAMED)
    assert np.sign(near(starts, 40.0)) == sign
    assert near(starts, 10.0) == 0.0


def test_what_is_told_counts_before_what_was_explained():
    named = np.ones(len(AT), dtype=np.bool_)
    for number, sign in ((1, 1), (2, -1)):
        assert np.sign(near(round_starts(AT, [], number, 3, named), 40.0)) == sign
        assert np.sign(near(round_starts(AT, [said(20, 1, done=True)], number, 3, named), 40.0)) == -sign


@pytest.mark.parametrize(
    ("named", "told"),
    [
        ([(0, 0), (0, 1), (0, 2)], True),
        ([(0, 0), (0, 1), (0, 1)], False),  # the same move twice
        ([(0, 0), (0, 1), (1, 2)], False),  # a move of another block
    ],
)
def test_a_block_is_explained_by_three_of_its_moves(named, told):
    mentions = [
        Mention(0, 0, 20.0 + k, 21.0 + k, 0.1, "name", (ref,), "name", 1.0, True, "plain")
        for k, ref in enumerate(named)
    ]
    before = explained(AT, mentions, 0)
    assert before[np.abs(AT.time_s - 40.0).argmin()] == told
    assert not before[AT.time_s < 20.0].any()
    assert not before[AT.time_s > 70.0].any()


@pytest.mark.parametrize(
    ("signals", "number", "sign"),
    [
        ([said(45, 1, done=True)], 1, 1),
        ([said(45, 1, done=True)], 2, -1),
        ([said(45, 3, done=True)], 3, 1),
        ([said(45, 2)], 1, 0),  # it starts: before it an edit may have cut a round away
        ([said(45, None, True)], 3, 0),
        ([said(45, 1, done=True), said(60, 2, done=True)], 1, 1),  # the first told speaks of the end just before it
        ([said(45, 8, done=True)], 1, 0),
    ],
)
def test_a_round_told_as_done_has_ended_before(signals, number, sign):
    ends = round_ends(AT, signals, number, 3)
    assert np.sign(near(ends, 40.0)) == sign
    assert near(ends, 80.0) == near(ends, 10.0) == 0.0


def test_marks_are_those_of_the_rounds_that_nodes_open_and_close():
    moves = (Move("Squat", 40.0), Move("Row", 40.0, side="each"))
    plan = Plan("Test class", (Block("Once", "main", moves=moves), Block("Twice", "main", rounds=2, moves=moves)))
    schedule = make_schedule(plan)
    graph = build_graph(plan, schedule)
    turns = turns_of(graph, schedule)
    opened, closed = round_marks(AT, schedule, Events(signals=(said(45, 1, done=True),)), turns, WEIGHTS)
    assert set(opened) == set(closed) == {(1, 1), (2, 1)}
    assert near(closed[(1, 1)], 40.0) == -near(closed[(2, 1)], 40.0) == WEIGHTS.round_told
    assert near(opened[(2, 1)], 60.0) > 0 > near(opened[(1, 1)], 60.0)
    for node, (opens, closes) in zip(graph.nodes, turns, strict=True):
        if node.planned is None or not node.copy.startswith("plan"):
            continue
        iv = schedule.intervals[node.planned]
        alone = node.copy in ("plan-first", "plan-other")
        first, last = iv.move == 0, iv.move == 1 and (alone or node.second)
        assert opens == ((iv.round, 1) if iv.block == 1 and first else (0, 0))
        assert closes == ((iv.round, 1) if iv.block == 1 and last else (0, 0))
