"""What a reviewer looks at in a plan before anyone films it: one function a rule, from a Reading to remarks.

Every figure and its source stand in ``guidance.yaml``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal

from analyzer.language.files import read_yaml
from analyzer.model.plan import Block, Move, Plan, PlannedInterval, Schedule
from analyzer.plans.durations import print_duration
from analyzer.plans.fields import fold
from analyzer.plans.intensity import entry_of, level_of
from analyzer.plans.script import PAUSE_S, Line

Weight = Literal["mend", "look"]


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing to change (``mend``: the recording would be faulted for it) or to think over (``look``).

    ``place`` is "" for the whole class; ``source`` says who sets the figure, or that nobody does.
    """

    rule: str
    weight: Weight
    place: str
    message: str
    source: str


@dataclass(frozen=True, slots=True)
class Reading:
    """What the rules read: the plan, its schedule, what to say when."""

    plan: Plan
    schedule: Schedule
    script: tuple[Line, ...]

    def move(self, row: PlannedInterval) -> Move:
        """Return the move of a planned interval."""
        return self.plan.blocks[row.block].moves[row.move]

    def rows(self, block: int) -> tuple[PlannedInterval, ...]:
        """Return a block's planned intervals."""
        return tuple(row for row in self.schedule.intervals if row.block == block)

    def kind_s(self, kind: str) -> float:
        """Return the seconds of all blocks of a kind, demos and rests inside them counted."""
        numbers = [number for number, block in enumerate(self.plan.blocks) if block.kind == kind and block.moves]
        spans = [(self.rows(number), self.plan.blocks[number].demo_s) for number in numbers]
        return sum(rows[-1].end_s - rows[0].start_s + demo_s for rows, demo_s in spans)

    @property
    def intense(self) -> bool:
        """Tell whether any move is planned hard or moderate."""
        return any(move.effort != "easy" for block in self.plan.blocks for move in block.moves)


@cache
def guidance() -> dict[str, dict[str, Any]]:
    """Return the figures and sources; read once a process."""
    return dict(read_yaml(Path(__file__).with_name("guidance.yaml")))


def _remark(rule: str, weight: Weight, place: str, message: str) -> Remark:
    return Remark(rule, weight, place, message, guidance()[rule]["source"])


def other_length(reading: Reading) -> Iterator[Remark]:
    """Compare the promised length with the sum of the parts."""
    promised_s, total_s = reading.plan.length_s, reading.schedule.total_s
    limits = guidance()["length"]
    if promised_s is None or abs(total_s - promised_s) <= min(limits["limit_s"], limits["share"] * promised_s):
        return
    side = "longer" if total_s > promised_s else "shorter"
    off = print_duration(round(abs(total_s - promised_s), 3))
    sums = f"its parts add up to {print_duration(total_s)}, {off} {side}"
    yield _remark("length", "mend", "", f"the length field says {print_duration(promised_s)}, {sums}")


def warm_up_and_cool_down(reading: Reading) -> Iterator[Remark]:
    """Compare both with published lengths; in a short class, and when they are long, with their share of the class."""
    short, long = guidance()["short class"], guidance()["long share"]
    total_s = reading.schedule.total_s
    for kind in ("warm-up", "cool-down"):
        seconds, bounds = reading.kind_s(kind), guidance()[kind]
        published = f"{print_duration(bounds['low_s'])} to {print_duration(bounds['high_s'])} are published"
        of_class = f"{print_duration(round(seconds))} of {kind}, {100 * seconds / total_s:.0f} % of the class"
        if not seconds and reading.intense:
            yield _remark(kind, "look", "", f"there is no {kind} block; {published}")
        elif seconds and total_s < short["below_s"]:
            if round(seconds / total_s, 2) < short["share"]:
                least = (
                    f"in a class under {print_duration(short['below_s'])}, take at least {100 * short['share']:.0f} %"
                )
                yield _remark("short class", "look", "", f"{of_class}; {least}")
        elif 0 < seconds < bounds["low_s"]:
            yield _remark(kind, "look", "", f"{of_class}; {published}")
        if seconds > bounds["high_s"] and seconds > long["share"] * total_s:
            yield _remark(kind, "look", "", f"{of_class}; {published}")


def short_stretches(reading: Reading) -> Iterator[Remark]:
    """Name stretches held for less than published, a side."""
    low_s = guidance()["stretch"]["low_s"]
    for block, move in _moves(reading.plan):
        held_s = move.work_s / 2 if move.side in ("each", "alternating") else move.work_s
        entry = entry_of(move)
        if entry is not None and entry.activity.startswith("stretching") and held_s < low_s:
            told = f"{print_duration(held_s)} a stretch; at least {print_duration(low_s)} are published"
            yield _remark("stretch", "look", _where(block, move), told)


def little_rest(reading: Reading) -> Iterator[Remark]:
    """Compare work with rest in blocks that are hard for the most part."""
    limits = guidance()["work to rest"]
    for number, block in enumerate(reading.plan.blocks):
        work_s, rest_s = work_and_rest(reading, number)
        hard_s = sum(row.work_s for row in reading.rows(number) if reading.move(row).effort == "hard")
        if len(reading.rows(number)) < 2 or hard_s < limits["hard_share"] * work_s:
            continue
        if work_s > limits["ratio"] * rest_s:
            told = f"{print_duration(work_s)} of work, at least half of it hard, with {print_duration(rest_s)} of rest"
            yield _remark("work to rest", "look", _where(block), f"{told}: more than {limits['ratio']}:1")


def work_and_rest(reading: Reading, block: int) -> tuple[float, float]:
    """Return a block's seconds of work, and of rest between its intervals."""
    rows = reading.rows(block)
    if not rows:
        return 0.0, 0.0
    work_s = sum(row.work_s for row in rows)
    return round(work_s, 3), round(rows[-1].end_s - rows[0].start_s - work_s, 3)


def hard_runs(reading: Reading) -> Iterator[Remark]:
    """Name runs of hard moves with next to no rest between them; once for all rounds of a block."""
    limits = guidance()["hard run"]
    told: set[int] = set()
    run: list[PlannedInterval] = []
    last = len(reading.schedule.intervals) - 1
    for row in reading.schedule.intervals:
        if reading.move(row).effort == "hard":
            run.append(row)
            if row.rest_s < limits["rest_s"] and row.index < last:
                continue
        places = {(r.block, r.round, r.move) for r in run}
        work_s = sum(r.work_s for r in run)
        if (len(places) > limits["intervals"] or work_s > limits["work_s"]) and run[0].block not in told:
            told.add(run[0].block)
            names = ", ".join(dict.fromkeys(reading.move(r).name for r in run))
            message = f"{print_duration(work_s)} hard with under {print_duration(limits['rest_s'])} between: {names}"
            yield _remark("hard run", "look", _where(reading.plan.blocks[run[0].block]), message)
        run = []


def sides(reading: Reading) -> Iterator[Remark]:
    """Name moves worked on one side only, or longer on one ("Left plank" is no other move than "plank")."""
    worked: dict[str, dict[str, float]] = defaultdict(lambda: {"left": 0.0, "right": 0.0})
    first: dict[str, str] = {}
    for row in reading.schedule.intervals:
        move = reading.move(row)
        key = " ".join(word for word in fold(move.name).split() if word not in ("left", "right"))
        first.setdefault(key, _where(reading.plan.blocks[row.block], move))
        if row.side is not None:
            worked[key][row.side] += row.work_s
    for key, seconds in worked.items():
        longer, shorter = sorted(seconds, key=lambda side: -seconds[side])
        if not seconds[shorter]:
            both = f"planned on the {longer} side only, never on the {shorter}"
            yield _remark("sides", "mend", first[key], both)
        elif seconds[longer] - seconds[shorter] > guidance()["sides"]["limit_s"]:
            told = ", ".join(f"{print_duration(seconds[side])} on the {side}" for side in (longer, shorter))
            yield _remark("sides", "mend", first[key], told)


def easier_options(reading: Reading) -> Iterator[Remark]:
    """Name hard moves without an easier option."""
    for block, move in _moves(reading.plan):
        if move.effort == "hard" and not move.easier:
            yield _remark("easier option", "mend", _where(block, move), "hard, but no easier option is written")


def cues(reading: Reading) -> Iterator[Remark]:
    """Name all hard moves without a cue that must be said, in one remark."""
    bare = list(dict.fromkeys(m.name for _, m in _moves(reading.plan) if m.effort == "hard" and not m.cues))
    if bare:
        yield _remark("cue", "look", "", f"hard moves without a cue that must be said: {', '.join(bare)}")


def caution(reading: Reading) -> Iterator[Remark]:
    """Tell when there is no talk before the first hard move: nowhere to say the caution."""
    for block in reading.plan.blocks:
        if block.kind == "talk":
            return
        if any(move.effort == "hard" for move in block.moves):
            yield _remark("caution", "look", _where(block), "hard moves, but no talk before them for a word of caution")
            return


def water(reading: Reading) -> Iterator[Remark]:
    """Tell when a long class has neither talk nor rest between its blocks to drink."""
    limits = guidance()["water"]
    if reading.schedule.total_s <= limits["class_s"]:
        return
    rows = reading.schedule.intervals
    gaps = [row.rest_s for row, after in pairwise(rows) if row.block != after.block]
    if not any(gap >= limits["rest_s"] for gap in gaps):
        long = print_duration(limits["class_s"])
        yield _remark("water", "look", "", f"a class over {long} with no {limits['rest_s']} s between blocks to drink")


def speaking(reading: Reading) -> Iterator[Remark]:
    """Name what is to be said in less time than it takes: a demo, or the lines of a move, once for all rounds."""
    told: set[tuple[int, int]] = set()
    groups: dict[int, list[Line]] = defaultdict(list)
    for line in reading.script:
        if line.interval is not None:
            groups[line.interval].append(line)
        elif not line.room:
            block = reading.plan.blocks[line.block]
            load = _load(line.words, line.until_s - line.at_s, block.demo_s)
            yield _remark("speaking", "mend", f"{_where(block)}, demo", load)
    for row in reading.schedule.intervals:
        lines = [line for line in groups[row.index] if row.start_s <= line.at_s < row.end_s]
        missed = next((line for line in lines if not line.room), None)
        if missed is None or (row.block, row.move) in told:
            continue
        told.add((row.block, row.move))
        needed = [line for line in lines if line.kind != "breath"]
        need_s = sum(line.until_s - line.at_s + PAUSE_S for line in needed) - PAUSE_S
        load = _load(sum(line.words for line in needed), need_s, row.work_s)
        if need_s <= row.work_s:
            when = "before the half" if missed.kind == "easier" else "between the calls"
            load = f"there is no time {when} for \u201c{missed.text}\u201d"
        yield _remark("speaking", "mend", _where(reading.plan.blocks[row.block], reading.move(row)), load)


def _load(words: int, need_s: float, there_s: float) -> str:
    return f"{words} words to say need {print_duration(round(need_s))}, there are {print_duration(there_s)}"


def other_effort(reading: Reading) -> Iterator[Remark]:
    """Name moves planned easy whose published intensity is vigorous."""
    for block, move in _moves(reading.plan):
        entry = entry_of(move)
        if entry is not None and move.effort == "easy" and level_of(entry.met) == "vigorous":
            told = f"planned easy, published as vigorous ({entry.met:g} METs, {entry.activity})"
            yield _remark("effort", "look", _where(block, move), told)


def _moves(plan: Plan) -> Iterator[tuple[Block, Move]]:
    return ((block, move) for block in plan.blocks for move in block.moves)


def _where(block: Block, move: Move | None = None) -> str:
    return f"block '{block.name}'" if move is None else f"block '{block.name}', move '{move.name}'"


RULES: tuple[Callable[[Reading], Iterator[Remark]], ...] = (
    other_length,
    warm_up_and_cool_down,
    short_stretches,
    little_rest,
    hard_runs,
    sides,
    easier_options,
    cues,
    caution,
    water,
    speaking,
    other_effort,
)
