"""Promises: rounds, moves, seconds and options announced, which can be held against what is delivered.

Rounds and moves hold for the block that follows or is in progress, unless they are announced in the first part of
the recording for every block. Seconds are about each interval ("a minute each") or, from five minutes up and early,
about the class.

Phrases tell them, and what numbers count as far as it is known (:mod:`analyzer.spotting.amounts`): coaches count their
rounds and moves in words that no list holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, cast

from analyzer.language import Match, find, starting_in
from analyzer.model.events import Promise
from analyzer.spotting.context import SpotContext

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
COUNTED = ("rounds", "moves", "seconds interval")
"""The groups whose number is the promise."""
CLAUSE_WORDS = 6
"""So much of a clause before and after its number is told."""


def spot_promises(context: SpotContext) -> tuple[Promise, ...]:
    """Return every promise, by onset; linear in the words."""
    matches = find(context.language.phrases("promises"), context.spoken)
    beside: dict[str, list[Match]] = {EVERY_BLOCK: []}
    for match in matches:
        if match.group.startswith("not ") or match.group == EVERY_BLOCK:
            beside.setdefault(match.group.removeprefix("not "), []).append(match)
    hardly = {
        (group, amount.match.last)
        for amount in context.amounts
        for group in ("rounds", "moves")
        if amount.hardly(group)
    }
    found = [
        promise
        for match in matches
        if match.group.partition(" ")[0] in KINDS
        if not any((match.group, place) in hardly for place in range(match.first, match.last + 1))
        if (promise := _promise(match, beside, context)) is not None
    ]
    for amount in context.amounts:
        group = next((group for group in COUNTED if group.partition(" ")[0] == amount.counts), None)
        if group is not None:
            promise = _promise(amount.match._replace(group=group, number=amount.value), beside, context)
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
