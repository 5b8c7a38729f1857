"""A coach performs a plan: what is worked when, and every line that is said, on one clock.

Times: a start is 0.2 s before its go sentence; an end is a second after "one" of a count, 0.5 to 1.2 s after the onset
of a stop sentence, or where the next work begins less the change-over.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random
from typing import Any

from analyzer.model.plan import Block, Move, Plan, PlannedInterval
from analyzer.plans import make_schedule
from tests.generator.classes import Exercise, Line, Word, exercises, style_data
from tests.generator.speech import ORDINALS, count_down, fill, in_words, length, lognormal, say, shifted

GO_LAG_S = 0.2
ONE_S = 1.0
GAP_S = 0.25  # least silence between two lines


@dataclass
class Act:
    """One interval as it will be performed; ``planned`` None when it is not in the plan."""

    block: int
    round: int
    name: str
    side: str | None
    work_s: float
    planned: PlannedInterval | None
    move: Move
    gap_before_s: float
    opens_block: bool = False
    opens_round: bool = False
    second_side: bool = False
    start: float = 0.0
    end: float = 0.0


class Coach:
    """One coach with a style: draws sentences and keeps the clock."""

    def __init__(self, rng: Random, plan: Plan, style: str, timing: str) -> None:
        self.rng, self.plan, self.timing = rng, plan, timing
        self.style = style_data(style)
        self.rate = rng.uniform(*self.style["rate"])
        self.nick = rng.uniform(0.1, 0.5)
        self.comma = rng.random() < 0.5
        self.count_step = max(0.85, rng.gauss(1.0, 0.04))
        self.lines: list[Line] = []
        self.now = 0.0
        self.stories = list(self.style["story"])
        rng.shuffle(self.stories)
        self.recent: dict[str, list[str]] = {}
        self.facts = {e.name: e for e in exercises()}

    def chance(self, key: str) -> bool:
        return self.rng.random() < float(self.style["chance"][key])

    def draw(self, key: str, **values: Any) -> str:
        """Return a sentence of a kind, not one of the last few, filled in; "" when the style has none."""
        known = self.style[key]
        if not known:
            return ""
        said = self.recent.setdefault(key, [])
        template = self.rng.choice([t for t in known if t not in said] or known)
        self.recent[key] = [*said, template][-(2 * len(known) // 3) :]
        return fill(self.rng, template, values)

    def called(self, move: Move) -> str:
        """Return what the coach calls a move this time."""
        if move.also and self.rng.random() < self.nick:
            return self.rng.choice(move.also).lower()
        name = move.name
        return name.lower() if self.rng.random() < 0.9 else name

    def words(self, text: str) -> list[Word]:
        return say(self.rng, text, self.rate)

    def place(self, words: list[Word], at: float, *tags: str) -> Line:
        """Say words at a time, or as soon after it as the line before allows."""
        at = max(at, self.now + 0.12 if self.lines else at)
        line = Line(shifted(words, at), list(tags))
        self.lines.append(line)
        self.now = line.end
        return line


def drawn_s(rng: Random, planned: float, timing: str, share: float) -> float:
    """Return a real length around the planned one; ``loose`` lets 15 % slip by 6 to 20 s."""
    if timing == "exact":
        return max(0.4 * planned, planned + rng.gauss(0, 0.7))
    real = planned + rng.gauss(0, math.hypot(1.5, share * planned))
    if timing == "loose" and rng.random() < 0.15:
        slip = rng.uniform(6, 20)
        real += slip if rng.random() < 0.65 or planned < 2.2 * slip else -slip
    return max(0.5 * planned, real)


def fill_between(coach: Coach, until: float, pick: Any, median: float, spread: float) -> None:
    """Say lines with log-normal pauses while they end before ``until``; ``pick`` gives (text, tags)."""
    misses = 0
    while misses < 4:
        at = coach.now + max(GAP_S, lognormal(coach.rng, median, spread))
        if at > until - 1.0:
            return
        text, tags = pick()
        words = coach.words(text) if text else []
        if words and at + length(words) < until - GAP_S:
            coach.place(words, at, *tags)
        else:  # too long for the room that is left: another sentence may fit
            misses += 1


def facts_of(coach: Coach, move: Move) -> Exercise | None:
    return coach.facts.get(move.name)


def work_lines(coach: Coach, act: Act, named: bool) -> Any:
    """Return a function that gives the next thing said in the middle of work."""
    rng, fact = coach.rng, facts_of(coach, act.move)
    told = [False]

    def pick() -> tuple[str, tuple[str, ...]]:
        roll = rng.random()
        if coach.stories and roll < 0.2 and act.work_s > 35:
            return coach.stories.pop(), ("form",)
        if named and roll < 0.2 * float(coach.style["chance"]["mid_name"]) + 0.04:
            return coach.draw("mid_name", name=coach.called(act.move)), ("form",)
        if not told[0] and act.move.effort != "easy" and roll < 0.35 and coach.chance("easier") and fact:
            told[0] = True
            return coach.draw("easier", easier=fact.easier), ("easier",)
        if roll > 0.98:
            return coach.draw("harder"), ("harder",)
        if roll > 0.965 and act.work_s >= 30:
            top = rng.choice((4, 6, 8))
            return "And " + ", ".join(in_words(k) for k in range(1, top + 1)) + ".", ("reps",)
        if roll > 1 - float(coach.style["chance"]["chatter"]):
            return coach.draw("chatter"), ()
        return coach.draw("cue", cue=fact.cue if fact else "long spine"), ("form",)

    return pick


def calls_of(coach: Coach, act: Act, ends_with: float) -> list[tuple[float, str, tuple[str, ...], int]]:
    """Return time calls of an interval as (onset, text, tags, priority); some are false."""
    rng, work = coach.rng, act.end - act.start
    found: list[tuple[float, str, tuple[str, ...], int]] = []

    def error() -> float:
        return rng.choice((-1, 1)) * rng.uniform(8, 13) if rng.random() < 0.03 else rng.gauss(0, 0.8)

    lefts = [n for n in (60, 30, 20, 15, 10) if n < 0.75 * work and n > ends_with + 2]
    for number in rng.sample(lefts, min(len(lefts), 2)):
        if coach.chance("left"):
            text = coach.draw("left", n=in_words(number))
            found.append((act.end - number + error(), text, (f"left {number}",), 2))
    if work >= 28 and coach.chance("half") and coach.style["half"]:
        found.append((act.start + work / 2 + rng.gauss(0, 1.0), coach.draw("half"), ("half",), 3))
    if work >= 40 and coach.chance("gone") and coach.style["gone"]:
        number = rng.choice((10, 15, 20, 30))
        text = coach.draw("gone", n=in_words(number))
        found.append((act.start + number + rng.gauss(0, 1.0), text, (f"gone {number}",), 4))
    return found


def interval(coach: Coach, act: Act, following: Act | None, named: bool) -> None:
    """Perform one interval: its start line, cues, calls, preview, count and stop."""
    rng = coach.rng
    coach.now = max(coach.now, act.start)
    counted = 0
    if coach.chance("count_end"):
        counted = rng.choice((3, 3, 5, 5, 10)) if act.work_s >= 25 else 3
    ending = _ending(coach, act, following, counted)
    anchors = calls_of(coach, act, ending[0][2] if ending else 0.0)
    if following is not None and following.gap_before_s < 5 and following.name != act.name and coach.chance("preview"):
        at = act.end - (ending[0][2] if ending else 0) - rng.uniform(5, 9)
        text = coach.draw("preview", name=coach.called(following.move))
        anchors.append((at, text, (f"next {following.name}",), 1))
    pick = work_lines(coach, act, named)
    median, spread = coach.style["pause"]
    placed = [(at, coach.words(text), tags, rank) for at, text, tags, rank in anchors]
    limit = act.end - ending[0][2] if ending else act.end + 0.3
    kept: list[tuple[float, list[Word], tuple[str, ...], int]] = []
    for item in sorted(placed, key=lambda a: a[3]):
        begin, stop = item[0], item[0] + length(item[1])
        free = all(stop + GAP_S < k[0] or begin > k[0] + length(k[1]) + GAP_S for k in kept)
        if free and begin > coach.now + GAP_S and stop < limit - GAP_S:
            kept.append(item)
    for at, words, tags, _ in sorted(kept, key=lambda a: a[0]):
        fill_between(coach, at, pick, median, spread)
        coach.place(words, at, *tags)
    fill_between(coach, limit, pick, median, spread)
    for place, (words, tags, before) in enumerate(ending):
        line = coach.place(words, act.end - before, *tags)
        if place == 0:  # said late, it ends the work late
            act.end = line.start + before


Ending = tuple[list[Word], tuple[str, ...], float]


def _ending(coach: Coach, act: Act, following: Act | None, counted: int) -> list[Ending]:
    """Return the lines that end an interval as (words, tags, seconds from onset to the end)."""
    rng = coach.rng
    lines: list[Ending] = []
    if following is not None and following.second_side:
        if counted:
            words = count_down(rng, counted, 1, coach.count_step, coach.comma)
            lines.append((words, ("count",), words[-1].start + ONE_S))
        if coach.chance("switch"):
            text = coach.draw("switch", side=following.side or "other")
            lines.append((coach.words(text), (f"side {following.side}",), -0.1 if counted else rng.uniform(0.5, 1.2)))
        return lines
    if counted:
        words = count_down(rng, counted, 1, coach.count_step, coach.comma)
        lines.append((words, ("count",), words[-1].start + ONE_S))
    rests = following is None or following.gap_before_s >= 3
    if rests and coach.chance("stop"):
        lines.append((coach.words(coach.draw("stop")), ("stop",), -0.05 if counted else rng.uniform(0.5, 1.2)))
    return lines


def start_line(coach: Coach, act: Act, at: float, named: bool) -> None:
    """Begin an interval at about ``at``: a go sentence sets the start, else it starts unsaid."""
    goes = coach.chance("go")
    if not goes:
        act.start = max(at, coach.now + 0.1)
        if coach.rng.random() < 0.75:  # the first word falls when they are moving already
            key = "start" if named and coach.rng.random() < 0.6 else "cue"
            fact = facts_of(coach, act.move)
            text = coach.draw(key, name=coach.called(act.move), cue=fact.cue if fact else "long spine")
            coach.place(coach.words(text), act.start + coach.rng.uniform(0.4, 2.5), "late start")
        return
    use_name = named and coach.chance("start_name")
    text = coach.draw("start", name=coach.called(act.move)) if use_name else coach.draw("start_plain")
    if act.side and not act.second_side and coach.rng.random() < 0.7:
        text += " " + coach.draw("side_start", side=act.side)
    tags = ("start", f"side {act.side}") if act.side and act.side in text else ("start",)
    line = coach.place(coach.words(text), at + GO_LAG_S, *tags)
    act.start = line.start - GO_LAG_S


def gap_lines(coach: Coach, act: Act, before: Act | None, named: bool) -> list[tuple[str, tuple[str, ...], int]]:
    """Return what is said between two intervals as (text, tags, priority), in order; 1 is kept longest."""
    block = coach.plan.blocks[act.block]
    lines: list[tuple[str, tuple[str, ...], int]] = []
    if before is None:
        lines += opening(coach)
    elif coach.rng.random() < 0.6:
        lines.append((coach.draw("relief"), ("relief",), 4))
        if coach.rng.random() < 0.08:
            lines.append((coach.draw("past", name=coach.called(before.move)), (), 5))
    if before is not None and (act.opens_block or act.opens_round) and coach.chance("water"):
        lines.append((coach.draw("water"), ("water",), 3))
    if act.opens_block:
        lines += block_lines(coach, act, block)
    elif act.opens_round and coach.chance("round"):
        text = coach.draw("round", round=in_words(act.round), round_ord=ORDINALS[min(act.round, 5)])
        lines.append((text, ("round",), 1))
    if named and coach.chance("preview"):
        text = coach.draw("preview", name=coach.called(act.move))
        others = [m for m in coach.plan.blocks[act.block].moves if m.name != act.name]
        if others and coach.rng.random() < 0.03:  # the tongue slips and is put right at once
            wrong = coach.draw("preview", name=coach.called(coach.rng.choice(others)))
            text = f"{wrong} No, sorry. {text}"
        lines.append((text, (f"next {act.name}",), 2))
    return [line for line in lines if line[0]]


def opening(coach: Coach) -> list[tuple[str, tuple[str, ...], int]]:
    minutes = max(1, round((coach.plan.length_s or 600) / 60))
    mains = [b for b in coach.plan.blocks if b.kind == "main"]
    rounds = f"{in_words(len(mains))} block{'s' if len(mains) > 1 else ''}"
    values = {"minutes": in_words(minutes), "rounds_words": rounds}
    return [
        (coach.draw("greet"), (), 1),
        (coach.draw("outline", **values), (f"promise seconds {60 * minutes}",), 2),
    ]


def block_lines(coach: Coach, act: Act, block: Block) -> list[tuple[str, tuple[str, ...], int]]:
    """Return how a block is announced: promise, demo of its moves."""
    lines: list[tuple[str, tuple[str, ...], int]] = []
    if block.kind == "cool-down":
        lines.append((coach.draw("cool"), (), 3))
    if block.kind == "main" and block.rounds > 1 and coach.rng.random() < 0.6:
        tag = f"promise rounds {block.rounds} {block.name}"
        lines.append((coach.draw("next_round_promise", rounds=in_words(block.rounds)), (tag,), 2))
    if block.kind == "main" and len({m.work_s for m in block.moves}) == 1 and coach.rng.random() < 0.4:
        first = block.moves[0]
        text = coach.draw(
            "promise",
            work=in_words(int(first.work_s)),
            rest=in_words(int(first.rest_s)),
            count=in_words(len(block.moves)),
            rounds=in_words(block.rounds),
        )
        lines.append((text, ("promise",), 3))
    if block.demo_s and coach.chance("demo"):
        lines.append((coach.draw("demo_intro"), ("demo",), 2))
        for move in block.moves:
            fact = facts_of(coach, move)
            lines.append((coach.draw("demo_move", name=coach.called(move), cue=fact.cue if fact else ""), ("demo",), 1))
    return lines


def gap(coach: Coach, act: Act, before: Act | None, named: bool) -> float:
    """Talk through the time between two intervals; return when the next one may begin."""
    rng = coach.rng
    begin = before.end if before else coach.now
    target = begin + act.gap_before_s
    count = 0
    lines = gap_lines(coach, act, before, named) if act.gap_before_s >= 3 else []
    said = [(coach.words(text), tags, rank) for text, tags, rank in lines]
    stretch = 1.25 if act.opens_block else 1.0

    def need() -> float:
        return sum(length(words) + 0.7 for words, _, _ in said)

    while said and max(coach.now, begin) + need() > begin + stretch * act.gap_before_s + (2 if act.opens_block else 0):
        said.remove(max(said, key=lambda item: item[2]))
    target = max(target, max(coach.now, begin) + need() + 0.3)
    if target - coach.now - need() > 5.5 and coach.chance("countin"):
        count = rng.choice((3, 3, 5)) if target - coach.now - need() > 7.5 else 3
    talk_end = target - (count * coach.count_step if count else 0.0) - 0.3
    median, spread = coach.style["rest_pause"]
    coach.now = max(coach.now, begin)

    later = [m for b in coach.plan.blocks[act.block + 1 :] for m in b.moves]

    def chatter() -> tuple[str, tuple[str, ...]]:
        roll = rng.random()
        if coach.stories and roll < 0.3:
            return coach.stories.pop(), ()
        if roll > 0.96 and later:
            return coach.draw("later", name=coach.called(rng.choice(later))), ()
        return coach.draw("chatter"), ()

    late = [said.pop()] if said and said[-1][1] and said[-1][1][0].startswith("next") else []
    for words, tags, _ in said:
        room = talk_end - coach.now - sum(length(w) + 0.5 for w, _, _ in [*said, *late])
        coach.place(words, coach.now + min(max(GAP_S, lognormal(rng, median, spread)), max(0.4, room)), *tags)
    fill_between(coach, talk_end - sum(length(w) + 0.5 for w, _, _ in late), chatter, median, spread)
    for words, tags, _ in late:
        latest = talk_end - length(words) - 0.1
        coach.place(words, max(coach.now + 0.3, min(latest, coach.now + lognormal(rng, median, spread))), *tags)
    if count:
        return _count_in(coach, count, target)
    return target


def _count_in(coach: Coach, count: int, target: float) -> float:
    """Count to a start: the go sentence comes a step after "one"."""
    words = count_down(coach.rng, count, 1, coach.count_step, coach.comma)
    lead = coach.words(coach.draw("countin") + ",")
    first = target + GO_LAG_S - count * coach.count_step
    if coach.now + length(lead) + 0.4 < first and coach.rng.random() < 0.6:
        coach.place(lead, first - length(lead) - 0.15)
    line = coach.place(words, first, "count")
    return line.words[-1].start + coach.count_step - GO_LAG_S


def perform(coach: Coach, acts: list[Act], preroll_s: float) -> float:
    """Perform all acts in order, then say goodbye; return the length of the recording."""
    rng = coach.rng
    coach.now = preroll_s
    before: Act | None = None
    for index, act in enumerate(acts):
        following = acts[index + 1] if index + 1 < len(acts) else None
        named = rng.random() > 0.06
        if act.second_side:
            assert before is not None
            begin = max(before.end + rng.uniform(0.4, 2.5), coach.now - 0.3)
            act.start = begin
            if rng.random() < 0.5 and begin > coach.now + 0.1:
                start_line(coach, act, begin, named and rng.random() < 0.3)
        else:
            begin = gap(coach, act, before, named)
            start_line(coach, act, max(begin, coach.now - 0.05), named)
        act.end = act.start + act.work_s
        interval(coach, act, following, named)
        before = act
    coach.now = max(coach.now, before.end if before else 0.0)
    tail = make_schedule(coach.plan).tail_s
    until = coach.now + max(8.0, drawn_s(rng, tail, coach.timing, 0.1))
    coach.place(coach.words(coach.draw("relief")), coach.now + 1.0, "relief")
    fill_between(coach, until - 8, lambda: (coach.draw("chatter"), ()), 2.0, 0.5)
    coach.place(coach.words(coach.draw("goodbye")), coach.now + 1.0, "goodbye")
    return coach.now + rng.uniform(0.5, 6.0)
