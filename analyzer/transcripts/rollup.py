"""Captions that roll up: each line is shown again above the next one. Gives every line once.

Automatic captions of this kind come in pairs: a caption whose last line is new (its words carry inline times), then
one of about 10 ms that holds the finished line. Conversions lose the inline times but keep the repetition.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from analyzer.transcripts.reading import Block

ROLLUP_SHARE = 0.5  # share of captions that repeat the line before, from which the file counts as rolling up
_MIN_BLOCKS = 4


def new_lines(previous: Sequence[str], lines: Sequence[str]) -> list[str]:
    """Return the lines of a caption that the one before did not show yet.

    Both are line lists without markup. A blank last line under a filled one means "held, nothing new"; a blank first
    line means that everything below it is new, even when it reads the same.

    >>> new_lines(["a", "b"], ["b", "c"]), new_lines(["go"], ["go", "go"]), new_lines(["go"], [" ", "go"])
    (['c'], ['go'], ['go'])
    """
    filled = [line for line in lines if line.strip()]
    if len(lines) > 1 and filled:
        if not lines[-1].strip() and lines[0].strip():
            return []
        if not lines[0].strip():
            return filled
    before = [line.strip() for line in previous if line.strip()]
    now = [line.strip() for line in filled]
    for size in range(min(len(before), len(now)), 0, -1):
        if before[-size:] == now[:size]:
            return filled[size:]
    return filled


def drop_repeated_lines(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """Return the blocks with each line once when most of them start with the last line of the one before.

    Blocks are in file order. A file that does not roll up comes back as it is.
    """
    if len(blocks) < _MIN_BLOCKS:
        return blocks
    shown = [block.text.split("\n") for block in blocks]
    stripped = [[line.strip() for line in lines if line.strip()] for lines in shown]
    repeats = sum(1 for before, now in pairwise(stripped) if before and len(now) > 1 and before[-1] in now[:-1])
    holds = sum(1 for before, now in pairwise(stripped) if before and now == before[-1:])
    if repeats + holds < ROLLUP_SHARE * (len(blocks) - 1) or not repeats:
        return blocks
    kept: list[Block] = []
    previous: list[str] = []
    for block, lines in zip(blocks, shown, strict=True):
        fresh = new_lines(previous, lines)
        if fresh:
            kept.append(replace(block, text="\n".join(fresh)))
        previous = lines
    return tuple(kept)
