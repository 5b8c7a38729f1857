"""Numbers and lengths of time, and what each counts: rounds, moves, seconds an interval, seconds left.

Coaches count in words that no list holds ("four jobs, and we go along it twice", "fifteen on my phone"). Where a
language has it, a net (:mod:`analyzer.spotting.place_net`) reads what stands around every number.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from analyzer.language import Language, Match, SpokenText, find
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.place_net import Feature, PlaceNet, Window, place_net

NET_FILE = "amounts-net.npz"
COUNTED = ("rounds", "moves", "seconds", "left")
"""What a number may count: columns of the net."""
NUMBER = "number"
"""The group of plain numbers; others hold lengths of time or, what stands behind, their value."""
WINDOW = Window(6, 0, 8)
SURE, HARDLY = 1.5, -5.0
"""A number that leans so far to something counts it; one that leans less does not, whatever phrase it is in (nats)."""
MOST_TOLD_APART = 12


class Amount(NamedTuple):
    """A number of what was said, a length of time in seconds; how it ``leans`` to each of ``COUNTED``, nats, 0 where no
    net tells."""

    match: Match
    value: float
    leans: tuple[float, ...] = (0.0,) * len(COUNTED)

    @property
    def counts(self) -> str | None:
        """What it surely counts."""
        best = max(self.leans)
        return COUNTED[self.leans.index(best)] if best >= SURE else None

    def hardly(self, counted: str) -> bool:
        """Tell whether it surely does not count this."""
        return self.leans[COUNTED.index(counted)] < HARDLY


def spot_amounts(spoken: SpokenText, language: Language) -> tuple[Amount, ...]:
    """Return every number, by onset, those of a count left out; linear in the words."""
    amounts = amounts_of(find(language.phrases("amounts"), spoken))
    net = place_net(language.code, NET_FILE)
    if net is None or not amounts:
        return tuple(amounts)
    leans = leans_of(net, spoken, *read_around(spoken, amounts))
    return tuple(amount._replace(leans=tuple(row)) for amount, row in zip(amounts, leans.tolist(), strict=True))


def amounts_of(matches: Sequence[Match]) -> list[Amount]:
    """Return the numbers and lengths of time among what was found, by onset; those of a count left out."""
    wider = [match for match in matches if match.group != NUMBER]
    within = {place for match in wider for place in range(match.first, match.last + 1)}
    numbers = [match for match in matches if match.group == NUMBER and match.first not in within]
    counted = {
        place for one, other in pairwise(numbers) if other.first == one.last + 1 for place in (one.first, other.first)
    }
    kept = sorted([*wider, *(number for number in numbers if number.first not in counted)])
    return [Amount(match, value) for match in kept if (value := _value(match)) is not None]


def _value(match: Match) -> float | None:
    said = match.group.rpartition(" ")[2]
    return float(said) if said.isdigit() else match.number


def read_around(spoken: SpokenText, amounts: Sequence[Amount]) -> tuple[Ints, list[list[Feature]]]:
    """Return the tokens that the net reads around each amount (n, tokens read), and what is true of each."""
    places: Floats = spoken.places
    start = np.searchsorted(places, [amount.match.first - 0.25 for amount in amounts])
    end = np.searchsorted(places, [amount.match.last + 0.25 for amount in amounts]) - 1
    return WINDOW.around(start, end, len(places)), [_features(amount) for amount in amounts]


def leans_of(net: PlaceNet, spoken: SpokenText, around: Ints, features: Sequence[Sequence[Feature]]) -> Floats:
    """Return how the net takes amounts to lean, from what :func:`read_around` gives (n, columns)."""
    return net.leans(spoken.distinct, np.append(spoken.which, len(spoken.distinct))[around], features)


def _features(amount: Amount) -> list[Feature]:
    value = amount.value
    told = f"{value:g}" if value <= MOST_TOLD_APART else "minutes" if value % 60 == 0 else "more"
    told = "fives" if told == "more" and value % 5 == 0 else told
    return [("amount", amount.match.group), ("value", told)]
