"""A small net that tells how far a phrase is said like the name of what is worked.

It reads the words of the phrase and those beside it as vectors, each place with weights of its own, and what else is
true of it. One layer, and what is true of it straight, make a lean: natural log odds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from analyzer.language import load_language
from analyzer.language.spoken import EDGE
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import split_words
from analyzer.spotting.word_vectors import Float32s, WordVectors, letters_of, read_vectors, words_of

NET_FILE = "names-net.npz"
BESIDE, INSIDE = 5, 4
"""Tokens read on either side of a phrase, and at its end."""
PLACES = BESIDE + INSIDE + BESIDE
Feature = tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Tokens:
    """Everything said as tokens, an edge where a clause begins and at the end.

    ``first`` and ``last`` hold for every word its first and last token: one with an inner hyphen has several.
    """

    said: tuple[str, ...]
    first: Ints
    last: Ints

    @classmethod
    def of(cls, context: SpotContext) -> Tokens:
        """Lay out what was said; linear in the words."""
        said: list[str] = []
        first, last = [], []
        for index, norm in enumerate(context.words.norm):
            if context.breaks_before(index):
                said.append(EDGE)
            first.append(len(said))
            said += split_words(norm) or [norm]
            last.append(len(said) - 1)
        return cls((*said, EDGE), np.array(first, dtype=np.int64), np.array(last, dtype=np.int64))

    def around(self, first: Ints, last: Ints) -> Ints:
        """Return the tokens in and around phrases from word ``first`` to word ``last`` (n, PLACES).

        The phrase stands at the end of its places. Where there is no token stands one past the last.
        """
        start, end = self.first[first][:, None], self.last[last][:, None]
        inside = end + np.arange(1 - INSIDE, 1)
        before, after = start + np.arange(-BESIDE, 0), end + np.arange(1, BESIDE + 1)
        found = np.concatenate([before, np.where(inside < start, -1, inside), after], axis=1)
        return np.where((found < 0) | (found >= len(self.said)), len(self.said), found)


@dataclass(frozen=True, eq=False)
class NameNet:
    """The net of one language.

    ``words`` and their vectors of v numbers; ``features``, each a row of ``held`` (features, h) and of ``straight``
    (features,); ``places`` (PLACES, v, h), ``bias`` (h,), ``out`` (h,), ``out_bias`` (1,).
    """

    words: WordVectors
    features: Mapping[Feature, int]
    places: Float32s
    held: Float32s
    bias: Float32s
    straight: Float32s
    out: Float32s
    out_bias: Float32s

    def leans(self, tokens: Tokens, around: Ints, features: Iterable[Iterable[Feature]]) -> Floats:
        """Return how far phrases lean to being names (n,).

        Parameters
        ----------
        tokens : everything said.
        around : tokens in and around each phrase (n, PLACES), as :meth:`Tokens.around` gives them.
        features : what is true of each phrase.
        """
        distinct = {token: at for at, token in enumerate(dict.fromkeys(tokens.said))}
        which = np.array([*(distinct[token] for token in tokens.said), len(distinct)])[around]
        vectors = self.words.of_tokens(tuple(distinct))
        told = told_of(features, self.features, len(around))
        hidden = self.bias + told @ self.held
        for place, weights in enumerate(self.places):
            fits = np.concatenate([vectors @ weights, np.zeros((1, weights.shape[1]), dtype=np.float32)])
            hidden += fits[which[:, place]]
        found: Floats = np.maximum(hidden, 0.0) @ self.out + told @ self.straight + self.out_bias
        return found


def told_of(features: Iterable[Iterable[Feature]], known: Mapping[Feature, int], phrases: int) -> Float32s:
    """Return how often each of the features that are known is true of each phrase (phrases, known)."""
    told = np.zeros((phrases, len(known)), dtype=np.float32)
    for row, names in zip(told, features, strict=True):
        for name in names:
            if name in known:
                row[known[name]] += 1.0
    return told


@cache
def name_net(code: str) -> NameNet | None:
    """Read the net of a language; once a process. None where it has none."""
    folder = load_language(code).folder
    if not (folder / NET_FILE).exists():
        return None
    with np.load(folder / NET_FILE) as data:
        learnt = {name: data[name] for name in data.files}
    return net_of(*read_vectors(code), learnt)


def net_of(words: Sequence[str], known: Float32s, learnt: Mapping[str, Any]) -> NameNet:
    """Return the net of what was ``learnt``, its arrays and own words, and of what is ``known`` of the ``words``."""
    vectors = WordVectors.of(words, known, learnt["own_words"], learnt["own"])
    features = {tuple(name.split("\t")): at for at, name in enumerate(words_of(learnt["features"]))}
    arrays = ("places", "held", "bias", "straight", "out", "out_bias")
    return NameNet(vectors, features, *(learnt[name].astype(np.float32) for name in arrays))


def letters_of_features(features: Iterable[Feature]) -> Any:
    """Return what a net's file holds of the names of features."""
    return letters_of(["\t".join(name) for name in features])
