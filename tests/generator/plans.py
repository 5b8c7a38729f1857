"""Plans of many shapes, drawn by a seeded generator."""

from __future__ import annotations

from dataclasses import dataclass, replace
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


@dataclass(frozen=True)
class Recipe:
    """How the main blocks of a shape are drawn: one of each tuple; ``work`` tuples run through the moves in turn."""

    tags: str
    moves: tuple[int, ...]
    work: tuple[tuple[int, ...], ...]
    rest: tuple[int, ...]
    rounds: tuple[int, ...]
    between: tuple[int, ...]
    demo: tuple[int, ...]
    bar: str = "stretch"


HARD = "cardio legs upper core"
LADDERS = ((20, 30, 40, 50, 60), (60, 50, 40, 30, 20), (20, 40, 60, 40, 20), (30, 45, 60, 75))
RECIPES = {
    "circuit": Recipe(HARD, (3, 4, 5), ((30,), (40,), (45,), (50,)), (10, 15, 20), (2, 3), (20, 30, 45), (20, 30, 40)),
    "ladder": Recipe(HARD, (5,), LADDERS, (10, 15), (1, 2), (30,), (0, 20)),
    "twenty-ten": Recipe("cardio legs core", (2, 4), ((20,),), (10,), (2, 3, 4), (10, 30), (0, 15, 25)),
    "forty-twenty": Recipe(HARD, (3, 4, 5), ((40,),), (20,), (2, 3), (20, 40), (15, 30)),
    "every-minute": Recipe(HARD, (3, 4, 5), ((40,), (45,), (50,)), (0,), (2, 3), (0,), (15, 30)),
    "long-rounds": Recipe(
        "cardio legs box", (2, 3), ((120,), (150,), (180,)), (20, 30), (1, 2), (40,), (0, 20), "floor stretch"
    ),
    "one-side": Recipe("side", (3, 4), ((30,), (40,), (45,)), (0, 5, 10), (1,), (0,), (15,), "stretch chair"),
    "flow": Recipe("flow", (5, 6, 8), ((40, 30), (60, 45), (60, 30), (45,)), (0, 0, 5), (1, 2), (0, 15), (0, 15), ""),
    "no-rest": Recipe("strength upper legs", (3, 4, 5), ((30,), (40,), (45,)), (0,), (2, 3), (30, 45, 60), (20, 30)),
    "chair": Recipe("chair", (3, 4), ((40,), (45,), (60,)), (10, 15), (1, 2), (20,), (15, 25), ""),
    "boxing": Recipe("box", (3, 4), ((60,), (90,)), (15, 20, 30), (1, 2), (30, 45), (20, 40)),
}
SHAPES = tuple(RECIPES)


def _main(rng: Random, picker: Picker, shape: str, name: str) -> list[Block]:
    """Return one main block of a shape; a series of single sides is two."""
    if shape not in RECIPES:
        raise ValueError(f"{shape} is no shape; allowed: {', '.join(SHAPES)}")
    recipe = RECIPES[shape]
    work = rng.choice(recipe.work)
    rest, between = rng.choice(recipe.rest), rng.choice(recipe.between)
    if shape == "every-minute":  # the minute's remainder is the rest
        rest = between = 60 - work[0]
    chosen = picker.take(max(rng.choice(recipe.moves), len(work)), recipe.tags, recipe.bar)
    rounds, demo, after = rng.choice(recipe.rounds), rng.choice(recipe.demo), rng.choice((15, 20, 30))

    def block(suffix: str, side: str | None, talk: float) -> Block:
        moves = tuple(to_move(rng, e, work[k % len(work)], rest, side) for k, e in enumerate(chosen))
        label = f"{name}{suffix}"
        return Block(label, "main", None, float(talk), rounds, float(between), float(after), False, moves)

    if shape == "one-side" and rng.random() < 0.7:  # else the same moves with both sides in turn
        return [block(" left", "left", demo), block(" right", "right", 0)]
    return [block("", None, demo)]


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
