"""Log priors of the length of work and of the gaps between, as mixtures: timer-exact, human, slip.

Conventions: lengths in seconds; log densities in nats per second of length; arrays broadcast.
A prior that is only tight repeats the plan and explains real slips away; the heavy ``slip`` part keeps them
findable. The numbers are judgement from watching how people keep time (common practice, no source), set in 2026-11;
the weights adapt to each recording (:func:`reweigh`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from analyzer.model.transcript import Floats

_LOG_2PI = float(np.log(2.0 * np.pi))


@dataclass(frozen=True, slots=True)
class LengthPrior:
    """Mixture over the deviation of a length from its plan.

    ``exact_s`` sd of a length kept by a timer; ``human_s`` + ``human_share`` * plan the sd of one kept by feel;
    ``slip_s`` + ``slip_share`` * plan the scale of a two-sided exponential for real slips; ``weights`` of the three
    (sum 1).
    """

    exact_s: float
    human_s: float
    human_share: float
    slip_s: float
    slip_share: float
    weights: tuple[float, float, float]

    def parts(self, length_s: Floats, plan_s: Floats | float, blur_s: Floats | float = 0.0) -> Floats:
        """Return the weighted log density of each part: shape (3, ...) for lengths of shape (...)."""
        return np.stack(np.broadcast_arrays(*self._parts(length_s, plan_s, blur_s)))

    def _parts(self, length_s: Floats, plan_s: Floats | float, blur_s: Floats | float) -> list[Floats]:
        off = np.asarray(length_s) - plan_s
        blur = np.square(blur_s)
        out = []
        human: Floats = np.asarray(self.human_s + self.human_share * np.asarray(plan_s))
        for weight, sd in zip(self.weights[:2], (np.asarray(self.exact_s), human), strict=True):
            var = np.square(sd) + blur
            out.append(np.log(weight) - 0.5 * (off * off / var + np.log(var) + _LOG_2PI))
        scale = np.sqrt(np.square(self.slip_s + self.slip_share * np.asarray(plan_s)) + blur)
        out.append(np.log(self.weights[2]) - np.abs(off) / scale - np.log(2.0 * scale))
        return out

    def log_density(self, length_s: Floats, plan_s: Floats | float, blur_s: Floats | float = 0.0) -> Floats:
        """Return log p(length | plan) in nats, same shape as ``length_s``; ``blur_s`` adds time uncertainty."""
        exact, human, slip = self._parts(length_s, plan_s, blur_s)
        top = np.maximum(np.maximum(exact, human), slip)
        total: Floats = top + np.log(np.exp(exact - top) + np.exp(human - top) + np.exp(slip - top))
        return total

    def density(self, length_s: Floats, plan_s: float, blur_s: float) -> Floats:
        """Return p(length | plan), nothing where it is too small for a number: quicker than from its logarithm."""
        off = length_s - plan_s
        half = -0.5 * (off * off)
        slip = math.hypot(self.slip_s + self.slip_share * plan_s, blur_s)
        total: Floats = np.exp(np.abs(off) * (-1.0 / slip)) * (self.weights[2] / (2.0 * slip))
        for weight, sd in zip(self.weights, (self.exact_s, self.human_s + self.human_share * plan_s), strict=False):
            var = sd * sd + blur_s * blur_s
            total += np.exp(half * (1.0 / var)) * (weight / math.sqrt(2.0 * math.pi * var))
        return total

    def looser(self) -> LengthPrior:
        """Return the same prior with most of its weight on slips: the judge of how far the plan decided."""
        return replace(self, weights=(0.1, 0.4, 0.5), slip_s=1.6 * self.slip_s)


# Work: a timer or a careful counter lands within a second; by feel it is 1.5 s and a twentieth of the plan;
# one interval in eight slips, by some ten seconds.
WORK = LengthPrior(exact_s=0.9, human_s=1.5, human_share=0.03, slip_s=6.0, slip_share=0.05, weights=(0.40, 0.45, 0.15))
# Gaps are kept less well than work: nobody counts a rest, and talk fills it.
GAP = LengthPrior(exact_s=1.0, human_s=2.0, human_share=0.12, slip_s=7.0, slip_share=0.25, weights=(0.30, 0.50, 0.20))
# Talk and demos have a planned length that is a wish.
TALK = LengthPrior(exact_s=2.0, human_s=5.0, human_share=0.20, slip_s=15.0, slip_share=0.40, weights=(0.15, 0.50, 0.35))

# Work that something came between, while the clock ran on: it may have ended at any time, rather late than early.
HALT = LengthPrior(exact_s=1.0, human_s=2.0, human_share=0.1, slip_s=8.0, slip_share=0.0, weights=(0.01, 0.01, 0.98))
HALT_SHARE = 0.7

# A density has a unit; a path that leaves an interval out has one factor fewer. Lengths are therefore weighed against
# a background in which a boundary falls anywhere within this many seconds: on-plan lengths earn a little, slips cost.
BACKGROUND_S = 10.0

_PSEUDO = 6.0  # observations the starting weights count for: a short class should not overturn them
_FLOOR = 0.06  # no part ever vanishes: the next slip may be the first


def reweigh(prior: LengthPrior, length_s: Floats, plan_s: Floats, blur_s: Floats | float = 0.0) -> LengthPrior:
    """Return ``prior`` with weights re-estimated from observed lengths (one EM step with pseudo-counts and a floor).

    ``length_s`` and ``plan_s`` are arrays of shape (n,), seconds.
    """
    if len(length_s) == 0:
        return prior
    parts = prior.parts(length_s, plan_s, blur_s)
    share = np.exp(parts - parts.max(axis=0))
    share /= share.sum(axis=0)
    weights = np.maximum((share.sum(axis=1) + _PSEUDO * np.asarray(prior.weights)) / (len(length_s) + _PSEUDO), _FLOOR)
    weights /= weights.sum()
    return replace(prior, weights=(float(weights[0]), float(weights[1]), float(weights[2])))
