"""The dynamic programme said slowly: walks every path of a small problem, one after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator

from analyzer.alignment.decode import Problem, Step
from analyzer.alignment.kernels import Blocks

Chances = dict[tuple[int, int], float]
"""By node and candidate."""


def weight(kernel: Blocks, source: int, target: int) -> float:
    return float(kernel.weigh((source, source + 1), (target, target + 1))[0, 0])


def paths(problem: Problem[Blocks]) -> Iterator[tuple[tuple[Step, ...], float]]:
    """Yield every path from the class's start to its end with a finite score, and its score."""
    m = len(problem.time_s)
    exits = dict(problem.exits)
    arcs = [
        (source, target, way.through, cost + opening)
        for way in problem.ways
        for nodes, cost in way.sources
        for source in nodes
        for target, opening in way.targets
    ]

    def walk(node: int, begin: int, steps: tuple[Step, ...], score: float) -> Iterator[tuple[tuple[Step, ...], float]]:
        score += float(problem.start[node][begin])
        for c in range(begin, m):
            ended = score + weight(problem.work[node], begin, c) + float(problem.end[node][c])
            if not math.isfinite(ended):
                continue
            grown = (*steps, Step(node, begin, c))
            if node in exits:
                yield grown, ended - exits[node] + float(problem.tail[c])
            for source, target, gap, cost in arcs:
                if source != node:
                    continue
                for b in range(c, m):
                    onward = ended - cost + weight(gap, c, b)
                    if math.isfinite(onward):
                        yield from walk(target, b, grown, onward)

    for node, cost in problem.entries:
        for b in range(m):
            yield from walk(node, b, (), float(problem.lead[b]) - cost)


def best(problem: Problem[Blocks]) -> tuple[tuple[Step, ...], float]:
    """Return the best path by looking at all of them."""
    return max(paths(problem), key=lambda found: found[1], default=((), -math.inf))


def boundary_posteriors(
    problem: Problem[Blocks],
) -> tuple[dict[tuple[int, int], float], dict[tuple[int, int], float], float]:
    """Return the posterior of (node, candidate) starts and ends, and the log of the total."""
    found = list(paths(problem))
    top = max(score for _, score in found)
    total = sum(math.exp(score - top) for _, score in found)
    starts: Chances = {}
    ends: Chances = {}
    for steps, score in found:
        share = math.exp(score - top) / total
        for step in steps:
            starts[step.node, step.start] = starts.get((step.node, step.start), 0.0) + share
            ends[step.node, step.end] = ends.get((step.node, step.end), 0.0) + share
    return starts, ends, top + math.log(total)
