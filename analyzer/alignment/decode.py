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

BEAM = 300.0  # nats: a round with many counts earns a hundred, and a path one round short must not be lost from sight
FAINTEST = math.exp(-BEAM)
LARGEST = 700.0  # nats that a number can hold
HARDLY = 0.02  # nodes passed with less than this probability get no length

Through = TypeVar("Through", bound=Transfer)
Nodes = tuple[int, ...]
_NONE: tuple[int, Floats] = (0, np.empty(0))


class Way(NamedTuple, Generic[Through]):
    """The arcs that share a kernel between the nodes ``sources`` and each of some later ones: a path is the same
    whichever of them it takes, but for the costs, nats.

    ``sources``: several nodes each, with what it costs to come from any of them; ``targets``: a node each, with what
    it costs to go there.
    """

    through: Through
    sources: tuple[tuple[Nodes, float], ...]
    targets: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Problem(Generic[Through]):
    """What is to be decoded, nodes in an order in which every arc points forward.

    ``start[n]``/``end[n]`` shapes (m,): evidence of each node's start and end; ``work[n]`` kernel of node n;
    ``ways`` between nodes; ``entries``/``exits`` the nodes a path may begin and end with, and what that costs;
    ``lead``/``tail`` shapes (m,): log prior of the first start and the last end there; ``time_s`` (m,): the
    candidates' times; ``start_window[n]``/``end_window[n]`` the candidates that a node may start or end at.
    """

    start: Sequence[Floats]
    end: Sequence[Floats]
    work: Sequence[Through]
    ways: Sequence[Way[Through]]
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
    entries, into = dict(problem.entries), _into(problem)
    ends: list[Floats] = []  # over each node's window
    back_start: list[tuple[Ints, Ints]] = []  # source node, source candidate
    back_end: list[Ints] = []  # start candidate
    passed: dict[int, tuple[Floats, Ints, Ints]] = {}
    for n, work in enumerate(problem.work):
        here, there = slice(*problem.start_window[n]), slice(*problem.end_window[n])
        score = np.full(here.stop - here.start, NEG)
        node, cand = np.full(len(score), -1), np.full(len(score), -1)
        for k, cost in into[n]:
            if k not in passed:
                passed[k] = _best_through(problem, ends, problem.ways[k])
            low = problem.ways[k].through.targets[0]
            part = slice(here.start - low, here.stop - low)
            values, nodes, cands = passed[k]
            _raise(score, values[part] - cost, (node, nodes[part]), (cand, cands[part]))
        if n in entries:
            _raise(score, problem.lead[here] - entries[n], (node, -1))
        values, source = work.best(score + problem.start[n][here])
        back_start.append((node, cand))
        back_end.append(source)
        ends.append(values + problem.end[n][there])
    return _trace(problem, ends, back_start, back_end)


def _best_through(problem: Problem[Blocks], ends: Sequence[Floats], way: Way[Blocks]) -> tuple[Floats, Ints, Ints]:
    """Return the best score of coming a way at each of its targets, its source node and source candidate."""
    low, high = way.through.sources
    score, node = np.full(high - low, NEG), np.full(high - low, -1)
    for nodes, cost in way.sources:
        for source in nodes:
            first, last = problem.end_window[source]
            _raise(score[first - low : last - low], ends[source] - cost, (node[first - low : last - low], source))
    values, cand = way.through.best(score)
    return values, node[cand - low] if low < high else cand, cand


def _into(problem: Problem[Through]) -> list[list[tuple[int, float]]]:
    """Return the numbers of the ways into each node, and what it costs to go there."""
    into: list[list[tuple[int, float]]] = [[] for _ in problem.work]
    for k, way in enumerate(problem.ways):
        for target, cost in way.targets:
            into[target].append((k, cost))
    return into


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
    starts, ends = _forward(problem)
    lasts = {n: _scaled(ends[n].low, problem.tail[slice(*ends[n].window)] - cost) for n, cost in problem.exits}
    total = _log_total([(ends[n], last) for n, last in lasts.items()])
    gamma_start, gamma_end, length = [_NONE] * count, [_NONE] * count, np.zeros((count, 3))
    onward = _Onward(problem, ends)
    for n in range(count - 1, -1, -1) if math.isfinite(total) else ():
        start, end, work = starts[n], ends[n], problem.work[n]
        leaving = _sum([*onward.of(n), lasts.get(n, NOTHING)], end.window)
        gamma_end[n] = end.low, _chance(end, leaving, total)
        closing = _times(leaving, problem.end[n])
        going = _sum([work.back(closing, start.window)], start.window)
        gamma_start[n] = start.low, _chance(start, going, total)
        onward.add(n, _trimmed(_times(going, problem.start[n])))
        if lengths and gamma_start[n][1].sum() > HARDLY:
            length[n] = _length_sums(work, problem.time_s, start, going, closing, total)
    return Posterior(tuple(gamma_start), tuple(gamma_end), length, total)


class _Onward(Generic[Through]):
    """The backward scores of leaving nodes, gathered from the last node to the first."""

    def __init__(self, problem: Problem[Through], ends: Sequence[Span]) -> None:
        self._ends = ends
        self._opened: list[list[Way[Through]]] = [[] for _ in ends]  # by the first of their targets
        self._groups: list[list[Nodes]] = [[] for _ in ends]  # that a node leads on alike with
        self._after: dict[Nodes, list[Span]] = {}  # scores of leaving any node of a group
        self._ready: dict[int, Span] = {}
        for way in problem.ways:
            self._opened[min(target for target, _ in way.targets)].append(way)
            self._after |= {nodes: [] for nodes, _ in way.sources}
        for nodes in self._after:
            for k in nodes:
                self._groups[k].append(nodes)

    def of(self, n: int) -> list[Span]:
        """Return the scores of leaving a node; their sum counts."""
        spans = []
        for nodes in self._groups[n]:
            if len(nodes) > 1:
                self._after[nodes] = [_sum(self._after[nodes])]
            spans += self._after[nodes]
        return spans

    def add(self, n: int, ready: Span) -> None:
        """Take the score of coming to a node, and go back the ways that lead to it and to nodes already there."""
        self._ready[n] = ready
        for way in self._opened[n]:
            window = cover([self._ends[k].window for nodes, _ in way.sources for k in nodes])
            back = way.through.back(_sum([self._ready[k].less(cost) for k, cost in way.targets]), window)
            for nodes, cost in way.sources:
                self._after[nodes].append(back.less(cost))


def _forward(problem: Problem[Through]) -> tuple[list[Span], list[Span]]:
    """Return the forward scores of starting and of ending each node, evidence included."""
    entries, into = dict(problem.entries), _into(problem)
    starts: list[Span] = []
    ends: list[Span] = []
    joined: dict[Nodes, Span] = {}  # ends of nodes that lead on alike
    passed: dict[int, Span] = {}

    def left(nodes: Nodes) -> Span:
        if nodes not in joined:
            joined[nodes] = _sum([ends[k] for k in nodes])
        return joined[nodes]

    for n, work in enumerate(problem.work):
        for k, _ in into[n]:
            if k not in passed:
                way = problem.ways[k]
                passed[k] = way.through.forward(_sum([left(nodes).less(cost) for nodes, cost in way.sources]))
        entered = _sum([passed[k].less(cost) for k, cost in into[n]]).within(problem.start_window[n])
        parts = [_times(entered, problem.start[n])]
        if n in entries:
            first, last = problem.start_window[n]
            parts.append(_scaled(first, problem.lead[first:last] + problem.start[n][first:last] - entries[n]))
        starts.append(_trimmed(_sum(parts)))
        ends.append(_trimmed(_times(work.forward(starts[n]), problem.end[n])))
    return starts, ends


def _length_sums(work: Transfer, time_s: Floats, start: Span, going: Span, closing: Span, total: float) -> Floats:
    """Return the posterior sums of 1, length and length squared of a node.

    ``going`` and ``closing`` are its backward scores of starting, and of ending with the evidence for that.
    """
    since = time_s - time_s[start.low]
    begun, ended = since[slice(*start.window)], since[slice(*closing.window)]
    once, twice = (
        _sum([work.back(Span(closing.low, closing.values * power, closing.level), start.window)], start.window).values
        for power in (ended, ended * ended)
    )
    none = going.values
    sums = (none, once - begun * none, twice - 2.0 * begun * once + begun * begun * none)
    return np.array([float(start.values @ each) for each in sums]) * _worth(start, going, total)


def _log_total(meeting: Iterable[tuple[Span, Span]]) -> float:
    """Return the log of the sum over all paths, from forward and backward scores of where each may end."""
    masses = [(float(end.values @ last.values), end.level + last.level) for end, last in meeting if len(last.values)]
    logs = [level + math.log(mass) for mass, level in masses if mass > 0.0]
    return float(np.logaddexp.reduce(logs)) if logs else NEG


def _chance(one: Span, other: Span, total: float) -> Floats:
    """Return the posterior from the forward and the backward scores of the same candidates."""
    values: Floats = one.values * other.values
    return values * _worth(one, other, total)


def _worth(one: Span, other: Span, total: float) -> float:
    """Return what one is worth in a product of forward and backward scores, as a share of all paths.

    No share is above one: where this would be too large for a number, the products are too small for one.
    """
    return math.exp(min(one.level + other.level - total, LARGEST))


def _scaled(low: int, values: Floats) -> Span:
    """Return log values over the candidates from ``low`` on as a span, its largest value one."""
    top = float(values.max()) if len(values) else NEG
    return Span(low, np.exp(values - top), top) if top > NEG else NOTHING


def _times(span: Span, gains: Floats) -> Span:
    """Return a span times what each candidate gains, log values (m,)."""
    gain = _scaled(span.low, gains[slice(*span.window)])
    return Span(span.low, span.values * gain.values, span.level + gain.level) if len(gain.values) else NOTHING


def _trimmed(span: Span) -> Span:
    """Cut a span to where it is within the beam of its best, that one made one; empty when nothing is reachable."""
    low, values, level = span
    top = float(values.max()) if len(values) else 0.0
    if not top > 0.0:
        return NOTHING
    alive = values > top * FAINTEST
    a, b = int(alive.argmax()), len(alive) - int(alive[::-1].argmax())
    return Span(low + a, values[a:b] / top, level + math.log(top))


def _sum(spans: Sequence[Span], window: Window | None = None) -> Span:
    """Return the sum of spans, over a window or wherever one of them is."""
    live = [span for span in spans if len(span.values)]
    if len(live) == 1 and window in (None, live[0].window):
        return live[0]
    first, last = window or cover([span.window for span in live])
    rows = np.zeros((len(live), last - first))
    for row, (at, values, _) in zip(rows, live, strict=True):
        low, high = max(at, first), min(at + len(values), last)
        if low < high:
            row[low - first : high - first] = values[low - at : high - at]
    if len(live) == 1:
        return Span(first, rows[0], live[0].level)
    top = max([span.level for span in live], default=0.0)
    return Span(first, np.exp([span.level - top for span in live]) @ rows, top)
