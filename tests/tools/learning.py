"""What the nets share while they learn: words as vectors, and steps down the slope; needs jax and optax.

The same data give the same net on the same machine.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import jax
import jax.numpy as jnp
import numpy as np
import numpy.typing as npt
import optax

OWN = 16
"""Numbers of a word's own vector."""

Array = Any
Floats = npt.NDArray[np.floating[Any]]


@dataclass(frozen=True, eq=False)
class Table:
    """Words as numbers, and what is known of each: ``vectors`` (words + 1, v); ``own`` of them, the first, also have a
    vector that is learnt. ``beyond`` is the number of what is no word."""

    numbers: dict[str, int]
    vectors: Array
    own: int
    beyond: int

    @classmethod
    def of(cls, own: Sequence[str], known: Sequence[str], vectors: Floats) -> Table:
        """Put the vectors of ``known`` words under the numbers of all."""
        numbers = {word: at for at, word in enumerate(dict.fromkeys([*own, *known]))}
        table = np.zeros((len(numbers) + 1, vectors.shape[1]), dtype=np.float32)
        table[[numbers[word] for word in known]] = vectors
        return cls(numbers, jnp.asarray(table), len(own), len(numbers))

    def read(self, ids: Array, learnt: Array, share_out: float, key: Array | None) -> Array:
        """Return the vectors of words, nought beyond them; with a ``key`` a share of them is left out at random."""
        there = (ids != self.beyond)[..., None]
        mine = jnp.where((ids < self.own)[..., None], learnt[jnp.minimum(ids, self.own - 1)], 0.0)
        found = jnp.concatenate([self.vectors[ids], mine], axis=-1) * there
        return found if key is None else found * jax.random.bernoulli(key, 1.0 - share_out, there.shape)


def left_out(values: Array, share: float, key: Array | None) -> Array:
    """Return values, a share of them nought at random and the rest larger for it; all as they are without a ``key``."""
    return values if key is None else values * jax.random.bernoulli(key, 1.0 - share, values.shape) / (1.0 - share)


def usual(key: Array, *shape: int) -> Array:
    """Return weights to start from, as small as what they add up asks for."""
    return jax.random.normal(key, shape) / np.sqrt(np.prod(shape[:-1]))


def minimised(
    cost: Callable[[Array, Sequence[Array], Array], Array],
    params: Array,
    samples: Sequence[npt.NDArray[Any]],
    rounds: int,
    batch: int,
    rate: float,
    decay: float,
    seed: int,
) -> dict[str, npt.NDArray[Any]]:
    """Return what makes ``cost`` of parameters, some samples and a key small (AdamW, the rate falling as a cosine)."""
    count = len(samples[0])
    optimizer = optax.adamw(optax.cosine_decay_schedule(rate, rounds * (count // batch)), weight_decay=decay)
    state = optimizer.init(params)

    @jax.jit
    def step(params: Array, state: Array, some: Sequence[Array], key: Array) -> tuple[Array, Array, Array]:
        value, slope = jax.value_and_grad(cost)(params, some, key)
        change, state = optimizer.update(slope, state, params)
        return optax.apply_updates(params, change), state, value

    chance, key = np.random.default_rng(seed), jax.random.PRNGKey(seed + 1)
    for turn in range(rounds):
        total, order = 0.0, chance.permutation(count)
        for at in range(0, count - batch + 1, batch):
            some = order[at : at + batch]
            key, now = jax.random.split(key)
            params, state, value = step(params, state, [x[some] for x in samples], now)
            total += float(value)
        print(f"round {turn + 1}: {total / (count // batch):.4f}", flush=True)
    return {name: np.asarray(value) for name, value in params.items()}
