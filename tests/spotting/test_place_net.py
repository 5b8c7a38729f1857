"""A net over a few words where they stand, against a plain way to say the same."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.spotting.place_net import Window, letters_of_features, net_of, place_net, told_of
from analyzer.spotting.word_vectors import UNKNOWN, letters_of

WINDOW = Window(2, 3, 1)
FEATURES = [("usual ending",), ("clause", "alone"), ("place", "gap before 3")]
OWN, KNOWN = (UNKNOWN, "|", "next"), ("next", "heron", "the", "up", "low")
SAID = ("|", "next", "up", "the", "low", "heron", "twist", "|", "go", "|")


def small_net(seed, hidden=4, columns=2):
    chance = np.random.default_rng(seed)
    known, own = chance.normal(size=(len(KNOWN), 6)).astype(np.float32), chance.normal(size=(len(OWN), 2))
    shapes = {
        "places": (sum(WINDOW), 8, hidden),
        "held": (len(FEATURES), hidden),
        "bias": (hidden,),
        "straight": (len(FEATURES), columns),
        "out": (hidden, columns),
        "out_bias": (columns,),
    }
    arrays = {name: chance.normal(size=shape) for name, shape in shapes.items()}
    learnt = {"own_words": letters_of(OWN), "own": own, "features": letters_of_features(FEATURES), **arrays}
    return net_of(KNOWN, known, learnt)


def plainly(net, start, end, features):
    """What the net says of one phrase, a place at a time."""
    inside = [at if at >= start else None for at in range(end + 1 - WINDOW.inside, end + 1)]
    places = [*range(start - WINDOW.before, start), *inside, *range(end + 1, end + 1 + WINDOW.after)]
    hidden = net.bias.astype(float)
    for weights, at in zip(net.places, places, strict=True):
        if at is not None and 0 <= at < len(SAID):
            row = net.words.rows.get(SAID[at], net.words.rows[UNKNOWN])
            hidden = hidden + net.words.vectors[row] @ weights
    told = net.out_bias.astype(float)
    for name in features:
        if name in net.features:
            hidden = hidden + net.held[net.features[name]]
            told = told + net.straight[net.features[name]]
    return told + np.maximum(hidden, 0.0) @ net.out


@pytest.mark.parametrize(
    ("start", "end", "read"),
    [
        (4, 5, [2, 3, 10, 4, 5, 6]),
        (3, 6, [1, 2, 4, 5, 6, 7]),
        (0, 0, [10, 10, 10, 10, 0, 1]),
        (9, 9, [7, 8, 10, 10, 9, 10]),
    ],
)
def test_a_phrase_stands_at_the_end_of_its_places(start, end, read):
    assert WINDOW.around(np.array([start]), np.array([end]), len(SAID))[0].tolist() == read


def test_a_window_may_leave_the_phrase_out():
    assert Window(1, 0, 1).around(np.array([4]), np.array([5]), len(SAID)).tolist() == [[3, 6]]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_all_phrases_at_once_are_each_as_said_plainly(seed):
    net, chance = small_net(seed), np.random.default_rng(seed)
    phrases = [(start, end) for start in range(10) for end in range(start, min(start + 5, 10))]
    features = [[FEATURES[k] for k in chance.integers(0, 3, size=2)] + [("never seen",)] for _ in phrases]
    start, end = np.array(phrases).T
    words = tuple(dict.fromkeys(SAID))
    which = np.array([*(words.index(token) for token in SAID), len(words)])[WINDOW.around(start, end, len(SAID))]
    found = net.leans(words, which, features)
    assert found.shape == (len(phrases), 2)
    for (first, last), own, lean in zip(phrases, features, found, strict=True):
        assert lean == pytest.approx(plainly(net, first, last, own), abs=1e-4)


def test_features_are_counted_as_often_as_they_are_true():
    known = {("a",): 0, ("b", "c"): 1}
    assert told_of([[("a",), ("a",)], [("b", "c"), ("d",)], []], known).tolist() == [[2.0, 0.0], [0.0, 1.0], [0.0, 0.0]]


@pytest.mark.parametrize(("file", "columns"), [("names-net.npz", 1), ("amounts-net.npz", 4)])
def test_a_language_without_a_net_has_none(file, columns):
    assert place_net("es", file) is None
    net = place_net("en", file)
    assert net is not None
    assert net.out_bias.shape == (columns,)
    assert place_net("en", file) is net
