"""Offers by the groups of phrases alone, their weights added up: for a language without a learnt model."""

from __future__ import annotations

from functools import lru_cache

from analyzer.spotting.option_grammar import DIRECTIONS, STRUCTURE, Direction, Grammar
from analyzer.spotting.option_parts import Part

ENOUGH = 0.99
"""Score of the groups from which words are an offer."""
ENOUGH_BARE = 1.3
"""Enough for a way alone, with neither condition nor permission: that is how the full move is taught, too."""
PLAN_DECIDES = 0.4
"""Added to the direction that the plan foresees when the words fit both."""
PAIR_COST = 0.1
"""Taken off when two sentences must be read together."""
NO_WAY = 0.7
"""Most that the phrases may say where they hear no way to go."""
CONDITIONS = frozenset({"bother", "trouble", "cannot", "choice", "push"})
"""Plain conditions: beside one of them the group "if" counts nothing; a sentence with one may open a pair."""
WAYS = {
    "easier": frozenset(
        {"named-easier", "lessen", "lessen-surely", "lessen-slightly", "undo", "instead", "showing", "place"}
    ),
    "harder": frozenset({"named-harder", "increase", "push"}),
}

WAYS_PLANNED = {
    "easier": frozenset({"lessen", "lessen-surely", "lessen-slightly", "undo"}),
    "harder": frozenset({"increase"}),
}
"""Groups that hear the same words as the plan's own option: the two are not added up."""


def fit_by_groups(parts: tuple[Part, ...], grammar: Grammar) -> tuple[Direction, float] | None:
    """Return the way that one part or two neighbours offer and a score of 0 to 1; None where they offer nothing."""
    base = base_scores(parts[0], grammar) if len(parts) == 1 else base_pair(parts[0], parts[1], grammar)
    easier, harder = base
    planned = [max(part.planned[way] for part in parts) for way in (0, 1)]
    if easier >= ENOUGH and harder >= ENOUGH and planned[0] != planned[1]:
        harder += PLAN_DECIDES if planned[1] > planned[0] else -PLAN_DECIDES
    if max(easier, harder) < ENOUGH:
        return None
    return ("harder" if harder > easier else "easier", min(1.0, max(easier, harder) / 2))


def base_scores(part: Part, grammar: Grammar) -> tuple[float, float]:
    """Return what the phrases say of a sentence by itself, easier and harder; :data:`ENOUGH` is an offer."""
    return _alone(part.groups, part.planned, grammar)


@lru_cache(maxsize=4096)
def _alone(groups: frozenset[str], planned: tuple[float, float], grammar: Grammar) -> tuple[float, float]:
    found = _scores(groups, planned, grammar)
    for at, direction in enumerate(DIRECTIONS):
        if groups <= WAYS_PLANNED[direction] - {"lessen-surely"} | STRUCTURE | {"form", "place"}:
            found[at] -= ENOUGH_BARE - ENOUGH
        if not _has_way(groups, planned, direction):
            found[at] = min(found[at], NO_WAY)
    return found[0], found[1]


def base_pair(left: Part, right: Part, grammar: Grammar) -> tuple[float, float]:
    """Return what the phrases say of two sentences as one. The way must be in the second; an appetite needs none."""
    return _together(left.groups, right.groups, left.planned, right.planned, grammar)


@lru_cache(maxsize=4096)
def _together(
    left: frozenset[str],
    right: frozenset[str],
    foreseen: tuple[float, float],
    planned: tuple[float, float],
    grammar: Grammar,
) -> tuple[float, float]:
    found = _scores(left | right, (max(foreseen[0], planned[0]), max(foreseen[1], planned[1])), grammar)
    eager = {"asked", "push"} <= left
    for at, direction in enumerate(DIRECTIONS):
        found[at] -= PAIR_COST
        if not (left & CONDITIONS and (_has_way(right, planned, direction) or (at == 1 and eager))):
            found[at] = min(found[at], NO_WAY)
    return found[0], found[1]


def _has_way(groups: frozenset[str], planned: tuple[float, float], direction: Direction) -> bool:
    """An offer needs a way to go, not only a condition and a permission."""
    if direction == "easier" and {"bother", "clause"} <= groups:
        return True
    return bool(groups & WAYS[direction]) or planned[DIRECTIONS.index(direction)] > 0


def _scores(groups: frozenset[str], planned: tuple[float, float], grammar: Grammar) -> list[float]:
    """Return what the groups and the plan say for the easier and for the harder way."""
    plain = groups - {"if"} if groups & CONDITIONS else groups
    together = [row for needed, row in grammar.together if needed <= (groups if STRUCTURE & needed else plain)]
    scores: list[float] = []
    for direction, worth in zip(DIRECTIONS, planned, strict=True):
        ways = sum(grammar.weights[group][direction] for group in plain & WAYS_PLANNED[direction])
        total = max(worth, ways + grammar.plan_again * (worth > 0 and ways > 0))
        total += sum(grammar.weights[group][direction] for group in plain - WAYS_PLANNED[direction] - STRUCTURE)
        scores.append(total + sum(row[direction] for row in together))
    return scores
