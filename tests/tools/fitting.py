"""What the scripts that learn weights of words share."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt
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
