"""Lengths as kernels: the two forms say the same, and a break after a halt is that after work which ended when due."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.alignment.candidates import Candidates
from analyzer.alignment.lengths import Ground, Length, Marks, bands, block, on_time
from analyzer.alignment.priors import GAP, WORK
from analyzer.model.transcript import Floats

M, REACH_S = 40, 30.0
ALL = (0, M)


@pytest.fixture(scope="module")
def ground() -> Ground:
    rng = np.random.default_rng(3)
    time_s = np.cumsum(rng.uniform(0.4, 3.0, M))
    never = np.zeros(M, dtype=np.bool_)
    at = Candidates(time_s, np.full(M, 0.2), np.arange(M), np.arange(M), np.zeros(M), never, never)
    marks = Marks((), (), rng.normal(0, 1, (M, M)), np.zeros(M), rng.uniform(0, 3, M))
    return Ground(at, marks, rng.normal(0, 1, M), 0.3)


def gap_of(ground: Ground) -> Length:
    return Length.of(ground, 10.0, GAP, REACH_S, None)


@pytest.mark.parametrize("work", [True, False])
def test_both_forms_of_a_length_weigh_alike(ground: Ground, work: bool) -> None:
    length = Length.of(ground, 12.0, WORK, REACH_S, 4.0) if work else gap_of(ground)
    (band,) = bands(ground, [length])
    full = np.zeros((M, M))
    for b, row in enumerate(band.push):
        reached = row[: M - b]
        full[b, b : b + len(reached)] = reached
    np.testing.assert_allclose(np.exp(block(ground, length, ALL, ALL)), full, rtol=1e-9, atol=1e-300)


def test_a_break_after_a_halt_is_that_after_work_which_ended_when_due(ground: Ground) -> None:
    length, due = gap_of(ground), 12
    usual = block(ground, length, (due, due + 1), ALL)[0]
    halted = on_time(ground, length, float(ground.at.time_s[due]), (due, due + 1), ALL)[0]
    later = slice(due + 1, due + length.band)
    np.testing.assert_allclose(halted[later], usual[later])
    assert np.isneginf(halted[: due + 1]).all()


def test_it_does_not_matter_when_the_halt_was(ground: Ground) -> None:
    """Beyond what every path earns on the way, and a count given only once."""
    length, due_s = gap_of(ground), float(ground.at.time_s[20])
    rows: Floats = on_time(ground, length, due_s, (5, 8), (24, 34))
    rows = rows - ground.tilt[5:8, None]
    np.testing.assert_allclose(rows, np.broadcast_to(rows[0], rows.shape))
