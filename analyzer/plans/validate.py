"""Turns a tree into a Plan, or into the list of everything that is wrong with it."""

from __future__ import annotations

from typing import cast

from analyzer.model.plan import Block, BlockKind, Effort, Move, Plan, SidePlan
from analyzer.plans.fields import Section, as_section, fold
from analyzer.plans.mistakes import Mistakes, quote
from analyzer.plans.yaml_reader import Node

PLAN_FIELDS = ("title", "coach", "length", "equipment", "blocks")
BLOCK_FIELDS = (
    "name", "kind", "length", "demo", "rounds", "rest_between_rounds", "rest_after", "quiet", "moves",
)  # fmt: skip
MOVE_FIELDS = ("name", "also", "work", "rest", "side", "effort", "easier", "harder", "cues", "quiet")
KINDS: tuple[BlockKind, ...] = ("talk", "warm-up", "main", "cool-down")
SIDES: tuple[SidePlan, ...] = ("both", "left", "right", "each", "alternating")
EFFORTS: tuple[Effort, ...] = ("easy", "moderate", "hard")

LONGEST_PART_S = 4 * 3600.0  # no interval, rest or talk of a filmed class is longer (common practice, no source)
LONGEST_CLASS_S = 24 * 3600.0
SHORTEST_PART_S = 1.0
MAX_ROUNDS = 50
MAX_INTERVALS = 5000

_NOT_IN_TALK = ("demo", "rounds", "rest_between_rounds", "moves")


def build_plan(root: Node, notes: Mistakes) -> Plan:
    """Return the plan in a tree; ``name`` and ``sha256`` stay empty. ``notes`` may hold mistakes that are known before.

    Raises
    ------
    PlanError
        When the tree breaks any rule of a plan; ``mistakes`` lists every breach in file order.
    """
    section = as_section(root, "", PLAN_FIELDS, notes, "a plan has the fields " + ", ".join(PLAN_FIELDS))
    plan = Plan(title="", blocks=())
    if section is not None:
        plan = Plan(
            title=section.text("title", required=True),
            coach=section.text("coach"),
            length_s=section.duration("length", SHORTEST_PART_S, LONGEST_CLASS_S),
            equipment=section.texts("equipment"),
            blocks=_blocks(section, notes),
        )
    notes.raise_if_any()
    return plan


def _blocks(plan: Section, notes: Mistakes) -> tuple[Block, ...]:
    sections = plan.sections("blocks", BLOCK_FIELDS, "a list of blocks")
    blocks = tuple(_block(section, notes) for section in sections)
    _note_doubles(sections, [block.name for block in blocks], "block", "the plan", notes)
    line = plan.line_of("blocks")
    if sections and not any(section.has("moves") for section in sections):
        notes.add(line, "blocks", "no block has moves", "at least one warm-up, main or cool-down with moves is needed")
    intervals = sum(block.rounds * sum(2 if move.side == "each" else 1 for move in block.moves) for block in blocks)
    if intervals > MAX_INTERVALS:
        notes.add(line, "blocks", f"{intervals} intervals are planned", f"at most {MAX_INTERVALS} are allowed")
    return blocks


def _block(section: Section, notes: Mistakes) -> Block:
    name = section.text("name", required=True)
    kind = section.choice("kind", KINDS)
    if kind == "talk":
        for field in _NOT_IN_TALK:
            section.refuse(field, f"a talk block has no {field}", "remove it, or give the block another kind")
        length_s = section.duration("length", SHORTEST_PART_S, LONGEST_PART_S, required=True)
        rest_after_s = section.duration("rest_after", 0.0, LONGEST_PART_S) or 0.0
        return Block(name, "talk", length_s, rest_after_s=rest_after_s, quiet=section.flag("quiet"))
    if kind is not None:
        section.refuse("length", "only a talk block has a length", "remove it: the moves, rounds and rests make it")
    return Block(
        name=name,
        kind=cast(BlockKind, kind or "main"),
        demo_s=section.duration("demo", 0.0, LONGEST_PART_S) or 0.0,
        rounds=section.whole("rounds", 1, MAX_ROUNDS, default=1),
        rest_between_rounds_s=section.duration("rest_between_rounds", 0.0, LONGEST_PART_S) or 0.0,
        rest_after_s=section.duration("rest_after", 0.0, LONGEST_PART_S) or 0.0,
        quiet=section.flag("quiet"),
        moves=_moves(section, notes) if kind is not None or section.has("moves") else (),
    )


def _moves(block: Section, notes: Mistakes) -> tuple[Move, ...]:
    sections = block.sections("moves", MOVE_FIELDS, "a list of moves")
    moves = tuple(_move(section) for section in sections)
    _note_doubles(sections, [move.name for move in moves], "move", "this block", notes)
    return moves


def _move(section: Section) -> Move:
    return Move(
        name=section.text("name", required=True),
        work_s=section.duration("work", SHORTEST_PART_S, LONGEST_PART_S, required=True) or 0.0,
        also=section.texts("also"),
        rest_s=section.duration("rest", 0.0, LONGEST_PART_S) or 0.0,
        side=cast(SidePlan, section.choice("side", SIDES, default="both") or "both"),
        effort=cast(Effort, section.choice("effort", EFFORTS, default="moderate") or "moderate"),
        easier=section.texts("easier"),
        harder=section.texts("harder"),
        cues=section.texts("cues"),
        quiet=section.flag("quiet"),
    )


def _note_doubles(sections: tuple[Section, ...], names: list[str], noun: str, scope: str, notes: Mistakes) -> None:
    """Note every name that an earlier one already has: a report could not tell the two apart."""
    first: dict[str, int] = {}
    for section, name in zip(sections, names, strict=True):
        line = section.line_of("name")
        if name and fold(name) in first:
            found = f"{scope} already has a {noun} {quote(name)}, in {notes.places.line_word} {first[fold(name)]}"
            notes.add(line, section.path("name"), found, f"give each {noun} of {scope} its own name")
        first.setdefault(fold(name), line)
