"""Words as vectors: what is known beside what was learnt."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.spotting.word_vectors import UNKNOWN, WordVectors, letters_of, read_vectors, words_of

KNOWN = np.arange(6, dtype=np.float32).reshape(2, 3)
OWN = np.array([[0.5], [0.25]], dtype=np.float32)


@pytest.mark.parametrize(
    ("token", "vector"),
    [
        ("squat", [0.0, 1.0, 2.0, 0.0]),
        ("rest", [3.0, 4.0, 5.0, 0.25]),
        ("gargoyle", [0.0, 0.0, 0.0, 0.5]),
    ],
)
def test_a_vector_is_what_is_known_and_what_was_learnt(token, vector):
    words = WordVectors.of(("squat", "rest"), KNOWN, letters_of([UNKNOWN, "rest"]), OWN)
    assert words.of_tokens([token])[0].tolist() == vector


def test_words_come_back_from_letters():
    words = [UNKNOWN, "|", "añadir", "rest"]
    assert words_of(letters_of(words)) == words


def test_words_used_alike_have_vectors_alike():
    words, vectors = read_vectors("en")
    assert vectors.shape[0] == len(words)

    def near(one, other):
        a, b = (vectors[words.index(word)] for word in (one, other))
        return float(a @ b / np.linalg.norm(a) / np.linalg.norm(b))

    assert near("knee", "elbow") > near("knee", "parliament") + 0.2
