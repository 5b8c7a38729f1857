"""Learns a net that tells how far a phrase is said like a name (``analyzer.alignment.name_net``); needs jax and optax.

Words, and what is found between them, are left out at random while it learns, so that it leans on no single one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np

from analyzer.alignment.name_net import PLACES, Feature, letters_of_features, told_of
from analyzer.language.spoken import EDGE
from analyzer.model.transcript import Ints
from analyzer.spotting.word_vectors import UNKNOWN, letters_of
from tests.tools.learning import OWN, Array, Floats, Table, left_out, minimised, usual

HIDDEN = 64
CLASSES, FEWEST = 8, 200
"""A word said in so many classes gets a vector of its own; a feature true of so many phrases is looked at."""
ROUNDS, BATCH, RATE, DECAY = 4, 512, 2e-3, 1e-3
WORDS_OUT, HIDDEN_OUT = 0.2, 0.5
"""Shares left out at random."""
BIAS = -4.0
"""Names are few."""


@dataclass(frozen=True, eq=False)
class Sample:
    """Phrases of one recording of a class (``whose``): the tokens ``said`` in it and those ``around`` each (n, PLACES),
    one past the last where there is none; ``features`` of each; whether each is a name, ``named`` (n,)."""

    whose: str
    said: Sequence[str]
    around: Ints
    features: Sequence[Sequence[Feature]]
    named: Floats


def learn(samples: Sequence[Sample], known: Sequence[str], vectors: Floats, seed: int) -> dict[str, Array]:
    """Return what :func:`analyzer.alignment.name_net.net_of` makes a net of."""
    classes = {(token, sample.whose) for sample in samples for token in sample.said}
    often = sorted(word for word, n in Counter(word for word, _ in classes).items() if n >= CLASSES and word != EDGE)
    own = [UNKNOWN, EDGE, *often]
    times = Counter(name for sample in samples for some in sample.features for name in some)
    features = sorted(name for name, n in times.items() if n >= FEWEST)
    table, at = Table.of(own, known, vectors), {name: place for place, name in enumerate(features)}

    def cost(params: Array, batch: Sequence[Array], key: Array) -> Array:
        ids, told, named = batch
        logit = _leans(params, table, ids, told, jax.random.split(key))
        return (jnp.logaddexp(0.0, logit) - logit * named).mean()

    ids = np.concatenate([_ids(sample, table) for sample in samples])
    told = np.concatenate([told_of(sample.features, at, len(sample.named)) for sample in samples])
    named = np.concatenate([sample.named for sample in samples]).astype(np.float32)
    params = _start(jax.random.PRNGKey(seed), vectors.shape[1] + OWN, len(own), len(features))
    learnt = minimised(cost, params, [ids, told, named], ROUNDS, BATCH, RATE, DECAY, seed)
    return {"own_words": letters_of(own), "features": letters_of_features(features), **learnt}


def _ids(sample: Sample, table: Table) -> Ints:
    numbers = [*(table.numbers.get(token, 0) for token in sample.said), table.beyond]
    return np.array(numbers, dtype=np.int32)[sample.around]


def _start(key: Array, size: int, own: int, features: int) -> dict[str, Array]:
    keys = jax.random.split(key, 4)
    return {
        "own": 0.1 * jax.random.normal(keys[0], (own, OWN)),
        "places": usual(keys[1], PLACES, size, HIDDEN),
        "held": usual(keys[2], features, HIDDEN),
        "bias": jnp.zeros(HIDDEN),
        "straight": jnp.zeros(features),
        "out": usual(keys[3], HIDDEN, 1)[:, 0],
        "out_bias": jnp.full(1, BIAS),
    }


def _leans(params: Mapping[str, Array], table: Table, ids: Array, told: Array, keys: Array) -> Array:
    """Return what ``NameNet.leans`` does, some of everything left out at random."""
    vectors = table.read(ids, params["own"], WORDS_OUT, keys[0])
    hidden = jnp.einsum("npv,pvh->nh", vectors, params["places"]) + told @ params["held"] + params["bias"]
    hidden = left_out(jax.nn.relu(hidden), HIDDEN_OUT, keys[1])
    return hidden @ params["out"] + told @ params["straight"] + params["out_bias"]
