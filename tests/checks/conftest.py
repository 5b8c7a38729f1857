"""An invented small class, recorded exactly as planned, and ways to spoil it one thing at a time."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from analyzer.checks import CheckContext, HouseRules, default_rules, gather_facts, run_checks
from analyzer.model.audit import Alignment, Facts, Finding, Interval
from analyzer.model.events import (
    Count,
    CueSaid,
    Event,
    Events,
    Mention,
    OptionOffer,
    Promise,
    SideCall,
    TimeCall,
)
from analyzer.model.plan import Block, Move, Plan, PlannedInterval, Schedule
from analyzer.model.transcript import Problem, Transcript, Words

PLAN = Plan(
    title="Pebble Beach Ten",
    blocks=(
        Block("Hello", "talk", length_s=20),
        Block("Loosen", "warm-up", rest_after_s=10, moves=(Move("March", 40, effort="easy"),)),
        Block(
            "Circuit",
            "main",
            demo_s=20,
            rounds=2,
            rest_between_rounds_s=15,
            rest_after_s=20,
            moves=(
                Move("Plank", 40, rest_s=10, effort="hard", easier=("knees down",), cues=("long neck",)),
                Move("Side lunge", 40, rest_s=10, side="each"),
                Move("Jump squat", 40, effort="hard", easier=("no jump",)),
            ),
        ),
        Block("Stretch", "cool-down", moves=(Move("Quad stretch", 30, side="left"), Move("Cobra", 30))),
        Block("Bye", "talk", length_s=10),
    ),
)
WORD_STEP_S = 2.0


def schedule_of(plan: Plan) -> Schedule:
    """Lay the plan out on its clock, straight from the meaning of its fields."""
    rows: list[PlannedInterval] = []
    clock = tail = lead = 0.0
    for b, block in enumerate(plan.blocks):
        clock += block.length_s or 0.0
        tail = tail + (block.length_s or 0.0) if not block.moves else 0.0
        if not block.moves:
            continue
        clock += block.demo_s
        for number in range(1, block.rounds + 1):
            for m, move in enumerate(block.moves):
                sides = {"each": ("left", "right"), "left": ("left",), "right": ("right",)}.get(move.side, (None,))
                for n, side in enumerate(sides):
                    work = move.work_s / len(sides)
                    rest = move.rest_s if n == len(sides) - 1 else 0.0
                    demo = block.demo_s if (number, m, n) == (1, 0, 0) else 0.0
                    rows.append(
                        PlannedInterval(len(rows), b, number, m, side, clock, work, rest, demo, move.side == "each")
                    )
                    clock += work + rest
            clock += block.rest_between_rounds_s if number < block.rounds else block.rest_after_s
        lead = lead or rows[0].start_s
    return Schedule(tuple(rows), lead, tail, clock)


def even_words(duration_s: float, u: float, holes: tuple[tuple[float, float], ...] = ()) -> Words:
    """Words every two seconds, none inside ``holes``."""
    times = [t for t in np.arange(0.0, duration_s, WORD_STEP_S) if not any(a <= t < b for a, b in holes)]
    start = np.array(times)
    n = len(start)
    return Words(
        text=("word",) * n,
        norm=("word",) * n,
        speaker=(None,) * n,
        start_s=start,
        end_s=start + 0.3,
        earliest_s=start - 2 * u,
        latest_s=start + 2 * u,
        u_s=np.full(n, u),
        pause_s=np.zeros(n),
        opens=np.zeros(n, dtype=bool),
        closes=np.zeros(n, dtype=bool),
        caption=np.zeros(n, dtype=np.int64),
    )


@dataclass
class Take:
    """A recording under construction. Intervals are keyed ``Move``, ``Move/2`` (round) and ``Move/2/left``."""

    plan: Plan = PLAN
    grain: str = "word"
    word_u: float = 0.1
    edge_u: float = 0.2
    rules: HouseRules = field(default_factory=default_rules)
    duration_s: float | None = None
    events: dict[str, list[Event]] = field(default_factory=dict)
    holes: tuple[tuple[float, float], ...] = ()
    problems: tuple[Problem, ...] = ()
    lost: tuple[tuple[str, int], ...] = ()
    reordered: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        self.schedule = schedule_of(self.plan)
        self.rows = [self._as_planned(p) for p in self.schedule.intervals]

    def _as_planned(self, p: PlannedInterval) -> Interval:
        block = self.plan.blocks[p.block]
        u = self.edge_u
        return Interval(
            f"i{p.index}", p.index, block.name, p.round, block.moves[p.move].name, p.side, "worked",
            p.start_s, p.end_s, u, u, 0.99,
        )  # fmt: skip

    def find(self, key: str) -> int:
        name, *rest = key.split("/")
        number, side = int(rest[0]) if rest else 1, rest[1] if len(rest) > 1 else None
        return next(
            n for n, i in enumerate(self.rows) if (i.move, i.round) == (name, number) and side in (None, i.side)
        )

    def start(self, key: str) -> float:
        return self.rows[self.find(key)].start_s

    def end(self, key: str) -> float:
        return self.rows[self.find(key)].end_s

    def stretch(self, key: str, by_s: float, **changes: object) -> Take:
        """Let one interval run longer (or shorter) and push everything after it."""
        place = self.find(key)
        row = self.rows[place]
        self.rows[place] = replace(row, end_s=row.end_s + by_s, **changes)
        return self.push(place + 1, by_s)

    def push(self, place: int, by_s: float) -> Take:
        for n in range(place, len(self.rows)):
            row = self.rows[n]
            if row.start_s is not None:
                self.rows[n] = replace(row, start_s=row.start_s + by_s, end_s=row.end_s + by_s)
        return self

    def delay(self, key: str, by_s: float) -> Take:
        """Let the gap before an interval run longer (or shorter)."""
        return self.push(self.find(key), by_s)

    def change(self, key: str, **changes: object) -> Take:
        place = self.find(key)
        self.rows[place] = replace(self.rows[place], **changes)
        return self

    def drop(self, *keys: str, confidence: float = 0.95) -> Take:
        """Cut intervals out of the recording; what follows moves up, one gap is left."""
        places = [self.find(key) for key in keys]
        first, last = self.rows[places[0]], self.rows[places[-1]]
        following = self.rows[places[-1] + 1].start_s if places[-1] + 1 < len(self.rows) else last.end_s
        before = first.start_s - (self.rows[places[0] - 1].end_s if places[0] else 0.0)
        gone = last.end_s - first.start_s + min(before, following - last.end_s)
        for place in places:
            self.rows[place] = replace(
                self.rows[place], status="missing", start_s=None, end_s=None, start_u=None, end_u=None,
                confidence=confidence,
            )  # fmt: skip
        return self.push(places[-1] + 1, -gone)

    def add(self, kind: str, *events: Event) -> Take:
        self.events.setdefault(kind, []).extend(events)
        return self

    def context(self) -> CheckContext:
        ends = [i.end_s for i in self.rows if i.end_s is not None]
        duration = self.duration_s if self.duration_s is not None else max(ends) + self.schedule.tail_s
        transcript = Transcript(
            "take.vtt", "", "webvtt", self.grain, (), even_words(duration, self.word_u, self.holes), duration,
            self.problems, 1000 if self.grain == "stamp" else 1,
        )  # fmt: skip
        events = Events(**{k: tuple(sorted(v, key=lambda e: e.at_s)) for k, v in self.events.items()})
        alignment = Alignment(tuple(self.rows), self.lost, self.reordered)
        return CheckContext(transcript, self.plan, self.schedule, events, alignment, self.rules)

    def facts(self) -> Facts:
        return gather_facts(self.context())

    def findings(self, *checks: str) -> list[Finding]:
        return [f for f in run_checks(self.context()) if not checks or f.check in checks]

    def verdicts(self, check: str) -> list[str]:
        return [f.verdict for f in self.findings(check)]


class Say:
    """Short ways to make events; ``first``/``last`` follow the time, so that order holds."""

    @staticmethod
    def _part(at_s: float, text: str, u: float) -> tuple[int, int, float, float, float, str]:
        return int(at_s), int(at_s), at_s, at_s + 1.0, u, text

    @classmethod
    def call(cls, at_s, kind="left", seconds=15.0, *, text=None, u=0.1, **more):
        """A call with its number in digits, unless the ``text`` is another; ``more`` its other fields."""
        said = text or f"{int(seconds or 0)} {kind}"
        return TimeCall(*cls._part(at_s, said, u), kind=kind, seconds=seconds, **more)

    @classmethod
    def count(cls, lands_s, numbers=(3, 2, 1), *, pace=1.0, times=None, role="seconds", repaired=False, u=0.1):
        last = lands_s - 1.0
        times = times or tuple(last - pace * (len(numbers) - 1 - n) for n in range(len(numbers)))
        text = " ".join(str(n) for n in numbers)
        positions = tuple(range(len(numbers)))
        return Count(0, 0, times[0], times[-1], u, text, tuple(numbers), positions, times, role, lands_s, repaired)

    @classmethod
    def option(cls, at_s, direction="easier", *, moves=(), scope="move", u=0.1):
        return OptionOffer(*cls._part(at_s, "or take it lower", u), direction, tuple(moves), scope)

    @classmethod
    def mention(cls, at_s, move, name, *, context="demo", u=0.1, heard=None):
        """A name said, letter by letter unless something else was ``heard`` for it."""
        return Mention(*cls._part(at_s, heard or name, u), (move,), name, 1.0, heard is None, context)

    @classmethod
    def side(cls, at_s, side, *, corrected=False, u=0.1):
        return SideCall(*cls._part(at_s, f"{side} leg", u), side, corrected)

    @classmethod
    def promise(cls, at_s, kind, value, *, scope="block", u=0.1):
        return Promise(*cls._part(at_s, f"{value} {kind}", u), kind, value, scope)

    @classmethod
    def cue(cls, at_s, move, cue, *, kind="must-say", u=0.1):
        return CueSaid(*cls._part(at_s, cue, u), kind, move, cue)


@pytest.fixture
def take() -> Take:
    return Take()


@pytest.fixture
def make_take() -> type[Take]:
    return Take


@pytest.fixture
def say() -> type[Say]:
    return Say
