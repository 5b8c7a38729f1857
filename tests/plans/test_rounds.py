"""Rounds found in rows of work: the cheapest description, rows that are none left out, holes filled."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.plans import rounds
from analyzer.plans.rounds import LISTED, Part, Row, Unit, find_rounds, in_list, pooled

NAMES = 6


def row(start_s, work_s=40.0, move=None, sure=6.0, nats=6.0, **more):
    named = tuple(nats * (k == move) for k in range(NAMES))
    return Row(start_s, start_s + work_s, named, sure, **more)


def rows(moves, every_s=60.0, **more):
    return [row(30.0 + every_s * at, move=move, **more) for at, move in enumerate(moves)]


@pytest.mark.parametrize(
    ("moves", "parts"),
    [
        ([0, 1, 2, 0, 1, 2], [Part(0, 6, 3)]),
        ([0, 1, 2, 0, 1, 2, 0, 1, 2], [Part(0, 9, 3)]),
        ([3, 4, 0, 1, 0, 1, 5], [Part(0, 1, 1), Part(1, 2, 1), Part(2, 6, 2), Part(6, 7, 1)]),
        ([0, 1, 2, 3], [Part(at, at + 1, 1) for at in range(4)]),
        ([0] * 8, [Part(0, 8, 1)]),
        ([0], [Part(0, 1, 1)]),
        ([0, 1, 2, None, 1, 2], [Part(0, 6, 3)]),
    ],
)
def test_rounds(moves, parts):
    units, found = find_rounds(rows(moves))
    assert (len(units), found) == (len(moves), parts)


def test_a_doubtful_row_between_rounds_is_left_out():
    given = [*rows([0, 1, 2]), row(205.0, 15.0, sure=0.5), *rows([0, 1, 2])[0:0]]
    given += [row(230.0 + 60.0 * at, move=at) for at in range(3)]
    units, found = find_rounds(given)
    assert (len(units), found) == (6, [Part(0, 6, 3)])


def test_what_was_said_in_a_row_left_out_counts_for_the_next():
    given = [row(0.0, 30.0, sure=-3.0, within=(0, 1, 2), round_said=True), *rows([0, 1, 2])]
    units, _ = find_rounds(given)
    assert (len(units), units[0].rows[0].listed, units[0].rows[0].round_said) == (3, (0, 1, 2), True)


def test_a_hole_is_filled_where_rounds_need_it():
    given = rows([0, 1, 2, 3, 0, 1, 2, 3, 0, 1, 2, 3])
    del given[6]
    units, found = find_rounds(given)
    assert (found, [unit.hole for unit in units].index(True)) == ([Part(0, 12, 4)], 6)


def test_two_sides_are_one_unit_when_about_as_long():
    given = [row(0.0, 30.0, 0), row(32.0, 28.0, 0, second=True), row(70.0, 60.0, 1), row(140.0, 20.0, 2, second=True)]
    assert [len(unit.rows) for unit in find_rounds(given)[0]] == [2, 1, 1]


def test_nothing_sure_keeps_everything():
    units, parts = find_rounds(rows([0, 1], sure=-1.0))
    assert (len(units), len(parts)) == (2, 2)


def slow_cost(units):
    """The cheapest description by trying every way to cut the units, each priced unit by unit."""
    n = len(units)

    def price(first, last, period):
        rounds_ = (last - first) // period
        if rounds_ == 1 and period > 1 and len(units[first].rows[0].listed) < period:
            return np.inf
        cost = rounds.LENGTH_COST * period
        told = in_list(np.array([u.named for u in units[first : first + period]]), units[first].rows[0].listed)
        for place in range(period):
            same = units[first + place : last : period]
            best = max(sum(u.named[k] for u in same) + told[place][k] for k in range(NAMES))
            cost -= max(0.0, best - rounds.NAME_COST)
            for one, other in pairwise(same):
                off = (other.work_s - one.work_s) / rounds.LENGTH_SPREAD_S
                cost += min(0.25 * off * off, rounds.LENGTH_MOST)
        if rounds_ > 1:
            cost += rounds.BLOCK_COST + rounds.ONE_MOVE_COST * (period == 1)
            cost -= rounds.ROUND_SAID * sum(u.rows[0].round_said for u in units[first + period : last : period])
        return cost

    best = np.inf
    for cuts in product((False, True), repeat=n - 1):
        edges = [0, *(at + 1 for at, cut in enumerate(cuts) if cut), n]
        total = 0.0
        for first, last in pairwise(edges):
            total += min(price(first, last, p) for p in range(1, last - first + 1) if (last - first) % p == 0)
        best = min(best, total)
    return best


unit_rows = st.builds(
    lambda move, work, listed, said: row(0.0, work, move, listed=listed, round_said=said),
    st.sampled_from([None, *range(4)]),
    st.sampled_from([20.0, 38.0, 40.0, 44.0]),
    st.sampled_from([(), (0, 1), (0, 1, 2)]),
    st.booleans(),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(unit_rows, min_size=1, max_size=7))
def test_the_description_is_the_cheapest_there_is(given_rows):
    units = [Unit((one,)) for one in given_rows]
    cost, parts = rounds._parts(units)
    assert cost == pytest.approx(slow_cost(units))
    assert [part.first for part in parts] == [0, *(part.last for part in parts[:-1])]
    assert parts[-1].last == len(units)


@pytest.mark.parametrize(
    ("named", "listed", "told"),
    [
        ([[5, 0, 0], [0, 0, 0]], (0, 1), [[1, 0, 0], [0, 1, 0]]),
        ([[5, 0, 0], [0, 0, 5]], (0, 1, 2), [[1, 0, 0], [0, 0, 1]]),
        ([[5, 0, 0], [0, 0, 5]], (2,), [[0, 0, 0], [0, 0, 0]]),
        ([[5, 0, 0]], (0, 1), [[0, 0, 0]]),
    ],
)
def test_a_list_lies_where_its_order_fits(named, listed, told):
    assert in_list(np.array(named, float), listed).tolist() == (LISTED * np.array(told)).tolist()


def test_names_of_all_rounds_count_together():
    units = [Unit((one,)) for one in rows([0, None, 0, 1])]
    assert pooled(units, 2).argmax(axis=1).tolist() == [0, 1]
