"""Learns a net that reads a few words where they stand (``analyzer.spotting.place_net``); needs jax and optax.

Words, and what is found between them, are left out at random while it learns, so that it leans on no single one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np

from analyzer.language.spoken import EDGE
from analyzer.model.transcript import Ints
from analyzer.spotting.place_net import Feature, letters_of_features, told_of
from analyzer.spotting.word_vectors import UNKNOWN, letters_of
from tests.tools.learning import OWN, Array, Floats, Table, left_out, minimised, usual

CLASSES = 8
"""A word said in so many classes gets a vector of its own."""
RATE = 2e-3
BIAS = -4.0
"""What is told apart is seldom."""


@dataclass(frozen=True, eq=False)
class Sample:
    """Phrases of one recording of a class (``whose``): the tokens ``said`` in it and those ``around`` each (n, p), one
    past the last where there is none; ``features`` of each; what is true of it, ``labels`` (n, k), nan: unknown."""

    whose: str
    said: Sequence[str]
    around: Ints
    features: Sequence[Sequence[Feature]]
    labels: Floats


@dataclass(frozen=True)
class Settings:
    """Hidden units; the fewest phrases that a feature must be true of; rounds, samples a step, decay of the weights;
    shares of words and of hidden units left out at random."""

    hidden: int
    fewest: int
    rounds: int
    batch: int
    decay: float
    words_out: float
    hidden_out: float


def learn(
    samples: Sequence[Sample], known: Sequence[str], vectors: Floats, settings: Settings, seed: int
) -> dict[str, Array]:
    """Return what :func:`analyzer.spotting.place_net.net_of` makes a net of."""
    samples = [sample for sample in samples if len(sample.around)]
    classes = {(token, sample.whose) for sample in samples for token in sample.said}
    often = sorted(word for word, n in Counter(word for word, _ in classes).items() if n >= CLASSES and word != EDGE)
    own = [UNKNOWN, EDGE, *often]
    times = Counter(name for sample in samples for some in sample.features for name in some)
    features = sorted(name for name, n in times.items() if n >= settings.fewest)
    table, at = Table.of(own, known, vectors), {name: place for place, name in enumerate(features)}

    def cost(params: Array, batch: Sequence[Array], key: Array) -> Array:
        ids, told, labels = batch
        logit = _leans(params, table, ids, told, settings, jax.random.split(key))
        each = jnp.where(jnp.isnan(labels), 0.0, jnp.logaddexp(0.0, logit) - logit * jnp.nan_to_num(labels))
        return each.sum(axis=1).mean()

    ids = np.concatenate([_ids(sample, table) for sample in samples])
    told = np.concatenate([told_of(sample.features, at) for sample in samples])
    labels = np.concatenate([sample.labels for sample in samples]).astype(np.float32)
    sizes = (ids.shape[1], vectors.shape[1] + OWN, len(own), len(features), settings.hidden, labels.shape[1])
    params, data = _start(jax.random.PRNGKey(seed), *sizes), [ids, told, labels]
    learnt = minimised(cost, params, data, settings.rounds, settings.batch, RATE, settings.decay, seed)
    return {"own_words": letters_of(own), "features": letters_of_features(features), **learnt}


def _ids(sample: Sample, table: Table) -> Ints:
    numbers = [*(table.numbers.get(token, 0) for token in sample.said), table.beyond]
    return np.array(numbers, dtype=np.int32)[sample.around]


def _start(key: Array, places: int, size: int, own: int, features: int, hidden: int, columns: int) -> dict[str, Array]:
    keys = jax.random.split(key, 4)
    return {
        "own": 0.1 * jax.random.normal(keys[0], (own, OWN)),
        "places": usual(keys[1], places, size, hidden),
        "held": usual(keys[2], features, hidden),
        "bias": jnp.zeros(hidden),
        "straight": jnp.zeros((features, columns)),
        "out": usual(keys[3], hidden, columns),
        "out_bias": jnp.full(columns, BIAS),
    }


def _leans(
    params: Mapping[str, Array], table: Table, ids: Array, told: Array, settings: Settings, keys: Array
) -> Array:
    """Return what ``PlaceNet.leans`` does, some of everything left out at random."""
    vectors = table.read(ids, params["own"], settings.words_out, keys[0])
    hidden = jnp.einsum("npv,pvh->nh", vectors, params["places"]) + told @ params["held"] + params["bias"]
    hidden = left_out(jax.nn.relu(hidden), settings.hidden_out, keys[1])
    return hidden @ params["out"] + told @ params["straight"] + params["out_bias"]
