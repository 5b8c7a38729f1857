"""The two forms of a kernel against plain sums over a full matrix."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.alignment.kernels import NEG, NOTHING, WIDE, Band, Blocks, Span, Window, cover
from analyzer.model.transcript import Floats

M, REACH = 3 * WIDE, 20


@pytest.fixture(scope="module")
def full() -> Floats:
    """Log weights from each of M candidates to those up to ``REACH`` after it, -inf elsewhere."""
    step = np.arange(M) - np.arange(M)[:, None]
    weights = np.random.default_rng(1).normal(0, 3, (M, M))
    return np.where((step >= 0) & (step < REACH), weights, NEG)


def band(full: Floats) -> Band:
    push = np.zeros((M, REACH))
    for b in range(M):
        reached = full[b, b : b + REACH]
        push[b, : len(reached)] = np.exp(reached)
    return Band(push)


def blocks(full: Floats, sources: Window, targets: Window) -> Blocks:
    return Blocks(lambda a, b: full[slice(*a), slice(*b)], REACH, sources, targets)


def spread(span: Span) -> Floats:
    values = np.zeros(M)
    values[slice(*span.window)] = span.values
    return values


@pytest.mark.parametrize("low", [0, 7, M - 30])
def test_a_band_sums_as_the_full_matrix_does(full: Floats, low: int) -> None:
    kernel, span = band(full), Span(low, np.linspace(1.0, 2.0, 30), -4.0)
    np.testing.assert_allclose(spread(kernel.forward(span)), spread(span) @ np.exp(full))
    want = np.exp(full) @ spread(span)
    window = max(0, low - 9), low + 11
    back = kernel.back(span, window)
    assert back.level == span.level
    np.testing.assert_allclose(spread(back)[slice(*window)], want[slice(*window)])
    assert kernel.forward(NOTHING) == NOTHING
    assert not kernel.back(span, (low + 30, M)).values.any()


@pytest.mark.parametrize(
    ("sources", "targets"), [((10, 20), (15, 32)), ((0, M), (0, M)), ((5, 90), (30, 30 + WIDE + 9))]
)
def test_blocks_sum_as_the_full_matrix_does_within_their_windows(
    full: Floats, sources: Window, targets: Window
) -> None:
    kernel = blocks(full, sources, targets)
    some = np.exp(full[slice(*sources), slice(*targets)])
    begin, end = Span(sources[0] + 2, np.linspace(1.0, 2.0, 6)), Span(targets[0] + 3, np.linspace(2.0, 1.0, 7))
    np.testing.assert_allclose(kernel.forward(begin).values, spread(begin)[slice(*sources)] @ some)
    np.testing.assert_allclose(kernel.back(end, sources).values, some @ spread(end)[slice(*targets)], atol=1e-12)
    score = np.linspace(3.0, 0.0, sources[1] - sources[0])
    best, source = kernel.best(score)
    rows = score[:, None] + full[slice(*sources), slice(*targets)]
    np.testing.assert_array_equal(best, rows.max(axis=0))
    reached = np.isfinite(best)
    np.testing.assert_array_equal(source[reached], sources[0] + rows.argmax(axis=0)[reached])


def test_nothing_leads_from_or_to_an_empty_window(full: Floats) -> None:
    for sources, targets in (((4, 4), (5, 9)), ((4, 8), (9, 9))):
        kernel = blocks(full, sources, targets)
        assert not kernel.forward(NOTHING).values.any()
        assert not np.isfinite(kernel.best(np.zeros(sources[1] - sources[0]))[0]).any()


def test_the_cover_of_windows_leaves_out_empty_ones() -> None:
    assert cover([(9, 9), (3, 5), (7, 8)]) == (3, 8)
    assert cover([(9, 9)]) == (0, 0)
