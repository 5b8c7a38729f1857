"""All spotters together: one shape, in order, linear."""

from dataclasses import fields

import pytest

from analyzer.language import load_language
from analyzer.model.events import Events
from analyzer.model.plan import Plan
from analyzer.spotting import SPOTTERS, spot
from tests.factory import transcript_from

CLASS = [
    (0.0, "Welcome everyone. Two rounds, forty five seconds each."),
    (10.0, "Let me show you the first move."),
    (20.0, "Right leg first. Three. Two. One. Go!"),
    (42.0, "Halfway, keep going."),
    (55.0, "Ten seconds left."),
    (60.0, "Five, four, three, two, one and rest."),
    (70.0, "Other side. Left leg."),
    (120.0, "Round two."),
    (200.0, "Well done. Grab some water. See you next week."),
]


def events(said):
    return spot(transcript_from(said), Plan("", ()), load_language())


def test_a_small_class():
    found = events(CLASS)
    assert [call.kind for call in found.calls] == ["half", "left"]
    assert [count.numbers for count in found.counts] == [(3, 2, 1), (5, 4, 3, 2, 1)]
    assert [side.side for side in found.sides] == ["right", "left"]
    assert {promise.kind for promise in found.promises} == {"rounds", "seconds"}
    assert {"demo", "start", "effort", "stop", "switch", "round", "relief", "water", "goodbye"} <= {
        signal.kind for signal in found.signals
    }


def test_every_kind_is_in_order_and_inside_the_words():
    transcript = transcript_from(CLASS)
    found = spot(transcript, Plan("", ()), load_language())
    for field in fields(Events):
        kind = getattr(found, field.name)
        assert list(kind) == sorted(kind, key=lambda event: (event.at_s, event.first))
        for event in kind:
            assert 0 <= event.first <= event.last < len(transcript.words)
            assert event.text == transcript.words.phrase(event.first, event.last)
            assert event.at_s == transcript.words.start_s[event.first]


def test_each_spotter_fills_a_field_of_its_own():
    names = [name for name, _ in SPOTTERS]
    assert len(set(names)) == len(names)
    assert set(names) <= {field.name for field in fields(Events)}


def test_shifting_the_recording_shifts_every_event():
    first, later = events(CLASS), events([(start_s + 100.0, said) for start_s, said in CLASS])
    for field in fields(Events):
        ours, theirs = getattr(first, field.name), getattr(later, field.name)
        assert [event.text for event in ours] == [event.text for event in theirs]
        assert [event.at_s + 100.0 for event in ours] == pytest.approx([event.at_s for event in theirs])


def test_nothing_said():
    assert events([]) == Events()
