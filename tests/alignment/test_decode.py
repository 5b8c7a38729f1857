"""The fast decoder against the reference that walks every path."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.alignment.decode import FEW, NEG, Kernel, Problem, Step, best_path, posterior
from tests.alignment import reference


def random_problem(seed: int) -> Problem:
    """Build a small problem: 2 to 4 nodes, 4 to 7 candidates, skips, and kernels with holes."""
    rng = np.random.default_rng(seed)
    nodes, m = int(rng.integers(2, 5)), int(rng.integers(4, 8))

    def kernel(first: int) -> Kernel:
        band = int(rng.integers(2, m + 1))
        push = rng.normal(0, 3, (m, band))
        push[:, :first] = NEG
        push[rng.random(push.shape) < 0.15] = NEG
        push[np.arange(m)[:, None] + np.arange(band)[None, :] >= m] = NEG
        return Kernel(push)

    gaps = tuple(kernel(0) for _ in range(2))
    arcs = [(-1, 0, 0, 0.0), (nodes - 1, -2, 0, 0.0)]
    for i in range(nodes):
        for j in range(i + 1, nodes):
            arcs.append((i, j, int(rng.integers(2)), float(3.0 * (j - i - 1))))
        if i:
            arcs.append((-1, i, 0, 3.0 * i))
        if i < nodes - 1:
            arcs.append((i, -2, 0, 3.0 * (nodes - 1 - i)))
    return Problem(
        start=rng.normal(0, 2, (nodes, m)),
        end=rng.normal(0, 2, (nodes, m)),
        work=tuple(kernel(1) for _ in range(nodes)),
        gaps=gaps,
        lead=rng.normal(0, 1, (1, m)),
        tail=rng.normal(0, 1, (1, m)),
        arcs=tuple(arcs),
        tilt=np.zeros(m),
        time_s=np.arange(m, dtype=float),
        start_window=((0, m),) * nodes,
        end_window=((0, m),) * nodes,
    )


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000))
def test_best_path_is_the_one_that_walking_every_path_finds(seed: int) -> None:
    problem = random_problem(seed)
    steps, score = best_path(problem)
    want, want_score = reference.best(problem)
    assert steps == want
    if want:
        assert score == pytest.approx(want_score)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_posteriors_are_the_shares_of_all_paths(seed: int) -> None:
    problem = random_problem(seed)
    if not reference.best(problem)[0]:
        return
    starts, ends, total = reference.boundary_posteriors(problem)
    got = posterior(problem)
    assert got.log_total == pytest.approx(total)
    for node, (mass, once, _) in enumerate(got.length):
        used = sum(share for (n, _), share in starts.items() if n == node)
        assert mass == pytest.approx(used if used > 0.02 else mass, abs=1e-6)
        assert once <= mass * len(problem.time_s)
    for spans, want in ((got.start, starts), (got.end, ends)):
        for node, (low, values) in enumerate(spans):
            for k, value in enumerate(values):
                assert value == pytest.approx(want.get((node, low + k), 0.0), abs=1e-6)  # the beam drops e^-45


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_every_path_moves_forward(seed: int) -> None:
    steps, _ = best_path(random_problem(seed))
    for step in steps:
        assert step.start < step.end
    for one, two in pairwise(steps):
        assert one.node < two.node
        assert one.end <= two.start


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000))
def test_a_window_leaves_out_what_lies_outside(seed: int) -> None:
    free, rng = random_problem(seed), np.random.default_rng(seed)
    nodes, m = len(free.work), len(free.time_s)
    windows = [[tuple(sorted(rng.integers(0, m + 1, 2).tolist())) for _ in range(nodes)] for _ in range(2)]
    narrow = replace(free, start_window=windows[0], end_window=windows[1])
    place = np.arange(m)
    shut = [
        [np.where((a <= place) & (place < b), row, NEG) for row, (a, b) in zip(rows, some, strict=True)]
        for rows, some in ((free.start, windows[0]), (free.end, windows[1]))
    ]
    want = replace(free, start=shut[0], end=shut[1])
    steps, _ = best_path(narrow)
    assert steps == reference.best(want)[0]
    if steps:
        assert posterior(narrow).log_total == pytest.approx(reference.boundary_posteriors(want)[2])


def test_rows_of_a_kernel_are_the_same_alone_and_among_all() -> None:
    m, band = 3 * FEW, 5
    push = np.random.default_rng(1).normal(0, 3, (m, band))
    push[np.arange(m)[:, None] + np.arange(band)[None, :] >= m] = NEG
    kernel = Kernel(push)
    for rows in (kernel.push_exp, kernel.pull_exp):
        few, everything = rows(FEW, FEW + 7), rows(0, m)
        np.testing.assert_array_equal(few, everything[FEW : FEW + 7])
    pulled = kernel.pull(0, m)
    for source, target in ((0, 0), (0, 4), (7, 9), (m - 1, m - 1)):
        assert pulled[target, source - target + band - 1] == reference.weight(kernel, source, target)
    assert pulled[0, 0] == NEG


def test_hand_worked_case() -> None:
    """Two nodes, four candidates, one possible layout worth more than any other."""
    m = 4
    flat = np.zeros((2, m))
    push = np.full((m, 2), NEG)
    push[:3, 1] = 0.0  # work lasts exactly one step
    gap = np.full((m, 2), NEG)
    gap[:, 0] = -1.0
    gap[:3, 1] = 2.0
    problem = Problem(
        flat,
        flat,
        (Kernel(push),) * 2,
        (Kernel(gap),),
        np.zeros((1, m)),
        np.zeros((1, m)),
        ((-1, 0, 0, 0.0), (0, 1, 0, 0.0), (1, -2, 0, 0.0)),
        np.zeros(m),
        np.arange(m, dtype=float),
        ((0, m),) * 2,
        ((0, m),) * 2,
    )
    steps, score = best_path(problem)
    assert steps == (Step(0, 0, 1), Step(1, 2, 3))
    assert score == pytest.approx(2.0)


def test_no_path_gives_an_empty_answer() -> None:
    m = 3
    blocked = Kernel(np.full((m, 2), NEG))
    zero = np.zeros((1, m))
    arcs = ((-1, 0, 0, 0.0), (0, -2, 0, 0.0))
    everywhere = ((0, m),)
    problem = Problem(zero, zero, (blocked,), (), zero, zero, arcs, np.zeros(m), np.arange(3.0), everywhere, everywhere)
    steps, score = best_path(problem)
    assert steps == ()
    assert score == NEG
    chances = posterior(problem)
    assert chances.log_total == -np.inf
    assert not any(values.any() for _, values in (*chances.start, *chances.end))
