"""What was said, as events.

Takes a transcript, a plan and a language. Gives :class:`~analyzer.model.events.Events`: counts, calls, names, signals,
offers, sides, promises, cues, each with the words that carry it. Never decides what was worked when, and never
judges.

To add a spotter: one module with ``spot_<kind>(context) -> tuple of one class of event``, its phrases in
``language/<code>/<kind>.yaml``, one line in ``SPOTTERS``, one test file.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from analyzer.language import Language, speaking
from analyzer.model.events import Event, Events
from analyzer.model.plan import Plan
from analyzer.model.transcript import Transcript
from analyzer.spotting.calls import spot_calls
from analyzer.spotting.context import SpotContext
from analyzer.spotting.counts import spot_counts
from analyzer.spotting.cues import spot_cues
from analyzer.spotting.mentions import spot_mentions
from analyzer.spotting.moments import spot_moments
from analyzer.spotting.options import spot_options
from analyzer.spotting.promises import spot_promises
from analyzer.spotting.sides import spot_sides
from analyzer.spotting.signals import spot_signals

__all__ = ["SPOTTERS", "SpotContext", "spot"]

SPOTTERS: tuple[tuple[str, Callable[[SpotContext], tuple[Event, ...]]], ...] = (
    ("counts", spot_counts),
    ("calls", spot_calls),
    ("mentions", spot_mentions),
    ("signals", spot_signals),
    ("moments", spot_moments),
    ("options", spot_options),
    ("sides", spot_sides),
    ("promises", spot_promises),
    ("cues", spot_cues),
)
"""Field of :class:`Events` and the spotter that fills it."""


def spot(transcript: Transcript, plan: Plan, language: Language) -> Events:
    """Return all events of a recording, each kind ordered by onset; linear in the words.

    ``plan`` may have no blocks; then nothing is matched against it.
    """
    with speaking(language.code):
        context = SpotContext.of(transcript, plan, language)
        found: dict[str, Any] = {
            field: tuple(sorted(spotter(context), key=lambda event: (event.at_s, event.first)))
            for field, spotter in SPOTTERS
        }
    return Events(**found)
