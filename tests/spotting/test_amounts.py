"""Numbers and what they count."""

import pytest

from analyzer.language import load_language, speaking
from analyzer.model.plan import Plan
from analyzer.spotting.amounts import COUNTED, HARDLY, SURE, Amount
from analyzer.spotting.context import SpotContext
from tests.factory import transcript_from

CALM, STEADY = "Keep going, that's it.", "Nice and steady."


def amounts(*sentences, code="en"):
    said = [(200.0 + 5.0 * number, sentence) for number, sentence in enumerate(sentences)]
    return SpotContext.of(transcript_from(said), Plan("", ()), load_language(code)).amounts


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("Three jobs, and we go along it twice.", [3, 2]),
        ("Forty five seconds each, four of them.", [45, 4]),
        ("Five, four, three, two, one.", []),
        ("Half a minute of this, once.", [30, 1]),
        ("Nothing to count here.", []),
    ],
)
def test_every_number_with_its_value_but_those_of_a_count(said, values):
    assert [amount.value for amount in amounts(said)] == values


@pytest.mark.parametrize(
    ("said", "counts"),
    [
        ("Next block is the harbour. Four things, two goes.", ["moves", "rounds"]),
        ("Ten more seconds, keep it tall.", ["left"]),
        ("Fifteen on the clock, stay with it.", ["left"]),
        ("I've three cousins and a goat.", [None]),
    ],
)
def test_what_numbers_count(said, counts):
    assert [amount.counts for amount in amounts(CALM, said, STEADY)] == counts


def test_without_a_net_nothing_is_known():
    with speaking("es"):
        found = amounts("Tres ejercicios, dos veces.", code="es")
    assert [amount.value for amount in found] == [3, 2]
    assert {amount.counts for amount in found} == {None}
    assert not any(amount.hardly(kind) for amount in found for kind in COUNTED)


def test_only_a_clear_lean_counts():
    match = amounts("Three jobs.")[0].match
    lean = dict.fromkeys(COUNTED, 0.0)
    assert Amount(match, 3.0, tuple((lean | {"moves": SURE}).values())).counts == "moves"
    assert Amount(match, 3.0, tuple((lean | {"moves": SURE - 0.1}).values())).counts is None
    assert Amount(match, 3.0, tuple((lean | {"rounds": HARDLY - 0.1}).values())).hardly("rounds")
