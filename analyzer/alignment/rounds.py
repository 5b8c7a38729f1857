"""What talk of rounds says: which of them starts, which has ended.

Evidence in nats, shape (m,), m candidates.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analyzer.alignment.candidates import Candidates
from analyzer.alignment.evidence import WEIGHTS, Weights
from analyzer.alignment.graph import Graph
from analyzer.model.events import Events, Mention, MoveRef, Signal
from analyzer.model.plan import Schedule
from analyzer.model.transcript import Bools, Floats

ENDED_S = 25.0  # at most so long after a round's end it is told to be over
EXPLAINED, EXPLAINED_S, EXPLAINED_SCORE = 3, 45.0, 0.6  # moves named shortly before a start, each so clearly

Turn = tuple[int, int]
"""A round of a block of several that a node opens or closes: its number, its block; 0, 0 for none."""


def turns_of(graph: Graph, schedule: Schedule) -> list[tuple[Turn, Turn]]:
    """Return for each node the round that it opens and the one that it closes."""
    blocks = [0 if n.planned is None else schedule.intervals[n.planned].block for n in graph.nodes]
    return [
        ((n.round_opens, block) if n.round_opens else (0, 0), (n.round_closes, block) if n.round_closes else (0, 0))
        for n, block in zip(graph.nodes, blocks, strict=True)
    ]


def round_marks(
    at: Candidates, schedule: Schedule, events: Events, turns: Sequence[tuple[Turn, Turn]], w: Weights
) -> tuple[dict[Turn, Floats], dict[Turn, Floats]]:
    """Return what talk of rounds says about each of those that nodes open starting at each candidate, names told
    before it included; and about each that they close ending there."""
    rounds: dict[int, int] = {}
    for iv in schedule.intervals:
        rounds[iv.block] = max(iv.round, rounds.get(iv.block, 0))
    told = [s for s in events.signals if s.kind == "round"]
    first, last = (dict.fromkeys(turn[k] for turn in turns if turn[k][0]) for k in (0, 1))
    named = {block: explained(at, events.mentions, block) for block in {block for _, block in first}}
    opened = {
        (number, block): round_starts(at, told, number, rounds[block], named[block], w) for number, block in first
    }
    return opened, {(number, block): round_ends(at, told, number, rounds[block], w) for number, block in last}


def explained(at: Candidates, mentions: Sequence[Mention], block: int) -> Bools:
    """Return before which candidates moves of a block were explained: so many different ones named shortly before."""
    told: dict[MoveRef, Bools] = {}
    for mention in mentions:
        for ref in mention.moves:
            if ref[0] == block and mention.score >= EXPLAINED_SCORE:
                named = told.setdefault(ref, np.zeros(len(at), dtype=np.bool_))
                named[at.between(mention.at_s + 1.0, mention.at_s + EXPLAINED_S)] = True
    enough: Bools = np.sum([np.zeros(len(at), dtype=np.int64), *told.values()], axis=0) >= EXPLAINED
    return enough


def round_starts(
    at: Candidates, signals: Sequence[Signal], number: int, rounds: int, named: Bools, w: Weights = WEIGHTS
) -> Floats:
    """Return what talk of rounds says about round ``number`` (from 1) of ``rounds`` starting at each candidate.

    ``named`` (m,): whether the block's moves were explained before. Where several rounds are told before one start, the
    last one told is the one that starts: before it an edit may have cut a round away, and what was explained with it.
    A number that the block does not reach speaks of something else.
    """
    total, told = np.zeros(len(at)), np.zeros(len(at))
    for s in signals:
        said = None if s.number is None else s.number + s.done
        if s.kind != "round" or (said or 0) > rounds:
            continue
        here = at.between(s.at_s - 1.0, s.at_s + 60.0)
        if said is None and not s.final:
            total[here] += (w.round_word if number > 1 else -0.5 * w.round_word) * s.strength
        else:
            told[here] = (w.round_told if number == (said or rounds) else -w.round_told) * s.strength
    first = w.round_explained if number == 1 else -w.round_explained
    return np.clip(total, -1.5 * w.round_word, 1.5 * w.round_word) + np.where(named & (told == 0.0), first, told)


def round_ends(at: Candidates, signals: Sequence[Signal], number: int, rounds: int, w: Weights = WEIGHTS) -> Floats:
    """Return what is told to be over says about round ``number`` (from 1) of ``rounds`` ending at each candidate."""
    told = np.zeros(len(at))
    for s in reversed(signals):  # the first told after an end speaks of it
        if s.done and s.number is not None and s.number <= rounds:
            here = at.between(s.at_s - ENDED_S, s.at_s + 1.0)
            told[here] = (w.round_told if number == s.number else -w.round_told) * s.strength
    return told
