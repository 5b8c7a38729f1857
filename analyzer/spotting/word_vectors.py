"""Words as vectors: what is known of a word from a great deal of text, and what was learnt of it from classes.

The file ``word-vectors.npz`` of a language holds the first, written by ``tests/tools/make_vectors.py``; each net brings
the second, for the words that coaches often say. A word known neither way shares one vector with all such words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from analyzer.language import load_language

VECTORS_FILE = "word-vectors.npz"
UNKNOWN = ""
"""How a word without a vector stands among the words."""

Float32s = npt.NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class WordVectors:
    """The words of one net (w), each with its row in ``vectors`` (w, v)."""

    rows: Mapping[str, int]
    vectors: Float32s

    @classmethod
    def of(cls, words: Sequence[str], known: Float32s, own_words: npt.NDArray[np.uint8], own: Float32s) -> WordVectors:
        """Put what is ``known`` of ``words`` beside what a net learnt of its ``own_words``; as files hold both."""
        special = words_of(own_words)
        rows = {word: at for at, word in enumerate(dict.fromkeys([*special, *words]))}
        vectors = np.zeros((len(rows), known.shape[1] + own.shape[1]), dtype=np.float32)
        vectors[[rows[word] for word in words], : known.shape[1]] = known
        vectors[: len(special), known.shape[1] :] = own
        return cls(rows, vectors)

    def of_tokens(self, tokens: Sequence[str]) -> Float32s:
        """Return the vectors of tokens (tokens, v)."""
        unknown = self.rows[UNKNOWN]
        return self.vectors[[self.rows.get(token, unknown) for token in tokens]]


@cache
def read_vectors(code: str) -> tuple[tuple[str, ...], Float32s]:
    """Return the words of a language that have a vector, and the vectors (words, v)."""
    with np.load(load_language(code).folder / VECTORS_FILE) as data:
        vectors: Float32s = data["vectors"].astype(np.float32) / data["scale"]
        return tuple(words_of(data["words"])), vectors


def words_of(letters: npt.NDArray[np.uint8]) -> list[str]:
    """Return words as a data file holds them: as one text, a line each."""
    return letters.tobytes().decode().split("\n")


def letters_of(words: Sequence[str]) -> npt.NDArray[np.uint8]:
    """Return what a data file holds of words."""
    return np.frombuffer("\n".join(words).encode(), dtype=np.uint8)
