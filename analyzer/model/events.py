"""What a listener would note down: one frozen class a kind of event, all with the words that carry it.

Conventions for every event: ``first``/``last`` word indexes, both included; ``at_s`` onset of the first word;
``end_s`` offset of the last; ``u_s`` standard uncertainty of ``at_s``; ``text`` the words as printed.
Move references are ``(block, move)`` index pairs into the plan, as a :data:`MoveRef`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

MoveRef = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Event:
    """The part every event shares."""

    first: int
    last: int
    at_s: float
    end_s: float
    u_s: float
    text: str


@dataclass(frozen=True, slots=True)
class Count(Event):
    """A run of spoken numbers.

    ``numbers`` as said (after repair of misheard ones), ``positions`` their word indexes, ``times_s`` onsets.
    ``role``: ``seconds`` = counts down to a change; ``reps`` = repetitions, beats, breaths, anything else.
    ``lands_s`` when a ``seconds`` count reaches its change: last number's onset plus its number of seconds
    (one second after "one"). ``repaired`` True when a number is only presumed (misheard or dropped). ``goes_on`` True
    when the words after it draw the work out: no change where it lands.
    """

    numbers: tuple[int, ...]
    positions: tuple[int, ...]
    times_s: tuple[float, ...]
    role: Literal["seconds", "reps"]
    lands_s: float
    repaired: bool = False
    goes_on: bool = False


@dataclass(frozen=True, slots=True)
class TimeCall(Event):
    """``left`` N seconds to go; ``gone`` N seconds in; ``half`` half-way (seconds None).

    ``scope`` what it is about: interval, or round, block, class (then it is no evidence for an interval's end).
    ``certain`` False when the number may be misheard (fifteen/fifty) or the wording is loose ("or so").
    ``loose`` True when the wording alone makes it uncertain: then it may be wrong by more, and still be wrong.
    ``bare`` True when the words may be no call at all ("Ten!"): they are one where they fit the clock.
    """

    kind: Literal["left", "gone", "half"]
    seconds: float | None
    scope: Literal["interval", "round", "block", "class"] = "interval"
    certain: bool = True
    loose: bool = False
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Mention(Event):
    """A move's name or nickname was heard.

    ``moves`` every planned move the words may name (the same name may stand in several blocks); ``score`` 0 to 1
    similarity; ``exact`` True when the letters match; ``name`` the planned spelling it matched.
    ``context``: ``preview`` = announced for later ("next up"), ``demo`` = part of a list that explains a round,
    ``past`` = spoken of as over, ``plain`` = nothing marks it.
    """

    moves: tuple[MoveRef, ...]
    name: str
    score: float
    exact: bool
    context: Literal["plain", "preview", "demo", "past"]


@dataclass(frozen=True, slots=True)
class Signal(Event):
    """A word that marks a change: ``start`` (go, begin), ``stop`` (rest, and stop), ``switch`` (change sides),
    ``demo`` (let me show you), ``round`` (round two, back to the top), ``relief`` (well done, shake it out),
    ``water``, ``effort`` (talk that only fits work in progress: keep going, push), ``closing`` (one more, the
    last two: work is about to end), ``goodbye``.
    ``strength`` 0 to 1. ``number`` the round said, where one was; ``done`` True where it was told to be over; ``final``
    True where a round was called its block's last."""

    kind: Literal["start", "stop", "switch", "demo", "round", "relief", "water", "effort", "closing", "goodbye"]
    strength: float = 1.0
    number: int | None = None
    done: bool = False
    final: bool = False


@dataclass(frozen=True, slots=True)
class Moment(Event):
    """The words between two breaks, and how the break before them sounds, in nats against a usual one.

    ``begins``, ``stops``: for work beginning, or having ended, there; ``works``: for words said during work, against
    words said between.
    """

    begins: float
    stops: float
    works: float


@dataclass(frozen=True, slots=True)
class OptionOffer(Event):
    """An easier or harder way was offered. ``moves`` the moves it names (empty = the one in progress);
    ``scope`` ``block`` for a blanket offer that holds for all of a block; ``doubtful`` True where offers are seldom
    made and this one's ``score`` is no better than most: perhaps an offer, not listed as one."""

    direction: Literal["easier", "harder"]
    moves: tuple[MoveRef, ...]
    scope: Literal["move", "block"]
    score: float = 1.0
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class SideCall(Event):
    """A side was named as the working one. ``corrected`` True when taken back in the same breath (then ignore)."""

    side: Literal["left", "right"]
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class Promise(Event):
    """Something announced that can be held against delivery.

    ``kind`` rounds, moves, seconds or options; ``value`` the number (None for options);
    ``scope`` class, block (the one that follows or is in progress) or interval.
    """

    kind: Literal["rounds", "moves", "seconds", "options"]
    value: float | None
    scope: Literal["class", "block", "interval"]


@dataclass(frozen=True, slots=True)
class CueSaid(Event):
    """A coaching cue: ``breath``, ``safety``, ``water`` or ``must-say`` (then ``move`` and ``cue`` say which)."""

    kind: Literal["breath", "safety", "water", "must-say"]
    move: MoveRef | None = None
    cue: str = ""
    score: float = 1.0


@dataclass(frozen=True, slots=True)
class Events:
    """All events of a recording, each tuple ordered by ``at_s``."""

    counts: tuple[Count, ...] = ()
    calls: tuple[TimeCall, ...] = ()
    mentions: tuple[Mention, ...] = ()
    signals: tuple[Signal, ...] = ()
    moments: tuple[Moment, ...] = ()
    options: tuple[OptionOffer, ...] = ()
    sides: tuple[SideCall, ...] = ()
    promises: tuple[Promise, ...] = ()
    cues: tuple[CueSaid, ...] = ()
