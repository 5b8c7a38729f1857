"""A looser recording of a written class: work and rests slip as people's do, calls and counts stay as they are."""

from __future__ import annotations

import math
from copy import deepcopy
from random import Random

from tests.written.script import MIN_PAUSE_S, CrowdedError, Line, Script, place

SLIP_SHARE = 0.18  # of work, by SLIP_S; two in three run over
SLIP_S = (6.0, 14.0)
HUMAN_S, REST_SPREAD = 1.0, 0.3
TRIES = 200


def loosened(script: Script, seed: str) -> Script:
    """Return the script placed with slips; lines that hang on a mark keep their distance from it."""
    loose = deepcopy(script)
    rng = Random(f"loose {seed}")
    hang(script, loose)
    for line in loose.lines:
        line.start_s = None
        if line.when[0] == "=":
            line.when = f"={slipped(rng, float(line.when[1:]), line.marks[0][0] == ']'):.1f}"
    for _ in range(TRIES):
        try:
            place(loose.lines)
        except CrowdedError as error:
            give_room(loose.lines, error)
        else:
            return loose
    raise ValueError("no room found")


def hang(placed: Script, loose: Script) -> None:
    """Hang lines that have a time of their own, but the first, on the mark before them."""
    mark_s = None
    for line, copy in zip(placed.lines, loose.lines, strict=True):
        if ":" in line.when and not line.marks and mark_s is not None:
            copy.when = f"+{(line.start_s or 0.0) - mark_s:.1f}"
        if line.marks:
            mark_s = (line.start_s or 0.0) + line.marks[-1][1]


def slipped(rng: Random, length_s: float, work: bool) -> float:
    """Return another length for work, or for a rest."""
    if not work:
        return max(0.3, length_s * math.exp(rng.gauss(0.0, REST_SPREAD)))
    if rng.random() < SLIP_SHARE:
        slip = rng.uniform(*SLIP_S)
        return length_s + slip if rng.random() < 2 / 3 else max(0.6 * length_s, length_s - slip)
    return length_s + rng.gauss(0.0, HUMAN_S)


def give_room(lines: list[Line], error: CrowdedError) -> None:
    """Lengthen what the crowded lines stand in, and take every time back."""
    target = next(line for line in lines[error.index :] if line.when[0] in "=+")
    target.when = f"{target.when[0]}{float(target.when[1:]) + error.surplus_s + MIN_PAUSE_S:.1f}"
    for line in lines:
        line.start_s = None
