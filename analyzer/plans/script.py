"""What to say when, for a rehearsal: a plan's schedule turned into lines with a time each.

Anchors are fixed: the name at the start, the call half-way, the preview and "ten seconds left" before the end, the
count on the last three seconds. Cues, options and breathing go into the free time between them, an easier option
first, since it must come in the first half. What finds no room is kept and marked: a plan may ask for more words than
there are seconds.

All rules here are common practice of the trade, no source, unless a line names one: a call half-way and ten seconds
before the end, then a count, a number a second; the next move announced in the rest or in the last quarter minute; the
easier option in the first third and in every round of a hard move; three, two, one into the work.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from analyzer.language import DEFAULT, load_language
from analyzer.model.plan import Move, Plan, PlannedInterval, Schedule

WORDS_PER_MINUTE = 160.0
"""Rate that lines are timed with: the lower end of the 160 to 180 words a minute recommended for reading news (Rodero,
Text & Talk 32(3), 2012)."""
PAUSE_S = 0.5
"""Between two lines (common practice, no source)."""
COUNT_S = 3.0
LEFT_S = 10.0
REST_FOR_PREVIEW_S = 6.0
REST_FOR_COUNT_S = 8.0
REST_FOR_WATER_S = 10.0
WATER_FROM_S = 20 * 60.0
"""A class longer than this offers a drink between blocks."""
LONG_WORK_S, MIDDLING_WORK_S, SHORT_WORK_S = 30.0, 20.0, 10.0
"""From here on: a call half-way and an early preview; "ten seconds left"; a count and a late preview."""

Kind = Literal[
    "talk", "demo", "safety", "count in", "start", "switch", "cue", "easier", "harder", "breath", "half", "preview",
    "left", "count", "rest", "water", "end",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to say, or, of kind ``talk``, a part of the class in the coach's own words.

    ``at_s`` and ``until_s`` on the plan's clock, seconds; ``interval`` is the index of the planned interval it is said
    in or before, None outside; ``room`` is False when the time before the interval's end (of an easier option: before
    its half) does not suffice for it.
    """

    at_s: float
    until_s: float
    kind: Kind
    text: str
    block: int
    interval: int | None = None
    room: bool = True

    @property
    def words(self) -> int:
        """Number of words."""
        return len(self.text.split())


def make_script(plan: Plan, schedule: Schedule, language: str = DEFAULT) -> tuple[Line, ...]:
    """Return the lines of a class in order of time.

    Raises AnalyzerError when there is no such language.
    """
    writer = _Writer(plan, schedule, load_language(language).read("run_sheet"), load_language(language).read("say"))
    return tuple(sorted(writer.lines(), key=lambda line: line.at_s))


def spoken_s(text: str) -> float:
    """Return how long a text takes to say, at least a second.

    >>> spoken_s("one two three four five six seven eight")
    3.0
    """
    return max(1.0, round(len(text.split()) * 60 / WORDS_PER_MINUTE, 2))


class _Writer:
    def __init__(self, plan: Plan, schedule: Schedule, say: Mapping[str, str], care: Mapping[str, str]) -> None:
        self.plan, self.schedule, self.say, self.care = plan, schedule, say, care

    def lines(self) -> Iterator[Line]:
        yield from self._talks()
        for interval in self.schedule.intervals:
            yield from self._within(interval)
            yield from self._after(interval)

    def _line(self, at_s: float, kind: Kind, text: str, row: PlannedInterval, seconds: float | None = None) -> Line:
        until_s = at_s + (spoken_s(text) if seconds is None else seconds)
        return Line(round(at_s, 3), round(until_s, 3), kind, text, row.block, row.index)

    def _talks(self) -> Iterator[Line]:
        """Give the talk blocks, each at its start and with its length; the first one carries the caution."""
        at_s, cautioned = 0.0, False
        starts = {row.block: row.start_s for row in reversed(self.schedule.intervals)}
        ends = {row.block: row.end_s for row in self.schedule.intervals}
        for number, block in enumerate(self.plan.blocks):
            if block.moves:
                if block.demo_s:
                    yield self._demo(number, starts[number] - block.demo_s)
                at_s = ends[number] + (block.rest_after_s or block.moves[-1].rest_s)
                continue
            length_s = block.length_s or 0.0
            yield Line(round(at_s, 3), round(at_s + length_s, 3), "talk", block.name, number)
            if not cautioned:
                caution = self.care["safety"]
                late_s = at_s + max(0.0, length_s - spoken_s(caution) - COUNT_S)
                yield Line(round(late_s, 3), round(late_s + spoken_s(caution), 3), "safety", caution, number)
            cautioned = True
            at_s += length_s + block.rest_after_s

    def _demo(self, number: int, at_s: float) -> Line:
        block = self.plan.blocks[number]
        text = self.say["demo"].format(moves=". ".join(_sentence(move.name) for move in block.moves))
        room = spoken_s(text) <= block.demo_s
        return Line(round(at_s, 3), round(at_s + spoken_s(text), 3), "demo", text, number, room=room)

    def _within(self, row: PlannedInterval) -> list[Line]:
        """Return the lines of one interval: the anchors, and the others in the free time between them."""
        move = self._move(row)
        quiet = move.quiet or self.plan.blocks[row.block].quiet
        fixed = list(self._anchors(row, quiet))
        return [*fixed, *_fit(self._others(row, move, quiet), fixed, row)]

    def _anchors(self, row: PlannedInterval, quiet: bool) -> Iterator[Line]:
        switched = self._is_second_side(row)
        opening = self.say["switch"].format(side=self._side(row)) if switched else self._named("start", row)
        yield self._line(row.start_s, "switch" if switched else "start", opening, row)
        following = self._next(row)
        if following is not None and row.rest_s < REST_FOR_PREVIEW_S and not self._is_second_side(following):
            early_s = 14.0 if row.work_s >= LONG_WORK_S else 7.0
            if row.work_s >= SHORT_WORK_S:
                yield self._line(row.end_s - early_s, "preview", self._named("preview", following), row)
        if not quiet and row.work_s >= LONG_WORK_S:
            yield self._line(row.start_s + row.work_s / 2, "half", self.say["half"], row)
        if not quiet and row.work_s >= MIDDLING_WORK_S:
            yield self._line(row.end_s - LEFT_S, "left", self.say["left"].format(seconds=f"{LEFT_S:g}"), row)
        if not quiet and row.work_s >= SHORT_WORK_S:
            yield self._line(row.end_s - COUNT_S, "count", self.say["count"], row, COUNT_S)

    def _others(self, row: PlannedInterval, move: Move, quiet: bool) -> Iterator[tuple[Line, bool]]:
        """Give what may be said anywhere in the interval, in its order, and whether it must be said here.

        What was said in the first round is said again where there is time for it.
        """
        if self._is_second_side(row):
            return
        first = row.round == 1
        if move.easier:
            needed = first or move.effort == "hard"
            yield self._line(row.start_s, "easier", self._option("easier", move.easier), row), needed
        for cue in move.cues:
            yield self._line(row.start_s, "cue", self.say["cue"].format(text=_sentence(cue)), row), first
        if move.harder and first:
            yield self._line(row.start_s, "harder", self._option("harder", move.harder), row), True
        if first and row.move == 0 and not quiet:
            yield self._line(row.start_s, "breath", self.care["breath"], row), False

    def _after(self, row: PlannedInterval) -> Iterator[Line]:
        """Give the lines of the rest after an interval; talk and demo in it have their own."""
        following = self._next(row)
        if following is None:
            yield self._line(row.end_s, "end", self.say["end"], row)
            return
        rest_s = row.rest_s - following.demo_s
        if rest_s > 0:
            rest = self._line(row.end_s, "rest", self.say["rest"], row)
            yield rest
            if rest_s >= REST_FOR_WATER_S and row.block != following.block and self.schedule.total_s > WATER_FROM_S:
                yield self._line(rest.until_s + PAUSE_S, "water", self.care["water"], row)
        if row.rest_s >= REST_FOR_PREVIEW_S:
            text = self._named("preview", following)
            before_s = COUNT_S + PAUSE_S if row.rest_s >= REST_FOR_COUNT_S else 0.0
            yield self._line(following.start_s - before_s - spoken_s(text), "preview", text, following)
        if row.rest_s >= REST_FOR_COUNT_S:
            yield self._line(following.start_s - COUNT_S, "count in", self.say["count in"], following, COUNT_S)

    def _move(self, row: PlannedInterval) -> Move:
        return self.plan.blocks[row.block].moves[row.move]

    def _next(self, row: PlannedInterval) -> PlannedInterval | None:
        rows = self.schedule.intervals
        return rows[row.index + 1] if row.index + 1 < len(rows) else None

    def _is_second_side(self, row: PlannedInterval) -> bool:
        """Tell whether a row is the second half of a move worked on each side."""
        if not row.order_free or row.index == 0:
            return False
        before = self.schedule.intervals[row.index - 1]
        return (before.block, before.round, before.move) == (row.block, row.round, row.move)

    def _side(self, row: PlannedInterval) -> str:
        return self.say[f"side {row.side}"]

    def _named(self, kind: str, row: PlannedInterval) -> str:
        name = self._move(row).name
        if row.side is None:
            return self.say[kind].format(move=name)
        return self.say[f"{kind} side"].format(move=name, side=self._side(row))

    def _option(self, kind: str, options: tuple[str, ...]) -> str:
        return self.say[kind].format(text=self.say["or"].join(options))


def _fit(waiting: Iterable[tuple[Line, bool]], fixed: list[Line], row: PlannedInterval) -> list[Line]:
    """Return lines at the first free times between fixed ones, in order.

    A needed line that does not fit is marked and stands where the one before it ended, so that it is still read in its
    turn; any other is left out.
    """
    busy = sorted((line.at_s, line.until_s) for line in fixed)
    fitted: list[Line] = []
    cursor_s = row.start_s
    for line, needed in waiting:
        length_s = line.until_s - line.at_s
        limit_s = row.start_s + row.work_s / 2 if line.kind == "easier" else row.end_s
        at_s = _first_gap(cursor_s, length_s, busy)
        room = at_s + length_s <= limit_s + 1e-6
        if not room and not needed:
            continue
        at_s = at_s if room else cursor_s
        fitted.append(replace(line, at_s=round(at_s, 3), until_s=round(at_s + length_s, 3), room=room))
        if room:
            cursor_s = at_s + length_s + PAUSE_S
    return fitted


def _first_gap(from_s: float, length_s: float, busy: list[tuple[float, float]]) -> float:
    """Return the first time from ``from_s`` on at which ``length_s`` and a pause on either side are free."""
    at_s = from_s
    for start_s, end_s in busy:
        if at_s + length_s + PAUSE_S <= start_s:
            break
        at_s = max(at_s, end_s + PAUSE_S)
    return at_s


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
