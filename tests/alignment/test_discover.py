"""Work found without a plan, and the moves it is taken for."""

import pytest

from analyzer.alignment.discover import discover
from analyzer.alignment.naming import rows_of
from analyzer.language import load_language, speaking
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.vocabulary import listen
from tests.factory import transcript_from
from tests.spoken import NAMES, STARTS_S, WORK_S, spoken_class


@pytest.fixture(scope="module")
def heard():
    transcript = spoken_class()
    with speaking("en"):
        moves, events = listen(transcript, load_language("en"))
        found = discover(transcript, len(moves), events)
        return found, *rows_of(found, events, moves, context_of(transcript))


def context_of(transcript):
    return SpotContext.of(transcript, Plan("", ()), load_language("en"))


def test_every_stretch_of_work_is_found(heard):
    found, _, _ = heard
    assert [stretch.start_s for stretch in found] == pytest.approx(STARTS_S, abs=2.0)
    assert [stretch.end_s for stretch in found] == pytest.approx([start + WORK_S for start in STARTS_S], abs=2.0)
    assert min(stretch.sure_nats for stretch in found) > 5.0
    assert not any(stretch.second for stretch in found)


def test_each_stretch_is_named(heard):
    _, rows, moves = heard
    best = [moves[max(range(len(moves)), key=lambda k: row.named[k])].name for row in rows]
    assert best == [*NAMES, *NAMES]
    assert [row.round_said for row in rows] == [False, False, False, True, False, False]
    assert min(row.sure_nats for row in rows) > 3.0


def test_silence_and_chatter_are_no_work():
    with speaking("en"):
        for said in ([], [(0.0, "Hello there.")], [(0.0, "My cat sleeps all day."), (4.0, "She has a blue bowl.")]):
            transcript = transcript_from(said)
            moves, events = listen(transcript, load_language("en"))
            assert discover(transcript, len(moves), events) == ()


def test_a_list_before_work_is_told_in_order():
    said = [
        (1.0, "Jumping jacks first."),
        (3.0, "Then mountain climbers."),
        (5.0, "Then a side plank."),
        (20.0, "Three. Two. One. Go!"),
    ]
    said += [(22.0, "Jumping jacks, go on."), (58.0, "Three. Two. One."), (60.0, "And rest.")]
    transcript = transcript_from(said)
    with speaking("en"):
        moves, events = listen(transcript, load_language("en"))
        found = discover(transcript, len(moves), events)
        (row,), _ = rows_of(found, events, moves, context_of(transcript))
    assert [moves[k].name for k in row.listed] == ["jumping jack", "mountain climber", "side plank"]
