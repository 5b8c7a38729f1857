"""Names weighed against each other, beside a slow way to read their clues."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.alignment.choosing import LEAST, LIKE_A_NAME, MOST, UNLISTED_FROM, choose_from, clue_weights

NAMES = [frozenset({"lung"}), frozenset({"revers lung"}), frozenset({"heron", "wobbl heron"}), frozenset({"low heron"})]
LISTED = 2
LEANS = st.floats(-8.0, 6.0, allow_nan=False)
ROWS = st.lists(st.dictionaries(st.sampled_from(sorted(frozenset().union(*NAMES))), LEANS), min_size=1, max_size=4)


def slow(told, heard, at, name):
    """Clues of one name around one stretch, by their definitions."""

    def raw(row, which):
        return max((told[row][key] for key in NAMES[which] if key in told[row]), default=None)

    def lean(row, which):
        value = raw(row, which)
        return LEAST if value is None else min(max(value, LEAST), MOST)

    def nats(row, which):
        return heard[row, which] if which < LISTED else 0.0

    def around(row, which):
        value = raw(row, which)
        if which < LISTED:
            return value is not None or nats(row, which) > 0
        return value is not None and value > UNLISTED_FROM

    others = [row for row in range(len(told)) if row != at]
    longer = [
        k
        for k in range(len(NAMES))
        if k != name and any(set(a.split()) < set(b.split()) for a in NAMES[name] for b in NAMES[k])
    ]
    own = lean(at, name)
    return around(at, name), {
        "lean": own,
        "lean over nought": max(own, 0.0),
        "heard": nats(at, name),
        "listed": float(name < LISTED),
        "listed, not said": float(name < LISTED and raw(at, name) is None),
        "more elsewhere": max(max((lean(row, name) for row in others), default=LEAST) - own, 0.0),
        "more at the next": max((lean(at + 1, name) if at + 1 < len(told) else LEAST) - own, 0.0),
        "at others": sum(lean(row, name) > LIKE_A_NAME for row in others) / len(told),
        "longer": max(max((lean(at, k) for k in longer if around(at, k)), default=LEAST) - UNLISTED_FROM, 0.0),
        "longer heard": max((nats(at, k) for k in longer), default=0.0),
        "heard elsewhere": max(max((nats(row, name) for row in others), default=0.0) - nats(at, name), 0.0),
    }


@given(ROWS, st.data())
def test_clues_are_those_of_a_slow_reading(told, data):
    nats = st.floats(0.0, 9.0)
    heard = np.array([[data.draw(nats) for _ in range(LISTED)] for _ in told])
    choice = choose_from(told, heard, NAMES)
    for at in range(len(told)):
        for name in range(len(NAMES)):
            around, clues = slow(told, heard, at, name)
            assert bool(choice.around[at, name]) == around
            assert {clue: float(values[at, name]) for clue, values in choice.clues.items()} == pytest.approx(clues)


def test_worth_is_the_sum_of_the_clues_that_have_a_weight():
    choice = choose_from([{"lung": 1.0}, {}], np.array([[2.0, 0.0], [0.0, 0.0]]), NAMES)
    worth = choice.nats({"bias": 0.5, "lean": 2.0, "heard": 0.25})
    assert worth[0, 0] == pytest.approx(0.5 + 2.0 * 1.0 + 0.25 * 2.0)
    assert worth[1, 0] == -np.inf


def test_every_clue_has_a_weight_where_a_language_has_them():
    weights = clue_weights("en")
    assert weights is not None
    assert set(weights) == {"bias", *choose_from([{}], np.zeros((1, LISTED)), NAMES).clues}
    assert clue_weights("es") is None
