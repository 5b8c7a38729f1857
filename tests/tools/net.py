"""Learns a net over what is said around a break (``analyzer.spotting.moment_net``); needs jax and optax.

Each column is true or not of a break, or unknown. What the words beside the break lean to, and how usual each column is
where a sample comes from, are given; the net learns what they leave out. Words are left out at random while it learns,
so that it leans on no single one. The same data give the same net on the same machine.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import numpy.typing as npt
import optax

from analyzer.language.spoken import EDGE
from analyzer.spotting.moment_net import NEAR, REACH, UNKNOWN, letters_of, words_of

FILTERS, HIDDEN, OWN = 96, 64, 16
"""Filters, hidden units, numbers of a word's own vector."""
OFTEN = 12
"""A word said so often gets a vector of its own."""
ROUNDS, BATCH, RATE, DECAY = 4, 256, 2e-3, 1e-3
WORDS_OUT, FITS_OUT, HIDDEN_OUT = 0.12, 0.4, 0.3
"""Shares left out at random."""
NEVER = -1e9

Array = Any
Floats = npt.NDArray[np.floating[Any]]
Words = npt.NDArray[np.object_]
_Fixed = tuple[Array, int, int]


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
    ids, fixed = _laid_out(samples.words, own, known, vectors)
    columns = samples.labels.shape[1]
    params = _start(jax.random.PRNGKey(seed), vectors.shape[1], len(own), columns)
    rest = [np.asarray(x, dtype=np.float32) for x in (samples.usual, samples.labels, samples.weight)]
    steps = ROUNDS * (len(ids) // BATCH)
    optimizer = optax.adamw(optax.cosine_decay_schedule(RATE, steps), weight_decay=DECAY)
    state = optimizer.init(params)

    def cost(params: Array, batch: Sequence[Array], key: Array) -> Array:
        ids, usual, labels, weight = batch
        logit = usual + _leans(params, fixed, ids, jax.random.split(key, 3))
        each = jnp.where(jnp.isnan(labels), 0.0, jnp.logaddexp(0.0, logit) - logit * jnp.nan_to_num(labels))
        return (each * weight[:, None]).mean()

    @jax.jit
    def step(params: Array, state: Array, batch: Sequence[Array], key: Array) -> tuple[Array, Array, Array]:
        value, slope = jax.value_and_grad(cost)(params, batch, key)
        change, state = optimizer.update(slope, state, params)
        return optax.apply_updates(params, change), state, value

    chance, key = np.random.default_rng(seed), jax.random.PRNGKey(seed + 1)
    for turn in range(ROUNDS):
        total, order = 0.0, chance.permutation(len(ids))
        for at in range(0, len(ids) - BATCH + 1, BATCH):
            some = order[at : at + BATCH]
            key, now = jax.random.split(key)
            params, state, value = step(params, state, [ids[some], *(x[some] for x in rest)], now)
            total += float(value)
        print(f"round {turn + 1}: {total / (len(ids) // BATCH):.4f}", flush=True)
    return {"own_words": letters_of(own), **{name: np.asarray(value) for name, value in params.items()}}


def leans(samples: Sample, known: Sequence[str], vectors: Floats, learnt: Mapping[str, Array]) -> Floats:
    """Return what ``MomentNet.leans`` does of breaks whose words around are given (n, k)."""
    ids, fixed = _laid_out(samples.words, words_of(learnt["own_words"]), known, vectors)
    params = {name: jnp.asarray(value) for name, value in learnt.items() if name != "own_words"}
    part = jax.jit(lambda ids: _leans(params, fixed, ids))
    return np.concatenate([part(ids[at : at + 2048]) for at in range(0, len(ids), 2048)])


def _laid_out(words: Words, own: Sequence[str], known: Sequence[str], vectors: Floats) -> tuple[Array, _Fixed]:
    """Return the numbers of words, and what is not learnt: all vectors, how many have one of their own, the number of
    what is beyond the text."""
    number = {word: at for at, word in enumerate(dict.fromkeys([*own, *known]))}
    table = np.zeros((len(number) + 1, vectors.shape[1]), dtype=np.float32)
    table[[number[word] for word in known]] = vectors
    beyond = len(number)
    ids = [[number.get(word, 0) if word else beyond for word in row] for row in words.tolist()]
    return np.array(ids, dtype=np.int32), (jnp.asarray(table), len(own), beyond)


def _start(key: Array, size: int, own: int, columns: int) -> dict[str, Array]:
    keys = jax.random.split(key, 4)

    def usual(key: Array, *shape: int) -> Array:
        return jax.random.normal(key, shape) / np.sqrt(np.prod(shape[:-1]))

    return {
        "own": 0.1 * jax.random.normal(keys[0], (own, OWN)),
        "filters": usual(keys[1], 3, size + OWN, FILTERS),
        "places": jnp.zeros((2 * REACH, FILTERS)),
        "hidden": usual(keys[2], 4 * FILTERS, HIDDEN),
        "hidden_bias": jnp.zeros(HIDDEN),
        "out": usual(keys[3], HIDDEN, columns),
        "out_bias": jnp.zeros(columns),
    }


def _leans(params: Mapping[str, Array], fixed: _Fixed, ids: Array, keys: Array | None = None) -> Array:
    """Return what ``MomentNet.leans`` does; with ``keys`` some of everything is left out at random."""
    table, own, beyond = fixed
    there = (ids != beyond)[..., None]
    mine = jnp.where((ids < own)[..., None], params["own"][jnp.minimum(ids, own - 1)], 0.0)
    vectors = jnp.concatenate([table[ids], mine], axis=-1) * there
    if keys is not None:
        vectors = vectors * jax.random.bernoulli(keys[0], 1.0 - WORDS_OUT, there.shape)
    count = 2 * REACH
    fits = sum(vectors[:, at : at + count] @ params["filters"][at] for at in range(3)) + params["places"]
    fits = jnp.where(there[:, 1:-1], fits, NEVER)
    parts = ((0, REACH), (REACH, count), (REACH - NEAR, REACH), (REACH, REACH + NEAR))
    best = jax.nn.relu(jnp.concatenate([fits[:, first:last].max(axis=1) for first, last in parts], axis=-1))
    if keys is not None:
        best = best * jax.random.bernoulli(keys[1], 1.0 - FITS_OUT, best.shape) / (1.0 - FITS_OUT)
    hidden = jax.nn.relu(best @ params["hidden"] + params["hidden_bias"])
    if keys is not None:
        hidden = hidden * jax.random.bernoulli(keys[2], 1.0 - HIDDEN_OUT, hidden.shape) / (1.0 - HIDDEN_OUT)
    return hidden @ params["out"] + params["out_bias"]
