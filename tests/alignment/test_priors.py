"""Length priors: densities, and weights that follow the recording."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from analyzer.alignment.priors import GAP, TALK, WORK, LengthPrior, reweigh


@pytest.mark.parametrize("prior", [WORK, GAP, TALK], ids=["work", "gap", "talk"])
@pytest.mark.parametrize("blur", [0.0, 2.0])
def test_a_prior_is_a_density(prior: LengthPrior, blur: float) -> None:
    total, _ = integrate.quad(
        lambda x: float(np.exp(prior.log_density(np.array(x), 45.0, blur))), -400, 500, points=[40, 45, 50], limit=400
    )
    assert total == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("prior", [WORK, GAP, TALK.looser()], ids=["work", "gap", "talk"])
@pytest.mark.parametrize("blur", [0.0, 2.0])
def test_a_density_is_that_of_its_logarithm_and_may_vanish(prior: LengthPrior, blur: float) -> None:
    lengths = np.linspace(0.0, 300.0, 61)
    np.testing.assert_allclose(prior.density(lengths, 45.0, blur), np.exp(prior.log_density(lengths, 45.0, blur)))
    assert prior.density(np.array([1e6]), 45.0, blur) == 0.0


def test_the_parts_are_the_textbook_densities() -> None:
    """Normal and Laplace densities as scipy.stats computes them."""
    parts = WORK.parts(np.array(52.0), 40.0)
    human = WORK.human_s + WORK.human_share * 40.0
    slip = WORK.slip_s + WORK.slip_share * 40.0
    want = [
        np.log(WORK.weights[0]) + stats.norm.logpdf(12.0, scale=WORK.exact_s),
        np.log(WORK.weights[1]) + stats.norm.logpdf(12.0, scale=human),
        np.log(WORK.weights[2]) + stats.laplace.logpdf(12.0, scale=slip),
    ]
    assert parts == pytest.approx(np.array(want))


def test_a_slip_costs_a_few_nats_and_no_more() -> None:
    at_plan, slipped, far = WORK.log_density(np.array([40.0, 55.0, 80.0]), 40.0)
    assert 3.0 < at_plan - slipped < 7.0
    assert at_plan - far < 10.0


@pytest.mark.parametrize(
    ("lengths", "grows"),
    [([40.1, 39.8, 40.2] * 6, 0), ([44.0, 37.5, 42.5] * 6, 1), ([60.0, 22.0, 58.0] * 6, 2)],
    ids=["timer", "human", "slips"],
)
def test_weights_follow_the_recording(lengths: list[float], grows: int) -> None:
    after = reweigh(WORK, np.array(lengths), np.full(len(lengths), 40.0)).weights
    assert sum(after) == pytest.approx(1.0)
    assert after[grows] > WORK.weights[grows]
    assert min(after) > 0.04


def test_no_observation_changes_nothing() -> None:
    assert reweigh(WORK, np.array([]), np.array([])) == WORK
