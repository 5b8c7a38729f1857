"""The net beside the words of a break, against a plain way to say the same."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.language import SpokenText, load_language
from analyzer.spotting.moment_net import (
    NEAR,
    REACH,
    MomentNet,
    around,
    moment_net,
    net_of,
    unnumbered,
)
from analyzer.spotting.word_vectors import UNKNOWN, letters_of
from tests.factory import words_from

NUMBERS = load_language("en").numbers.values
OWN, KNOWN = (UNKNOWN, "|", "rest"), ("rest", "squat", "the", "and")
TEXTS = [
    [(0.0, "Rest.")],
    [(0.0, "And squat, the squat."), (4.0, "Three, two, one, and rest.")],
    [(5.0 * k, "Down and up, the squat, gargoyle and rest. 15 more") for k in range(12)],
]


def small_net(seed: int, filters: int = 5, hidden: int = 4, columns: int = 3) -> MomentNet:
    chance = np.random.default_rng(seed)
    known, own = chance.normal(size=(len(KNOWN), 6)).astype(np.float32), chance.normal(size=(len(OWN), 2))
    shapes = {
        "filters": (3, 8, filters),
        "places": (2 * REACH, filters),
        "hidden": (4 * filters, hidden),
        "hidden_bias": (hidden,),
        "out": (hidden, columns),
        "out_bias": (columns,),
        "shares": (3, columns),
    }
    arrays = {name: chance.normal(size=shape) for name, shape in shapes.items()}
    return net_of(KNOWN, known, {"own_words": letters_of(OWN), "own": own, **arrays})


def plainly(net: MomentNet, spoken: SpokenText, head: int, beside: np.ndarray) -> np.ndarray:
    """What the net says of the break before one word, a token and a filter at a time."""
    tokens: list[str] = []
    owners: list[float] = []
    for token, owner in zip(spoken.tokens, spoken.owners, strict=True):
        if token not in NUMBERS and not token[0].isdigit() and not (token == "|" and tokens[-1:] == ["|"]):
            tokens.append(token)
            owners.append(owner + 0.5 * (token == "|"))
    at = sum(owner < head - 0.5 for owner in owners)

    def vector(place: int) -> np.ndarray:
        known = net.words.vectors
        if not 0 <= place < len(tokens):
            return np.zeros(known.shape[1])
        return known[net.words.rows.get(tokens[place], net.words.rows[UNKNOWN])]

    def fit(away: int, number: int) -> float:
        place = at + away
        if not 0 <= place < len(tokens):
            return 0.0
        found = sum(vector(place + side - 1) @ net.filters[side, :, number] for side in range(3))
        return max(0.0, float(found + net.places[away + REACH, number]))

    parts = (range(-REACH, 0), range(REACH), range(-NEAR, 0), range(NEAR))
    best = [max(fit(away, number) for away in part) for part in parts for number in range(net.filters.shape[2])]
    hidden = np.maximum(np.array(best) @ net.hidden + net.hidden_bias, 0.0)
    return net.shares[0] * beside + net.shares[1] * (hidden @ net.out + net.out_bias) + net.shares[2]


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("seed", [1, 2])
def test_all_breaks_at_once_are_each_as_said_plainly(text, seed):
    net, words = small_net(seed), words_from(text)
    spoken = SpokenText.of(words)
    heads = np.arange(len(words))
    beside = np.random.default_rng(seed).normal(size=(len(words), 3))
    found = net.leans(spoken, NUMBERS, heads, beside)
    for head in heads.tolist():
        assert found[head] == pytest.approx(plainly(net, spoken, head, beside[head]), abs=1e-4)


def test_an_edge_belongs_to_what_follows_it():
    spoken = SpokenText.of(words_from([(0.0, "And rest. Squat next.")]))
    assert list(spoken.tokens) == ["|", "and", "rest", "|", "squat", "next", "|"]
    rows = around(spoken.places, np.array([0, 1, 2]))
    assert rows.shape == (3, 2 * REACH + 2)
    assert rows[:, REACH + 1].tolist() == [0, 2, 3]
    assert rows[0, : REACH + 1].tolist() == [7] * (REACH + 1)  # nothing before it


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("Three, two, one, and rest.", ["|", "and", "rest", "|"]),
        ("Squat. Three. Two. One. Rest.", ["|", "squat", "|", "rest", "|"]),
        ("15 more. 3. 2. 1.", ["|", "more", "|"]),
    ],
)
def test_numbers_are_left_out(said, read):
    spoken = SpokenText.of(words_from([(0.0, said)]))
    assert [spoken.tokens[at] for at in unnumbered(spoken, NUMBERS)] == read


def test_a_language_without_a_net_has_none():
    assert moment_net("es") is None
    net = moment_net("en")
    assert net is not None
    assert moment_net("en") is net
