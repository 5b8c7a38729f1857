"""What a plan adds up to, and what a reviewer says to it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from analyzer.model.plan import Block, Effort, Move, Plan
from analyzer.plans import review_plan
from analyzer.plans.intensity import entry_of, estimate, level_of
from analyzer.plans.review import PlanReview
from analyzer.plans.review_rules import RULES, guidance
from tests.plans.strategies import PLANS

HELLO = Block("Hello", "talk", length_s=30.0)
WARM = Block("Wake-up", "warm-up", moves=(Move("March", 300.0, effort="easy"),))
COOL = Block("Calm", "cool-down", moves=(Move("Sway", 300.0, effort="easy"),))
HARD = Move("Burpee", 40.0, rest_s=20.0, effort="hard", easier=("step it",), cues=("land softly",))


def _plan(*moves: Move, length_s: float | None = None, **block: object) -> Plan:
    main = Block("Main A", "main", moves=moves, **block)  # type: ignore[arg-type]
    return Plan(title="Any class", blocks=(HELLO, WARM, main, COOL), length_s=length_s)


def _told(plan: Plan) -> list[tuple[str, str, str, str]]:
    return [(r.rule, r.weight, r.place, r.message) for r in review_plan(plan).remarks]


def _of(plan: Plan, rule: str) -> list[str]:
    return [f"{place}: {message}" for name, _, place, message in _told(plan) if name == rule]


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
    assert (review.warm_up_s, review.cool_down_s) == (0, 0)
    assert [(block.name, block.work_s, block.rest_s) for block in review.blocks] == [("Main A", 120, 25)]


def test_a_sound_plan_gets_no_remark() -> None:
    plan = _plan(HARD, Move("Lunge", 60, side="each"), Move("March", 40, effort="easy"), rounds=2, rest_after_s=15)
    assert _told(plan) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"easier": ()}, ("easier option", "mend", "hard, but no easier option is written")),
        ({"cues": ()}, ("cue", "look", "hard moves without a cue that must be said: Burpee")),
        ({"rest_s": 50.0, "work_s": 200.0}, ("hard run", "look", "3m20s hard with under 10s between: Burpee")),
        ({"side": "left"}, ("sides", "mend", "planned on the left side only, never on the right")),
        (
            {"effort": "easy"},
            ("effort", "look", "planned easy, published as vigorous (7.5 METs, calisthenics, vigorous)"),
        ),
    ],
)
def test_one_change_gives_one_remark(change: dict[str, object], told: tuple[str, str, str]) -> None:
    move = replace(HARD, **change)  # type: ignore[arg-type]
    remarks = [(rule, weight, message) for rule, weight, _, message in _told(_plan(move, Move("Row", 40)))]
    assert remarks == [told]


@pytest.mark.parametrize(
    ("moves", "message"),
    [
        ((Move("Side plank", 30, side="left"),), "planned on the left side only, never on the right"),
        ((Move("Right lunge", 30, side="right"),), "planned on the right side only, never on the left"),
        ((Move("Left lunge", 30, side="left"), Move("Right lunge", 30, side="right")), None),
        ((Move("Lunge left", 30, side="left"), Move("Lunge", 30, side="each")), "45s on the left, 15s on the right"),
        ((Move("Left lunge", 30, side="left"), Move("Right lunge", 25, side="right")), None),  # 5 s: common practice
        (
            (Move("Left lunge", 31, side="left"), Move("Right lunge", 25, side="right")),
            "31s on the left, 25s on the right",
        ),
        ((Move("Lunge", 30, side="alternating"),), None),
    ],
)
def test_sides(moves: tuple[Move, ...], message: str | None) -> None:
    told = _of(_plan(*moves), "sides")
    assert [line.split(": ")[1] for line in told] == ([] if message is None else [message])


def test_the_other_side_may_be_in_another_block() -> None:
    blocks = tuple(Block(side, "main", moves=(Move("Lunge", 30, side=side),)) for side in ("left", "right"))  # type: ignore[arg-type]
    assert _of(Plan(title="Any class", blocks=blocks), "sides") == []


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
    plan = Plan("Any class", (Block("A", "main", moves=(Move("March", work_s, effort="easy"),)),), length_s=length_s)
    messages = _of(plan, "length")
    assert [message.endswith(told or "") for message in messages] == ([True] if told else [])


def _class(warm_s: float, cool_s: float, main_s: float) -> Plan:
    parts = (("warm-up", warm_s), ("main", main_s), ("cool-down", cool_s))
    blocks = tuple(Block(kind, kind, moves=(Move("Row", s),)) for kind, s in parts if s)  # type: ignore[arg-type]
    return Plan("Any class", blocks)


@pytest.mark.parametrize(
    ("plan", "told"),
    [  # 5 to 10 min: American College of Sports Medicine, via third parties; the shares: common practice, no source
        (_class(300, 300, 1800), []),
        (_class(299, 300, 1800), [("warm-up", "4m59s of warm-up, 12 % of the class; 5m to 10m are published")]),
        (_class(300, 200, 1800), [("cool-down", "3m20s of cool-down, 9 % of the class; 5m to 10m are published")]),
        (_class(100, 100, 800), []),
        (
            _class(90, 100, 800),
            [("short class", "1m30s of warm-up, 9 % of the class; in a class under 30m, take at least 10 %")],
        ),
        (_class(0, 300, 1800), [("warm-up", "there is no warm-up block; 5m to 10m are published")]),
        (_class(900, 300, 1800), [("warm-up", "15m of warm-up, 30 % of the class; 5m to 10m are published")]),
        (_class(700, 300, 1800), []),
    ],
)
def test_warm_up_and_cool_down(plan: Plan, told: list[tuple[str, str]]) -> None:
    wanted = ("warm-up", "cool-down", "short class")
    assert [(rule, message) for rule, _, _, message in _told(plan) if rule in wanted] == told


@pytest.mark.parametrize(("work_s", "told"), [(20, []), (19, ["block 'Main A', move 'Calf stretch'"])])
def test_stretches(work_s: float, told: list[str]) -> None:
    """10 to 30 s: American College of Sports Medicine, Guidelines, 11th ed., table 5.6; half the work a side."""
    remarks = _of(_plan(Move("Calf stretch", work_s, side="each", effort="easy")), "stretch")
    assert [remark.split(":")[0] for remark in remarks] == told


@pytest.mark.parametrize(("rest_s", "told"), [(10, []), (9.9, ["block 'Main A'"])])
def test_work_to_rest(rest_s: float, told: list[str]) -> None:
    """50 s on and 10 s off is 5:1 (common practice, no source)."""
    moves = (replace(HARD, rest_s=rest_s), Move("Row", 10))
    assert [remark.split(":")[0] for remark in _of(_plan(*moves), "work to rest")] == told


def test_hard_runs_count_moves_and_end_at_a_rest() -> None:
    def run(number: int, rest_s: float) -> list[str]:
        moves = (replace(HARD, name=f"M{n}", rest_s=rest_s, work_s=20.0) for n in range(number))
        return _of(_plan(*moves, rounds=2, rest_after_s=30, rest_between_rounds_s=30), "hard run")

    assert [run(3, 0), run(4, 10)] == [[], []]
    assert run(4, 9.9) == ["block 'Main A': 1m20s hard with under 10s between: M0, M1, M2, M3"]


def test_caution_and_water() -> None:
    plan = _plan(HARD, rounds=2)
    assert _of(replace(plan, blocks=plan.blocks[1:]), "caution") == [
        "block 'Main A': hard moves, but no talk before them for a word of caution"
    ]
    long = _plan(Move("Row", 1000))
    assert _of(long, "water") == [": a class over 20m with no 10 s between blocks to drink"]
    assert _of(_plan(Move("Row", 1000), rest_after_s=10), "water") == []
    assert _of(_plan(Move("Row", 500)), "water") == []


LONG = " ".join(["step"] * 22)


@pytest.mark.parametrize(
    ("move", "told"),
    [
        (replace(HARD, work_s=15.0), []),
        (replace(HARD, work_s=12.0, cues=tuple("abcdef")), ["16 words to say need 16s, there are 12s"]),
        (
            replace(HARD, work_s=20.0, easier=(LONG,), cues=()),
            [f"there is no time before the half for \u201cAn easier option: {LONG}.\u201d"],
        ),
    ],
)
def test_what_cannot_be_said(move: Move, told: list[str]) -> None:
    remarks = _of(_plan(move, Move("Row", 40), rounds=2), "speaking")
    assert [remark.split(": ", 1)[1] for remark in remarks] == told


def test_a_demo_that_cannot_be_said() -> None:
    moves = tuple(Move(f"Long name number {n}", 30.0) for n in range(4))
    (told,) = _of(_plan(*moves, demo_s=5), "speaking")
    assert told == "block 'Main A', demo: 20 words to say need 8s, there are 5s"


@pytest.mark.parametrize(
    ("mets", "level"),
    [(2.9, "light"), (3.0, "moderate"), (5.9, "moderate"), (6.0, "vigorous")],
)
def test_levels(mets: float, level: str) -> None:
    """Physical Activity Guidelines for Americans, 2nd ed., 2018: light below 3.0, vigorous from 6.0 METs."""
    assert level_of(mets) == level


@pytest.mark.parametrize(
    ("name", "effort", "code", "mets"),
    [  # 2024 Adult Compendium of Physical Activities, as read in two transcriptions
        ("Burpees", "moderate", "02020", 7.5),
        ("Jumping jack", "easy", "02020", 7.5),
        ("Side plank", "hard", "02024", 2.8),
        ("Crunches", "easy", "02024", 2.8),
        ("Push-ups", "moderate", "02056", 3.0),
        ("Tempo squat", "hard", "02057", 6.5),
        ("Jump squat", "hard", "02214", 11.0),
        ("Mountain climbers", "hard", "02214", 11.0),
        ("Hamstring stretch", "easy", "02101", 2.3),
        ("Sun salutation", "easy", "02180", 3.5),
        ("Skipping rope", "moderate", "02068", 11.0),
        ("Squat thrust", "hard", None, None),  # named after a squat, but none
        ("Plank jack", "hard", None, None),
        ("March", "easy", None, None),
    ],
)
def test_published_intensities(name: str, effort: Effort, code: str | None, mets: float | None) -> None:
    entry = entry_of(Move(name, 40.0, effort=effort))
    assert (entry and entry.code, entry and entry.met) == (code, mets)


def test_the_estimate_is_weighted_by_time_and_says_what_it_covers() -> None:
    plan = _plan(Move("Burpee", 30, effort="hard"), Move("Dip", 10, also=("plank",)), Move("Row", 40), rounds=2)
    found = estimate(replace(plan, blocks=plan.blocks[2:3]))
    assert found is not None
    assert found.values == (("Burpee", 7.5), ("Dip", 2.8))
    assert (found.mets, found.share, found.level) == (6.325, 0.5, "vigorous")
    whole = estimate(plan)
    assert whole is not None
    assert (whole.mets, whole.level) == (6.325, None)  # with the easy blocks, too little of the work is known
    assert estimate(_plan(Move("Row", 40))) is None


def test_every_figure_names_its_source() -> None:
    assert all(figure["source"] for figure in guidance().values())
    assert len(RULES) == len({rule.__name__ for rule in RULES})


@settings(max_examples=30, deadline=None)
@given(PLANS)
def test_any_plan_can_be_reviewed(plan: Plan) -> None:
    plan = replace(plan, blocks=tuple(replace(block, rounds=min(block.rounds, 3)) for block in plan.blocks))
    review = review_plan(plan)
    assert isinstance(review, PlanReview)
    assert review.work_s + review.rest_s + review.talk_s == pytest.approx(review.total_s, abs=1e-2)
    assert set(review.to_mend) | set(review.to_look_at) == set(review.remarks)
    assert {remark.rule for remark in review.remarks} <= set(guidance())
