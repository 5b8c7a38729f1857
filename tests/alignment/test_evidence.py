"""What the words say at a boundary: moments and calls that may be none."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.alignment.candidates import TRAIL_S, find_candidates
from analyzer.alignment.evidence import BARE_TRUST, MOMENT_NATS, WEIGHTS, shared_evidence
from analyzer.model.events import Events, Moment, Signal, TimeCall
from tests.factory import transcript_from

TRANSCRIPT = transcript_from([(10.0 * k, "Down and up.") for k in range(1, 12)])
AT = find_candidates(TRANSCRIPT, Events())


def near(values: np.ndarray, at_s: float) -> float:
    """The value at the candidate nearest to a time."""
    return float(values[np.abs(AT.time_s - at_s).argmin()])


def test_a_moment_speaks_where_its_words_begin_and_is_clipped():
    plain = shared_evidence(AT, TRANSCRIPT, Events(), 40.0)
    first = int(np.searchsorted(TRANSCRIPT.words.start_s, 50.0))
    for begins, stops in ((1.0, -1.0), (99.0, -99.0)):
        moment = Moment(first, first + 2, 50.0, 51.0, 0.1, "Down and up.", begins, stops, 0.0)
        told = shared_evidence(AT, TRANSCRIPT, Events(moments=(moment,)), 40.0)
        gain, loss = near(told.start - plain.start, 49.9), near(told.end - plain.end, 49.9)
        assert gain == pytest.approx(WEIGHTS.begins_moment * min(begins, MOMENT_NATS[1]))
        assert loss == pytest.approx(WEIGHTS.stops_moment * max(stops, MOMENT_NATS[0]))
        assert near(told.start - plain.start, 70.0) == 0.0


def test_words_that_stop_say_more_once_they_have_been_said():
    plain = shared_evidence(AT, TRANSCRIPT, Events(), 40.0)
    heads = [int(np.searchsorted(TRANSCRIPT.words.start_s, at_s)) for at_s in (50.0, 60.0)]
    for stops, after in ((1.0, 1.0 + WEIGHTS.obeyed), (-9.0, 0.0)):  # 60 s: a sentence that says nothing of an end
        moments = tuple(
            Moment(head, head + 2, at_s, at_s + 1, 0.1, "Down and up.", 0.0, leans, 0.0)
            for head, at_s, leans in zip(heads, (50.0, 60.0), (stops, 0.0), strict=True)
        )
        told = shared_evidence(AT, TRANSCRIPT, Events(moments=moments), 40.0).end - plain.end
        assert near(told, 49.9) == pytest.approx(WEIGHTS.stops_moment * max(stops, MOMENT_NATS[0]))
        said_s = float(TRANSCRIPT.words.end_s[heads[1] - 1]) + TRAIL_S
        assert near(told, said_s) == pytest.approx(WEIGHTS.stops_moment * after)
        assert near(told, 59.9) == 0.0


def test_an_end_is_likelier_some_seconds_after_one_more():
    plain = shared_evidence(AT, TRANSCRIPT, Events(), 40.0)
    signal = Signal(0, 0, 45.0, 46.0, 0.1, "one more", "closing", 1.0)
    told = shared_evidence(AT, TRANSCRIPT, Events(signals=(signal,)), 40.0).end - plain.end
    inside = shared_evidence(AT, TRANSCRIPT, Events(signals=(signal,)), 40.0).inside - plain.inside
    assert near(told, 49.9) == pytest.approx(WEIGHTS.closing_word)
    assert near(told, 39.9) == near(told, 59.9) == 0.0
    assert near(inside, 60.0) == pytest.approx(WEIGHTS.effort_inside)


def test_a_call_that_may_be_none_says_less():
    sure = TimeCall(0, 0, 50.0, 51.0, 0.1, "ten seconds left", "left", 10.0)
    bare = TimeCall(0, 0, 50.0, 51.0, 0.1, "Ten!", "left", 10.0, certain=False, bare=True)
    plain = shared_evidence(AT, TRANSCRIPT, Events(), 40.0)
    gains = [
        near(shared_evidence(AT, TRANSCRIPT, Events(calls=(call,)), 40.0).end - plain.end, 60.0)
        for call in (sure, bare)
    ]
    assert gains[0] > 0
    assert gains[1] == pytest.approx(BARE_TRUST * gains[0])
