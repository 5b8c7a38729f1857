"""Learns a net over what is said around a break (``analyzer.spotting.moment_net``); needs jax and optax.

Each column is true or not of a break, or unknown. What the words beside the break lean to, and how usual each column is
where a sample comes from, are given; the net learns what they leave out. Words are left out at random while it learns,
so that it leans on no single one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np
import numpy.typing as npt

from analyzer.language.spoken import EDGE
from analyzer.spotting.moment_net import NEAR, REACH
from analyzer.spotting.word_vectors import UNKNOWN, letters_of, words_of
from tests.tools.learning import OWN, Array, Floats, Table, left_out, minimised, usual

FILTERS, HIDDEN = 96, 64
OFTEN = 12
"""A word said so often gets a vector of its own."""
ROUNDS, BATCH, RATE, DECAY = 4, 256, 2e-3, 1e-3
WORDS_OUT, FITS_OUT, HIDDEN_OUT = 0.12, 0.4, 0.3
"""Shares left out at random."""
NEVER = -1e9

Words = npt.NDArray[np.object_]


@dataclass(frozen=True)
class Sample:
    """Breaks to learn from: the words around each (n, 2 * REACH + 2), "" beyond the text; ``labels``,
    ``usual`` (n, k), labels nan where unknown; ``weight`` (n,)."""

    words: Words
    labels: Floats
    usual: Floats
    weight: Floats


def learn(samples: Sample, known: Sequence[str], vectors: Floats, seed: int) -> dict[str, Array]:
    """Return what :func:`analyzer.spotting.moment_net.net_of` makes a net of."""
    times = Counter(samples.words.ravel().tolist())
    special = (UNKNOWN, EDGE)
    own = [*special, *sorted(word for word, n in times.items() if n >= OFTEN and word not in special)]
    table = Table.of(own, known, vectors)

    def cost(params: Array, batch: Sequence[Array], key: Array) -> Array:
        ids, usual, labels, weight = batch
        logit = usual + _leans(params, table, ids, jax.random.split(key, 3))
        each = jnp.where(jnp.isnan(labels), 0.0, jnp.logaddexp(0.0, logit) - logit * jnp.nan_to_num(labels))
        return (each * weight[:, None]).mean()

    rest = [np.asarray(x, dtype=np.float32) for x in (samples.usual, samples.labels, samples.weight)]
    params = _start(jax.random.PRNGKey(seed), vectors.shape[1], len(own), samples.labels.shape[1])
    learnt = minimised(cost, params, [_ids(samples.words, table), *rest], ROUNDS, BATCH, RATE, DECAY, seed)
    return {"own_words": letters_of(own), **learnt}


def leans(samples: Sample, known: Sequence[str], vectors: Floats, learnt: Mapping[str, Array]) -> Floats:
    """Return what ``MomentNet.leans`` does of breaks whose words around are given (n, k)."""
    table = Table.of(words_of(learnt["own_words"]), known, vectors)
    ids = _ids(samples.words, table)
    params = {name: jnp.asarray(value) for name, value in learnt.items() if name != "own_words"}
    part = jax.jit(lambda ids: _leans(params, table, ids))
    return np.concatenate([part(ids[at : at + 2048]) for at in range(0, len(ids), 2048)])


def _ids(words: Words, table: Table) -> npt.NDArray[np.int32]:
    numbers = [[table.numbers.get(word, 0) if word else table.beyond for word in row] for row in words.tolist()]
    return np.array(numbers, dtype=np.int32)


def _start(key: Array, size: int, own: int, columns: int) -> dict[str, Array]:
    keys = jax.random.split(key, 4)
    return {
        "own": 0.1 * jax.random.normal(keys[0], (own, OWN)),
        "filters": usual(keys[1], 3, size + OWN, FILTERS),
        "places": jnp.zeros((2 * REACH, FILTERS)),
        "hidden": usual(keys[2], 4 * FILTERS, HIDDEN),
        "hidden_bias": jnp.zeros(HIDDEN),
        "out": usual(keys[3], HIDDEN, columns),
        "out_bias": jnp.zeros(columns),
    }


def _leans(params: Mapping[str, Array], table: Table, ids: Array, keys: Array | None = None) -> Array:
    """Return what ``MomentNet.leans`` does; with ``keys`` some of everything is left out at random."""
    words, fitting, hiding = (None, None, None) if keys is None else keys
    vectors = table.read(ids, params["own"], WORDS_OUT, words)
    count = 2 * REACH
    fits = sum(vectors[:, at : at + count] @ params["filters"][at] for at in range(3)) + params["places"]
    fits = jnp.where((ids != table.beyond)[:, 1:-1, None], fits, NEVER)
    parts = ((0, REACH), (REACH, count), (REACH - NEAR, REACH), (REACH, REACH + NEAR))
    best = jax.nn.relu(jnp.concatenate([fits[:, first:last].max(axis=1) for first, last in parts], axis=-1))
    best = left_out(best, FITS_OUT, fitting)
    hidden = jax.nn.relu(best @ params["hidden"] + params["hidden_bias"])
    return left_out(hidden, HIDDEN_OUT, hiding) @ params["out"] + params["out_bias"]
