from dataclasses import replace

import pytest

from analyzer.library import compare_takes
from analyzer.library.compare import Worked
from analyzer.model.audit import Alignment
from tests.reports.synthetic import audit as build

FIRST = build()
HIGH = FIRST.findings[0]


def findings(*marks):
    """Findings from marks: an id, a severity's first letter, and ``?`` for unclear or ``w`` for waived."""
    names = {"h": "high", "m": "medium", "l": "low"}
    return tuple(
        replace(
            HIGH,
            id=mark[0],
            severity=names[mark[1]],
            verdict="unclear" if mark.endswith("?") else "fail",
            waived="agreed" if mark.endswith("w") else None,
        )
        for mark in marks
    )


def take(*marks, name="take-2.vtt", **shifts):
    """The class with these findings; ``shifts`` start intervals later, by id: ``i3=4.0`` seconds."""
    made = build(name=name)
    rows = tuple(
        row if row.start_s is None else replace(row, start_s=row.start_s + shifts.get(row.id, 0.0), end_s=row.end_s)
        for row in made.alignment.intervals
    )
    return replace(made, findings=findings(*marks), alignment=Alignment(rows, (), (), 0.9))


def test_intervals_stand_side_by_side_with_length_and_drift():
    rows = compare_takes([FIRST, take(i2=3.0)]).rows
    assert [(r.round, r.move, r.side, r.planned_s) for r in rows[:3]] == [
        (1, "Split squat", "left", 40.0),
        (1, "Split squat", "right", 40.0),
        (1, "Backpack row", None, 40.0),
    ]
    # planned at 50, 100 and 150; worked from 55, 104 and 141: the first is where the clocks meet
    assert [row.takes[0] for row in rows[:3]] == [Worked(40.0, 0.0), Worked(28.0, -1.0), Worked(41.0, -14.0)]
    assert rows[1].takes[1] == Worked(25.0, 2.0)
    assert rows[6].takes == (Worked(), Worked())  # missing from both


def test_a_missing_interval_leaves_its_cell_empty():
    gone = replace(FIRST.alignment.intervals[1], status="missing", start_s=None, end_s=None, start_u=None, end_u=None)
    rows = (FIRST.alignment.intervals[0], gone, *FIRST.alignment.intervals[2:])
    other = replace(FIRST, alignment=Alignment(rows, (), (), 0.9))
    assert compare_takes([FIRST, other]).rows[1].takes == (Worked(28.0, -1.0), Worked())


@pytest.mark.parametrize(
    ("before", "after", "fixed", "remaining", "unclear", "new"),
    [
        (["ah", "bl"], ["bl", "cm"], "a", "b", "", "c"),
        (["ah"], ["ah?"], "", "", "a", ""),
        (["ah?"], ["ah"], "", "", "", "a"),
        (["ah?"], [], "", "", "", ""),
        (["ahw"], ["ahw"], "", "", "", ""),
        (["ah"], ["al"], "", "a", "", ""),
        ([], [], "", "", "", ""),
    ],
)
def test_findings_fixed_new_and_remaining_go_by_their_id(before, after, fixed, remaining, unclear, new):
    (change,) = compare_takes([take(*before), take(*after)]).changes
    ids = ["".join(f.id for f in part) for part in (change.fixed, change.remaining, change.unclear, change.new)]
    assert ids == [fixed, remaining, unclear, new]


def test_every_later_take_is_held_against_the_first():
    changes = compare_takes([take("ah", "bl"), take("ah"), take("bl", "cm")]).changes
    assert [[f.id for f in change.fixed] for change in changes] == [["b"], ["a"]]
    assert [[f.id for f in change.new] for change in changes] == [[], ["c"]]


@pytest.mark.parametrize(
    ("takes", "better", "why"),
    [
        ((["ah"], ["bm", "cm", "dl"]), 1, "findings"),  # one high outweighs any number of others
        ((["ah", "bm"], ["ah", "bm", "cl"]), 0, "findings"),
        ((["ah", "bl"], ["ah", "bm"]), 0, "findings"),
        ((["ah"], ["bh"]), None, None),
        ((["ah", "bm?"], ["ah", "bmw"]), None, None),  # neither undecided nor waived ones count
        ((["ah"], ["bm"], ["cl"]), 2, "findings"),
        ((["ah"], ["bl"], ["cl"]), None, None),  # two are better than the first and equal
    ],
)
def test_fewer_and_lighter_findings_win(takes, better, why):
    whole = compare_takes([take(*marks) for marks in takes]).whole
    assert (whole.better, whole.why) == (better, why)


@pytest.mark.parametrize(("late_s", "better"), [(60.0, 0), (2.0, None), (0.0, None)])
def test_between_equals_the_one_nearer_to_the_clock_wins_when_that_is_sure(late_s, better):
    """Each start has u = 0.6 s, so a drift 0.85 s and a difference of two drifts U = 2.4 s."""
    result = compare_takes([take("ah"), take("bh", i8=late_s + 100.0), take("ch", i8=100.0)])
    (first, *_), whole = result.blocks, result.whole
    assert first.block == "Main A"
    assert whole.scores[1].drift_s == pytest.approx(max(whole.scores[2].drift_s + late_s, 0.0), abs=0.01)
    pair = compare_takes([take("ch", i8=100.0), take("bh", i8=late_s + 100.0)])
    assert pair.whole.better == better
    assert pair.whole.why == ("drift" if better is not None else None)


def test_a_block_answers_for_its_own_drift_only():
    plan = replace(FIRST.plan, blocks=(*FIRST.plan.blocks, replace(FIRST.plan.blocks[1], name="Main B", rounds=1)))
    rows = [replace(i, block="Main B") if i.planned in (4, 5) else i for i in FIRST.alignment.intervals]
    late = [
        i if i.start_s is None or i.id in ("i1", "i2", "i3", "i4") else replace(i, start_s=i.start_s + 30.0)
        for i in rows
    ]
    takes = [replace(FIRST, plan=plan, alignment=Alignment(tuple(r), (), (), 0.9)) for r in (rows, late)]
    result = compare_takes(takes)
    assert [contest.block for contest in result.blocks] == ["Main A", "Main B"]
    assert result.blocks[1].scores[0].drift_s == result.blocks[1].scores[1].drift_s
    assert result.whole.scores[0].drift_s != result.whole.scores[1].drift_s


def test_a_take_that_did_not_work_a_block_is_not_told_by_its_clock():
    empty = replace(take("bh"), alignment=Alignment((), (), (), 0.0))
    contest = compare_takes([take("ah"), empty]).blocks[0]
    assert (contest.scores[1].drift_s, contest.better) == (None, None)


def test_findings_without_a_block_count_for_the_class_alone():
    whole = replace(HIGH, id="z", block=None)
    result = compare_takes([replace(FIRST, findings=(whole,)), replace(FIRST, findings=())])
    assert [(c.block, c.better) for c in (*result.blocks, result.whole)] == [("Main A", None), (None, 1)]


@pytest.mark.parametrize(
    "audits", [[], [FIRST], [FIRST, replace(FIRST, plan=replace(FIRST.plan, title="Another class"))]]
)
def test_two_takes_of_one_plan_are_needed(audits):
    with pytest.raises(ValueError, match="two or more audits of one plan"):
        compare_takes(audits)
