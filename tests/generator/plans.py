"""Plans of many shapes, drawn by a seeded generator."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule, print_duration
from tests.generator.classes import Exercise, exercises

NAMES = (
    "Part one", "Part two", "Harvest", "The ladder", "Foundry", "Open water", "Second helping", "Spark", "Granite",
    "Slow burn", "Block A", "Block B", "Meadow", "Switchback", "Lighthouse", "Copper", "Main set", "Final push",
)  # fmt: skip
TITLES = ("Tuesday", "Garden shed", "Rainy day", "Before breakfast", "Corner studio", "Short and sweet", "Studio floor")


class Picker:
    """Hands out exercises, none twice in a class unless asked to."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.used: set[str] = set()

    def take(self, number: int, any_of: str, none_of: str = "") -> list[Exercise]:
        """Return ``number`` exercises with one of the tags ``any_of`` and none of ``none_of``."""
        wanted, barred = set(any_of.split()), set(none_of.split())
        pool = [e for e in exercises() if e.tags & wanted and not e.tags & barred and e.name not in self.used]
        chosen = self.rng.sample(pool, min(number, len(pool)))
        self.used |= {e.name for e in chosen}
        return chosen


def to_move(rng: Random, e: Exercise, work: float, rest: float, side: str | None = None) -> Move:
    """Return an exercise as a planned move."""
    also = tuple(name for name in e.also if rng.random() < 0.7)
    cues = (e.cue,) if rng.random() < 0.25 else ()
    easier = (e.easier,) if e.effort != "easy" else ()
    return Move(e.name, float(work), also, float(rest), side or e.sides, e.effort, easier, (), cues)  # type: ignore[arg-type]


def _main(rng: Random, picker: Picker, shape: str, name: str) -> list[Block]:
    """Return one main block of a shape; a series of single sides is two."""
    hard = "cardio legs upper core"

    def block(moves: list[Move], rounds: int, between: float, demo: float, after: float = 20) -> Block:
        return Block(name, "main", None, float(demo), rounds, float(between), float(after), False, tuple(moves))

    def moves(count: int, tags: str, work: Any, rest: float, bar: str = "stretch") -> list[Move]:
        chosen = picker.take(count, tags, bar)
        return [to_move(rng, e, work[k % len(work)], rest) for k, e in enumerate(chosen)]

    pick = rng.choice
    if shape == "circuit":
        return [block(moves(pick((3, 4, 5)), hard, [pick((30, 40, 45, 50))], pick((10, 15, 20))), pick((2, 3)), pick((20, 30, 45)), pick((20, 30, 40)))]
    if shape == "ladder":
        steps = pick(([20, 30, 40, 50, 60], [60, 50, 40, 30, 20], [20, 40, 60, 40, 20], [30, 45, 60, 75]))
        return [block(moves(len(steps), hard, steps, pick((10, 15))), pick((1, 2)), 30, pick((0, 20)))]
    if shape == "twenty-ten":
        return [block(moves(pick((2, 4)), "cardio legs core", [20], 10), pick((2, 3, 4)), pick((10, 30)), pick((0, 15, 25)))]
    if shape == "forty-twenty":
        return [block(moves(pick((3, 4, 5)), hard, [40], 20), pick((2, 3)), pick((20, 40)), pick((15, 30)))]
    if shape == "every-minute":
        work = pick((40, 45, 50))
        return [block(moves(pick((3, 4, 5)), hard, [work], 60 - work), pick((2, 3)), 60 - work, pick((15, 30)))]
    if shape == "long-rounds":
        return [block(moves(pick((2, 3, 4)), "cardio legs box", [pick((120, 150, 180))], pick((20, 30)), "floor stretch"), pick((1, 2)), 40, pick((0, 20)))]
    if shape == "one-side":
        chosen = picker.take(pick((3, 4)), "side", "stretch chair")
        work, rest, after = pick((30, 40, 45)), pick((0, 5, 10)), pick((10, 20))
        series = []
        for side in ("left", "right"):
            row = [to_move(rng, e, work, rest, side) for e in chosen]
            one = block(row, 1, 0, 15 if side == "left" else 0, after)
            series.append(replace(one, name=f"{name} {side}"))
        return series
    if shape == "flow":
        return [block(moves(pick((5, 6, 8)), "flow", [pick((40, 60)), pick((30, 45))], pick((0, 0, 5)), ""), pick((1, 2)), pick((0, 15)), pick((0, 15)))]
    if shape == "no-rest":
        return [block(moves(pick((3, 4, 5)), "strength upper legs", [pick((30, 40, 45))], 0), pick((2, 3)), pick((30, 45, 60)), pick((20, 30)))]
    if shape == "chair":
        return [block(moves(pick((3, 4)), "chair", [pick((40, 45, 60))], pick((10, 15)), ""), pick((1, 2)), 20, pick((15, 25)))]
    if shape == "boxing":
        return [block(moves(pick((3, 4)), "box", [pick((60, 90))], pick((15, 20, 30))), pick((1, 2)), pick((30, 45)), pick((20, 40)))]
    raise ValueError(f"{shape} is no shape; allowed: {', '.join(SHAPES)}")


SHAPES = (
    "circuit", "ladder", "twenty-ten", "forty-twenty", "every-minute", "long-rounds", "one-side", "flow", "no-rest",
    "chair", "boxing",
)  # fmt: skip
SEATED = ("chair",)


def make_plan(rng: Random, shape: str) -> Plan:
    """Return a plan of about 10 to 25 minutes."""
    picker = Picker(rng)
    names = rng.sample(NAMES, len(NAMES))
    seated = shape in SEATED
    warm_rest = rng.choice((0, 0, 5, 10))
    warm_work = rng.choice((30, 30, 40, 45))
    warm = picker.take(rng.choice((3, 4, 5)), "chair" if seated else "warm", "floor")
    blocks = [Block("Welcome", "talk", float(rng.choice((20, 30, 40))))]
    warm_moves = tuple(to_move(rng, e, warm_work, warm_rest, None if e.sides != "each" else "each") for e in warm)
    blocks.append(Block("Warm-up", "warm-up", rest_after_s=float(rng.choice((10, 15, 20))), moves=warm_moves))
    target = rng.uniform(8.5, 17) * 60
    while True:
        made = _main(rng, picker, shape, names.pop())
        grown = make_schedule(Plan("", tuple(blocks + made))).total_s
        if grown > 22 * 60 and len(blocks) > 2:
            break
        blocks += made
        if grown >= target or len(blocks) > 9 or not _enough(picker, shape):
            break
    cool_tags = "chair" if seated else "stretch"
    cool = picker.take(rng.choice((3, 4, 5)), cool_tags, "legs box upper")
    cool_rest = rng.choice((0, 0, 5))
    cool_moves = tuple(to_move(rng, e, rng.choice((30, 40, 60)), cool_rest) for e in cool)
    blocks.append(Block("Cool-down", "cool-down", moves=cool_moves))
    blocks.append(Block("Goodbye", "talk", float(rng.choice((15, 20, 30)))))
    title = f"{rng.choice(TITLES)} {shape.replace('-', ' ')}"
    plan = Plan(title, tuple(blocks), f"Coach {rng.choice('DEFGHK')}")
    return replace(plan, length_s=make_schedule(plan).total_s)


def _enough(picker: Picker, shape: str) -> bool:
    """Tell whether the list still holds enough exercises for one more block of this shape."""
    tag = {"chair": "chair", "boxing": "box", "flow": "flow", "one-side": "side"}.get(shape)
    return tag is None or sum(tag in e.tags and e.name not in picker.used for e in exercises()) >= 9


def plan_dict(plan: Plan) -> dict[str, Any]:
    """Return a plan as its YAML mapping."""
    blocks = []
    for block in plan.blocks:
        row: dict[str, Any] = {"name": block.name, "kind": block.kind}
        if block.length_s is not None:
            row["length"] = print_duration(block.length_s)
        for key, value in (
            ("demo", block.demo_s),
            ("rest_between_rounds", block.rest_between_rounds_s),
            ("rest_after", block.rest_after_s),
        ):
            if value:
                row[key] = print_duration(value)
        if block.rounds > 1:
            row["rounds"] = block.rounds
        if block.moves:
            row["moves"] = [_move_dict(move) for move in block.moves]
        blocks.append(row)
    return {"title": plan.title, "coach": plan.coach, "length": print_duration(plan.length_s or 1), "blocks": blocks}


def _move_dict(move: Move) -> dict[str, Any]:
    row: dict[str, Any] = {"name": move.name, "work": print_duration(move.work_s)}
    if move.rest_s:
        row["rest"] = print_duration(move.rest_s)
    if move.side != "both":
        row["side"] = move.side
    row["effort"] = move.effort
    for key, values in (("also", move.also), ("easier", move.easier), ("cues", move.cues)):
        if values:
            row[key] = list(values)
    return row
