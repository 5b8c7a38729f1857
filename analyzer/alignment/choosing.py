"""How likely each name heard around a stretch of work is the one of that stretch, all of them weighed at once.

A conditional logit (D. McFadden, "Conditional logit analysis of qualitative choice behavior", in P. Zarembka (ed.),
Frontiers in Econometrics, 1974): names compete with each other and with none of them, for which nought stands. The
weights of the clues are learnt beside the net that weighs the phrases (``tests/tools/train_names.py``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from analyzer.language import load_language
from analyzer.model.transcript import Floats
from analyzer.spotting.text_model import read_weights

CLUES_FILE = "names-chosen.tsv"
LEAST, MOST = -5.0, 3.0
"""A lean beyond tells no more; the first stands for a name that was not said."""
UNLISTED_FROM = -3.0
"""A phrase in no list that leans less is not looked at."""
LIKE_A_NAME = -2.0


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """Names to choose from. ``around`` (stretches, names): which of them are heard around which stretch."""

    around: npt.NDArray[np.bool_]
    clues: dict[str, Floats]
    """By name of the clue: (stretches, names)."""

    def nats(self, weights: Mapping[str, float]) -> Floats:
        """Return the worth of each name over none of them (stretches, names), nats; -inf where it is not heard."""
        total = np.full(self.around.shape, weights.get("bias", 0.0))
        for name, values in self.clues.items():
            total += weights.get(name, 0.0) * values
        return np.where(self.around, total, -np.inf)


@cache
def clue_weights(code: str) -> Mapping[str, float] | None:
    """Return the weights of the clues in a language; None where it has none."""
    path = load_language(code).folder / CLUES_FILE
    return {name: float(row[0]) for (name,), row in read_weights(path).items()} if path.exists() else None


def choose_from(told: Sequence[Mapping[str, float]], heard: Floats, names: Sequence[frozenset[str]]) -> Choice:
    """Return the clues of every name around every stretch.

    Parameters
    ----------
    told : for each stretch, how far each phrase around it leans to being its name.
    heard : nats of the names that a list holds (stretches, listed), the first of ``names``.
    names : spellings of each name, as stems.
    """
    listed = np.arange(len(names)) < heard.shape[1]
    heard = np.pad(heard, ((0, 0), (0, len(names) - heard.shape[1])))
    lean = _leans(told, names)
    said = np.isfinite(lean)
    around = np.where(listed, said | (heard > 0.0), lean > UNLISTED_FROM)
    lean = np.clip(lean, LEAST, MOST)
    other = _elsewhere(lean, LEAST)
    like_names = (lean > LIKE_A_NAME).astype(np.float64)
    longer = _longer(names)
    clues = {
        "lean": lean,
        "lean over nought": np.maximum(lean, 0.0),
        "heard": heard,
        "listed": np.broadcast_to(listed.astype(np.float64), lean.shape),
        "listed, not said": (listed & ~said).astype(np.float64),
        "more elsewhere": np.maximum(other - lean, 0.0),
        "more at the next": np.maximum(np.vstack([lean[1:], np.full((1, len(names)), LEAST)]) - lean, 0.0),
        "at others": (like_names.sum(axis=0) - like_names) / len(told),
        "longer": np.maximum(_best_of(np.where(around, lean, LEAST), longer, LEAST) - UNLISTED_FROM, 0.0),
        "longer heard": _best_of(np.where(listed, heard, 0.0), longer, 0.0),
        "heard elsewhere": np.maximum(_elsewhere(heard, 0.0) - heard, 0.0),
    }
    return Choice(around, clues)


def _leans(told: Sequence[Mapping[str, float]], names: Sequence[frozenset[str]]) -> Floats:
    """Return how far each name leans to each stretch, -inf where it is not said around it."""
    at = {key: name for name, keys in enumerate(names) for key in keys}
    lean = np.full((len(told), len(names)), -np.inf)
    for row, phrases in zip(lean, told, strict=True):
        for key, value in phrases.items():
            if key in at:
                row[at[key]] = max(row[at[key]], value)
    return lean


def _elsewhere(values: Floats, nothing: float) -> Floats:
    """Return the largest of each column in all other rows, ``nothing`` where there is no other."""
    if len(values) < 2:
        return np.full(values.shape, nothing)
    second, first = np.sort(values, axis=0)[-2:]
    best: Floats = np.where(values == first, second, first)
    return best


def _longer(names: Sequence[frozenset[str]]) -> list[list[int]]:
    """Return, for each name, the others that hold all words of one of its spellings and more."""
    words = [[frozenset(key.split()) for key in keys] for keys in names]
    holding: dict[str, set[int]] = {}
    for name, spellings in enumerate(words):
        for word in frozenset().union(*spellings):
            holding.setdefault(word, set()).add(name)
    return [
        [
            other
            for other in sorted(set().union(*(holding[word] for own in spellings for word in own)) - {name})
            if any(own < wide for own in spellings for wide in words[other])
        ]
        for name, spellings in enumerate(words)
    ]


def _best_of(values: Floats, groups: Sequence[Sequence[int]], nothing: float) -> Floats:
    """Return the largest value among each group of columns (rows, groups)."""
    best = np.full(values.shape, nothing)
    for column, group in enumerate(groups):
        if group:
            best[:, column] = values[:, group].max(axis=1)
    return best
