"""Moments: how breaks sound, and that a whole transcript read at once says what the features say one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.language import load_language
from analyzer.language.spoken import EDGE
from analyzer.model.plan import Plan
from analyzer.spotting import spot
from analyzer.spotting.context import SpotContext
from analyzer.spotting.moment_net import moment_net
from analyzer.spotting.moments import (
    COLUMNS,
    LAST_FILE,
    LAST_WORDS,
    NEXT_FILE,
    NEXT_WORDS,
    breaks,
    spot_moments,
    windows,
)
from analyzer.spotting.text_model import features, read_kinds, read_weights
from tests.factory import transcript_from

LANGUAGE = load_language("en")
NOTHING = Plan("none", ())
LINES = ("Round your back,", "Let it melt, and stop there.", "Ten seconds left.", "And up we get. Shake it out!", "Hm.")


def context_of(*sentences: str, gap_s: float = 7.0) -> SpotContext:
    said = [(gap_s * k, sentence) for k, sentence in enumerate(sentences)]
    return SpotContext.of(transcript_from(said), NOTHING, LANGUAGE)


def moment_of(before: str, line: str):
    """The moment at the start of a line, after another."""
    context = context_of(before, line)
    first = int(np.searchsorted(context.words.caption, 1))
    return next(m for m in spot_moments(context) if m.first == first)


@pytest.mark.parametrize(
    ("before", "line", "begins"),
    [
        ("Find your mat and lie down.", "And begin, lift the hips up, and lower.", True),
        ("Feet under the hips, hands ready.", "Off we go, knees up, keep them coming.", True),
        ("Take your place.", "And sink down, and stand, and down.", True),
        ("Long spine, keep breathing.", "And let that one go.", False),
        ("Pull, and lower, pull.", "And rest. Well done, have some water.", False),
        ("Heels down, chest up.", "There, that'll do, shake the legs out.", False),
    ],
)
def test_what_sounds_like_a_beginning_or_an_end(before, line, begins):
    moment = moment_of(before, line)
    own, other = (moment.begins, moment.stops) if begins else (moment.stops, moment.begins)
    assert own > 0.7
    assert own > other


@pytest.mark.parametrize(
    ("before", "line"),
    [
        ("Long spine, keep breathing.", "Stop the shoulders creeping up to your ears."),
        ("Pull, and lower, pull.", "Weight in the heels."),
        ("The neighbour waved at me this morning.", "She has a dog with three legs."),
    ],
)
def test_what_sounds_like_neither(before, line):
    moment = moment_of(before, line)
    assert max(moment.begins, moment.stops) < 1.0


def test_talk_in_work_and_talk_between():
    assert moment_of("And pull.", "Elbows close, squeeze at the top.").works > 0
    assert moment_of("Right.", "In the next block we have three moves.").works < 0


@given(st.lists(st.sampled_from(LINES), min_size=1, max_size=6))
def test_moments_add_up_what_the_features_say_one_by_one(lines):
    context = context_of(*lines)
    kinds = read_kinds(LANGUAGE)
    after, before = (read_weights(LANGUAGE.folder / name) for name in (NEXT_FILE, LAST_FILE))
    tokens, owners = list(context.spoken.tokens), context.spoken.owners

    def lean(weights, first, last):
        own = [k for k, token in enumerate(tokens) if token != EDGE and first <= owners[k] <= last]
        run = tokens[max(0, own[0] - 1) : own[-1] + 2]
        held = [weights[name] for name in features(run, (), kinds) if name in weights]
        return np.sum([*held, np.zeros(len(COLUMNS))], axis=0)

    heads = breaks(context)
    until, since = windows(context, heads)
    beside = np.array(
        [
            lean(after, head, last) + (lean(before, first, head - 1) if first < head else 0.0)
            for head, last, first in zip(heads, until, since, strict=True)
        ]
    )
    net = moment_net("en")
    assert net is not None
    wanted = net.leans(context.spoken, LANGUAGE.numbers.values, heads, beside)
    found = [[moment.begins, moment.stops, moment.works] for moment in spot_moments(context)]
    assert np.array(found) == pytest.approx(wanted, abs=1e-3)


@given(st.lists(st.sampled_from(LINES), min_size=1, max_size=6))
def test_windows_stay_near_their_break_and_in_the_sentences_beside_it(lines):
    context = context_of(*lines)
    heads = breaks(context)
    until, since = windows(context, heads)
    assert (heads <= until).all()
    assert (until < heads + NEXT_WORDS).all()
    assert (since <= heads).all()
    assert (since >= heads - LAST_WORDS).all()
    opens = np.flatnonzero(context.words.opens)
    assert all(not ((opens > head) & (opens <= last)).any() for head, last in zip(heads, until, strict=True))


def test_no_number_has_a_weight():
    """Counts are spotted for themselves; a model that knew numbers would count them twice."""
    numbers = LANGUAGE.numbers.values
    for name in (NEXT_FILE, LAST_FILE):
        parts = {part for row in read_weights(LANGUAGE.folder / name) for part in row[1:] if row[0] != "length"}
        assert not {part for part in parts if part in numbers or part[:1].isdigit()}


def test_nothing_said_and_a_language_without_weights():
    assert spot_moments(context_of()) == ()
    transcript = transcript_from([(0.0, "Y descansa.")])
    assert spot(transcript, NOTHING, load_language("es")).moments == ()
