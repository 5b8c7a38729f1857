"""The guard band against worked examples computed from JCGM 106:2012 and ILAC-G8:09/2019."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from analyzer.checks.verdict import LISTED_FROM, doubt, judge, normal_cdf, probability_inside

INF = math.inf
# JCGM 106:2012 section 7 gives p; ILAC-G8:09/2019 section 4.2 the guarded decision with w = U = 2u
EXAMPLES = [
    (-INF, 5, 4.0, 0.5, 0.9772, "pass"),
    (-INF, 5, 5.0, 1.0, 0.5000, "unclear"),
    (-INF, 5, 6.0, 1.0, 0.1587, "unclear"),
    (-INF, 5, 4.2, 0.8, 0.8413, "unclear"),
    (-INF, 10, 8.355, 1.0, 0.9500, "unclear"),
    (-2, 2, 2.4, 0.5, 0.2119, "unclear"),
    (-2, 2, 3.5, 0.5, 0.0013, "fail"),
    (-2, 2, 1.2, 0.29, 0.9971, "pass"),
    (-2, 2, 0.0, 1.0, 0.9545, "pass"),
    (-2, 2, 1.0, 1.2, 0.7915, "unclear"),
    (57, 63, 60.0, 1.5, 0.9545, "pass"),
    (-1, 1, 0.5, 0.5, 0.8400, "unclear"),
    (-5, 5, 6.0, 0.5774, 0.0416, "unclear"),
    (-5, 5, 4.0, 0.5774, 0.9584, "unclear"),
]


@pytest.mark.parametrize(("low", "high", "measured", "u", "inside", "verdict"), EXAMPLES)
def test_worked_examples(low, high, measured, u, inside, verdict):
    judged = judge(measured, u, low, high)
    assert judged.verdict == verdict
    assert judged.beyond == pytest.approx(1 - inside, abs=6e-5)


def test_zener_diode_example_of_jcgm_106_section_7():
    assert probability_inside(-5.47, 0.05, high=-5.40) == pytest.approx(0.92, abs=0.005)


@pytest.mark.parametrize(("p", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)])
def test_table_1_of_jcgm_106(p, z):
    assert normal_cdf(z) == pytest.approx(p, abs=0.0015)


@pytest.mark.parametrize(("factor", "risk"), [(0, 0.5), (0.5, 0.1587), (0.83, 0.0485), (1.0, 0.0228), (1.5, 0.0013)])
def test_risk_at_the_edge_of_the_guard_band(factor, risk):
    assert 1 - probability_inside(10 - factor * 2.0, 1.0, high=10) == pytest.approx(risk, abs=6e-5)


@given(st.floats(-50, 50), st.floats(0.001, 30), st.floats(-20, 0), st.floats(0, 20))
def test_probability_agrees_with_scipy(measured, u, low, high):
    expected = norm.cdf(high, measured, u) - norm.cdf(low, measured, u)
    assert probability_inside(measured, u, low, high) == pytest.approx(expected, abs=1e-9)


@given(st.floats(-50, 50), st.floats(0, 10), st.floats(0, 10))
def test_more_uncertainty_never_turns_unclear_into_a_failure(measured, u, more):
    if judge(measured, u, -5, 5).verdict != "fail":
        assert judge(measured, u + more, -5, 5).verdict != "fail"


def test_exact_values_are_plain_comparisons():
    assert judge(5.0, 0.0, high=5.0).verdict == "pass"
    assert judge(5.001, 0.0, high=5.0).verdict == "fail"


def test_unclear_is_told_only_from_one_half_on():
    assert judge(5.0, 1.0, high=5.0).reported
    assert not judge(4.4, 1.0, high=5.0).reported
    assert judge(4.4, 1.0, high=5.0).beyond < LISTED_FROM
    assert not judge(1.0, 1.0, high=5.0).reported


def test_a_loose_value_in_the_middle_leans_neither_way():
    judged = judge(0.0, 8.0, -5.0, 5.0)
    assert judged.verdict == "unclear"
    assert judged.beyond > LISTED_FROM > judged.tail
    assert not judged.reported
    assert judge(5.5, 4.0, -5.0, 5.0).reported
    assert not judge(4.0, 6.0, -5.0, 5.0).reported  # u wider than the limit: it says nothing
    assert judge(6.0, 6.0, -5.0, 5.0).reported


def test_what_is_seldom_wrong_must_lean_further():
    assert not judge(5.9, 1.0, high=5.0).leans
    assert judge(6.1, 1.0, high=5.0).leans
    assert judge(8.0, 1.0, high=5.0).leans
    assert not judge(4.0, 1.0, high=5.0).leans


def test_doubt_lowers_failures_and_nothing_else():
    assert doubt(judge(20, 1, high=5)).verdict == "unclear"
    assert doubt(judge(20, 1, high=5), when=False).verdict == "fail"
    assert doubt(judge(0, 1, high=5)).verdict == "pass"


@pytest.mark.parametrize(("u", "low", "high"), [(-1, 0, 1), (math.nan, 0, 1), (1, 2, 1)])
def test_bad_input_is_refused(u, low, high):
    with pytest.raises(ValueError, match="u must be 0 or more"):
        judge(0, u, low, high)
