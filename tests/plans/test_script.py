"""What to say when. Rules of the trade throughout: common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings

from analyzer.language import languages
from analyzer.model.errors import AnalyzerError
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule, make_script, read_plan
from analyzer.plans.script import WORDS_PER_MINUTE, Line, spoken_s
from tests.plans.strategies import PLANS

SQUAT = Move(
    "Squat", 40.0, rest_s=10.0, effort="hard", easier=("hold a chair",), harder=("jump",), cues=("heels down",)
)
MARCH = Move("March", 20.0)
LUNGE = Move("Lunge", 60.0, side="each")


def _script(*moves: Move, rounds: int = 1, **block: object) -> tuple[Line, ...]:
    plan = Plan("T", (Block("A", "main", rounds=rounds, moves=moves, **block),))  # type: ignore[arg-type]
    return make_script(plan, make_schedule(plan))


def _said(lines: tuple[Line, ...]) -> list[tuple[float, str, str]]:
    return [(line.at_s, line.kind, line.text) for line in lines]


def test_a_whole_class_line_by_line() -> None:
    plan = Plan("T", (Block("Hi", "talk", length_s=20.0), Block("A", "main", demo_s=10.0, moves=(SQUAT, MARCH))))
    assert _said(make_script(plan, make_schedule(plan))) == [
        (0.0, "talk", "Hi"),
        (11.0, "safety", "Stop if anything hurts or you feel dizzy, and take the easier option whenever you like."),
        (20.0, "demo", "Here are the moves. Squat. March."),
        (30.0, "start", "Go. Squat."),
        (31.5, "easier", "An easier option: hold a chair."),
        (34.25, "cue", "Heels down."),
        (35.75, "harder", "A harder option: jump."),
        (37.75, "breath", "Breathe out with the effort, and in on the way back."),
        (50.0, "half", "Half-way."),
        (60.0, "left", "10 seconds left."),
        (67.0, "count", "Three, two, one."),
        (70.0, "rest", "And rest."),
        (75.38, "preview", "Next up, March."),
        (77.0, "count in", "Three, two, one."),
        (80.0, "start", "Go. March."),
        (90.0, "left", "10 seconds left."),
        (97.0, "count", "Three, two, one."),
        (100.0, "end", "And that is it."),
    ]


def test_each_side_gets_a_switch_and_the_preview_comes_in_the_work_where_there_is_no_rest() -> None:
    lines = _said(_script(LUNGE, MARCH))
    assert (0.0, "start", "Go. Lunge, left side.") in lines
    assert (30.0, "switch", "Switch to the right side.") in lines
    assert (46.0, "preview", "Next up, March.") in lines
    assert [at for at, kind, _ in lines if kind == "preview"] == [46.0]


def test_later_rounds_offer_again_where_it_must_be() -> None:
    soft = replace(MARCH, easier=("slow",), work_s=8.0)
    lines = [line for line in _script(SQUAT, soft, rounds=2) if line.kind in ("easier", "harder", "cue", "breath")]
    assert [(line.kind, line.interval, line.room) for line in lines] == [
        ("easier", 0, True),
        ("cue", 0, True),
        ("harder", 0, True),
        ("breath", 0, True),
        ("easier", 1, True),
        ("easier", 2, True),
        ("cue", 2, True),
        ("easier", 3, True),
    ]


def test_a_quiet_move_is_left_in_peace() -> None:
    kinds = [line.kind for line in _script(replace(SQUAT, quiet=True))]
    assert kinds == ["start", "easier", "cue", "harder", "end"]


def test_water_is_offered_in_a_long_class_between_blocks() -> None:
    blocks = tuple(Block(name, "main", rest_after_s=15.0, moves=(Move("Row", 700.0),)) for name in "AB")
    long = Plan("T", blocks)
    short = Plan("T", tuple(replace(block, moves=(Move("Row", 100.0),)) for block in blocks))
    assert [line.at_s for line in make_script(long, make_schedule(long)) if line.kind == "water"] == [701.5]
    assert [line for line in make_script(short, make_schedule(short)) if line.kind == "water"] == []


def test_what_finds_no_room_is_kept_and_marked() -> None:
    busy = replace(SQUAT, work_s=12.0, cues=tuple(f"cue {n} with quite a few words" for n in range(3)))
    lines = [line for line in _script(busy) if line.kind in ("easier", "cue", "harder")]
    assert [line.kind for line in lines] == ["easier", "cue", "cue", "cue", "harder"]
    assert [line.room for line in lines] == [True, True, False, False, False]
    for words, room in ((30, True), (33, False)):  # 1.5 s + 33 or 36 words: 13.9 or 15.0 s, the half is at 14 s
        slow = replace(SQUAT, work_s=28.0, easier=(" ".join(["step"] * words),))
        assert [line.room for line in _script(slow) if line.kind == "easier"] == [room]


def test_a_demo_too_short_for_its_names_is_marked() -> None:
    moves = tuple(Move(f"Move number {n}", 30.0) for n in range(4))
    assert [line.room for line in _script(*moves, demo_s=3.0) if line.kind == "demo"] == [False]
    assert [line.room for line in _script(*moves, demo_s=10.0) if line.kind == "demo"] == [True]


def test_the_rate_of_speech() -> None:
    """160 words a minute are 0.375 s a word (arithmetic); the lower end of 160 to 180 for news: Rodero, 2012."""
    assert WORDS_PER_MINUTE == 160
    assert spoken_s(" ".join(["word"] * 16)) == 6.0
    assert spoken_s("go") == 1.0


@pytest.mark.parametrize("language", languages())
def test_every_language_has_every_line(language: str) -> None:
    plan = read_plan(Path("sample_data/harbour-strength/plan.yaml"))
    english = make_script(plan, make_schedule(plan))
    lines = make_script(plan, make_schedule(plan), language)
    assert {line.kind for line in lines} == {line.kind for line in english}
    assert not [line for line in lines if "{" in line.text]
    with pytest.raises(AnalyzerError, match="no language 'xx'"):
        make_script(plan, make_schedule(plan), "xx")


@settings(max_examples=50, deadline=None)
@given(PLANS)
def test_lines_are_in_order_and_those_with_room_do_not_overlap_in_their_interval(plan: Plan) -> None:
    plan = replace(plan, blocks=tuple(replace(block, rounds=min(block.rounds, 3)) for block in plan.blocks))
    schedule = make_schedule(plan)
    lines = make_script(plan, schedule)
    assert [line.at_s for line in lines] == sorted(line.at_s for line in lines)
    assert all(line.until_s > line.at_s for line in lines)
    opening = [line for line in lines if line.interval is None or line.kind == "start"]
    assert [line.block for line in opening] == sorted(line.block for line in opening)
    assert all(line.until_s <= schedule.total_s + 1e-2 for line in lines if line.kind == "talk")
    fitted = ("easier", "cue", "harder", "breath")
    for line in lines:
        if line.kind in fitted and line.room:
            row = schedule.intervals[line.interval or 0]
            assert row.start_s <= line.at_s
            assert line.until_s <= row.end_s + 1e-3
            within = [other for other in lines if other.interval == line.interval and other.room and other != line]
            assert not [o for o in within if o.at_s < line.until_s - 1e-3 and line.at_s < o.until_s - 1e-3]
