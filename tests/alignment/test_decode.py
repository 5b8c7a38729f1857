"""The fast decoder against the reference that walks every path."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.alignment.decode import HARDLY, Problem, Step, Way, best_path, posterior
from analyzer.alignment.kernels import NEG, Band, Blocks, Window, cover
from analyzer.model.transcript import Floats
from tests.alignment import reference


def blocks(push: Floats, sources: Window, targets: Window) -> Blocks:
    """Return the kernel in which ``push[b, j]`` is the weight from b to b + j."""

    def weigh(some: Window, others: Window) -> Floats:
        weights = np.full((some[1] - some[0], others[1] - others[0]), NEG)
        for b in range(*some):
            for c in range(max(b, others[0]), min(b + push.shape[1], others[1])):
                weights[b - some[0], c - others[0]] = push[b, c - b]
        return weights

    return Blocks(weigh, push.shape[1], sources, targets)


def random_push(rng: np.random.Generator, m: int, first: int) -> Floats:
    band = int(rng.integers(2, m + 1))
    push = rng.normal(0, 3, (m, band))
    push[:, :first] = NEG
    push[rng.random(push.shape) < 0.15] = NEG
    push[np.arange(m)[:, None] + np.arange(band)[None, :] >= m] = NEG
    return push


def random_problem(seed: int, narrow: bool = False) -> tuple[Problem[Blocks], Problem[Band]]:
    """Build a small problem: 2 to 4 nodes, 4 to 7 candidates, skips, and kernels with holes; in both forms of kernel.

    ``narrow`` gives each node windows of its own, which bands know nothing of.
    """
    rng = np.random.default_rng(seed)
    nodes, m = int(rng.integers(2, 5)), int(rng.integers(4, 8))
    start_window, end_window = (
        [tuple(sorted(rng.integers(0, m + 1, 2).tolist())) if narrow else (0, m) for _ in range(nodes)]
        for _ in range(2)
    )
    gaps = [random_push(rng, m, 0) for _ in range(2)]
    work = [random_push(rng, m, 1) for _ in range(nodes)]
    ways: list[tuple[int, list[tuple[tuple[int, ...], float]], list[tuple[int, float]]]] = []
    for j in range(1, nodes):
        both = [(j, 0.0), (j + 1, 0.7)] if j + 1 < nodes and seed % 3 == 0 else [(j, 0.0)]
        apart = [((i,), 3.0 * (j - i)) for i in range(j)]
        together = [(tuple(range(j)), 2.0)] if seed % 2 else []
        ways += [(j % 2, [*apart[::2], *together], both), (1 - j % 2, apart[1::2], both)]
    ways = [way for way in ways if way[1]]
    shared = {
        "start": rng.normal(0, 2, (nodes, m)),
        "end": rng.normal(0, 2, (nodes, m)),
        "entries": [(i, 3.0 * i) for i in range(nodes)],
        "exits": [(i, 3.0 * (nodes - 1 - i)) for i in range(nodes)],
        "lead": rng.normal(0, 1, m),
        "tail": rng.normal(0, 1, m),
        "time_s": np.arange(m, dtype=float),
        "start_window": start_window,
        "end_window": end_window,
    }
    windowed = [
        Way(
            blocks(
                gaps[k],
                cover([end_window[i] for some, _ in sources for i in some]),
                cover([start_window[j] for j, _ in targets]),
            ),
            tuple(sources),
            tuple(targets),
        )
        for k, sources, targets in ways
    ]
    bands = [Band(np.exp(push)) for push in gaps]
    return (
        Problem(
            work=[blocks(p, s, e) for p, s, e in zip(work, start_window, end_window, strict=True)],
            ways=windowed,
            **shared,
        ),
        Problem(
            work=[Band(np.exp(push)) for push in work],
            ways=[Way(bands[k], tuple(sources), tuple(targets)) for k, sources, targets in ways],
            **shared,
        ),
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_best_path_is_the_one_that_walking_every_path_finds(seed: int) -> None:
    problem, _ = random_problem(seed)
    steps, score = best_path(problem)
    want, want_score = reference.best(problem)
    assert steps == want
    if want:
        assert score == pytest.approx(want_score)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_posteriors_are_the_shares_of_all_paths(seed: int) -> None:
    problem, banded = random_problem(seed)
    if not reference.best(problem)[0]:
        return
    starts, ends, total = reference.boundary_posteriors(problem)
    for got in (posterior(problem), posterior(banded)):
        assert got.log_total == pytest.approx(total)
        for spans, want in ((got.start, starts), (got.end, ends)):
            for node, (low, values) in enumerate(spans):
                found = {(node, low + k): value for k, value in enumerate(values)}
                for k in range(len(problem.time_s)):  # the beam drops e^-70
                    assert found.get((node, k), 0.0) == pytest.approx(want.get((node, k), 0.0), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_lengths_are_those_of_all_paths(seed: int) -> None:
    problem, banded = random_problem(seed)
    found = [(steps, score) for steps, score in reference.paths(problem)]
    if not found:
        return
    total = np.logaddexp.reduce([score for _, score in found])
    want = np.zeros((len(problem.work), 3))
    for steps, score in found:
        for step in steps:
            want[step.node] += np.exp(score - total) * np.array(
                [1.0, step.end - step.start, (step.end - step.start) ** 2]
            )
    for got in (posterior(problem).length, posterior(banded).length):
        for row, sums in zip(got, want, strict=True):
            assert row == pytest.approx(sums if sums[0] > HARDLY else row, abs=1e-6)
    assert not posterior(problem, lengths=False).length.any()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_every_path_moves_forward(seed: int) -> None:
    steps, _ = best_path(random_problem(seed)[0])
    for step in steps:
        assert step.start < step.end
    for one, two in pairwise(steps):
        assert one.node < two.node
        assert one.end <= two.start


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_a_window_leaves_out_what_lies_outside(seed: int) -> None:
    problem, _ = random_problem(seed, narrow=True)
    place = np.arange(len(problem.time_s))
    shut = [
        [np.where((a <= place) & (place < b), row, NEG) for row, (a, b) in zip(rows, some, strict=True)]
        for rows, some in ((problem.start, problem.start_window), (problem.end, problem.end_window))
    ]
    want = replace(problem, start=shut[0], end=shut[1])
    steps, _ = best_path(problem)
    assert steps == reference.best(want)[0]
    if steps:
        assert posterior(problem).log_total == pytest.approx(reference.boundary_posteriors(want)[2])


def test_hand_worked_case() -> None:
    """Two nodes, four candidates, one possible layout worth more than any other."""
    m = 4
    push = np.full((m, 2), NEG)
    push[:3, 1] = 0.0  # work lasts exactly one step
    gap = np.full((m, 2), NEG)
    gap[:, 0] = -1.0
    gap[:3, 1] = 2.0
    steps, score = best_path(plain_problem(m, push, gap))
    assert steps == (Step(0, 0, 1), Step(1, 2, 3))
    assert score == pytest.approx(2.0)


def test_no_path_gives_an_empty_answer() -> None:
    problem = plain_problem(3, np.full((3, 2), NEG), np.zeros((3, 2)))
    steps, score = best_path(problem)
    assert steps == ()
    assert score == NEG
    chances = posterior(problem)
    assert chances.log_total == NEG
    assert not any(values.any() for _, values in (*chances.start, *chances.end))


def plain_problem(m: int, work: Floats, gap: Floats) -> Problem[Blocks]:
    """Build two nodes, one after the other, of which nothing is said."""
    everywhere = (0, m)
    between = Way(blocks(gap, everywhere, everywhere), (((0,), 0.0),), ((1, 0.0),))
    return Problem(
        start=np.zeros((2, m)),
        end=np.zeros((2, m)),
        work=[blocks(work, everywhere, everywhere)] * 2,
        ways=[between],
        entries=[(0, 0.0)],
        exits=[(1, 0.0)],
        lead=np.zeros(m),
        tail=np.zeros(m),
        time_s=np.arange(m, dtype=float),
        start_window=[everywhere] * 2,
        end_window=[everywhere] * 2,
    )
