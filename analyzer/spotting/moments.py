"""Moments: how every break in what is said sounds, like work beginning, like work ending, like neither.

The words after a break and those before it are weighed by two learnt models of words (see
:mod:`analyzer.spotting.text_model`), and what is said further around it by a net beside them
(:mod:`analyzer.spotting.moment_net`); numbers are left to the counts. A language without the models has no moments, and
the phrases of :mod:`analyzer.spotting.signals` alone say what begins and what ends.
"""

from __future__ import annotations

import numpy as np

from analyzer.model.events import Moment
from analyzer.model.transcript import Bools, Ints
from analyzer.spotting.context import SpotContext
from analyzer.spotting.moment_net import moment_net
from analyzer.spotting.text_model import Floats, TextModel, text_model

NEXT_FILE, LAST_FILE = "moments-next.tsv", "moments-last.tsv"
COLUMNS = ("begins", "stops", "works")
NEXT_WORDS, LAST_WORDS = 10, 8
"""How many words after and before a break are read: its sentence may go on for longer."""
PAUSES = frozenset(",;:–—")
PAUSE_S = 0.28
"""A silence that parts what was said: recognisers leave out full stops."""


def spot_moments(context: SpotContext) -> tuple[Moment, ...]:
    """Return the moment at every break, by time; linear in the words."""
    models = [text_model(context.language.code, name) for name in (NEXT_FILE, LAST_FILE)]
    if not len(context.words) or models[0] is None or models[1] is None:
        return ()
    heads = breaks(context)
    leans = leanings(context, heads, models[0], models[1])
    ends = np.append(heads[1:], len(context.words)) - 1
    return tuple(
        Moment(*context.place(first, last), *lean)
        for first, last, lean in zip(heads.tolist(), ends.tolist(), leans.round(4).tolist(), strict=True)
    )


def breaks(context: SpotContext) -> Ints:
    """Return the words, ascending, before which something may begin or have ended."""
    words = context.words
    comma = np.array([text[-1:] in PAUSES for text in words.text], dtype=np.bool_)
    apart: Bools = words.opens | (words.pause_s >= PAUSE_S) | np.append(True, comma[:-1])
    apart[0] = True
    return np.flatnonzero(apart)


def windows(context: SpotContext, heads: Ints) -> tuple[Ints, Ints]:
    """Return the last word to read after each break, and the first to read before it (the break itself: none)."""
    opens = np.flatnonzero(context.words.opens)
    following = opens[np.minimum(np.searchsorted(opens, heads, side="right"), len(opens) - 1)]
    until = np.where(following > heads, following, len(context.words)) - 1
    before = opens[np.maximum(np.searchsorted(opens, heads, side="left") - 1, 0)]
    return np.minimum(until, heads + NEXT_WORDS - 1), np.minimum(np.maximum(before, heads - LAST_WORDS), heads)


def leanings(context: SpotContext, heads: Ints, after: TextModel, before: TextModel) -> Floats:
    """Return how each break leans, in nats, a column for each of ``COLUMNS``."""
    until, since = windows(context, heads)
    found = after.read(context.spoken).leans(heads, until)
    said = np.flatnonzero(since < heads)
    found[said] += before.read(context.spoken).leans(since[said], heads[said] - 1)
    net = moment_net(context.language.code)
    return found if net is None else net.leans(context.spoken, context.language.numbers.values, heads, found)
