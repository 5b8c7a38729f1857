"""Draws a plan from rows of work heard in a recording: which rows are rounds of one another, and what each move is.

Takes plain rows, so that nothing here knows a transcript.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median, mode

import numpy as np

from analyzer.model.plan import Block, BlockKind, Move, Plan, SidePlan
from analyzer.model.transcript import Floats
from analyzer.plans.rounds import Part, Row, Unit, find_rounds, gap_before, pooled

STEP_S = 5.0
"""Coaches plan in steps of five seconds (common practice, no source)."""
NAMED = 0.8
"""Less than this is no name, nats."""
LONGER_NAME = 0.7
"""A name that says more is the likelier one, nats a word."""
ODD_S, UNUSUAL_S = 10.0, 3.0
"""A length further off than the first is a slip; one the class seldom has stands for that many seconds off."""
REPEATED = 2.0
"""What the same name twice in a block costs, nats."""
BLOCK_GAP_S = 25.0
"""A gap this long between moves that are not repeated parts two blocks."""
UNNAMED = "Move"


@dataclass(frozen=True, slots=True)
class Drawn:
    """A plan and the rows of work that it keeps: ``heard`` those of each move, by block and move of the plan."""

    plan: Plan
    heard: dict[tuple[int, int], tuple[Row, ...]]

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows kept, in order."""
        return tuple(sorted((row for rows in self.heard.values() for row in rows), key=lambda row: row.start_s))


def draft(title: str, rows: Sequence[Row], moves: Sequence[Move], span_s: tuple[float, float]) -> Drawn:
    """Return the plan that rows of work come from.

    Blocks are told by rounds and by long gaps; talk before the first and after the last is a block of its own. A move
    nobody named is called "Move" and its place.

    Parameters
    ----------
    moves : what ``Row.named`` counts through.
    span_s : start and end of the class on the recording's clock, seconds.
    """
    if not rows:
        return Drawn(Plan(title, ()), {})
    units, told = find_rounds(rows)
    parts = _blocks(units, told)
    begins_s, ends_s = span_s
    lead_s = max(0.0, _rounded(units[0].rows[0].start_s - begins_s))
    blocks = [Block("Welcome", "talk", length_s=lead_s)] if lead_s > 0 else []
    heard: dict[tuple[int, int], tuple[Row, ...]] = {}
    planned_s, demo_s = lead_s, 0.0
    for at, part in enumerate(parts):
        block = replace(_block(units, part, moves, _kind(at, parts), at + 1), demo_s=demo_s)
        planned_s += _span_s(block)
        demo_s = 0.0
        if at + 1 < len(parts):
            after = units[part.last].rows[0]
            gap_s = max(0.0, _rounded(after.start_s - begins_s - planned_s))
            planned_s += gap_s
            if after.listed:
                demo_s = gap_s
            else:
                block = replace(block, rest_after_s=gap_s)
        for place in range(part.period):
            same = (units[i] for i in range(part.first + place, part.last, part.period))
            heard[len(blocks), place] = tuple(row for unit in same if not unit.hole for row in unit.rows)
        blocks.append(block)
    tail_s = _rounded(ends_s - begins_s - planned_s)
    if tail_s > 0:
        blocks.append(Block("Goodbye", "talk", length_s=tail_s))
    return Drawn(Plan(title, tuple(blocks), drawn=True), heard)


def _blocks(units: Sequence[Unit], parts: Sequence[Part]) -> list[Part]:
    """Return the parts with moves that come once put together, up to the next long gap or the next rounds."""
    blocks: list[Part] = []
    for part in parts:
        before = blocks[-1] if blocks else None
        if before and part.once and before.once and gap_before(units, part.first) < BLOCK_GAP_S:
            blocks[-1] = Part(before.first, part.last, part.last - before.first)
        else:
            blocks.append(part)
    return blocks


def _kind(at: int, parts: Sequence[Part]) -> BlockKind:
    """Return what a block is: moves that come once open and close a class that has more than them."""
    if parts[at].once and len(parts) > 1 and at in (0, len(parts) - 1):
        return "cool-down" if at else "warm-up"
    return "main"


def _block(units: Sequence[Unit], part: Part, moves: Sequence[Move], kind: BlockKind, number: int) -> Block:
    """Return one block without the gap that follows it; ``number`` counts blocks with moves from 1."""
    usual_s = mode(_rounded(unit.work_s) for unit in units if not unit.hole)
    told = _names(pooled(units[part.first : part.last], part.period), moves)
    rows: list[Move] = []
    for place in range(part.period):
        at = range(part.first + place, part.last, part.period)
        known = moves[told[place]] if told[place] >= 0 else Move(f"{UNNAMED} {number}.{place + 1}", 0.0)
        rest_s = median(gap_before(units, i + 1) for i in at) if place + 1 < part.period else 0.0
        move = replace(_worked([units[i] for i in at], known, usual_s), rest_s=_rounded(rest_s))
        rows.append(_apart(move, rows))
    between = [gap_before(units, i) for i in range(part.first + part.period, part.last, part.period)]
    name = {"warm-up": "Warm-up", "cool-down": "Cool-down"}.get(kind, f"Block {number}")
    rest_s = _rounded(median(between)) if between else 0.0
    return Block(name, kind, rounds=part.rounds, rest_between_rounds_s=rest_s, moves=tuple(rows))


def _span_s(block: Block) -> float:
    """Return planned seconds from the first interval's start to the last one's end."""
    inner = sum(move.work_s for move in block.moves) + sum(move.rest_s for move in block.moves[:-1])
    return block.rounds * inner + (block.rounds - 1) * block.rest_between_rounds_s


def _names(named: Floats, moves: Sequence[Move]) -> list[int]:
    """Return the move of each place of a round, -1 where none was named; the surest first, each sooner once than twice.

    ``named`` (places, moves) nats.
    """
    told = [-1] * len(named)
    if not moves:
        return told
    longer = LONGER_NAME * np.array([len(move.name.split()) - 1 for move in moves])
    left = np.where(named > 0.0, named + longer, 0.0)
    while left.max() > NAMED:
        place, move = np.unravel_index(int(left.argmax()), left.shape)
        told[place] = int(move)
        left[place] = 0.0
        left[:, move] -= REPEATED
    return told


def _worked(units: Sequence[Unit], known: Move, usual_s: float) -> Move:
    """Return a move as it was worked in all its rounds: length, sides."""
    heard = [unit for unit in units if not unit.hole]
    both = sum(len(unit.rows) > 1 or (unit.rows[0].turns and known.side == "each") for unit in heard)
    sides = {row.side for unit in heard for row in unit.rows}
    side: SidePlan = "alternating" if known.side in ("each", "alternating") else "both"
    if heard and 2 * both >= len(heard):
        side = "each"
    elif len(sides) == 1 and (only := next(iter(sides))) is not None:
        side = only
    work_s = _length_s([unit.work_s for unit in heard or units], usual_s)
    return replace(known, work_s=work_s, side=side, rest_s=0.0)


def _length_s(heard_s: Sequence[float], usual_s: float) -> float:
    """Return the planned length that lengths heard come from: near most of them, sooner one the class often has."""
    likely = {max(STEP_S, _rounded(length)) for length in (*heard_s, usual_s)}

    def cost(length_s: float) -> float:
        return sum(min(abs(length_s - heard), ODD_S) for heard in heard_s) + UNUSUAL_S * (length_s != usual_s)

    return min(sorted(likely), key=cost)


def _apart(move: Move, others: Sequence[Move]) -> Move:
    """Return a move under a name that no other of its block has."""
    taken = {other.name for other in others}
    if move.name not in taken:
        return move
    number = next(n for n in range(2, len(taken) + 3) if f"{move.name} {n}" not in taken)
    return replace(move, name=f"{move.name} {number}", also=(move.name, *move.also))


def _rounded(seconds: float) -> float:
    return STEP_S * round(seconds / STEP_S)
