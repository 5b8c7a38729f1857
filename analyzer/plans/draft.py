"""Draws a plan from rows of work heard in a recording: which rows are rounds of one another, and what each move is.

Takes plain rows, so that nothing here knows a transcript.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
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


def draft(title: str, rows: Sequence[Row], moves: Sequence[Move]) -> tuple[Plan, tuple[Row, ...]]:
    """Return the plan that rows of work come from, and the rows it keeps; ``moves`` what ``Row.named`` counts through.

    Blocks are told by rounds and by long gaps. A move nobody named is called "Move" and its number.
    """
    if not rows:
        return Plan(title, ()), ()
    units, told = find_rounds(rows)
    parts = _blocks(units, told)
    blocks: list[Block] = []
    for at, part in enumerate(parts):
        after = parts[at + 1] if at + 1 < len(parts) else None
        blocks.append(_block(units, part, moves, _kind(at, part, parts, units), after is not None, len(blocks)))
    lead_s = _rounded(units[0].rows[0].start_s)
    if lead_s > 0:
        blocks.insert(0, Block("Welcome", "talk", length_s=lead_s))
    return Plan(title, tuple(blocks)), tuple(row for unit in units if not unit.hole for row in unit.rows)


def _blocks(units: Sequence[Unit], parts: Sequence[Part]) -> list[Part]:
    """Return the parts with moves that come once put together, up to the next long gap or the next rounds."""
    blocks: list[Part] = []
    for part in parts:
        before = blocks[-1] if blocks else None
        once = part.last - part.first == part.period
        if before and once and before.last - before.first == before.period and gap_before(units, part.first) < BLOCK_GAP_S:
            blocks[-1] = Part(before.first, part.last, part.last - before.first)
        else:
            blocks.append(part)
    return blocks


# --- blocks and moves -----------------------------------------------------------------------------------------------


def _kind(at: int, part: Part, parts: Sequence[Part], units: Sequence[Unit]) -> BlockKind:
    """Return what a block is: moves that come once open and close a class that has more than them."""
    once = part.last - part.first == part.period
    if once and len(parts) > 1 and at == 0:
        return "warm-up"
    return "cool-down" if once and len(parts) > 1 and at == len(parts) - 1 else "main"


def _block(
    units: Sequence[Unit],
    part: Part,
    moves: Sequence[Move],
    kind: BlockKind,
    goes_on: bool,
    number: int,
) -> Block:
    usual_s = mode(_rounded(unit.work_s) for unit in units if not unit.hole)
    period, rounds = part.period, (part.last - part.first) // part.period
    rows: list[Move] = []
    told = _names(pooled(units[part.first : part.last], period), moves)
    for place in range(period):
        at = range(part.first + place, part.last, period)
        known = moves[told[place]] if told[place] >= 0 else Move(f"Move {number + 1}.{place + 1}", 0.0)
        move = _move([units[i] for i in at], known, usual_s)
        rest_s = median(gap_before(units, i + 1) for i in at) if place + 1 < period else 0.0
        rows.append(_apart(replace(move, rest_s=_rounded(rest_s)), rows))
    between = [gap_before(units, i) for i in range(part.first + period, part.last, period)]
    return Block(
        {"warm-up": "Warm-up", "cool-down": "Cool-down"}.get(kind, f"Block {number + 1}"),
        kind,
        rounds=rounds,
        rest_between_rounds_s=_rounded(median(between)) if between else 0.0,
        rest_after_s=_rounded(gap_before(units, part.last)) if goes_on else 0.0,
        moves=tuple(rows),
    )


def _names(named: Floats, moves: Sequence[Move]) -> list[int]:
    """Return the move of each place of a round, -1 where none was named; the surest first, each sooner once than twice.

    ``named`` (places, moves) nats.
    """
    longer = LONGER_NAME * np.array([len(move.name.split()) - 1 for move in moves])
    left = np.where(named > 0.0, named + longer, 0.0) if len(moves) else named
    told = [-1] * len(left)
    while left.size and left.max() > NAMED:
        place, move = np.unravel_index(int(left.argmax()), left.shape)
        told[place] = int(move)
        left[place] = 0.0
        left[:, move] -= REPEATED
    return told


def _apart(move: Move, others: Sequence[Move]) -> Move:
    """Return a move under a name that no other of its block has."""
    taken = {other.name for other in others}
    if move.name not in taken:
        return move
    number = next(n for n in range(2, len(taken) + 3) if f"{move.name} {n}" not in taken)
    return replace(move, name=f"{move.name} {number}", also=(move.name, *move.also))


def _move(units: Sequence[Unit], known: Move, usual_s: float) -> Move:
    """Return a move as it was worked: length, sides."""
    heard = [unit for unit in units if not unit.hole]
    each = sum(len(unit.rows) > 1 or unit.rows[0].turns and known.side == "each" for unit in heard) * 2 >= max(1, len(heard))
    work_s = _length_s([unit.work_s for unit in heard or units], usual_s)
    sides = {row.side for unit in heard for row in unit.rows}
    side: SidePlan = "alternating" if known.side in ("each", "alternating") else "both"
    if each:
        side = "each"
    elif len(sides) == 1 and (only := next(iter(sides))) is not None:
        side = only
    return replace(known, work_s=work_s, side=side, rest_s=0.0)


def _length_s(heard_s: Sequence[float], usual_s: float) -> float:
    """Return the planned length that lengths heard come from: near most of them, sooner one the class often has."""
    likely = {max(STEP_S, _rounded(length)) for length in heard_s} | {usual_s}

    def cost(length_s: float) -> float:
        return sum(min(abs(length_s - heard), ODD_S) for heard in heard_s) + UNUSUAL_S * (length_s != usual_s)

    return min(sorted(likely), key=cost)


def _rounded(seconds: float) -> float:
    return STEP_S * round(seconds / STEP_S)
