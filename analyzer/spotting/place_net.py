"""A small net that reads a few words where they stand: a phrase, those before it and those after it.

The words are vectors, each place has weights of its own; what else is true of the phrase is given beside them. One
layer, and what is given straight, make leans: natural log odds, a column for each thing told apart (k of them).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from analyzer.language import load_language
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.word_vectors import Float32s, WordVectors, letters_of, read_vectors, words_of

Feature = tuple[str, ...]


class Window(NamedTuple):
    """How many tokens are read before a phrase, at its end and after it."""

    before: int
    inside: int
    after: int

    def around(self, start: Ints, end: Ints, count: int) -> Ints:
        """Return the tokens read of phrases from token ``start`` to token ``end`` (n, tokens read).

        A phrase stands at the end of its places. Where there is none of the ``count`` tokens stands ``count``.
        """
        start, end = start[:, None], end[:, None]
        inside = end + np.arange(1 - self.inside, 1)
        before, after = start + np.arange(-self.before, 0), end + np.arange(1, self.after + 1)
        found = np.concatenate([before, np.where(inside < start, -1, inside), after], axis=1)
        return np.where((found < 0) | (found >= count), count, found)


@dataclass(frozen=True, eq=False)
class PlaceNet:
    """A net, p tokens read.

    ``words`` and their vectors of v numbers; ``features``, each a row of ``held`` (features, h) and of ``straight``
    (features, k); ``places`` (p, v, h), ``bias`` (h,), ``out`` (h, k), ``out_bias`` (k,).
    """

    words: WordVectors
    features: Mapping[Feature, int]
    places: Float32s
    held: Float32s
    bias: Float32s
    straight: Float32s
    out: Float32s
    out_bias: Float32s

    def leans(self, words: Sequence[str], which: Ints, features: Sequence[Iterable[Feature]]) -> Floats:
        """Return how phrases lean (n, k).

        Parameters
        ----------
        words : every token that is read, once.
        which : which of them stands in each place of each phrase (n, p), ``len(words)`` for none.
        features : what is true of each phrase.
        """
        known = self.words.of_tokens(words)
        vectors = np.concatenate([known, np.zeros((1, known.shape[1]), dtype=np.float32)])
        told = told_of(features, self.features)
        hidden = self.bias + told @ self.held
        for place, weights in enumerate(self.places):
            hidden += vectors[which[:, place]] @ weights
        found: Floats = np.maximum(hidden, 0.0) @ self.out + told @ self.straight + self.out_bias
        return found


def told_of(features: Sequence[Iterable[Feature]], known: Mapping[Feature, int]) -> Float32s:
    """Return how often each of the features that are known is true of each phrase (phrases, known)."""
    told = np.zeros((len(features), len(known)), dtype=np.float32)
    for row, names in zip(told, features, strict=True):
        for name in names:
            if name in known:
                row[known[name]] += 1.0
    return told


@cache
def place_net(code: str, file: str) -> PlaceNet | None:
    """Read a net of a language from one of its files; once a process. None where it has none."""
    path = load_language(code).folder / file
    if not path.exists():
        return None
    with np.load(path) as data:
        learnt = {name: data[name] for name in data.files}
    return net_of(*read_vectors(code), learnt)


def net_of(words: Sequence[str], known: Float32s, learnt: Mapping[str, Any]) -> PlaceNet:
    """Return the net of what was ``learnt``, its arrays and own words, and of what is ``known`` of the ``words``."""
    vectors = WordVectors.of(words, known, learnt["own_words"], learnt["own"])
    features = {tuple(name.split("\t")): at for at, name in enumerate(words_of(learnt["features"]))}
    arrays = ("places", "held", "bias", "straight", "out", "out_bias")
    return PlaceNet(vectors, features, *(learnt[name].astype(np.float32) for name in arrays))


def letters_of_features(features: Iterable[Feature]) -> npt.NDArray[np.uint8]:
    """Return what a net's file holds of the names of features."""
    return letters_of(["\t".join(name) for name in features])
