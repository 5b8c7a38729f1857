"""Promises: rounds, moves, seconds and options announced, which can be held against what is delivered.

Rounds and moves hold for the block that follows or is in progress, unless they are announced in the first part of
the recording for every block. Seconds are about each interval ("a minute each") or, from five minutes up and early,
about the class.
"""

from __future__ import annotations

from typing import Literal, cast

from analyzer.language import Match, find, starting_in
from analyzer.model.events import Promise
from analyzer.spotting.context import SpotContext

Kind = Literal["rounds", "moves", "seconds", "options"]
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


def spot_promises(context: SpotContext) -> tuple[Promise, ...]:
    """Return every promise, by onset; linear in the words."""
    phrases = context.language.phrases("promises")
    matches = find(phrases, context.spoken)
    beside: dict[str, list[Match]] = {EVERY_BLOCK: []}
    for match in matches:
        if _is_beside(match):
            beside.setdefault(match.group.removeprefix("not "), []).append(match)
    promises: list[Promise] = []
    for match in matches:
        if not _is_beside(match):
            promise = _promise(match, beside, context)
            if promise is not None and not _said_before(promise, promises):
                promises.append(promise)
    return tuple(promises)


def _is_beside(match: Match) -> bool:
    """True for what is no promise, but takes one back or widens it."""
    return match.group.startswith("not ") or match.group == EVERY_BLOCK


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
