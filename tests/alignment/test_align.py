"""Whole recordings, spoken by rule: what strays from the plan must be found as that, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analyzer.alignment import align
from analyzer.alignment.align import _widened
from analyzer.language import load_language
from analyzer.model.audit import Alignment, Interval
from analyzer.model.errors import MismatchError
from analyzer.model.events import Events
from analyzer.model.plan import Block, Move, Plan
from analyzer.model.transcript import Caption, Token
from analyzer.plans import make_schedule
from analyzer.spotting import spot
from tests.factory import transcript_from

NAMES = ("Glute bridge", "Bicycle crunch", "Wall sit", "Jumping jack")
FILLER = (
    "Nice and steady with the shoulders soft.",
    "Look ahead and find your own rhythm.",
    "Somebody left the window open again.",
    "Think about the floor under your feet.",
)


def plan_of(rounds: int = 2, side: str = "both") -> Plan:
    moves = tuple(
        Move(name, 40.0, rest_s=15.0, side=side if name == "Glute bridge" else "both")  # type: ignore[arg-type]
        for name in NAMES
    )
    return Plan(
        "Spoken by rule",
        (
            Block("Hello", "talk", length_s=20.0),
            Block("Main", "main", rounds=rounds, rest_between_rounds_s=30.0, moves=moves),
            Block("Bye", "talk", length_s=15.0),
        ),
    )


Worked = tuple[str, float]  # what is said to start, seconds of work


Lines = list[tuple[float, str]]


def speak(worked: list[Worked], rest_s: float = 15.0, counts: bool = True) -> tuple[Lines, list[float]]:
    """Return lines of a class that works these in order, and the true boundaries (start, end, start, ...)."""
    at, lines, true = 22.0, [(1.0, "Hello and welcome to the class."), (8.0, "Find some space and a mat.")], []
    for k, (name, length) in enumerate(worked):
        lines.append((at - 8.0, f"Next up is the {name}."))
        if counts:
            lines += [(at - 3.0 + i, word) for i, word in enumerate(("Three.", "Two.", "One."))]
        lines.append((at + 0.2, f"Go, {name}!"))
        true += [at, at + length]
        for i, offset in enumerate(np.arange(6.0, length - 6.0, 7.0)):
            lines.append((at + float(offset), FILLER[(k + i) % len(FILLER)]))
        if counts:
            lines += [(at + length - 3.0 + i, word) for i, word in enumerate(("Three.", "Two.", "One."))]
        lines.append((at + length + 0.2, "And rest."))
        at += length + rest_s
    lines += [(at - 5.0, "Well done everybody."), (at, "Thank you and goodbye.")]
    return sorted(lines), true


def aligned(plan: Plan, lines: Lines) -> Alignment:
    transcript = transcript_from(lines)
    return align(transcript, plan, make_schedule(plan), spot(transcript, plan, load_language("en")))


def worked_of(alignment: Alignment) -> list[Interval]:
    return [iv for iv in alignment.intervals if iv.status == "worked"]


def boundaries(alignment: Alignment) -> list[float]:
    return [t for iv in worked_of(alignment) for t in (iv.start_s or 0.0, iv.end_s or 0.0)]


@pytest.mark.parametrize("counts", [True, False], ids=["counted", "uncounted"])
def test_a_class_on_plan_is_found_where_it_is(counts: bool) -> None:
    lines, true = speak([(n, 40.0) for n in NAMES * 2], counts=counts)
    got = aligned(plan_of(), lines)
    assert boundaries(got) == pytest.approx(true, abs=1.5)
    assert got.lost_rounds == ()
    assert got.reordered == ()
    assert got.found_share == pytest.approx(1.0)
    assert all(iv.confidence > 0.9 for iv in got.intervals)


@pytest.mark.parametrize("length", [28.0, 55.0])
def test_a_slip_is_found_not_explained_away(length: float) -> None:
    worked = [(n, 40.0) for n in NAMES * 2]
    worked[2] = (NAMES[2], length)
    lines, true = speak(worked)
    got = worked_of(aligned(plan_of(), lines))[2]
    assert (got.start_s, got.end_s) == pytest.approx((true[4], true[5]), abs=1.5)
    assert got.length_u is not None
    assert abs((got.end_s or 0) - (got.start_s or 0) - 40.0) > 5.0 + 2 * got.length_u


def test_work_halted_while_the_clock_runs_on_ends_where_it_was_halted() -> None:
    lines, true = speak([(name, 40.0) for name in NAMES * 2], counts=False)
    start, end = true[4], true[5]
    lines = [line for line in lines if not start + 20.0 <= line[0] < end + 6.0]
    lines += [
        (start + 22.0, "Stop, stop there a second."),
        (start + 27.0, "The dog has got the towel."),
        (end, "Silly dog."),
    ]
    found = worked_of(aligned(plan_of(), sorted(lines)))[2]
    assert found.end_s == pytest.approx(start + 23.0, abs=3.0)


def test_work_that_goes_on_after_its_count_ends_later() -> None:
    lines, true = speak(
        [(name, length) for name, length in zip(NAMES * 2, (43, 38, 41, 44, 37, 42, 39, 43), strict=True)]
    )
    end = true[5]
    lines = [line for line in lines if line[1] != "And rest." or abs(line[0] - end) > 1.0]
    lines += [(end + 0.2, "And hold it, hold it there."), (end + 4.0, "And rest.")]
    found = worked_of(aligned(plan_of(), sorted(lines)))[2]
    assert found.end_s == pytest.approx(end + 4.2, abs=1.5)


def test_a_missing_move_is_missing() -> None:
    names = [n for k, n in enumerate(NAMES * 2) if k != 1]
    lines, true = speak([(n, 40.0) for n in names])
    got = aligned(plan_of(), lines)
    assert [iv.id for iv in got.intervals if iv.status == "missing"] == ["i002"]
    assert boundaries(got) == pytest.approx(true, abs=1.5)


@pytest.mark.parametrize("rounds", [2, 3])
def test_a_lost_round_is_one_event(rounds: int) -> None:
    lines, true = speak([(n, 40.0) for n in NAMES * (rounds - 1)])
    got = aligned(plan_of(rounds), lines)
    assert len(got.lost_rounds) == 1
    assert got.lost_rounds[0][0] == "Main"
    assert sum(iv.status == "missing" for iv in got.intervals) == len(NAMES)
    assert boundaries(got) == pytest.approx(true, abs=1.5)


def test_swapped_moves_are_reordered_not_lost() -> None:
    names = list(NAMES * 2)
    names[1], names[2] = names[2], names[1]
    lines, true = speak([(n, 40.0) for n in names])
    got = aligned(plan_of(), lines)
    assert [iv.move for iv in worked_of(got)] == names
    assert boundaries(got) == pytest.approx(true, abs=1.5)
    assert set(got.reordered) == {"i002", "i003"}


def test_a_repeated_move_is_extra() -> None:
    names = [*NAMES[:2], NAMES[1], *NAMES[2:], *NAMES]
    lines, _ = speak([(n, 40.0) for n in names])
    got = aligned(plan_of(), lines)
    extra = [iv for iv in got.intervals if iv.status == "extra"]
    assert [iv.move for iv in extra] == [NAMES[1]]
    assert not [iv for iv in got.intervals if iv.status == "missing"]


@pytest.mark.parametrize("order", [("left", "right"), ("right", "left")])
def test_either_side_may_come_first(order: tuple[str, str]) -> None:
    lines, at = [(1.0, "Hello and welcome to the class.")], 22.0
    for round_ in range(2):
        for name in NAMES:
            if name == NAMES[0]:
                lines += [
                    (at - 6.0, f"Next up is the {name}, {order[0]} leg first."),
                    (at + 0.2, f"Go, {order[0]} leg."),
                    (at + 8.0, FILLER[round_]),
                    (at + 20.2, f"Other side. {order[1].capitalize()} leg."),
                    (at + 30.0, FILLER[1 + round_]),
                ]
            else:
                lines += [(at - 6.0, f"Next up is the {name}."), (at + 0.2, f"Go, {name}!"), (at + 15.0, FILLER[2])]
            lines.append((at + 40.2, "And rest."))
            at += 55.0
        at += 15.0
    got = worked_of(aligned(plan_of(side="each"), sorted(lines)))
    assert [iv.side for iv in got if iv.move == NAMES[0]] == [*order, *order]
    first = [iv for iv in got if iv.move == NAMES[0]][:2]
    assert [iv.start_s for iv in first] == pytest.approx([22.0, 42.1], abs=1.5)


def test_another_class_is_refused() -> None:
    lines, _ = speak([(n, 40.0) for n in ("Frog hop", "Side bend", "Heel drop", "Star reach") * 2])
    with pytest.raises(MismatchError, match="named in the recording"):
        aligned(plan_of(), lines)


@pytest.mark.parametrize(("keep", "first", "last"), [(slice(0, 4), 0, 3), (slice(8, 12), 8, 11)], ids=["start", "end"])
def test_a_part_of_a_recording_is_named_as_that(keep: slice, first: int, last: int) -> None:
    rounds = 3
    lines, _ = speak([(n, 40.0) for n in (NAMES * rounds)[keep]])
    plan = plan_of(rounds)
    schedule = make_schedule(plan)
    got = schedule.intervals[first], schedule.intervals[last]
    with pytest.raises(MismatchError, match="of the plan's work was found in the recording") as told:
        aligned(plan, lines)
    assert plan.blocks[1].moves[got[0].move].name in str(told.value)
    assert plan.blocks[1].moves[got[1].move].name in str(told.value)


def test_a_plan_without_moves_is_refused() -> None:
    plan = Plan("Talk", (Block("Hello", "talk", length_s=60.0),))
    transcript = transcript_from([(1.0, "Hello there.")])
    with pytest.raises(MismatchError, match="no interval to look for"):
        align(transcript, plan, make_schedule(plan), Events())


def test_moving_the_whole_recording_moves_every_boundary() -> None:
    worked = [(n, 40.0 + 2 * k) for k, n in enumerate(NAMES * 2)]
    lines, _ = speak(worked)
    later = [(at + 37.0, text) for at, text in lines]
    moved = np.array(boundaries(aligned(plan_of(), later))) - np.array(boundaries(aligned(plan_of(), lines)))
    assert moved == pytest.approx(np.full(len(moved), 37.0), abs=0.3)


@pytest.mark.parametrize(("grain_s", "factor"), [(15, 1.0), (30, 1.2), (60, 1.4)])
def test_a_coarse_stamp_widens_every_uncertainty(grain_s: int, factor: float) -> None:
    """The factor is measured on invented classes (tests/benchmarks/generated.py), it has no published source."""
    captions = tuple(Caption(n, 1000 * grain_s * n, None, (Token("go"),)) for n in range(9))
    transcript = replace(transcript_from([(0.0, "go")]), grain="stamp", captions=captions)
    interval = Interval("i001", 0, "Main", 1, "Squat", None, "worked", 0.0, 40.0, 1.0, 2.0, length_u=3.0)
    (got,) = _widened(Alignment((interval,), (), ()), transcript).intervals
    assert (got.start_u, got.end_u, got.length_u) == pytest.approx((factor, 2 * factor, 3 * factor))
    assert (got.start_s, got.end_s) == (0.0, 40.0)
