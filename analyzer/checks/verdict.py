"""Decisions under uncertainty: the guard band of JCGM 106:2012 with U = 2u, as ILAC-G8:09/2019 section 4.2 uses it.

Conventions: ``measured``, ``low``, ``high`` and ``u`` share one unit; ``u`` is a standard uncertainty (>= 0) of a
normal error; the allowed zone is ``low`` to ``high``, ends included; either end may be infinite.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from analyzer.model.audit import Verdict

COVERAGE = 2.0  # U = 2u: under 2.5 % risk of a wrong statement at the limit (ILAC-G8:09/2019, section 4.2)
REPORT_FROM = 1 / 3  # our judgement: below this chance something missing is not told as perhaps missing
LEANS_FROM = 0.84  # our judgement: one standard uncertainty, one-sided
LISTED_FROM = 0.5  # our judgement: a quantity is listed as unclear when it is rather beyond its limit than inside


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with what it rests on.

    ``beyond`` is the probability that the true value is outside the limits; ``tail`` the larger of its two parts,
    above ``high`` or below ``low``; ``vague`` True when the value lies inside and ``u`` is wider than the limit
    itself, so that it says nothing.
    """

    verdict: Verdict
    measured: float
    u: float
    beyond: float
    tail: float
    vague: bool = False

    @property
    def reported(self) -> bool:
        """True when someone should hear of it.

        A proved failure always is. An unclear case is listed only when it is rather beyond one limit than inside:
        with coarse stamps nearly every quantity is "unclear", and a list of all of them would bury the few that are
        worth a second look. Each limit counts alone, and a vague value is not listed: neither leans anywhere,
        however loosely it is timed.
        """
        return self.verdict == "fail" or (self.verdict == "unclear" and self.tail >= LISTED_FROM and not self.vague)

    @property
    def leans(self) -> bool:
        """True when it is reported and beyond a limit by a standard uncertainty or more.

        This is asked of what is seldom wrong, as what a coach says of the clock is: there most of the values that
        lie only just beyond are themselves wrong.
        """
        return self.reported and (self.verdict == "fail" or self.tail >= LEANS_FROM)


def normal_cdf(z: float) -> float:
    """Return the standard normal distribution function at ``z``.

    >>> round(normal_cdf(1.40), 4)
    0.9192
    """
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))


def probability_inside(measured: float, u: float, low: float = -math.inf, high: float = math.inf) -> float:
    """Return the conformance probability of JCGM 106:2012 section 7: the share of the error that stays inside.

    >>> round(probability_inside(4.2, 0.8, high=5.0), 4)
    0.8413
    """
    below_low, below_high = _below(measured, u, low, high)
    return max(0.0, below_high - below_low)


def _below(measured: float, u: float, low: float, high: float) -> tuple[float, float]:
    """Return the probabilities that the value lies below each of its limits."""
    if u <= 0.0:
        return float(not low <= measured), float(measured <= high)
    below_low = normal_cdf((low - measured) / u) if low > -math.inf else 0.0
    return below_low, normal_cdf((high - measured) / u) if high < math.inf else 1.0


def judge(measured: float, u: float, low: float = -math.inf, high: float = math.inf) -> Judgement:
    """Compare a measured value with its limits: ``pass`` inside by U or more, ``fail`` beyond by more than U.

    Raises
    ------
    ValueError
        When ``u`` is negative or not a number, or the limits are crossed.
    """
    if not u >= 0.0 or low > high:
        raise ValueError(f"u = {u}, limits {low} to {high}: u must be 0 or more and the limits in order")
    band = COVERAGE * u
    verdict: Verdict = "unclear"
    if low + band <= measured <= high - band:
        verdict = "pass"
    elif measured > high + band or measured < low - band:
        verdict = "fail"
    vague = low <= measured <= high and u > min(abs(low), abs(high))
    below_low, below_high = _below(measured, u, low, high)
    tail = 1.0 - min(below_high, 1.0 - below_low)
    return Judgement(verdict, measured, u, 1.0 - max(0.0, below_high - below_low), tail, vague)


def doubt(judgement: Judgement, when: bool = True) -> Judgement:
    """Return the judgement with a failure lowered to ``unclear`` where its placing itself is in doubt."""
    return replace(judgement, verdict="unclear") if when and judgement.verdict == "fail" else judgement
