"""A whole invented class from a seed: plan, performance, slips, edits, truth."""

from __future__ import annotations

from random import Random
from typing import Any

from analyzer.model.plan import Move, Plan
from analyzer.plans import make_schedule
from tests.generator.classes import STYLES, GeneratedClass, Line, Word, exercises
from tests.generator.perform import Act, Coach, drawn_s, perform
from tests.generator.plans import SHAPES, make_plan, plan_dict

TIMINGS = ("exact", "human", "loose")
LENGTH_LIMIT_S = 5.0  # what the plan's own limits call a slip of an interval or rest
NEAR_S, NEAR_LIMIT_S, FAR_LIMIT_S = 15, 3.0, 5.0  # a call of 15 s or less must be within 3 s, else 5 s
HEARD_SHARE = 0.5  # of a word that a cut parts: with less left of it, nobody hears it


def generate(
    seed: int, style: str | None = None, shape: str | None = None, timing: str | None = None
) -> GeneratedClass:
    """Return the class of a seed; what is not asked for is drawn. Same arguments, same class."""
    rng = Random(f"class {seed}")
    style = style or STYLES[seed % len(STYLES)]
    shape = shape or SHAPES[(seed // 2) % len(SHAPES)]
    weights = (6, 3, 1) if style == "timer" else (2, 4, 4)
    timing = timing or rng.choices(TIMINGS, weights)[0]
    plan = make_plan(rng, shape)
    acts, slips = plan_acts(rng, plan, timing)
    coach = Coach(rng, plan, style, timing)
    preroll = rng.choice((0.3, 0.8, 1.5, 4.0, rng.uniform(5, 20)))
    duration = perform(coach, acts, preroll)
    tape = Tape(coach.lines, [_interval(plan, act) for act in acts], duration)
    lost, edits = edit(rng, tape, plan, acts)
    gone = {(row["block"], row["round"]) for row in lost}
    slips = [slip for slip in slips if (slip["block"], slip["round"]) not in gone]  # cut away with their round
    slips += edits + measured_slips(plan, tape)
    told = {"interval-long", "interval-short", "round-missing", "move-missing", "move-extra", "order-changed"}
    findings = [slip for slip in slips if slip["check"] in told] + call_findings(tape)
    events = [
        {"at": round(line.start, 2), "end": round(line.end, 2), "tag": tag, "text": line.text}
        for line in tape.lines
        for tag in line.tags
    ]
    return GeneratedClass(
        seed, style, shape, timing, plan, plan_dict(plan), tape.lines, tape.intervals, lost, slips, findings, [],
        events, round(tape.duration, 3),
    )  # fmt: skip


def _interval(plan: Plan, act: Act) -> dict[str, Any]:
    block = plan.blocks[act.block].name
    return {
        "block": block, "round": act.round, "move": act.name, "side": act.side, "start": act.start, "end": act.end,
    }  # fmt: skip


def plan_acts(rng: Random, plan: Plan, timing: str) -> tuple[list[Act], list[dict[str, Any]]]:
    """Return what will be worked, and the slips of order: swapped, skipped and unplanned moves."""
    schedule = make_schedule(plan)
    acts: list[Act] = []
    gap = schedule.lead_s
    for p in schedule.intervals:
        move = plan.blocks[p.block].moves[p.move]
        second = p.order_free and bool(acts) and acts[-1].planned is not None and acts[-1].planned.move == p.move
        second = second and p.side == "right" and acts[-1].side == "left"
        before = 0.0 if second else _gap_s(rng, gap, timing)
        acts.append(Act(p.block, p.round, move.name, p.side, drawn_s(rng, p.work_s, timing, 0.04), p, move, before))
        acts[-1].second_side = second
        gap = p.rest_s
    slips = _swap(rng, acts, plan) + _skip(rng, acts, plan) + _add(rng, acts, plan)
    seen: set[tuple[int, int]] = set()
    for act in acts:
        act.opens_round = (act.block, act.round) not in seen
        act.opens_block = act.opens_round and act.round == 1
        seen.add((act.block, act.round))
    return acts, slips


def _gap_s(rng: Random, planned: float, timing: str) -> float:
    return rng.uniform(0.3, 1.5) if planned < 1 else max(0.5, drawn_s(rng, planned, timing, 0.06))


def _plain(acts: list[Act], index: int) -> bool:
    """Tell whether an act and the one after it are two moves of one round, neither half of a pair of sides."""
    a, b = acts[index], acts[index + 1]
    paired = any(x.planned is not None and x.planned.order_free for x in (a, b))
    return (a.block, a.round) == (b.block, b.round) and not paired and a.name != b.name


def _swap(rng: Random, acts: list[Act], plan: Plan) -> list[dict[str, Any]]:
    spots = [k for k in range(len(acts) - 1) if _plain(acts, k) and plan.blocks[acts[k].block].kind == "main"]
    if not spots or rng.random() > 0.12:
        return []
    k = rng.choice(spots)
    a, b = acts[k], acts[k + 1]
    a.gap_before_s, b.gap_before_s = b.gap_before_s, a.gap_before_s
    acts[k], acts[k + 1] = b, a
    return [{"check": "order-changed", "block": plan.blocks[a.block].name, "round": a.round, "move": b.name}]


def _skip(rng: Random, acts: list[Act], plan: Plan) -> list[dict[str, Any]]:
    spots = [k for k in range(1, len(acts) - 1) if _plain(acts, k)]
    if not spots or rng.random() > 0.12:
        return []
    gone = acts.pop(rng.choice(spots))
    acts_after = [a for a in acts if (a.block, a.round) == (gone.block, gone.round)]
    acts_after[0].gap_before_s = max(acts_after[0].gap_before_s, gone.gap_before_s)
    return [{"check": "move-missing", "block": plan.blocks[gone.block].name, "round": gone.round, "move": gone.name}]


def _add(rng: Random, acts: list[Act], plan: Plan) -> list[dict[str, Any]]:
    spots = [k for k in range(len(acts) - 1) if _plain(acts, k) and plan.blocks[acts[k].block].kind == "main"]
    if not spots or rng.random() > 0.1:
        return []
    known = {m.name for b in plan.blocks for m in b.moves}
    pool = [e for e in exercises() if e.name not in known and e.sides != "each" and not e.tags & {"stretch", "flow"}]
    e, after = rng.choice(pool), acts[rng.choice(spots)]
    move = Move(e.name, 30.0, e.also, 0.0, "both", e.effort)  # type: ignore[arg-type]
    extra = Act(after.block, after.round, e.name, None, rng.uniform(18, 45), None, move, max(4.0, after.gap_before_s))
    acts.insert(acts.index(after) + 1, extra)
    return [{"check": "move-extra", "block": plan.blocks[after.block].name, "round": after.round, "move": e.name}]


class Tape:
    """What was recorded; it can be cut."""

    def __init__(self, lines: list[Line], intervals: list[dict[str, Any]], duration: float) -> None:
        self.lines, self.intervals, self.duration = lines, intervals, duration

    def cut(self, a: float, b: float) -> None:
        """Take out the time from ``a`` to ``b``: words in it go, all later ones move up; lines may lose a part."""
        by = b - a
        kept: list[Line] = []
        for line in self.lines:
            words = [
                Word(w.text, w.start - by * (w.start >= b), w.end - by * (w.start >= b))
                for w in line.words
                if not a <= w.start < b and not (w.start < a < w.end and a - w.start < HEARD_SHARE * (w.end - w.start))
            ]
            for word in words:
                word.end = min(word.end, a) if word.start < a < word.end else word.end
            if words:
                kept.append(Line(words, line.tags if len(words) == len(line.words) else []))
        self.lines = kept
        remaining = []
        for row in self.intervals:
            start, end = (t if t < a else max(a, t - by) for t in (row["start"], row["end"]))
            if end - start > 0.5:
                remaining.append({**row, "start": start, "end": end})
        self.intervals = remaining
        self.duration -= by


def edit(rng: Random, tape: Tape, plan: Plan, acts: list[Act]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Edit the recording as people do: a round is lost, or material is shortened. Return lost rounds and slips."""
    lost: list[dict[str, Any]] = []
    slips: list[dict[str, Any]] = []
    many = [i for i, b in enumerate(plan.blocks) if b.rounds > 1]
    if many and rng.random() < 0.22:
        index = rng.choice(many)
        block = plan.blocks[index]
        number = block.rounds if rng.random() < 0.7 else rng.randint(2, block.rounds)
        inside = [k for k, act in enumerate(acts) if (act.block, act.round) == (index, number)]
        first, last = inside[0], inside[-1]
        a = rng.uniform(acts[first - 1].end + 0.4, max(acts[first - 1].end + 0.5, acts[first].start - 0.2))
        after = acts[last + 1].start if last + 1 < len(acts) else tape.duration
        b = rng.uniform(acts[last].end + 0.1, max(acts[last].end + 0.2, min(after - 0.3, acts[last].end + 15)))
        tape.cut(a, b)
        lost.append({"block": block.name, "round": number})
        slips.append({"check": "round-missing", "block": block.name, "round": number, "at": round(a, 1)})
    if rng.random() < 0.2:
        spots = [row for row in tape.intervals if row["end"] - row["start"] > 28]
        row = rng.choice(spots)
        size = rng.uniform(7, min(18.0, 0.4 * (row["end"] - row["start"])))
        a = rng.uniform(row["start"] + 5, row["end"] - size - 5)
        tape.cut(a, a + size)
    for row in tape.intervals:
        row["start"], row["end"] = round(row["start"], 2), round(row["end"], 2)
    return lost, slips


def measured_slips(plan: Plan, tape: Tape) -> list[dict[str, Any]]:
    """Return intervals and rests whose recorded length differs from the plan's by more than the limit."""
    planned = {}
    for p in make_schedule(plan).intervals:
        block = plan.blocks[p.block]
        planned[(block.name, p.round, block.moves[p.move].name, p.side)] = p
    slips: list[dict[str, Any]] = []
    for row, following in zip(tape.intervals, [*tape.intervals[1:], None], strict=True):
        p = planned.get((row["block"], row["round"], row["move"], row["side"]))
        if p is None:
            continue
        place = {key: row[key] for key in ("block", "round", "move", "side") if row[key] is not None}
        off = row["end"] - row["start"] - p.work_s
        if abs(off) > LENGTH_LIMIT_S:
            check = "interval-long" if off > 0 else "interval-short"
            slips.append({"check": check, **place, "at": _clock(row["end"]), "seconds": round(off, 1)})
        rested = None if following is None else following["start"] - row["end"] - p.rest_s
        if rested is not None and abs(rested) > LENGTH_LIMIT_S:
            check = "rest-long" if rested > 0 else "rest-short"
            slips.append({"check": check, **place, "at": _clock(row["end"]), "seconds": round(rested, 1)})
    return slips


def call_findings(tape: Tape) -> list[dict[str, Any]]:
    """Return the time calls that are false on the recording as it stands."""
    findings = []
    for line in tape.lines:
        kind, _, number = (line.tags[0] if line.tags else "").partition(" ")
        row = next((r for r in tape.intervals if r["start"] - 0.5 <= line.start <= r["end"] + 0.5), None)
        if row is None or kind not in ("left", "gone"):
            continue
        said = int(number)
        real = row["end"] - line.start if kind == "left" else line.start - row["start"]
        if abs(real - said) > (NEAR_LIMIT_S if said <= NEAR_S else FAR_LIMIT_S):
            place = {key: row[key] for key in ("block", "round", "move", "side") if row[key] is not None}
            note = f"said {said}, really {real:.1f}"
            findings.append({"check": "time-call-off", **place, "at": _clock(line.start), "note": note})
    return findings


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"
