# ruff: noqa: E501 - a table of invented values, one row a line
"""A small invented class as an Audit built by hand, with something of every kind a report shows."""

from __future__ import annotations

import numpy as np

from analyzer.model.audit import (
    Alignment,
    Audit,
    Coverage,
    Evidence,
    Facts,
    Finding,
    Interval,
    JudgedCall,
    JudgedPromise,
    PlacedOption,
    SideBalance,
)
from analyzer.model.events import Events
from analyzer.model.plan import Block, Move, Plan, PlannedInterval, Schedule
from analyzer.model.transcript import Caption, Problem, Token, Transcript, Words

HOSTILE = "<script>alert('x')</script> & \u202eesrever \u0645\u0631\u062d\u0628\u0627 \U0001f938\U0001f3fd \x1b[31mred"


def transcript(text: str, name: str) -> Transcript:
    tokens = text.split() or ["well"]
    n = len(tokens)
    starts = np.linspace(1.0, 410.0, n)
    no = np.zeros(n, dtype=np.bool_)
    words = Words(
        text=tuple(tokens),
        norm=tuple(token.lower() for token in tokens),
        speaker=(None,) * n,
        start_s=starts,
        end_s=starts + 0.3,
        earliest_s=starts - 0.5,
        latest_s=starts + 0.5,
        u_s=np.full(n, 0.31),
        pause_s=np.zeros(n),
        opens=no,
        closes=no,
        caption=np.zeros(n, dtype=np.int64),
    )
    caption = Caption(1, 1000, 410000, tuple(Token(token) for token in tokens))
    problem = Problem("skipped", "cue 7", f"its end comes before its start {text[:40]}", 61.0)
    return Transcript(name, "ab" * 32, "webvtt", "cue", (caption,), words, 412.0, (problem,))


def plan() -> Plan:
    squat = Move("Split squat", 80.0, side="each", effort="hard", rest_s=10.0, cues=("knee over the ankle",))
    row = Move("Backpack row", 40.0, effort="moderate", rest_s=10.0)
    hold = Move("Bear hold", 30.0, effort="hard", easier=("knees down",))
    main = Block("Main A", "main", demo_s=30.0, rounds=2, rest_between_rounds_s=20.0, moves=(squat, row, hold))
    return Plan(
        "Lowtide Strength",
        (Block("Welcome", "talk", length_s=20.0), main),
        coach="Coach A",
        name="plan.yaml",
        sha256="cd" * 32,
    )


def schedule() -> Schedule:
    rows, at = [], 50.0
    for round_ in (1, 2):
        for move, side, work in ((0, "left", 40.0), (0, "right", 40.0), (1, None, 40.0), (2, None, 30.0)):
            rows.append(PlannedInterval(len(rows), 1, round_, move, side, at, work, 10.0, order_free=move == 0))
            at += work + 10.0
    return Schedule(tuple(rows), 50.0, 10.0, at)


def intervals(text: str) -> tuple[Interval, ...]:
    names = ("Split squat", "Split squat", "Backpack row", "Bear hold")
    sides = ("left", "right", None, None)
    made, at = [], 55.0
    for index in range(8):
        worked = (40.0, 28.0, 41.0, 46.0, 39.0, 40.0, 0.0, 31.0)[index]
        base = {
            "id": f"i{index + 1}",
            "planned": index,
            "block": "Main A",
            "round": index // 4 + 1,
            "move": names[index % 4],
            "side": sides[index % 4],
        }
        if not worked:
            made.append(Interval(**base, status="missing", confidence=0.93))
            continue
        made.append(
            Interval(**base, status="worked", start_s=at, end_s=at + worked, start_u=0.6, end_u=0.8, confidence=0.97)
        )
        at += worked + 9.0
    made.append(Interval("x1", None, "Main A", 2, text or "unplanned", None, "extra", at, at + 22.0, 1.2, 1.4, 0.7))
    return tuple(made)


def findings(text: str) -> tuple[Finding, ...]:
    said = (Evidence(104.0, "now the other side, quick one"), Evidence(131.5, text))
    return (
        Finding("f01", "side-uneven", "high", "fail", "The right side got 12 s less than the left.", "Re-record the right side of round 1, or trim the left.",
                104.0, 132.0, "Main A", 1, "Split squat", None, 28.0, 40.0, 5.0, 2.0, "s", said),
        Finding("f02", "move-missing", "high", "fail", "Backpack row is missing from round 2.", "Record the round again from Bear hold backwards.",
                330.0, None, "Main A", 2, "Backpack row"),
        Finding("f03", "interval-long", "medium", "fail", "Bear hold ran 16 s over.", "Cut at the second count.",
                191.0, 237.0, "Main A", 1, "Bear hold", None, 46.0, 30.0, 5.0, 2.0, "s", (Evidence(229.0, "hold it, hold it, and a bit more"),)),
        Finding("f04", "time-call-off", "medium", "fail", "\u201cfifteen seconds left\u201d came with 24 s to go.", "Dub the call or move it.",
                207.0, None, "Main A", 1, "Bear hold", None, 24.0, 15.0, 3.0, 1.4, "s", (Evidence(207.0, "fifteen seconds left"),)),
        Finding("f05", "silence-long", "low", "fail", "Nothing was said for 26 s.", "Add a cue in post.", 270.0, 296.0, "Main A", 2, "Split squat", "left", 26.0, 0.0, 20.0, 0.9, "s"),
        Finding("f06", "rest-short", "low", "unclear", "The rest after Split squat may be short.", "Word times would settle it.", 95.0, None, "Main A", 1, "Split squat", None, 6.0, 10.0, 5.0, 3.0, "s"),
        Finding("f07", "breath-missing", "low", "fail", "No breathing cue in Main A.", "Add one.", None, None, "Main A", waived="voice-over follows"),
        Finding("f08", "easier-missing", "high", "fail", "Bear hold, round 2: no easier option.", "Offer one in the first half.", 381.0, 412.0, "Main A", 2, "Bear hold", None, 0, 1, 1, None, "options", (Evidence(383.0, text),)),
    )  # fmt: skip


def audit(text: str = "keep the chest proud", name: str = "take-2.vtt") -> Audit:
    """Return the class; ``text`` is what is put wherever a recording's own words go."""
    return Audit(
        transcript=transcript(text * 3, name),
        plan=plan(),
        schedule=schedule(),
        events=Events(),
        alignment=Alignment(intervals(text), (), (), 0.9),
        facts=Facts(
            calls=(
                JudgedCall("left", 207.0, 0.7, 15.0, 24.0, 9.0, "fail", "i4", "fifteen seconds left"),
                JudgedCall("half", 75.0, 0.7, None, 20.0, 0.4, "pass", "i1", text),
                JudgedCall("count", 92.0, 0.3, 3.0, 3.1, 0.1, "pass", "i1", "three two one"),
                JudgedCall("gone", 250.0, 1.9, 10.0, 14.0, 4.0, "unclear", None, "ten in"),
            ),
            options=(
                PlacedOption("easier", 60.0, "i1", "Main A", "Split squat", "move", "hold the wall if you like"),
                PlacedOption("harder", 196.0, "i4", "Main A", "Bear hold", "move", text),
                PlacedOption("easier", 34.0, None, "Main A", None, "block", "knees down all the way through"),
            ),
            sides=(
                SideBalance("Main A", 1, "Split squat", 40.0, 28.0, 30.0, 1.4, "fail"),
                SideBalance("Main A", 2, "Split squat", 39.0, 40.0, 2.5, 1.4, "pass"),
            ),
            promises=(
                JudgedPromise("rounds", 2.0, 2.0, 8.0, "Main A", "pass", "two rounds of three"),
                JudgedPromise("options", None, 1.0, 12.0, None, "unclear", text),
            ),
            coverage=(Coverage("Main A", 1, "Split squat", 1, 0.125), Coverage("Main A", 2, "Bear hold", 0, None)),
            measures={"planned_seconds": 440.0, "real_seconds": 412.0, "drift_at_end_seconds": float("nan"), "intervals_worked": 7, "hard_moves_with_option_share": 0.5},
        ),
        findings=findings(text),
        limits={"interval-long.limit_s": 5.0, "interval-long.high_s": 15.0, "silence-long.limit_s": 20.0, "count-missing.on": False},
    )  # fmt: skip
