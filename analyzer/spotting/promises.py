"""Promises: rounds, moves, seconds and options announced, which can be held against what is delivered.

Rounds and moves hold for the block that follows or is in progress, unless they are announced in the first part of
the recording for every block. Seconds are about each interval ("a minute each") or, from five minutes up and early,
about the class.

Phrases tell them, and where a language has it a net (:mod:`analyzer.spotting.place_net`) that reads what stands around
every number: coaches count their rounds and moves in words that no list holds ("four jobs, and we go along it twice").
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple, cast

import numpy as np

from analyzer.language import Match, find, starting_in
from analyzer.model.events import Promise
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.context import SpotContext
from analyzer.spotting.place_net import Feature, Window, place_net

Kind = Literal["rounds", "moves", "seconds", "options"]
KINDS: tuple[Kind, ...] = ("rounds", "moves", "seconds", "options")
Scope = Literal["class", "block", "interval"]

CLASS_FROM_S = 300.0
"""Shortest length that can be a class's (common practice, no source)."""
OPENING_S = 150.0
"""A class's length is announced this early (common practice, no source)."""
MOST = {"rounds": 12.0, "moves": 30.0}
"""More than this is no number of rounds or moves (common practice, no source)."""
LONGEST_MOVE_S = 600.0
EVERY_BLOCK = "every block"
"""The group that makes a promise one for all blocks."""
LONGEST_PAUSE_S = 1.5
"""A silence longer than this parts what was said before it from what comes after (common practice, no source)."""
SAME_S = 8.0
"""The same promise again this soon is one promise."""
AMOUNT, LENGTH = "amount", "length"
"""The groups of numbers and of lengths of time; a number behind the first is its value."""
NET_FILE = "promises-net.npz"
COUNTED = ("rounds", "moves", "seconds interval")
"""The groups whose number is the promise, and what the net tells apart."""
WINDOW = Window(6, 0, 8)
SURE, HARDLY = 1.0, -5.0
"""A number that leans so far to a promise is one; one that leans less, no phrase makes one (nats)."""
MOST_TOLD_APART = 12
CLAUSE_WORDS = 6
"""So much of a clause before and after its number is told."""


class Amount(NamedTuple):
    """A number or a length of time, with the phrases that it is part of: group after group."""

    match: Match
    value: float
    groups: tuple[str, ...]


def spot_promises(context: SpotContext) -> tuple[Promise, ...]:
    """Return every promise, by onset; linear in the words."""
    matches = find(context.language.phrases("promises"), context.spoken)
    amounts = amounts_of(matches)
    leans = _leans(context, amounts).tolist()
    beside: dict[str, list[Match]] = {EVERY_BLOCK: []}
    for match in matches:
        if match.group.startswith("not ") or match.group == EVERY_BLOCK:
            beside.setdefault(match.group.removeprefix("not "), []).append(match)
    hardly = {
        (kind, amount.match.last)
        for amount, row in zip(amounts, leans, strict=True)
        for kind, lean in zip(COUNTED, row, strict=True)
        if lean < HARDLY
    }
    found = [
        promise
        for match in matches
        if match.group.partition(" ")[0] in KINDS
        if not any((match.group, place) in hardly for place in range(match.first, match.last + 1))
        if (promise := _promise(match, beside, context)) is not None
    ]
    for amount, row in zip(amounts, leans, strict=True):
        lean, kind = max(zip(row, COUNTED, strict=True))
        if lean >= SURE:
            promise = _promise(amount.match._replace(group=kind, number=amount.value), beside, context)
            if promise is not None and not _told(promise, found):
                found.append(_with_clause(promise, context))
    promises: list[Promise] = []
    for promise in sorted(found, key=lambda promise: (promise.first, promise.last)):
        if not _said_before(promise, promises):
            promises.append(promise)
    return tuple(promises)


def _told(promise: Promise, found: Sequence[Promise]) -> bool:
    """Tell whether a promise of the same kind holds the same words."""
    return any(other.kind == promise.kind and other.first <= promise.last <= other.last for other in found)


def _with_clause(promise: Promise, context: SpotContext) -> Promise:
    """Return a promise with the words around its number, as far as their clause goes."""
    first, last = promise.first, promise.last
    for _ in range(CLAUSE_WORDS):
        first -= not context.breaks_before(first)
        last += not context.ends_clause(last)
    return Promise(*context.place(first, last), kind=promise.kind, value=promise.value, scope=promise.scope)


def amounts_of(matches: Sequence[Match]) -> list[Amount]:
    """Return the numbers and lengths of time among what was found, by onset; those of a count left out."""
    lengths = [match for match in matches if match.group == LENGTH]
    within = {place for length in lengths for place in range(length.first, length.last + 1)}
    numbers = [match for match in matches if match.group.startswith(AMOUNT) and match.first not in within]
    counted = {
        place for one, other in pairwise(numbers) if other.first == one.last + 1 for place in (one.first, other.first)
    }
    telling = [match for match in matches if not match.group.startswith((AMOUNT, LENGTH))]
    amounts = []
    for match in sorted([*lengths, *(number for number in numbers if number.first not in counted)]):
        value = match.number if match.number is not None else float(match.group.rpartition(" ")[2])
        near = [other for other in telling if other.first <= match.last and other.last >= match.first]
        amounts.append(Amount(match, value, tuple(other.group for other in near)))
    return amounts


def read_around(context: SpotContext, amounts: Sequence[Amount]) -> tuple[Ints, list[list[Feature]]]:
    """Return the tokens that the net reads around each amount (n, tokens read), and what is true of each."""
    places = context.spoken.places
    start = np.searchsorted(places, [amount.match.first - 0.25 for amount in amounts])
    end = np.searchsorted(places, [amount.match.last + 0.25 for amount in amounts]) - 1
    return WINDOW.around(start, end, len(places)), [_features(amount) for amount in amounts]


def _features(amount: Amount) -> list[Feature]:
    value = amount.value
    told = f"{value:g}" if value <= MOST_TOLD_APART else "minutes" if value % 60 == 0 else "more"
    told = "fives" if told == "more" and value % 5 == 0 else told
    return [("amount", amount.match.group), ("value", told), *(("phrase", group) for group in amount.groups)]


def _leans(context: SpotContext, amounts: Sequence[Amount]) -> Floats:
    """Return how each amount leans to a promise of each of ``COUNTED`` (n, 3), nats; undecided without a net."""
    net = place_net(context.language.code, NET_FILE)
    if net is None or not amounts:
        return np.zeros((len(amounts), len(COUNTED)))
    around, features = read_around(context, amounts)
    which = np.append(context.spoken.which, len(context.spoken.distinct))[around]
    return net.leans(context.spoken.distinct, which, features)


def _promise(match: Match, beside: dict[str, list[Match]], context: SpotContext) -> Promise | None:
    kind, _, detail = match.group.partition(" ")
    against = beside.get("interval" if detail == "interval" else kind, [])
    if any(back.start < match.end and back.end > match.start for back in against):
        return None
    if (context.words.pause_s[match.first + 1 : match.last + 1] > LONGEST_PAUSE_S).any():
        return None
    value = float(detail) if detail.isdigit() else match.number
    scope = _scope(kind, detail, value, match, context)
    if scope == "block" and kind != "options" and _for_every_block(match, beside[EVERY_BLOCK], context):
        scope = "class"
    if scope is None:
        return None
    return Promise(*context.place(match.first, match.last), kind=cast(Kind, kind), value=value, scope=scope)


def _scope(kind: str, detail: str, value: float | None, match: Match, context: SpotContext) -> Scope | None:
    """What the promise holds for; None when the number makes no sense for its kind."""
    if kind == "options":
        return "class" if _early(match, context) else "block"
    if value is None or value < 1:
        return None
    if kind == "seconds" and detail == "class":
        fits = value >= CLASS_FROM_S and _early(match, context) and not _misheard_minutes(value, context)
        return "class" if fits else None
    if kind == "seconds":
        return "interval" if 5 <= value <= LONGEST_MOVE_S else None
    if value > MOST[kind] or value != int(value):
        return None
    return "block"


def _misheard_minutes(value: float, context: SpotContext) -> bool:
    """True when these minutes miss the recording's length by far and those that sound alike fit ("fifty")."""
    twin = context.language.numbers.sound_alike(value // 60)
    real_s = float(context.words.end_s[-1])
    return twin is not None and abs(value - real_s) > real_s / 2 and abs(twin * 60 - real_s) < real_s / 4


def _early(match: Match, context: SpotContext) -> bool:
    return float(context.words.start_s[match.first]) <= OPENING_S


def _for_every_block(match: Match, found: list[Match], context: SpotContext) -> bool:
    """Whether the promise's sentence says that it is about every block."""
    text = context.spoken.text
    opens, closes = text.rfind("|", 0, match.start), text.find("|", match.end)
    low, high = (int(context.spoken.word_at[at]) for at in (opens, closes))
    return any(opens < other.start < closes for other in starting_in(found, low, high))


def _said_before(promise: Promise, earlier: list[Promise]) -> bool:
    for old in reversed(earlier):
        if promise.at_s - old.end_s > SAME_S:
            return False
        if (old.kind, old.value, old.scope) == (promise.kind, promise.value, promise.scope):
            return True
    return False
