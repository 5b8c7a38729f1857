"""The boundary scores of the accuracy benchmark against published worked values."""

from __future__ import annotations

import pytest

from tests.benchmarks.accuracy import hit_rate

REFERENCE = (0.0, 60.0, 120.0, 180.0, 240.0)
ESTIMATED = (0.0, 60.4, 122.0, 181.0, 200.0, 240.0)


# Values of mir_eval 0.8.2, segment.detection, without and with the first and last boundary trimmed (beta 1).
@pytest.mark.parametrize(
    ("window_s", "trim", "want"),
    [
        (0.5, False, (0.5000, 0.6000, 0.5455)),
        (0.5, True, (0.2500, 0.3333, 0.2857)),
        (3.0, False, (0.8333, 1.0000, 0.9091)),
        (3.0, True, (0.7500, 1.0000, 0.8571)),
    ],
)
def test_boundary_hit_rate(window_s: float, trim: bool, want: tuple[float, float, float]) -> None:
    cut = slice(1, -1) if trim else slice(None)
    assert hit_rate(REFERENCE[cut], ESTIMATED[cut], window_s) == pytest.approx(want, abs=5e-5)


def test_a_distance_equal_to_the_window_is_a_hit() -> None:
    assert hit_rate([10.0], [10.5], 0.5) == (1.0, 1.0, 1.0)


def test_one_estimate_cannot_hit_two_references() -> None:
    assert hit_rate([10.0, 10.4], [10.2], 0.5)[1] == pytest.approx(0.5)


@pytest.mark.parametrize(("reference", "estimated"), [([], [1.0]), ([1.0], [])])
def test_nothing_to_match_scores_nought(reference: list[float], estimated: list[float]) -> None:
    assert hit_rate(reference, estimated, 3.0) == (0.0, 0.0, 0.0)
