"""Shares and medians with intervals that stay honest for few classes, and the change from one period to another.

All intervals are two-sided at 95 %. Sources: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), the score interval, as
R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, writes it; the same, 873-890, method 10, for a difference;
J. N. K. Rao and A. J. Scott, Biometrics 48 (1992) 577-585, for shares counted in clusters; the distribution-free
interval of a median by order statistics (W. R. Thompson, Ann. Math. Stat. 7, 1936); B. Iglewicz and D. C. Hoaglin,
How to Detect and Handle Outliers (1993), the modified z-score.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Z = 1.959963984540054  # the standard normal's 97.5 % point
OUTLIER_FROM = 3.5  # Iglewicz and Hoaglin's recommendation


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with the ends of its interval, and how many classes it rests on.

    None where there is nothing to tell: no value without data, no ends where the classes are too few for any.
    """

    value: float | None
    low: float | None
    high: float | None
    classes: int

    @property
    def excludes_zero(self) -> bool:
        """True when the whole interval lies on one side of zero: as a change, more than chance alone explains."""
        return self.low is not None and self.high is not None and (self.low > 0.0 or self.high < 0.0)


NOTHING = Estimate(None, None, None, 0)


def wilson(hits: float, of: float) -> tuple[float, float]:
    """Return the score interval of a share; ``hits`` and ``of`` may be effective numbers, not whole ones.

    >>> tuple(round(end, 4) for end in wilson(81, 263))
    (0.2553, 0.3662)
    """
    if not 0.0 <= hits <= of or of <= 0.0:
        raise ValueError(f"{hits} of {of}: a share of something is needed")
    middle, z2 = 2.0 * hits + Z * Z, Z * Z
    half = Z * math.sqrt(z2 + 4.0 * hits * (1.0 - hits / of))
    low, high = (middle - half) / (2.0 * (of + z2)), (middle + half) / (2.0 * (of + z2))
    return (0.0 if hits == 0.0 else low), (1.0 if hits == of else high)


def share(counts: Sequence[tuple[int, int]]) -> Estimate:
    """Return the share of hits over all classes, from (hits, of) of each class.

    What one class does is alike within it: forty calls of one class tell less than forty classes. So the number
    counted is divided by the design effect of Rao and Scott, never less than 1, before the score interval is taken.
    Where every call of every class is a hit, or none is, each class counts once. One count a class leaves the plain
    score interval.
    """
    counts = [(hits, of) for hits, of in counts if of > 0]
    if not counts:
        return NOTHING
    hits, of = sum(h for h, _ in counts), sum(n for _, n in counts)
    value = hits / of
    effective = of / _design_effect(counts, value)
    low, high = wilson(effective if hits == of else value * effective, effective)
    return Estimate(value, low, high, len(counts))


def _design_effect(counts: Sequence[tuple[int, int]], value: float) -> float:
    """Return the variance of a share counted in clusters over that of single counts, at least 1."""
    of, clusters = sum(n for _, n in counts), len(counts)
    if all(n == 1 for _, n in counts):
        return 1.0
    if clusters == 1 or value in (0.0, 1.0):
        return of / clusters
    spread = sum((hits - value * n) ** 2 for hits, n in counts) * clusters / (clusters - 1)
    return min(max(1.0, spread / (of * value * (1.0 - value))), float(of))


def median(values: Sequence[float]) -> Estimate:
    """Return the median; the interval needs six values, and covers at least 95 % whatever their distribution.

    >>> median([4.0, 1.0, 2.0])
    Estimate(value=2.0, low=None, high=None, classes=3)
    """
    if not values:
        return NOTHING
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    rank = _rank(len(ordered))
    low, high = (None, None) if rank == 0 else (float(ordered[rank - 1]), float(ordered[-rank]))
    return Estimate(float(np.median(ordered)), low, high, len(ordered))


def _rank(count: int) -> int:
    """Return the largest rank r whose interval, from the r-th least to the r-th largest, covers 95 %; 0 if none."""
    logs = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, count + 1)))])
    below = np.exp(logs[-1] - logs - logs[::-1] - count * math.log(2.0))  # binomial terms of one half
    return int(np.searchsorted(np.cumsum(below), 0.025, side="right"))


def change(now: Estimate, before: Estimate) -> Estimate:
    """Return ``now`` less ``before``, the two being independent: Newcombe's method 10, for shares and medians alike.

    Each end combines, in quadrature, the distances of the two values to the ends of their own intervals.
    """
    if now.value is None or before.value is None:
        return NOTHING
    value, classes = now.value - before.value, min(now.classes, before.classes)
    if now.low is None or now.high is None or before.low is None or before.high is None:
        return Estimate(value, None, None, classes)
    down = math.hypot(now.value - now.low, before.high - before.value)
    up = math.hypot(now.high - now.value, before.value - before.low)
    return Estimate(value, value - down, value + up, classes)


def outlier_scores(values: Sequence[float]) -> list[float]:
    """Return each value's modified z-score; all 0 where all values are equal.

    It divides by the median distance from the median, scaled to a standard deviation. Where more than half of the
    values are equal that is 0, and the mean distance takes its place: sqrt(pi / 2) times it is a normal's standard
    deviation.

    >>> [round(score, 1) for score in outlier_scores([3.7, 3.8, 4.0, 4.1, 4.2, 14.0])]
    [-1.2, -0.8, -0.2, 0.2, 0.5, 33.6]
    """
    if not values:
        return []
    given = np.asarray(values, dtype=np.float64)
    off = given - np.median(given)
    spread = float(np.median(np.abs(off)))
    sd = spread / 0.6745 if spread > 0.0 else math.sqrt(math.pi / 2.0) * float(np.mean(np.abs(off)))
    return [float(score) for score in off / sd] if sd > 0.0 else [0.0] * len(values)
