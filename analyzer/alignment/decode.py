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
    sources: tuple[int, ...]
    costs: tuple[float, ...]


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
        for source, cost in zip(way.sources, way.costs, strict=True):
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
    count, exits = len(problem.work), dict(problem.exits)
    starts, ends = _forward(problem)
    lasts = {n: _scaled(ends[n].low, problem.tail[slice(*ends[n].window)] - cost) for n, cost in exits.items()}
    total = _log_total([(ends[n], last) for n, last in lasts.items()])
    gamma_start, gamma_end, length = [_NONE] * count, [_NONE] * count, np.zeros((count, 3))
    onward: list[list[Span]] = [[] for _ in problem.work]  # backward scores of leaving each node
    for n in range(count - 1, -1, -1) if math.isfinite(total) else ():
        start, end, work = starts[n], ends[n], problem.work[n]
        leaving = _sum(onward[n] + ([lasts[n]] if n in exits else []), end.window)
        gamma_end[n] = end.low, _chance(end, leaving, total)
        closing = _times(leaving, problem.end[n])
        going = _sum([work.back(closing, start.window)], start.window)
        gamma_start[n] = start.low, _chance(start, going, total)
        ready = _trimmed(_times(going, problem.start[n]))
        for way in problem.ways[n]:
            window = cover([ends[source].window for source in way.sources])
            back = way.through.back(ready, window)
            for source, cost in zip(way.sources, way.costs, strict=True):
                onward[source].append(back.less(cost))
        if lengths and gamma_start[n][1].sum() > HARDLY:
            length[n] = _length_sums(work, problem.time_s, start, going, closing, total)
    return Posterior(tuple(gamma_start), tuple(gamma_end), length, total)


def _forward(problem: Problem[Through]) -> tuple[list[Span], list[Span]]:
    """Return the forward scores of starting and of ending each node, evidence included."""
    entries = dict(problem.entries)
    starts: list[Span] = []
    ends: list[Span] = []
    for n, work in enumerate(problem.work):
        parts: list[Span] = []
        for way in problem.ways[n]:
            left = [ends[source].less(cost) for source, cost in zip(way.sources, way.costs, strict=True)]
            parts.append(_times(way.through.forward(_sum(left)), problem.start[n]))
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
    scale = math.exp(start.level + going.level - total)
    return np.array([scale * float(start.values @ each) for each in sums])


def _log_total(meeting: Iterable[tuple[Span, Span]]) -> float:
    """Return the log of the sum over all paths, from forward and backward scores of where each may end."""
    masses = [(float(end.values @ last.values), end.level + last.level) for end, last in meeting if len(last.values)]
    logs = [level + math.log(mass) for mass, level in masses if mass > 0.0]
    return float(np.logaddexp.reduce(logs)) if logs else NEG


def _chance(one: Span, other: Span, total: float) -> Floats:
    """Return the posterior from the forward and the backward scores of the same candidates."""
    values: Floats = one.values * other.values
    return values * math.exp(one.level + other.level - total) if len(values) else values


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
    if window is None and len(live) == 1:
        return live[0]
    first, last = window or cover([span.window for span in live])
    rows = np.zeros((len(live), last - first))
    for row, (at, values, _) in zip(rows, live, strict=True):
        low, high = max(at, first), min(at + len(values), last)
        if low < high:
            row[low - first : high - first] = values[low - at : high - at]
    top = max((span.level for span in live), default=0.0)
    return Span(first, np.exp([span.level - top for span in live]) @ rows, top)
