"""The dynamic programme said slowly: walks every path of a small problem, one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from analyzer.alignment.decode import Kernel, Problem, Step


def weight(kernel: Kernel, source: int, target: int) -> float:
    step = target - source
    return float(kernel.push[source, step]) if 0 <= step < kernel.push.shape[1] else -math.inf


def paths(problem: Problem) -> Iterator[tuple[tuple[Step, ...], float]]:
    """Yield every path from START to END with a finite score, and its score."""
    m = len(problem.time_s)

    def walk(node: int, begin: int, steps: tuple[Step, ...], score: float) -> Iterator[tuple[tuple[Step, ...], float]]:
        score += float(problem.start[node][begin])
        for c in range(begin, m):
            ended = score + weight(problem.work[node], begin, c) + float(problem.end[node][c])
            if not math.isfinite(ended):
                continue
            grown = (*steps, Step(node, begin, c))
            for source, target, number, cost in problem.arcs:
                if source != node:
                    continue
                if target < 0:
                    yield grown, ended - cost + float(problem.tail[number, c])
                    continue
                for b in range(c, m):
                    onward = ended - cost + weight(problem.gaps[number], c, b)
                    if math.isfinite(onward):
                        yield from walk(target, b, grown, onward)

    for source, target, number, cost in problem.arcs:
        if source < 0:
            for b in range(m):
                yield from walk(target, b, (), float(problem.lead[number, b]) - cost)


def best(problem: Problem) -> tuple[tuple[Step, ...], float]:
    """Return the best path by looking at all of them."""
    return max(paths(problem), key=lambda found: found[1], default=((), -math.inf))


def boundary_posteriors(problem: Problem) -> tuple[dict[tuple[int, int], float], dict[tuple[int, int], float], float]:
    """Return the posterior of (node, candidate) starts and ends, and the log of the total."""
    found = list(paths(problem))
    top = max(score for _, score in found)
    total = sum(math.exp(score - top) for _, score in found)
    starts: dict[tuple[int, int], float] = {}
    ends: dict[tuple[int, int], float] = {}
    for steps, score in found:
        share = math.exp(score - top) / total
        for step in steps:
            starts[step.node, step.start] = starts.get((step.node, step.start), 0.0) + share
            ends[step.node, step.end] = ends.get((step.node, step.end), 0.0) + share
    return starts, ends, top + math.log(total)
