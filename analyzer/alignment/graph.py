"""The states the alignment may pass through: planned intervals, and the ways a recording strays from the plan.

A node is a planned interval in one copy of the plan's order; an arc is the gap between two nodes with its planned
length and the cost, in nats, of straying. Copies: ``plan`` (the order written), ``sides`` (the halves of an ``each``
move the other way round), ``first``/``other`` (one of the halves alone), ``swap`` (two neighbouring moves exchanged),
``blocks`` (two neighbouring blocks exchanged), ``extra`` (something worked that the plan does not have). For a second
look each has a twin for work that was broken off while the clock ran on (``due_s``). The graph has no cycle; nodes are
listed in an order in which every arc points forward.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from analyzer.model.events import Mention, MoveRef
from analyzer.model.plan import Plan, PlannedInterval, Schedule, Side

START, END = -1, -2

# What straying costs, in nats (common practice, no source; set in 2026-11). A cost is about the log odds that a class
# does this at a given place: one move in a thousand left out, a round as seldom, and so on.
COST_MISSING = 7.0
COST_LOST_ROUND = 8.0
COST_MORE_ROUNDS = 4.0  # each further round lost in the same cut
COST_LOST_MOVE = 0.5  # each move of a lost round: one event, not the sum of its moves
COST_EARLIER_ROUND = 0.6  # of like rounds, call the last one lost: those that are there came one after the other
COST_LATE_START = 5.0  # anything left out at the very start: where there is room for it, it is there, badly marked
COST_CUT = 10.0  # an edit that takes material from mid-round to mid-round
COST_SWAP = 5.0
COST_BLOCKS = 6.0
COST_SIDES = 0.7
COST_ONE_SIDE = 4.0  # an ``each`` move worked on one side only
COST_EXTRA = 8.5
COST_HALT = 3.0  # something comes between in one interval of twenty, of those with a break after them that gives way
BREAK_S = 3.0
HEARD_SCORE = 0.6  # names heard worse than this do not make an exchange possible
MAX_SKIP = 24


@dataclass(frozen=True, slots=True)
class Node:
    """One state. ``planned`` index into the schedule, or None for extra work; ``length_s`` its prior length."""

    planned: int | None
    copy: str
    length_s: float
    side: Side | None
    second: bool
    round_opens: int
    """Round number when this opens a round of a block of several, else 0."""
    round_closes: int
    """Round number when this is the last work of such a round, else 0."""
    unit: tuple[int, ...] = ()
    """Schedule indexes of the move's intervals in this round (two for ``each``)."""
    due_s: float | None = None
    """Of work that something came between: when it was due to end. What follows keeps to that, as the clock ran on."""

    @property
    def opening_cost(self) -> float:
        """The cost of the variant that this node opens, nats."""
        if self.second:
            return 0.0
        return {"sides": COST_SIDES, "first": COST_ONE_SIDE, "other": COST_ONE_SIDE}.get(
            self.copy.rpartition("-")[2], 0.0
        )


class Arc(NamedTuple):
    """The ways from every one of some nodes to every one of some later ones: the variants of two moves.

    ``talk`` True where the gap holds a demo or talk block.
    """

    sources: tuple[int, ...]
    targets: tuple[int, ...]
    gap_s: float
    talk: bool
    cost: float
    loose: bool
    """True when the plan says little about this gap (something was skipped or strayed)."""
    opens: bool
    """True when what a target opens costs too."""


@dataclass(frozen=True, slots=True)
class Graph:
    """Nodes in topological order and the arcs between them; START and END stand alone in an arc."""

    nodes: tuple[Node, ...]
    arcs: tuple[Arc, ...]

    def only(self, keep: Sequence[int]) -> Graph:
        """Return the graph of some nodes (ascending) and the arcs between them."""
        place = {old: new for new, old in enumerate(keep)} | {START: START, END: END}
        return Graph(tuple(self.nodes[k] for k in keep), _moved(self.arcs, place))

    def with_halts(self, started_s: Mapping[int, float]) -> tuple[Graph, tuple[int, ...]]:
        """Return the graph with a second node beside each planned one that is known to start at a time and has a break
        after it, for work that something came between; and, for every node, which of this graph's it is."""
        gives_way = {k for a in self.arcs if not a.loose and a.gap_s >= BREAK_S for k in a.sources}
        place: dict[int, int] = {START: START, END: END}
        halted: dict[int, int] = {}
        nodes: list[Node] = []
        was: list[int] = []
        for k, node in enumerate(self.nodes):
            place[k] = len(nodes)
            nodes.append(node)
            was.append(k)
            if node.planned is not None and node.planned in started_s and k in gives_way:
                halted[k] = len(nodes)
                nodes.append(replace(node, due_s=started_s[node.planned] + node.length_s))
                was.append(k)
        arcs: list[Arc] = []
        for arc in self.arcs:
            targets = tuple(sorted([new[k] for k in arc.targets for new in (place, halted) if k in new]))
            arcs.append(Arc(tuple([place[k] for k in arc.sources]), targets, *arc[2:]))
            if not arc.loose and arc.gap_s >= BREAK_S:
                halts = [halted[k] for k in arc.sources if k in halted]
                arcs += [arc._replace(sources=(k,), targets=targets, cost=arc.cost + COST_HALT) for k in halts]
        return Graph(tuple(nodes), tuple(arcs)), tuple(was)

    def without_skips_over(self, certain: AbstractSet[int]) -> Graph:
        """Return the graph less the arcs in the planned order that leave out one of the ``certain`` intervals."""
        last = max((n.planned for n in self.nodes if n.planned is not None), default=-1) + 1
        units = {
            k: (n.unit[0], n.unit[-1])
            for k, n in enumerate(self.nodes)
            if n.planned is not None and n.copy.startswith("plan")
        } | {START: (-1, -1), END: (last, last)}

        def possible(a: Arc) -> bool:
            source, target = a.sources[0], a.targets[0]  # variants of one move leave out the same
            if source not in units or target not in units:
                return True
            return certain.isdisjoint(range(units[source][1] + 1, units[target][0]))

        return Graph(self.nodes, tuple(a for a in self.arcs if possible(a)))


def _moved(arcs: Iterable[Arc], place: Mapping[int, int]) -> tuple[Arc, ...]:
    """Return the arcs between nodes that have a new place, there."""
    moved = []
    for arc in arcs:
        sources = tuple([place[k] for k in arc.sources if k in place])
        if sources and (targets := tuple([place[k] for k in arc.targets if k in place])):
            moved.append(Arc(sources, targets, *arc[2:]))
    return tuple(moved)


@dataclass(frozen=True, slots=True)
class _Unit:
    """The intervals of one move in one round (two for ``each``), as schedule indexes; ``turn`` counts the rounds of
    all blocks from 0."""

    block: int
    round: int
    indexes: tuple[int, ...]
    turn: int


def _units(intervals: Sequence[PlannedInterval]) -> list[_Unit]:
    units: list[_Unit] = []
    for iv in intervals:
        last = units[-1] if units else None
        if last and iv.order_free and len(last.indexes) == 1 and intervals[last.indexes[0]].order_free:
            before = intervals[last.indexes[0]]
            if (before.block, before.round, before.move) == (iv.block, iv.round, iv.move):
                units[-1] = replace(last, indexes=(*last.indexes, iv.index))
                continue
        turn = 0 if last is None else last.turn + ((last.block, last.round) != (iv.block, iv.round))
        units.append(_Unit(iv.block, iv.round, (iv.index,), turn))
    return units


class _Builder:
    """Collects nodes and arcs; nodes get their final order at the end."""

    def __init__(self, plan: Plan, schedule: Schedule, heard: Heard | None) -> None:
        self.plan, self.schedule, self.heard = plan, schedule, heard
        self.intervals = schedule.intervals
        self.nodes: list[Node] = []
        self.rank: list[float] = []
        self.arcs: list[Arc] = []

    def nodes_of(self, unit: _Unit, order: Sequence[int], copy: str, rank: float) -> list[int]:
        """Add the nodes of one way to work a unit: its intervals in this order."""
        numbered = unit.round if self.plan.blocks[unit.block].rounds > 1 else 0
        first, last = (
            not 0 <= k < len(self.intervals)
            or (self.intervals[k].block, self.intervals[k].round) != (unit.block, unit.round)
            for k in (unit.indexes[0] - 1, unit.indexes[-1] + 1)
        )
        for at, index in enumerate(order):
            opens = numbered if first and at == 0 else 0
            closes = numbered if last and at == len(order) - 1 else 0
            iv = self.intervals[index]
            self.nodes.append(Node(index, copy, iv.work_s, iv.side, at > 0, opens, closes, unit.indexes))
            self.rank.append(rank + 0.01 * at)
        return list(range(len(self.nodes) - len(order), len(self.nodes)))

    def arc(
        self,
        sources: tuple[int, ...],
        targets: tuple[int, ...],
        gap_s: float,
        talk: bool,
        cost: float = 0.0,
        loose: bool = False,
        opens: bool = False,
    ) -> None:
        self.arcs.append(Arc(sources, targets, gap_s, talk, cost, loose, opens))

    def gap(self, before: int, after: int) -> tuple[float, bool]:
        """Return the planned gap between two schedule indexes that follow each other in the recording."""
        iv = self.intervals[before]
        if after == before + 1:
            return iv.rest_s, self.intervals[after].demo_s > 0
        own = self.intervals[before + 1].demo_s if before + 1 < len(self.intervals) else 0.0
        demo = self.intervals[after].demo_s
        return max(iv.rest_s - own, 0.0) + demo, demo > 0


def _add_chain(build: _Builder, units: Sequence[_Unit], copy: str, base: float) -> list[tuple[int, int, _Unit]]:
    """Add units in the given order, both side orders; return (entry, exit) pairs per variant with their unit."""
    out = []
    step = 0.0
    for unit in units:
        orders = {"": unit.indexes}
        if len(unit.indexes) > 1:
            orders["-sides"] = unit.indexes[::-1]
            if copy == "plan":
                orders |= {"-first": unit.indexes[:1], "-other": unit.indexes[1:]}
        for kind, order in orders.items():
            tag = copy + kind
            ids = build.nodes_of(unit, order, tag, base + step)
            for a, b in pairwise(ids):
                build.arc((a,), (b,), build.intervals[unit.indexes[0]].rest_s, False)
            out.append((ids[0], ids[-1], unit))
        step += 1.0
    return out


Variant = tuple[int, int, _Unit]


class _Variants(NamedTuple):
    """The ways to work one unit: the nodes each begins with, and those each ends with."""

    unit: _Unit
    entries: tuple[int, ...]
    exits: tuple[int, ...]


def _link(build: _Builder, before: _Variants, after: _Variants, cost: float) -> None:
    """Join every variant of one unit to every variant of another."""
    gap, talk = build.gap(max(before.unit.indexes), min(after.unit.indexes))
    build.arc(before.exits, after.entries, gap, talk, cost, False, True)


def _skip_cost(units: Sequence[_Unit], before: int, after: int) -> float:
    """Return the cost of leaving out the units strictly between two places (-1 = the class's start)."""
    gone = after - before - 1
    if not gone:
        return 0.0
    singles = COST_MISSING * gone
    first, last = units[before + 1], units[after - 1]
    opens = after == len(units) or last.turn != units[after].turn
    closes = before < 0 or units[before].turn != first.turn
    again = after < len(units) and units[after].block == first.block and units[after].round > last.round
    tie = COST_EARLIER_ROUND if again else 0.0
    whole = COST_LOST_ROUND if opens and closes else COST_LOST_ROUND + 1.5 if opens or closes else COST_CUT
    more = COST_MORE_ROUNDS * (last.turn - first.turn)
    return min(singles, whole + more + COST_LOST_MOVE * gone + tie)


def _planned_gap(build: _Builder, units: Sequence[_Unit], before: int, after: int) -> tuple[float, bool, bool]:
    """Return the gap expected between two units, whether it holds talk, and whether the plan says little about it.

    Where whole rounds are left out of a block, the gap planned after them is expected; before them, where they open it.
    """
    one, other, first, last = units[before], units[after], units[before + 1], units[after - 1]
    whole = after > before + 1 and one.turn != first.turn and last.turn != other.turn
    if whole and one.block == first.block:
        return *build.gap(max(last.indexes), min(other.indexes)), False
    if whole and last.block == other.block:
        return *build.gap(max(one.indexes), min(first.indexes)), False
    return *build.gap(max(one.indexes), min(other.indexes)), after > before + 1


def _variants(chain: Sequence[Variant]) -> dict[int, _Variants]:
    by_unit: dict[int, list[Variant]] = {}
    for variant in chain:
        by_unit.setdefault(variant[2].indexes[0], []).append(variant)
    return {
        k: _Variants(some[0][2], tuple([entry for entry, _, _ in some]), tuple([exit_ for _, exit_, _ in some]))
        for k, some in by_unit.items()
    }


Heard = Mapping[MoveRef, Sequence[float]]


def heard_times(mentions: Sequence[Mention]) -> dict[MoveRef, list[float]]:
    """Return when each planned move was named, demos and what is over left out, seconds, ascending."""
    times: dict[MoveRef, list[float]] = {}
    for mention in mentions:
        if mention.score >= HEARD_SCORE and mention.context in ("plain", "preview"):
            for ref in mention.moves:
                times.setdefault(ref, []).append(mention.at_s)
    return {ref: sorted(at) for ref, at in times.items()}


def build_graph(plan: Plan, schedule: Schedule, heard: Heard | None = None) -> Graph:
    """Return the graph of a schedule with at least one interval.

    With ``heard`` (when each move was named), an exchange of moves or blocks is a state only where names were heard
    in that order: nothing else could speak for it.
    """
    build = _Builder(plan, schedule, heard)
    units = _units(schedule.intervals)
    main = _variants(_add_chain(build, units, "plan", 0.0))
    chain = [main[u.indexes[0]] for u in units]
    _add_ends(build, units, chain)
    for i in range(len(units)):
        for j in range(i + 1, min(i + 2 + MAX_SKIP, len(units))):
            gap_s, talk, loose = _planned_gap(build, units, i, j)
            build.arc(chain[i].exits, chain[j].entries, gap_s, talk, _skip_cost(units, i, j), loose, True)
    _add_swaps(build, units, chain)
    _add_blocks(build, units, chain)
    _add_extras(build, units, chain)
    return _sorted(build)


def _add_ends(build: _Builder, units: Sequence[_Unit], chain: Sequence[_Variants]) -> None:
    """Join the class's start and end to the units they may touch, with the cost of what is left out."""
    schedule = build.schedule
    for j in range(min(MAX_SKIP, len(units))):
        cost = _skip_cost(units, -1, j) + (COST_LATE_START if j else 0.0)
        build.arc((START,), chain[j].entries, schedule.lead_s, True, cost, True, True)
    for i in range(max(0, len(units) - MAX_SKIP), len(units)):
        build.arc(chain[i].exits, (END,), schedule.tail_s, True, _skip_cost(units, i, len(units)), True)


def _attach(
    build: _Builder, chain: Sequence[_Variants], before: int, inner: list[_Variants], after: int, cost: float
) -> None:
    """Hang a strayed chain between the units ``before`` and ``after`` of the plan (out of range = start or end)."""
    schedule = build.schedule
    if before >= 0:
        _link(build, chain[before], inner[0], cost)
    else:
        build.arc((START,), inner[0].entries, schedule.lead_s, True, cost, True)
    for a, b in pairwise(inner):
        _link(build, a, b, 0.0)
    if after < len(chain):
        _link(build, inner[-1], chain[after], 0.0)
    else:
        build.arc(inner[-1].exits, (END,), schedule.tail_s, True, 0.0, True)


def _named_in_turn(build: _Builder, one: _Unit, two: _Unit) -> bool:
    """Tell whether the move of ``one`` was named, and that of ``two`` about one interval later."""
    if build.heard is None:
        return True
    refs = [(u.block, build.intervals[u.indexes[0]].move) for u in (one, two)]
    turn = sum(build.intervals[i].work_s for i in one.indexes) + build.intervals[one.indexes[-1]].rest_s
    first, second = (build.heard.get(ref, ()) for ref in refs)
    for a in first:
        soonest = bisect_left(second, 0.4 * turn, key=lambda b: b - a)
        if soonest < len(second) and second[soonest] - a <= 1.9 * turn + 10.0:
            return True
    return False


def _blocks_in_turn(build: _Builder, one: int, two: int) -> bool:
    """Tell whether the moves of block ``one`` were mostly named before those of block ``two``."""
    if build.heard is None:
        return True
    times = [[at for ref, some in build.heard.items() if ref[0] == block for at in some] for block in (one, two)]
    return bool(times[0]) and bool(times[1]) and median(times[0]) < median(times[1])


def _add_swaps(build: _Builder, units: Sequence[_Unit], chain: Sequence[_Variants]) -> None:
    for i in range(len(units) - 1):
        a, b = units[i], units[i + 1]
        if (a.block, a.round) != (b.block, b.round) or not _named_in_turn(build, b, a):
            continue
        pair = _variants(_add_chain(build, [b, a], f"swap{i}", i + 0.3))
        _attach(build, chain, i - 1, [pair[b.indexes[0]], pair[a.indexes[0]]], i + 2, COST_SWAP)


def _add_blocks(build: _Builder, units: Sequence[_Unit], chain: Sequence[_Variants]) -> None:
    """Add exchanged copies of neighbouring main blocks."""
    spans: list[tuple[int, int, int]] = []
    for i, unit in enumerate(units):
        if spans and spans[-1][0] == unit.block:
            spans[-1] = (unit.block, spans[-1][1], i + 1)
        else:
            spans.append((unit.block, i, i + 1))
    for (block_a, a0, a1), (block_b, b0, b1) in pairwise(spans):
        if build.plan.blocks[block_a].kind != "main" or build.plan.blocks[block_b].kind != "main":
            continue
        if not _blocks_in_turn(build, block_b, block_a):
            continue
        order = [*units[b0:b1], *units[a0:a1]]
        scale = 0.9 / len(order)
        built = _add_chain(build, order, f"blocks{block_a}", 0.0)
        for node in range(built[0][0], len(build.nodes)):
            build.rank[node] = a0 - 0.95 + scale * build.rank[node]
        pair = _variants(built)
        _attach(build, chain, a0 - 1, [pair[u.indexes[0]] for u in order], b1, COST_BLOCKS)


def _add_extras(build: _Builder, units: Sequence[_Unit], chain: Sequence[_Variants]) -> None:
    """After each unit allow one unplanned interval of about the length of its neighbours' work."""
    for i, unit in enumerate(units):
        length = build.plan.blocks[unit.block].moves[build.intervals[unit.indexes[0]].move].work_s
        build.nodes.append(Node(None, "extra", length, None, False, 0, 0))
        build.rank.append(i + 0.6)
        extra = len(build.nodes) - 1
        rest = build.intervals[unit.indexes[-1]].rest_s
        build.arc(chain[i].exits, (extra,), rest, rest > 30.0, COST_EXTRA)
        if i + 1 < len(units):
            build.arc((extra,), chain[i + 1].entries, rest, rest > 30.0)
        else:
            build.arc((extra,), (END,), build.schedule.tail_s, True, 0.0, True)


def _sorted(build: _Builder) -> Graph:
    """Renumber nodes topologically."""
    order = sorted(range(len(build.nodes)), key=lambda k: (build.rank[k], k))
    place = {old: new for new, old in enumerate(order)} | {START: START, END: END}
    arcs = _moved(build.arcs, place)
    if any(max(a.sources) >= min(a.targets) for a in arcs if a.targets != (END,)):
        raise AssertionError("the alignment graph has a backward arc")
    return Graph(tuple(build.nodes[k] for k in order), arcs)
