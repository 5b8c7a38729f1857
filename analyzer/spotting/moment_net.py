"""A small net that reads what is said around a break, further than the words beside it.

Every word is a vector: what is known of it from a great deal of English (``word-vectors.npz``) and, of those that
coaches often say, what was learnt here. Filters over three neighbours find what they learnt to look for; of each filter
counts the strongest place before and after the break, near it and further off, each place by how far away it is. Two
layers turn that into leans. Numbers are left out: counts are spotted for themselves.

Conventions: n breaks, k columns, natural log odds; the arrays of the net are float32.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from analyzer.language import SpokenText, load_language
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.word_vectors import Float32s, WordVectors, read_vectors

NET_FILE = "moments-net.npz"
REACH, NEAR = 24, 8
"""Words read on either side of a break, and how many of them are near it."""


def unnumbered(spoken: SpokenText, numbers: Mapping[str, int]) -> Ints:
    """Return the tokens that are read, ascending: no number, and one edge where only numbers part several."""
    said = np.array([token not in numbers and not token[:1].isdigit() for token in spoken.distinct], dtype=np.bool_)
    read = np.flatnonzero(said[spoken.which])
    edge = spoken.is_edge[read]
    found: Ints = read[~(edge & np.append(False, edge[:-1]))]
    return found


def around(places: Floats, heads: Ints) -> Ints:
    """Return the tokens around each break, before word ``heads``, one more than is read on either side (n, tokens).

    ``places`` of the tokens are as in ``SpokenText``. Beyond the text stands one past its last token. An edge before
    the break belongs to what follows it.
    """
    first = np.searchsorted(places, heads - 0.5, side="left")
    found = first[:, None] + np.arange(-REACH - 1, REACH + 1)
    return np.where((found < 0) | (found >= len(places)), len(places), found)


@dataclass(frozen=True, eq=False)
class MomentNet:
    """The net of one language.

    ``words`` and their vectors of v numbers; ``filters`` (3, v, f) over a word and its neighbours; ``places``
    (2 * REACH, f) what a filter gains or loses by how far from the break it fits; ``hidden`` (4 f, h) and
    ``hidden_bias``; ``out`` (h, k) and ``out_bias``; ``shares`` (3, k): how much leans found otherwise count, how much
    the net's own count beside them, and what is added.
    """

    words: WordVectors
    filters: Float32s
    places: Float32s
    hidden: Float32s
    hidden_bias: Float32s
    out: Float32s
    out_bias: Float32s
    shares: Float32s

    def leans(self, spoken: SpokenText, numbers: Mapping[str, int], heads: Ints, beside: Floats) -> Floats:
        """Return how each break leans (n, k); ``beside`` how it leans by the words beside it (n, k)."""
        fits = self.words.of_tokens(spoken.distinct) @ self.filters  # (3, distinct, f)
        read = unnumbered(spoken, numbers)
        left, here, right = fits[:, spoken.which[read]]
        here[1:] += left[:-1]
        here[:-1] += right[1:]
        here = np.concatenate([here, np.full((1, here.shape[1]), -np.inf, dtype=np.float32)])
        tokens = around(spoken.places[read], heads)[:, 1:-1]
        parts = ((0, REACH - NEAR), (REACH - NEAR, REACH), (REACH, REACH + NEAR), (REACH + NEAR, 2 * REACH))
        before, last, first, after = (_strongest(here, self.places, tokens, *part) for part in parts)
        best = np.concatenate([np.maximum(before, last), np.maximum(first, after), last, first], axis=1)
        hidden = np.maximum(best @ self.hidden + self.hidden_bias, 0.0)
        others, own, added = self.shares
        found: Floats = others * beside + own * (hidden @ self.out + self.out_bias) + added
        return found


def _strongest(fits: Float32s, places: Float32s, tokens: Ints, first: int, last: int) -> Float32s:
    """Return how well each filter fits at best within some places around each break; 0 where none does (n, f)."""
    best = np.zeros((len(tokens), fits.shape[1]), dtype=np.float32)
    for place in range(first, last):
        np.maximum(best, fits[tokens[:, place]] + places[place], out=best)
    return best


@cache
def moment_net(code: str) -> MomentNet | None:
    """Read the net of a language; once a process. None where it has none."""
    folder = load_language(code).folder
    if not (folder / NET_FILE).exists():
        return None
    with np.load(folder / NET_FILE) as data:
        learnt = {name: data[name] for name in data.files}
    return net_of(*read_vectors(code), learnt)


def net_of(words: Sequence[str], known: Float32s, learnt: Mapping[str, Any]) -> MomentNet:
    """Return the net of what was ``learnt``, its arrays and own words, and of what is ``known`` of the ``words``."""
    arrays = ("filters", "places", "hidden", "hidden_bias", "out", "out_bias", "shares")
    vectors = WordVectors.of(words, known, learnt["own_words"], learnt["own"])
    return MomentNet(vectors, *(learnt[name].astype(np.float32) for name in arrays))
