import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from analyzer.library.estimates import Estimate, change, median, outlier_scores, share, wilson


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    # Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (score without continuity correction)
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_a_share_s_interval_is_the_published_one(hits, of, low, high):
    assert wilson(hits, of) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),
    # Newcombe, Statistics in Medicine 17 (1998) 873-890, table II, method 10 (square and add, score intervals)
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((0, 10), (0, 20), -0.1611, 0.2775),
        ((0, 10), (0, 10), -0.2775, 0.2775),
        ((10, 10), (0, 20), 0.6791, 1.0),
        ((10, 10), (0, 10), 0.6075, 1.0),
    ],
)
def test_a_change_of_shares_is_the_published_one(one, other, low, high):
    found = change(share(classes(*one)), share(classes(*other)))
    assert found.value == pytest.approx(one[0] / one[1] - other[0] / other[1])
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


def classes(hits, of):
    """One count a class."""
    return [(1, 1)] * hits + [(0, 1)] * (of - hits)


@settings(deadline=None)  # the general library is slow at first
@given(st.integers(1, 400).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_a_share_agrees_with_a_general_library(given_counts):
    hits, of = given_counts
    expected = stats.binomtest(hits, of).proportion_ci(0.95, "wilson")
    found = share(classes(hits, of))
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-9)
    assert found.low <= found.value <= found.high


@pytest.mark.parametrize(
    ("counts", "effective"),
    [
        ([(4, 4), (0, 4), (4, 4), (0, 4)], 3),  # each class is all or nothing: 4 classes count for 4 * 3/4
        ([(5, 5), (5, 5), (5, 5)], 3),  # all alike: each class once
        ([(30, 40)], 1),  # one class says little about others
        ([(2, 4), (2, 4), (2, 4)], 12),  # less different than chance would have it: never more than were counted
    ],
)
def test_counts_of_one_class_are_alike(counts, effective):
    """Rao and Scott, Biometrics 48 (1992): the variance of a share from clusters over the binomial one."""
    found = share(counts)
    value = sum(h for h, _ in counts) / sum(n for _, n in counts)
    assert found.value == value
    assert (found.low, found.high) == pytest.approx(wilson(value * effective, effective))
    assert found.classes == len(counts)


def test_a_share_of_nothing_is_nothing():
    assert share([]) == share([(0, 0)]) == median([]) == Estimate(None, None, None, 0)
    assert change(share([]), share([(1, 1)])).value is None
    with pytest.raises(ValueError, match="a share of something is needed"):
        wilson(0, 0)


@pytest.mark.parametrize(
    ("count", "rank"),
    # ranks of the 95 % interval of a median as tables of the sign test give them, from memory
    [(5, 0), (6, 1), (8, 1), (9, 2), (10, 2), (20, 6), (50, 18), (100, 40)],
)
def test_a_median_s_interval_goes_by_rank(count, rank):
    found = median([float(n) for n in range(1, count + 1)])
    assert (found.low, found.high) == ((None, None) if rank == 0 else (rank, count + 1 - rank))


@settings(deadline=None)  # the general library is slow at first
@given(st.lists(st.floats(-1e6, 1e6), min_size=6, max_size=300))
def test_a_median_agrees_with_a_general_library(values):
    expected = stats.quantile_test(values, p=0.5).confidence_interval(0.95)
    found = median(values)
    assert (found.low, found.high) == (expected.low, expected.high)
    assert found.low <= found.value <= found.high


def test_a_median_of_very_many_values():
    found = median([float(n) for n in range(200_001)])
    # the normal approximation of the ranks: n/2 -+ 1.96 sqrt(n)/2
    assert (found.low, found.high) == pytest.approx((100_000 - 438.3, 100_000 + 438.3), abs=2)


def test_a_change_of_medians_needs_both_ranges():
    few, many = median([1.0, 2.0]), median([float(n) for n in range(20)])
    assert change(many, few) == Estimate(8.0, None, None, 2)
    assert not change(many, few).excludes_zero
    assert change(many, median([float(n) - 50 for n in range(20)])).excludes_zero


def test_scores_of_the_published_example():
    """Iglewicz and Hoaglin (1993), from memory: of these only the last two are outliers, at 22.5 and 24.7."""
    values = [3.2, 3.4, 3.7, 3.7, 3.8, 3.9, 4.0, 4.0, 4.1, 4.2, 4.7, 4.8, 14.0, 15.0]
    scores = outlier_scores(values)
    assert [round(score, 1) for score in scores[-2:]] == [22.5, 24.7]
    assert max(map(abs, scores[:-2])) < 3.5
    spread = stats.median_abs_deviation(values)
    assert scores == pytest.approx([0.6745 * (value - 4.0) / spread for value in values])


def test_values_that_are_mostly_equal():
    scores = outlier_scores([1.0] * 20 + [9.0])
    assert scores[:20] == [0.0] * 20
    assert scores[20] == pytest.approx(8.0 / (1.2533 * 8.0 / 21), rel=1e-4)
    assert outlier_scores([1.0, 1.0, 1.0]) == [0.0] * 3
    assert outlier_scores([]) == []
