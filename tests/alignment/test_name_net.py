"""The net of names, against a plain way to say the same."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.alignment.name_net import BESIDE, INSIDE, PLACES, Tokens, letters_of_features, name_net, net_of
from analyzer.language import load_language
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.word_vectors import UNKNOWN, letters_of
from tests.factory import transcript_from

FEATURES = [("usual ending",), ("clause", "alone"), ("place", "gap before 3")]
OWN, KNOWN = (UNKNOWN, "|", "next"), ("next", "heron", "the", "up", "low")
SAID = [(0.0, "Next up, the low-heron twist."), (9.0, "Go!")]


def context_of(said):
    return SpotContext.of(transcript_from(said), Plan("", ()), load_language("en"))


def small_net(seed, hidden=4):
    chance = np.random.default_rng(seed)
    known, own = chance.normal(size=(len(KNOWN), 6)).astype(np.float32), chance.normal(size=(len(OWN), 2))
    shapes = {
        "places": (PLACES, 8, hidden),
        "held": (len(FEATURES), hidden),
        "bias": (hidden,),
        "straight": (len(FEATURES),),
        "out": (hidden,),
        "out_bias": (1,),
    }
    arrays = {name: chance.normal(size=shape) for name, shape in shapes.items()}
    learnt = {"own_words": letters_of(OWN), "own": own, "features": letters_of_features(FEATURES), **arrays}
    return net_of(KNOWN, known, learnt)


def plainly(net, tokens, first, last, features):
    """What the net says of one phrase, a place at a time."""
    start, end = tokens.first[first], tokens.last[last]
    inside = [at if at >= start else None for at in range(end + 1 - INSIDE, end + 1)]
    places = [*range(start - BESIDE, start), *inside, *range(end + 1, end + 1 + BESIDE)]
    hidden = net.bias.astype(float)
    for weights, at in zip(net.places, places, strict=True):
        if at is not None and 0 <= at < len(tokens.said):
            row = net.words.rows.get(tokens.said[at], net.words.rows[UNKNOWN])
            hidden = hidden + net.words.vectors[row] @ weights
    told = net.out_bias[0]
    for name in features:
        if name in net.features:
            hidden = hidden + net.held[net.features[name]]
            told = told + net.straight[net.features[name]]
    return told + np.maximum(hidden, 0.0) @ net.out


def test_words_with_a_hyphen_are_several_tokens_and_clauses_have_edges():
    tokens = Tokens.of(context_of(SAID))
    assert tokens.said == ("|", "next", "up", "|", "the", "low", "heron", "twist", "|", "go", "|")
    assert tokens.first.tolist() == [1, 2, 4, 5, 7, 9]
    assert tokens.last.tolist() == [1, 2, 4, 6, 7, 9]


def test_a_phrase_stands_at_the_end_of_its_places():
    tokens = Tokens.of(context_of(SAID))
    row = tokens.around(np.array([3]), np.array([4]))[0].tolist()
    beyond = len(tokens.said)
    assert row == [0, 1, 2, 3, 4, beyond, 5, 6, 7, 8, 9, 10, beyond, beyond]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_all_phrases_at_once_are_each_as_said_plainly(seed):
    net, tokens = small_net(seed), Tokens.of(context_of(SAID))
    phrases = [(first, last) for first in range(6) for last in range(first, min(first + 4, 6))]
    chance = np.random.default_rng(seed)
    features = [[FEATURES[k] for k in chance.integers(0, 3, size=2)] + [("never seen",)] for _ in phrases]
    around = tokens.around(*np.array(phrases).T)
    found = net.leans(tokens, around, features)
    for (first, last), own, lean in zip(phrases, features, found.tolist(), strict=True):
        assert lean == pytest.approx(plainly(net, tokens, first, last, own), abs=1e-4)


def test_a_language_without_a_net_has_none():
    assert name_net("es") is None
    assert name_net("en") is name_net("en") is not None
