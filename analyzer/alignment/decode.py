"""The dynamic programme: one best path and the posterior of every boundary, over banded kernels.

Conventions. m candidates, sorted by time; log values in nats. A node is entered at candidate b (its start) and left
at candidate c > b (its end). With S(n, b) the best score of any path that starts node n at b, and E(n, c) that ends
it at c::

    S(n, b) = start(n, b) + max over arcs i -> n, a <= b of [ E(i, a) - cost + gap(a, b) ]
    E(n, c) = end(n, c)   + max over b < c            of [ S(n, b) + work(b, c) ]
    best    = max over arcs i -> END, a               of [ E(i, a) - cost + tail(a) ]

Forward-backward is the same with log-sum-exp for max. Ties: of equal sources the earliest candidate wins, then the
arc listed first. A kernel is stored by rows of its target (``pull``) and by rows of its source (``push``), each
``band`` wide; entries out of reach are -inf. Each node is computed only where its score is within ``BEAM`` of its
best, so that cost grows with the recording's length times a few minutes, not times its length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from analyzer.model.transcript import Floats, Ints

BEAM = 70.0
NEG = -np.inf
FEW = 40  # rows of a kernel, up to which they are made for one pass
HARDLY = 0.02  # nodes passed with less than this probability get no length


def _skewed(push: Floats, first: int, last: int, fill: float) -> Floats:
    """Return rows ``first`` to ``last`` - 1 of a banded matrix by its targets: [c, i] comes from c - band + 1 + i."""
    band = push.shape[1]
    padded = np.full((last - first + band - 1, band), fill)  # its rows are the sources, from first - band + 1 on
    before = max(0, band - 1 - first)
    padded[before:] = push[first - band + 1 + before : last]
    row, step = padded.strides
    view: Floats = np.ndarray((last - first, band), padded.dtype, padded, (band - 1) * step, (row, row - step))
    return np.ascontiguousarray(view)


@dataclass(eq=False)
class Kernel:
    """A banded matrix of log weights from source candidate to target candidate, in the layouts that passes read.

    ``push[b, j]`` is the weight from b to b + j, shape (m, band). The methods give rows ``first`` to ``last`` - 1 of
    the other layouts. Whoever asks for many rows at a time will ask again: then all are made, once.
    """

    push: Floats

    @property
    def band(self) -> int:
        """How many targets a source has at most, itself included."""
        return int(self.push.shape[1])

    def pull(self, first: int, last: int) -> Floats:
        """Return the weights by rows of their target: [c, i] is the weight from c - band + 1 + i to c."""
        return _skewed(self.push, first, last, NEG)

    def push_exp(self, first: int, last: int) -> Floats:
        """Return rows of ``push`` in linear scale."""
        few: Floats = np.exp(self.push[first:last]) if self._few(first, last) else self._push_exp[first:last]
        return few

    def pull_exp(self, first: int, last: int) -> Floats:
        """Return rows as :meth:`pull` does, in linear scale."""
        few: Floats = np.exp(self.pull(first, last)) if self._few(first, last) else self._pull_exp[first:last]
        return few

    def _few(self, first: int, last: int) -> bool:
        return last - first <= FEW

    @cached_property
    def _push_exp(self) -> Floats:
        whole: Floats = np.exp(self.push)
        return whole

    @cached_property
    def _pull_exp(self) -> Floats:
        return _skewed(self._push_exp, 0, len(self.push), 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """What is to be decoded. ``arcs`` as (source, target, kernel, cost), sources -1 = START, targets -2 = END.

    ``start[n]``/``end[n]`` shapes (m,): evidence of each node's start and end; ``work[n]`` kernel of node n;
    ``gaps`` kernels by number; ``lead``/``tail`` shapes (leads, m): log prior of starting or ending there, chosen by
    an arc's kernel number when it leaves START or enters END; ``tilt`` (m,): nats a path usually earns by then;
    ``time_s`` (m,): the candidates' times; ``start_window[n]``/``end_window[n]`` the candidates, first to last + 1,
    that a node may start or end at.
    """

    start: Sequence[Floats]
    end: Sequence[Floats]
    work: tuple[Kernel, ...]
    gaps: tuple[Kernel, ...]
    lead: Floats
    tail: Floats
    arcs: tuple[tuple[int, int, int, float], ...]
    tilt: Floats
    time_s: Floats
    start_window: Sequence[tuple[int, int]]
    end_window: Sequence[tuple[int, int]]


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


Span = tuple[int, Floats]  # values over candidates low .. low + len
_EMPTY: Span = (0, np.empty(0))


def _trim(low: int, values: Floats, tilt: Floats) -> Span:
    """Cut a span to where it is within the beam of its best; empty when nothing is reachable.

    ``tilt`` (m,) is what a path usually earns up to each candidate: without it a path that worked one round fewer
    so far would look hopeless beside one that worked it, before the rest of the class has spoken.
    """
    if not len(values):
        return _EMPTY
    level = values - tilt[low : low + len(values)]
    top = float(level.max())
    if not math.isfinite(top):
        return _EMPTY
    alive = level > top - BEAM
    a, b = int(alive.argmax()), len(alive) - int(alive[::-1].argmax())
    return low + a, values[a:b]


def _within(span: Span, window: tuple[int, int]) -> Span:
    """Cut a span to a window of candidates."""
    low, values = span
    first, last = max(low, window[0]), min(low + len(values), window[1])
    return (first, values[first - low : last - low]) if first < last else _EMPTY


def _window(span: Span) -> tuple[int, int]:
    """Return the candidates that a span covers, first to last + 1."""
    return span[0], span[0] + len(span[1])


def _merge(spans: Sequence[tuple[Span, float]]) -> tuple[int, int]:
    """Return the candidates (low, high) that any of the spans covers."""
    lows = [s[0] for s, _ in spans if len(s[1])]
    highs = [s[0] + len(s[1]) for s, _ in spans if len(s[1])]
    return (min(lows), max(highs)) if lows else (0, 0)


def _windows(span: Span, low: int, high: int, band: int, fill: float, forward: bool) -> Floats:
    """Return for each row low..high the ``band`` values that a pull (backwards) or push (forwards) reads."""
    first = low if forward else low - band + 1
    size = high - low + band - 1
    buffer = np.full(size, fill) if fill else np.zeros(size)
    a, b = max(span[0], first), min(span[0] + len(span[1]), first + size)
    if a < b:
        buffer[a - first : b - first] = span[1][a - span[0] : b - span[0]]
    return np.ndarray((high - low, band), buffer.dtype, buffer, 0, buffer.strides * 2)


Scaled = tuple[int, Floats, float]
"""A span in linear scale: first candidate, values, and the log of what one is worth."""
_NOTHING: Scaled = (0, np.empty(0), 0.0)


def _scaled(span: Span) -> Scaled:
    """Return a span in linear scale, its largest value one."""
    if not len(span[1]):
        return _NOTHING
    top = float(span[1].max())
    return span[0], np.exp(span[1] - top), top


def _logged(scaled: Scaled) -> Span:
    """Return a span in log scale; numpy is not to warn of nothing's log."""
    return scaled[0], np.log(scaled[1]) + scaled[2]


def _sum_pass(kernel: Kernel, source: Scaled, window: tuple[int, int], forward: bool) -> Scaled:
    """Sum through a kernel, to the candidates of a window: from sources to targets, or (``forward`` False) back."""
    low, values, top = source
    if not len(values):
        return _NOTHING
    band = kernel.band
    reach = (low, low + len(values) + band - 1) if forward else (low - band + 1, low + len(values))
    first, last = max(reach[0], window[0]), min(reach[1], window[1])
    if first >= last:
        return _NOTHING
    weights = (kernel.pull_exp if forward else kernel.push_exp)(first, last)
    read = _windows((low, values), first, last, band, 0.0, not forward)
    return first, np.einsum("ij,ij->i", read, weights), top


def _sum_of(parts: Sequence[tuple[Scaled, float]]) -> Scaled:
    """Return the sum of spans, each lessened by its cost in nats."""
    live = [(part, part[2] - cost) for part, cost in parts if len(part[1])]
    if not live:
        return _NOTHING
    top = max(level for _, level in live)
    if len(live) == 1:
        return live[0][0][0], live[0][0][1], top
    low = min(part[0] for part, _ in live)
    total = np.zeros(max(part[0] + len(part[1]) for part, _ in live) - low)
    for (at, values, _), level in live:
        total[at - low : at - low + len(values)] += values * math.exp(level - top)
    return low, total, top


def _by_kernel(arcs: Sequence[tuple[int, int, int, float]]) -> dict[int, list[tuple[int, int, int, float]]]:
    """Return the arcs between nodes by their kernel."""
    groups: dict[int, list[tuple[int, int, int, float]]] = {}
    for arc in arcs:
        if arc[0] >= 0 and arc[1] >= 0:
            groups.setdefault(arc[2], []).append(arc)
    return groups


def _arc_lists(problem: Problem, leaving: bool) -> list[list[tuple[int, int, int, float]]]:
    """Return the arcs that leave (or enter) each node."""
    lists: list[list[tuple[int, int, int, float]]] = [[] for _ in problem.work]
    for arc in problem.arcs:
        node = arc[0] if leaving else arc[1]
        if node >= 0:
            lists[node].append(arc)
    return lists


def best_path(problem: Problem) -> tuple[tuple[Step, ...], float]:
    """Return the one best path and its score; empty when no path exists."""
    into = _arc_lists(problem, leaving=False)
    ends: list[Span] = []
    back_start: list[tuple[int, Ints, Ints]] = []  # low, source node, source candidate
    back_end: list[tuple[int, Ints]] = []  # low, start candidate
    for n in range(len(problem.work)):
        low, score, node_from, cand_from = _best_in(problem, into[n], ends, n)
        at, score = _trim(low, score, problem.tilt)
        kept = slice(at - low, at - low + len(score))
        back_start.append((at, node_from[kept], cand_from[kept]))
        (low, values), source = _max_pass(problem.work[n], (at, score), problem.end_window[n])
        cut, values = _trim(low, values + problem.end[n][low : low + len(values)], problem.tilt)
        back_end.append((cut, source[cut - low : cut - low + len(values)]))
        ends.append((cut, values))
    return _trace(problem, ends, back_start, back_end)


def _max_pass(kernel: Kernel, span: Span, window: tuple[int, int]) -> tuple[Span, Ints]:
    """Best source for each target of a window through a kernel, and which source that is."""
    band = kernel.band
    low, high = max(span[0], window[0]), min(span[0] + len(span[1]) + band - 1, window[1])
    if not len(span[1]) or low >= high:
        return _EMPTY, np.empty(0, np.int64)
    rows = _windows(span, low, high, band, NEG, False) + kernel.pull(low, high)
    best = rows.argmax(axis=1)
    return (low, rows[np.arange(high - low), best]), np.arange(low, high) - band + 1 + best


def _best_in(
    problem: Problem, arcs: Sequence[tuple[int, int, int, float]], ends: Sequence[Span], n: int
) -> tuple[int, Floats, Ints, Ints]:
    """Best way into node ``n`` at each candidate: score with the node's start evidence, source node, source cand."""
    window = problem.start_window[n]
    parts: list[tuple[Span, Ints, Ints]] = []
    for number, group in _by_kernel(arcs).items():
        spans = [(ends[a[0]], a[3]) for a in group]
        low, high = _merge(spans)
        if low == high:
            continue
        best, who = np.full(high - low, NEG), np.full(high - low, -1)
        for (at, values), cost, arc in zip(*zip(*spans, strict=True), group, strict=True):
            here = slice(at - low, at - low + len(values))
            better = values - cost > best[here]
            best[here] = np.where(better, values - cost, best[here])
            who[here] = np.where(better, arc[0], who[here])
        span, source = _max_pass(problem.gaps[number], (low, best), window)
        parts.append((span, who[np.clip(source - low, 0, len(who) - 1)], source))
    for arc in arcs:
        if arc[0] < 0:
            lead = problem.lead[arc[2], slice(*window)] - arc[3]
            nowhere = np.full(len(lead), -1)
            parts.append(((window[0], lead), nowhere, nowhere))
    low, high = _merge([(p[0], 0.0) for p in parts])
    score, node, cand = np.full(high - low, NEG), np.full(high - low, -1), np.full(high - low, -1)
    for (at, values), who, source in parts:
        here = slice(at - low, at - low + len(values))
        better = values > score[here]
        score[here] = np.where(better, values, score[here])
        node[here] = np.where(better, who, node[here])
        cand[here] = np.where(better, source, cand[here])
    return low, score + problem.start[n][low:high], node, cand


def _trace(
    problem: Problem,
    ends: Sequence[Span],
    back_start: Sequence[tuple[int, Ints, Ints]],
    back_end: Sequence[tuple[int, Ints]],
) -> tuple[tuple[Step, ...], float]:
    best, node, cand = NEG, -1, -1
    for source, target, number, cost in problem.arcs:
        if target >= 0 or not len(ends[source][1]):
            continue
        low, values = ends[source]
        total = values - cost + problem.tail[number, low : low + len(values)]
        k = int(total.argmax())
        if total[k] > best:
            best, node, cand = float(total[k]), source, low + k
    steps: list[Step] = []
    while node >= 0:
        begin = int(back_end[node][1][cand - back_end[node][0]])
        steps.append(Step(node, begin, cand))
        low, nodes, cands = back_start[node]
        node, cand = int(nodes[begin - low]), int(cands[begin - low])
    return tuple(reversed(steps)), best


@np.errstate(divide="ignore")  # the log of nothing is -inf, as it should be
def posterior(problem: Problem, lengths: bool = True) -> Posterior:
    """Return the posterior of every node's start and end by forward-backward; without ``lengths`` those stay zero.

    Where no path leads through the recording, ``log_total`` is minus infinity and nothing has a chance.
    """
    count, from_end = len(problem.work), -problem.tilt
    starts, ends = _forward(problem)
    finals = [
        float(_log_sum(ends[s][1] - cost + problem.tail[number, ends[s][0] : ends[s][0] + len(ends[s][1])]))
        for s, t, number, cost in problem.arcs
        if t < 0 and len(ends[s][1])
    ]
    total = float(_log_sum(np.array(finals)))
    if not np.isfinite(total):
        return Posterior((_EMPTY,) * count, (_EMPTY,) * count, np.zeros((count, 3)), total)
    out = _arc_lists(problem, leaving=True)
    tails = [_scaled((0, row)) for row in problem.tail]
    ready: list[Scaled] = [_NOTHING] * count  # backward score of starting a node, its start evidence included
    gamma_start: list[Span] = [_EMPTY] * count
    gamma_end: list[Span] = [_EMPTY] * count
    length = np.zeros((count, 3))
    for n in range(count - 1, -1, -1):
        back = _cut(_back_out(problem, out[n], ready, tails, _window(ends[n])), ends[n][0], len(ends[n][1]))
        gamma_end[n] = (ends[n][0], np.exp(ends[n][1] + back - total))
        with_end = (ends[n][0], back + problem.end[n][ends[n][0] : ends[n][0] + len(back)])
        source = _scaled(_trim(*with_end, from_end))
        span = _logged(_sum_pass(problem.work[n], source, _window(starts[n]), False))
        low, values = starts[n]
        beta = _cut(span, low, len(values))
        gamma_start[n] = (low, np.exp(values + beta - total))
        ready[n] = _scaled(_trim(low, beta + problem.start[n][low : low + len(values)], from_end))
        if lengths and gamma_start[n][1].sum() > HARDLY:
            length[n] = _length_sums(problem, n, starts[n], with_end, total)
    return Posterior(tuple(gamma_start), tuple(gamma_end), length, total)


def _length_sums(problem: Problem, n: int, start: Span, end: Span, total: float) -> Floats:
    """Return the posterior sums of 1, length and length squared of node ``n``."""
    kernel, (low, high) = problem.work[n], _window(start)
    ahead = _windows(end, low, high, kernel.band, NEG, True)
    joint = np.exp(kernel.push[low:high] + ahead + (start[1] - total)[:, None])
    took = _windows((0, problem.time_s), low, high, kernel.band, 0.0, True) - problem.time_s[low:high, None]
    return np.array([joint.sum(), (joint * took).sum(), (joint * took * took).sum()])


def _log_sum(values: Floats) -> float:
    if not len(values):
        return NEG
    top = values.max()
    return float(top + np.log(np.exp(values - top).sum())) if np.isfinite(top) else NEG


def _cut(span: Span, low: int, size: int) -> Floats:
    """Return the span's values over low .. low + size, -inf outside it."""
    out = np.full(size, NEG)
    a, b = max(low, span[0]), min(low + size, span[0] + len(span[1]))
    if a < b:
        out[a - low : b - low] = span[1][a - span[0] : b - span[0]]
    return out


def _forward(problem: Problem) -> tuple[list[Span], list[Span]]:
    """Return the forward scores of starting and of ending each node, evidence included."""
    into = _arc_lists(problem, leaving=False)
    leads = [_scaled((0, row)) for row in problem.lead]
    starts: list[Span] = []
    ends: list[Span] = []
    left: list[Scaled] = []  # ends in linear scale
    for n in range(len(problem.work)):
        parts: list[tuple[Scaled, float]] = [(leads[a[2]], a[3]) for a in into[n] if a[0] < 0]
        for number, group in _by_kernel(into[n]).items():
            merged = _sum_of([(left[a[0]], a[3]) for a in group])
            parts.append((_sum_pass(problem.gaps[number], merged, problem.start_window[n], True), 0.0))
        low, values = _within(_logged(_sum_of(parts)), problem.start_window[n])
        start = _trim(low, values + problem.start[n][low : low + len(values)], problem.tilt)
        low, values = _logged(_sum_pass(problem.work[n], _scaled(start), problem.end_window[n], True))
        starts.append(start)
        ends.append(_trim(low, values + problem.end[n][low : low + len(values)], problem.tilt))
        left.append(_scaled(ends[-1]))
    return starts, ends


def _back_out(
    problem: Problem,
    arcs: Sequence[tuple[int, int, int, float]],
    ready: Sequence[Scaled],
    tails: Sequence[Scaled],
    window: tuple[int, int],
) -> Span:
    """Backward score of leaving a node at each candidate of a window."""
    parts: list[tuple[Scaled, float]] = [(tails[a[2]], a[3]) for a in arcs if a[1] < 0]
    for number, group in _by_kernel(arcs).items():
        merged = _sum_of([(ready[a[1]], a[3]) for a in group])
        parts.append((_sum_pass(problem.gaps[number], merged, window, False), 0.0))
    return _logged(_sum_of(parts))


def band_of(time_s: Floats, reach_s: float) -> int:
    """Return how many candidates a reach of ``reach_s`` spans at most (at least 2)."""
    far = np.searchsorted(time_s, time_s + reach_s, side="right") - np.arange(len(time_s))
    return max(2, int(far.max()))
