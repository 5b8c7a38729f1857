"""What the scripts that learn weights of words share."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

from tests.generator.noise import near_words

Floats = npt.NDArray[np.float64]
Name = tuple[str, ...]
MISHEARD_SHARE = 0.12
"""Of the words of a misheard sentence."""


def plain(sentence: str) -> str:
    """Return it as a recogniser without punctuation would write it."""
    return re.sub(r"[^\w' -]", "", sentence).lower()


def misheard(sentence: str, chance: random.Random) -> str:
    """Return it with some words written as others that sound alike."""
    words = sentence.split()
    odd = [at for at in range(len(words)) if chance.random() < MISHEARD_SHARE] or [chance.randrange(len(words))]
    for at in odd:
        near = near_words(words[at])
        words[at] = chance.choice(near) if near else words[at]
    return " ".join(words)


def common_names(held: Sequence[Mapping[Name, int]], fewest: int) -> tuple[Name, ...]:
    """Return the features that at least so many samples hold, sorted."""
    seen = Counter(name for some in held for name in some)
    return tuple(sorted(name for name, times in seen.items() if times >= fewest))


def matrix_of(held: Sequence[Mapping[Name, int]], names: Sequence[Name]) -> csr_matrix:
    """Return how often each sample holds each feature (samples x features)."""
    at = {name: place for place, name in enumerate(names)}
    rows = [(row, at[name], times) for row, some in enumerate(held) for name, times in some.items() if name in at]
    row, column, times = zip(*rows, strict=True)
    return csr_matrix((np.asarray(times, dtype=np.float64), (row, column)), shape=(len(held), len(names)))


@dataclass(frozen=True)
class _Target:
    """What weights are fitted to: true or not, how much each sample weighs, what it leans to anyway."""

    wanted: Floats
    weigh: Floats
    offset: Floats
    sparing: float

    def loss(self, weights: Floats, matrix: csr_matrix, across: csr_matrix) -> tuple[float, Floats]:
        """Return the cost of the weights and its slope."""
        logit = self.offset + matrix @ weights
        cost = (self.weigh * (np.logaddexp(0.0, logit) - self.wanted * logit)).sum() + self.sparing * (weights**2).sum()
        slope = across @ (self.weigh * (1.0 / (1.0 + np.exp(-logit)) - self.wanted)) + 2 * self.sparing * weights
        return float(cost), slope


def fit_logistic(matrix: csr_matrix, wanted: Floats, weigh: Floats, offset: Floats, sparing: float) -> Floats:
    """Return the weights of features (columns) that tell the wanted samples (rows) best, kept small."""
    target = _Target(wanted, weigh, offset, sparing)
    start = np.zeros(matrix.shape[1])
    arguments = (matrix, matrix.T.tocsr())
    best = minimize(target.loss, start, arguments, jac=True, method="L-BFGS-B", options={"maxiter": 200})
    found: Floats = best.x
    return found


def fit_choice(clues: Floats, wanted: Floats, group: Floats, weigh: float, sparing: float) -> Floats:
    """Return the weights of clues (columns, the last one all ones) that tell which row of each group is wanted.

    A conditional logit; none of a group has the worth of nought, and is wanted where no row is. Each clue is as
    sparing as its spread allows, the last one free.
    """
    spread = np.append(clues[:, :-1].std(axis=0), 1.0)
    rows, groups = clues / np.where(spread > 0.0, spread, 1.0), int(group.max()) + 1
    has = np.bincount(group, wanted, groups) > 0.0
    free = np.append(np.ones(clues.shape[1] - 1), 0.0)

    def loss(weights: Floats) -> tuple[float, Floats]:
        worth = rows @ weights
        top = np.zeros(groups)
        np.maximum.at(top, group, worth)
        odds = np.exp(worth - top[group])
        every = np.exp(-top) + np.bincount(group, odds, groups)
        right = np.where(has, 0.0, np.exp(-top)) + np.bincount(group, odds * wanted, groups)
        cost = weigh * (np.log(every) - np.log(right)).sum() + sparing * (free * weights**2).sum()
        slope = weigh * rows.T @ (odds / every[group] - odds * wanted / right[group]) + 2 * sparing * free * weights
        return float(cost), slope

    best = minimize(loss, np.zeros(clues.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 300})
    found: Floats = best.x / np.where(spread > 0.0, spread, 1.0)
    return found
