"""The dynamic programme: one best path and the posterior of every boundary.

Conventions. m candidates, sorted by time; log values in nats. A node is entered at candidate b (its start) and left
at candidate c > b (its end). With S(n, b) the best score of any path that starts node n at b, and E(n, c) that ends
it at c::

    S(n, b) = start(n, b) + max over arcs i -> n, a <= b of [ E(i, a) - cost + gap(a, b) ]
    E(n, c) = end(n, c)   + max over b < c            of [ S(n, b) + work(b, c) ]
    best    = max over exits i, a                     of [ E(i, a) - cost + tail(a) ]

Forward-backward is the same with sums for max, in linear scale, each span with a level of its own. Ties: of equal
sources the earliest candidate wins, then the arc listed first. Sums are kept only where they are within ``BEAM`` of a
node's best, so that cost grows with the recording's length times a few minutes, not times its length; kernels
therefore count against what a path usually earns by then. Without that a path that worked one round fewer so far would
look hopeless beside one that worked it, before the rest of the class has spoken.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from analyzer.alignment.kernels import NEG, NOTHING, Blocks, Span, Transfer, Window, cover
from analyzer.model.transcript import Floats, Ints

BEAM = 70.0
FAINTEST = math.exp(-BEAM)
HARDLY = 0.02  # nodes passed with less than this probability get no length

Through = TypeVar("Through", bound=Transfer)
_NONE: tuple[int, Floats] = (0, np.empty(0))


class Way(NamedTuple, Generic[Through]):
    """The arcs into a node that share a kernel: the nodes they come from, and what each arc costs, nats."""

    through: Through
    sources: Ints
    costs: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Problem(Generic[Through]):
    """What is to be decoded, nodes in an order in which every arc points forward.

    ``start[n]``/``end[n]`` shapes (m,): evidence of each node's start and end; ``work[n]`` kernel of node n;
    ``ways[n]`` those that lead into it; ``entries``/``exits`` the nodes a path may begin and end with, and what that
    costs; ``lead``/``tail`` shapes (m,): log prior of the first start and the last end there; ``time_s`` (m,): the
    candidates' times; ``start_window[n]``/``end_window[n]`` the candidates that a node may start or end at.
    """

    start: Sequence[Floats]
    end: Sequence[Floats]
    work: Sequence[Through]
    ways: Sequence[Sequence[Way[Through]]]
    entries: Sequence[tuple[int, float]]
    exits: Sequence[tuple[int, float]]
    lead: Floats
    tail: Floats
    time_s: Floats
    start_window: Sequence[Window]
    end_window: Sequence[Window]


@dataclass(frozen=True, slots=True)
class Step:
    """One node of the best path with the candidates of its start and end."""

    node: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Posterior probabilities: ``start[n]``/``end[n]`` are (low, array) pairs over candidates from ``low`` on.

    ``length`` (nodes, 3): the posterior sums of 1, length and length squared over each node's (start, end) pairs,
    lengths in seconds; zeros for nodes that are hardly passed.
    """

    start: tuple[tuple[int, Floats], ...]
    end: tuple[tuple[int, Floats], ...]
    length: Floats
    log_total: float


def best_path(problem: Problem[Blocks]) -> tuple[tuple[Step, ...], float]:
    """Return the one best path and its score; empty when no path exists."""
    entries = dict(problem.entries)
    ends: list[Floats] = []  # over each node's window
    back_start: list[tuple[Ints, Ints]] = []  # source node, source candidate
    back_end: list[Ints] = []  # start candidate
    for n, work in enumerate(problem.work):
        here, there = slice(*problem.start_window[n]), slice(*problem.end_window[n])
        score, node_from, cand_from = _best_in(problem, ends, n)
        if n in entries:
            lead = problem.lead[here] - entries[n]
            node_from[lead > score] = -1
            score = np.maximum(score, lead)
        values, source = work.best(score + problem.start[n][here])
        back_start.append((node_from, cand_from))
        back_end.append(source)
        ends.append(values + problem.end[n][there])
    return _trace(problem, ends, back_start, back_end)


def _best_in(problem: Problem[Blocks], ends: Sequence[Floats], n: int) -> tuple[Floats, Ints, Ints]:
    """Return the best score of any way into node ``n`` at its window, its source node and source candidate."""
    size = problem.start_window[n][1] - problem.start_window[n][0]
    score, node, cand = np.full(size, NEG), np.full(size, -1), np.full(size, -1)
    for way in problem.ways[n]:
        low, high = way.through.sources
        if low == high:
            continue
        best, who = np.full(high - low, NEG), np.full(high - low, -1)
        for source, cost in zip(way.sources.tolist(), way.costs.tolist(), strict=True):
            first, last = problem.end_window[source]
            _raise(best[first - low : last - low], ends[source] - cost, (who[first - low : last - low], source))
        values, at = way.through.best(best)
        _raise(score, values, (node, who[at - low]), (cand, at))
    return score, node, cand


def _raise(score: Floats, values: Floats, *notes: tuple[Ints, Ints | int]) -> None:
    """Put values in place of what is lower, and notes beside them."""
    better = values > score
    np.copyto(score, values, where=better)
    for kept, new in notes:
        np.copyto(kept, new, where=better)


def _trace(
    problem: Problem[Blocks],
    ends: Sequence[Floats],
    back_start: Sequence[tuple[Ints, Ints]],
    back_end: Sequence[Ints],
) -> tuple[tuple[Step, ...], float]:
    best, node, cand = NEG, -1, -1
    for source, cost in problem.exits:
        total = ends[source] - cost + problem.tail[slice(*problem.end_window[source])]
        k = int(total.argmax()) if len(total) else -1
        if k >= 0 and total[k] > best:
            best, node, cand = float(total[k]), source, problem.end_window[source][0] + k
    steps: list[Step] = []
    while node >= 0:
        begin = int(back_end[node][cand - problem.end_window[node][0]])
        steps.append(Step(node, begin, cand))
        nodes, cands = back_start[node]
        k = begin - problem.start_window[node][0]
        node, cand = int(nodes[k]), int(cands[k])
    return tuple(reversed(steps)), best


def posterior(problem: Problem[Through], lengths: bool = True) -> Posterior:
    """Return the posterior of every node's start and end by forward-backward; without ``lengths`` those stay zero.

    Where no path leads through the recording, ``log_total`` is minus infinity and nothing has a chance.
    """
    count = len(problem.work)
    begins, stops = _linear(problem.start), _linear(problem.end)
    starts, ends = _forward(problem, begins, stops)
    total = _log_total(problem, ends)
    gamma_start, gamma_end, length = [_NONE] * count, [_NONE] * count, np.zeros((count, 3))
    onward, after = _onward(problem)
    for n in range(count - 1, -1, -1) if math.isfinite(total) else ():
        start, end, work = starts[n], ends.span(n), problem.work[n]
        leaving = after.sum(*onward[n], end.window)
        gamma_end[n] = end.low, _chance(end, leaving, total)
        closing = _times(leaving, stops[n])
        going = _cut(work.back(closing, start.window), start.window)
        gamma_start[n] = start.low, _chance(start, going, total)
        ready = _trimmed(_times(going, begins[n]))
        for way in problem.ways[n]:
            after.put(way.through.back(ready, ends.cover(way.sources)))
        if lengths and gamma_start[n][1].sum() > HARDLY:
            length[n] = _length_sums(work, problem.time_s, start, going, closing, total)
    return Posterior(tuple(gamma_start), tuple(gamma_end), length, total)


def _onward(problem: Problem[Through]) -> tuple[list[tuple[Ints, Floats]], _Shelf]:
    """Return the shelf for what may follow the nodes' ends: the class's end, then the ways into each node, last node
    first. For each node the places there of what may follow it, and what that costs."""
    ways = [way for into in reversed(problem.ways) for way in into]
    after = _Shelf(len(ways) + 1, len(problem.time_s))
    after.put(_scaled(problem.tail))
    places: list[list[tuple[int, float]]] = [[] for _ in problem.work]
    for source, cost in problem.exits:
        places[source].append((0, cost))
    for k, way in enumerate(ways, 1):
        for source, cost in zip(way.sources.tolist(), way.costs.tolist(), strict=True):
            places[source].append((k, cost))
    return [(np.array([k for k, _ in some], int), np.array([cost for _, cost in some])) for some in places], after


def _forward(problem: Problem[Through], begins: Sequence[Floats], stops: Sequence[Floats]) -> tuple[list[Span], _Shelf]:
    """Return the forward scores of starting and of ending each node, with the evidence for that, in linear scale."""
    lead, entries = _scaled(problem.lead), dict(problem.entries)
    starts: list[Span] = []
    ends = _Shelf(len(problem.work), len(problem.time_s))
    for n, work in enumerate(problem.work):
        parts: list[Span] = []
        for way in problem.ways[n]:
            left = ends.sum(way.sources, way.costs, ends.cover(way.sources))
            parts.append(way.through.forward(left))
        if n in entries:
            within = _cut(lead, problem.start_window[n])
            parts.append(Span(within.low, within.values, within.level - entries[n]))
        starts.append(_trimmed(_times(_together(parts), begins[n])))
        ends.put(_trimmed(_times(work.forward(starts[n]), stops[n])))
    return starts, ends


class _Shelf:
    """Spans side by side, so that many can be added up at once."""

    def __init__(self, count: int, m: int) -> None:
        self._rows = np.zeros((count, m))  # hardly ever touched but where spans are
        self._level = np.full(count, NEG)
        self._windows: list[Window] = []

    def put(self, span: Span) -> None:
        """Add the next span."""
        k = len(self._windows)
        self._rows[k, slice(*span.window)] = span.values
        if len(span.values):
            self._level[k] = span.level
        self._windows.append(span.window)

    def span(self, k: int) -> Span:
        """Return one of the spans."""
        window = self._windows[k]
        return Span(window[0], self._rows[k, slice(*window)], float(self._level[k]))

    def cover(self, which: Ints) -> Window:
        """Return the window that covers some spans."""
        return cover([self._windows[k] for k in which.tolist()])

    def sum(self, which: Ints, costs: Floats, window: Window) -> Span:
        """Return the sum of some spans over a window, each lessened by its cost in nats."""
        level = self._level[which] - costs
        top = float(level.max()) if len(level) else NEG
        shares = np.exp(level - top) if top > NEG else np.zeros(len(level))
        return Span(window[0], shares @ self._rows[which, slice(*window)], top)


def _length_sums(work: Transfer, time_s: Floats, start: Span, going: Span, closing: Span, total: float) -> Floats:
    """Return the posterior sums of 1, length and length squared of a node.

    ``going`` and ``closing`` are its backward scores of starting, and of ending with the evidence for that.
    """
    since = time_s - time_s[start.low]
    begun, ended = since[slice(*start.window)], since[slice(*closing.window)]
    once, twice = (
        _cut(work.back(Span(closing.low, closing.values * power, closing.level), start.window), start.window).values
        for power in (ended, ended * ended)
    )
    none = going.values
    sums = (none, once - begun * none, twice - 2.0 * begun * once + begun * begun * none)
    scale = math.exp(start.level + going.level - total)
    return np.array([scale * float(start.values @ each) for each in sums])


def _log_total(problem: Problem[Through], ends: _Shelf) -> float:
    """Return the log of the sum over all paths."""
    last, costs = np.array([n for n, _ in problem.exits], int), np.array([cost for _, cost in problem.exits])
    tail = _scaled(problem.tail)
    whole = _times(ends.sum(last, costs, ends.cover(last)), tail.values)
    mass = float(whole.values.sum())
    return whole.level + tail.level + math.log(mass) if mass > 0.0 else NEG


def _chance(one: Span, other: Span, total: float) -> Floats:
    """Return the posterior from the forward and the backward scores of the same candidates."""
    values: Floats = one.values * other.values
    return values * math.exp(one.level + other.level - total) if len(values) else values


def _linear(rows: Iterable[Floats]) -> list[Floats]:
    """Return rows of evidence in linear scale; nodes that are alike share theirs."""
    kept = list(rows)
    made = {id(row): np.exp(row) for row in kept}
    return [made[id(row)] for row in kept]


def _scaled(values: Floats) -> Span:
    """Return log values over all candidates as a span, its largest value one."""
    top = float(values.max())
    return Span(0, np.exp(values - top), top)


def _times(span: Span, gains: Floats) -> Span:
    """Return a span times what each candidate gains, (m,)."""
    return Span(span.low, span.values * gains[slice(*span.window)], span.level)


def _cut(span: Span, window: Window) -> Span:
    """Return a span over a window, nothing where it does not reach."""
    values = np.zeros(window[1] - window[0])
    first, last = max(span.low, window[0]), min(span.low + len(span.values), window[1])
    if first < last:
        values[first - window[0] : last - window[0]] = span.values[first - span.low : last - span.low]
    return Span(window[0], values, span.level)


def _trimmed(span: Span) -> Span:
    """Cut a span to where it is within the beam of its best, that one made one; empty when nothing is reachable."""
    low, values, level = span
    top = float(values.max()) if len(values) else 0.0
    if not top > 0.0:
        return NOTHING
    alive = values > top * FAINTEST
    a, b = int(alive.argmax()), len(alive) - int(alive[::-1].argmax())
    return Span(low + a, values[a:b] / top, level + math.log(top))


def _together(parts: Sequence[Span]) -> Span:
    """Return the sum of a few spans."""
    live = [span for span in parts if len(span.values)]
    if len(live) < 2:
        return live[0] if live else NOTHING
    low, high = cover([span.window for span in live])
    top = max(span.level for span in live)
    total = np.zeros(high - low)
    for span in live:
        total[span.low - low : span.low - low + len(span.values)] += span.values * math.exp(span.level - top)
    return Span(low, total, top)
