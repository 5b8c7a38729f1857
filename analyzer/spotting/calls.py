"""Calls of time: so much left, so much gone, half-way.

A place found by a phrase is kept unless a "not ..." phrase overlaps it. Of several readings of the same words the
one that says what it is about wins (left, then gone, then a bare length). A call taken back in the same breath
gives way to its correction; the same call said twice is one call. Words that may be a call or something else ("Ten!")
are a bare call: whoever knows when work began and ended keeps those that fit. So are numbers in no phrase that seem to
count what is left (:mod:`analyzer.spotting.amounts`).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

from rapidfuzz.distance import Levenshtein

from analyzer.language import Match, find, starting_in
from analyzer.language.sound import sound_code
from analyzer.model.events import TimeCall
from analyzer.spotting.context import SpotContext

Scope = Literal["interval", "round", "block", "class"]
Kind = Literal["left", "gone", "half"]
SCOPES: tuple[Scope, ...] = ("round", "block", "class")

LONGEST_S = 3600.0
ROUND_NUMBERS = 5.0
"""Bare numbers are seconds when they are a multiple of this (common practice, no source)."""
FEWEST_BARE = 7.0
"""Bare numbers below this count repetitions, unless a phrase says otherwise (common practice, no source)."""
SAME_CALL_S = 3.5
"""The same seconds said again this soon are the same call."""
CLASS_TALK_S = 150.0
"""A length left from here on is about the class, unless a move is planned that long (common practice, no source)."""
ANNOUNCED_S = 30.0
"""Work is announced in lengths from here on (common practice, no source)."""
SHORTEST_S = 3.0
"""Less is a manner of speaking ("one second"), unless it is said to remain (common practice, no source)."""
LEAST_PUT_RIGHT = 5.0
"""A call is put right by a number from here on: smaller ones count something else ("no, two hands")."""
ALIKE_GROUP = "half alike"
"""Beginning of the name of a group whose last word is the one that has to follow, misheard."""
LONG_BARE = "left bare length"
GROUPS = (
    "left sure",
    "left 60",
    "left length",
    "left number",
    "gone length",
    "gone number",
    "left clause",
    "half",
    "half clause",
    ALIKE_GROUP,
    LONG_BARE,
    "left bare",
    "half bare",
)
BARE_S = (10.0, 60.0)
"""A number that is all that is said is a call only between these (common practice, no source)."""
ALONE_S = 2.5
"""And only where no other number is said this soon before or after it: else it is one of a row."""
ALIKE = 0.6
"""Least likeness by sound of a misheard word whose place in the sentence leaves little else. Our judgement."""


def spot_calls(context: SpotContext) -> tuple[TimeCall, ...]:
    """Return every call of time, by onset; linear in the words."""
    phrases = context.language.phrases("calls")
    matches = find(phrases, context.spoken)
    by_group: dict[str, list[Match]] = {name: [] for name in phrases.groups}
    for match in matches:
        by_group[match.group].append(match)
    kept = [m for m in matches if _rank(m.group) < len(GROUPS) and _stands(m, by_group, context)]
    calls = _correct([_call(m, by_group, context) for m in _one_reading(kept)], by_group, context)
    decided = [*kept, *by_group["not left"], *by_group["taken back"]]
    return tuple(_merge(sorted([*calls, *_by_number(decided, context)], key=lambda call: (call.first, call.last))))


def _by_number(decided: Iterable[Match], context: SpotContext) -> list[TimeCall]:
    """Return the numbers that seem to count what is left, of which no phrase decides, as bare calls."""
    told = {place for match in decided for place in range(match.first, match.last + 1)}
    return [
        TimeCall(
            *context.place(amount.match.first, amount.match.last),
            kind="left",
            seconds=amount.value,
            scope="interval",
            certain=False,
            bare=True,
        )
        for amount in context.amounts
        if amount.counts == "left"
        and SHORTEST_S <= amount.value < CLASS_TALK_S
        and told.isdisjoint(range(amount.match.first, amount.match.last + 1))
    ]


def _rank(group: str) -> int:
    """Place of a group among ``GROUPS``; their number for one that holds no calls."""
    name = ALIKE_GROUP if group.startswith(ALIKE_GROUP) else group
    return GROUPS.index(name) if name in GROUPS else len(GROUPS)


def _stands(match: Match, by_group: dict[str, list[Match]], context: SpotContext) -> bool:
    kind, _, what = match.group.partition(" ")
    against = by_group[f"not {kind}"]
    if what == "clause" and context.breaks_before(match.first) and not context.breaks_after(match.first - 1):
        against = [other for other in _around(match, against) if other.start >= match.start]
    if (
        what not in ("sure", "bare length")
        and (kind, what) != ("half", "bare")
        and (_overlapped(match, against) or (kind == "gone" and _overlapped(match, by_group["not left"])))
    ):
        return False
    if what.startswith("alike"):
        return _is_followed_by(what.rpartition(" ")[2], match, context)
    if what.startswith("bare"):
        return kind == "half" or _is_bare(match, what == "bare", context)
    if kind == "half":
        return what != "clause" or (_is_clause(match, context) and context.ends_clause(match.last))
    if what.isdigit():
        return True
    if match.number is None or not 0 < match.number <= LONGEST_S:
        return False
    if what == "number":
        return _bare_seconds(match, by_group)
    if match.number < SHORTEST_S and not _holds(match, by_group["word remains"]):
        return False
    if match.number >= max(CLASS_TALK_S, context.longest_work_s + 1) and kind == "left":
        return _holds(match, by_group["word remains"])
    return what != "clause" or _is_clause(match, context)


def _is_bare(match: Match, clause: bool, context: SpotContext) -> bool:
    """Whether a number without more may be seconds that are left: a usual one, alone."""
    value, (least, most) = match.number or 0.0, BARE_S
    if not least <= value <= most or value % ROUND_NUMBERS or (clause and not _is_clause(match, context)):
        return False
    words = context.words
    since = int(words.start_s.searchsorted(words.start_s[match.first] - ALONE_S))
    until = int(words.start_s.searchsorted(words.end_s[match.last] + ALONE_S, side="right"))
    others = (*words.norm[since : match.first], *words.norm[match.last + 1 : until])
    return not any(norm.isdigit() or norm in context.language.numbers.counted for norm in others)


def _is_followed_by(word: str, match: Match, context: SpotContext) -> bool:
    """Whether the next word sounds much like ``word`` and ends its clause ("we're half weigh.")."""
    after = match.last + 1
    if after >= len(context.words) or not context.ends_clause(after):
        return False
    heard, meant = sound_code(context.words.norm[after]), sound_code(word)
    return Levenshtein.normalized_similarity(heard, meant) >= ALIKE and heard.startswith(meant)


def _is_clause(match: Match, context: SpotContext) -> bool:
    """Whether punctuation parts these words from the rest of the sentence on both sides."""
    opens = context.spoken.text[match.start - 2] == "|" or context.breaks_before(match.first)
    return opens and (context.ends_clause(match.last) or not context.punctuated)


def _bare_seconds(match: Match, by_group: dict[str, list[Match]]) -> bool:
    """Whether a number without a unit is about seconds: not small, not an odd number nobody calls, not money."""
    value = match.number or 0.0
    if value != int(value) or value < FEWEST_BARE or value > 120:
        return value == 5.0 and match.group == "left number" and _holds(match, by_group["word to go"])
    ends_in_more = any(more.end == match.end for more in _around(match, by_group["word more"]))
    return value % ROUND_NUMBERS == 0 or (match.group == "left number" and not ends_in_more)


def _holds(match: Match, words: Sequence[Match]) -> bool:
    """True when one of ``words`` is among those of the match."""
    near = starting_in(words, match.first, match.last)
    return any(word.start >= match.start and word.end <= match.end for word in near)


def _overlapped(match: Match, others: Sequence[Match]) -> bool:
    """True when one of ``others`` (ordered by start) shares characters with the match.

    One inside it about another length does not count: "of a minute" in "a quarter of a minute more".
    """
    return any(
        other.start <= match.start or other.end > match.end or other.number == match.number
        for other in _around(match, others)
    )


def _around(match: Match, others: Sequence[Match]) -> list[Match]:
    """Those of ``others`` (ordered by start, at most three overlap a place) that share characters with the match."""
    low, high = 0, len(others)
    while low < high:
        middle = (low + high) // 2
        if others[middle].start < match.end:
            low = middle + 1
        else:
            high = middle
    return [other for other in others[max(0, low - 3) : low] if other.end > match.start]


def _one_reading(matches: Iterable[Match]) -> list[Match]:
    """Of overlapping readings of one number keep the one that reaches furthest; half competes with half alone."""
    chosen: list[Match] = []
    for match in sorted(matches, key=lambda m: (m.start, _rank(m.group))):
        rival = chosen[-1] if chosen else None
        if (
            rival is None
            or match.start >= rival.end
            or (match.group[:4] != rival.group[:4] and "half" in (match.group[:4], rival.group[:4]))
        ):
            chosen.append(match)
        elif match.end > rival.end:  # "that's ten seconds" gives way to "ten seconds left"
            chosen[-1] = match
    return chosen


def _call(match: Match, by_group: dict[str, list[Match]], context: SpotContext) -> TimeCall:
    kind: Kind = "half" if match.group.startswith("half") else "left" if match.group.startswith("left") else "gone"
    detail = match.group.rpartition(" ")[2]
    seconds = None if kind == "half" else float(detail) if detail.isdigit() else match.number
    last = match.last + match.group.startswith(ALIKE_GROUP)
    bare = " bare" in match.group and not (match.group == LONG_BARE and _holds(match, by_group["word more"]))
    near = starting_in(by_group["loose"], match.first - 2, match.last + 2)
    loose = any(_same_sentence(context, match, m) for m in near)
    clear = not (bare or _loose_number(match) or _announces(match, context)) and _plausible(seconds, context)
    return TimeCall(
        *context.place(match.first, last),
        kind=kind,
        seconds=seconds,
        scope=_scope(match, seconds, by_group, context),
        certain=clear and not loose,
        loose=clear and loose,
        bare=bare,
    )


def _announces(match: Match, context: SpotContext) -> bool:
    """True for a long bare length inside a sentence, which may announce what comes ("next a plank, forty seconds")."""
    inside = context.spoken.text[match.start - 2] != "|"
    return match.group == "left clause" and inside and (match.number or 0.0) >= ANNOUNCED_S


def _loose_number(match: Match) -> bool:
    """True when a bare number may count something else than seconds."""
    value = match.number or 0.0
    least = 15.0 if match.group.startswith("gone") else 10.0
    return match.group.endswith("number") and (value % ROUND_NUMBERS != 0 or value < least)


def _plausible(seconds: float | None, context: SpotContext) -> bool:
    """False when the number was probably misheard (fifty for fifteen): nobody calls it, or no work is that long."""
    numbers, longest = context.language.numbers, context.longest_work_s
    if seconds is None:
        return True
    return not numbers.doubtful(seconds) and not (longest and seconds > longest and seconds in numbers.alike)


def _scope(match: Match, seconds: float | None, by_group: dict[str, list[Match]], context: SpotContext) -> Scope:
    for scope in SCOPES:
        for other in starting_in(by_group[f"scope {scope}"], match.first, match.last + 4):
            if _same_sentence(context, match, other):
                return scope
    if seconds is not None and seconds >= CLASS_TALK_S and seconds > context.longest_work_s:
        return "class"
    return "interval"


def _same_sentence(context: SpotContext, match: Match, other: Match) -> bool:
    between = context.spoken.text[min(match.end, other.end) : max(match.start, other.start)]
    return "|" not in between


def _correct(calls: list[TimeCall], by_group: dict[str, list[Match]], context: SpotContext) -> list[TimeCall]:
    """Replace each call that is taken back by what is said instead, a call of its own or a bare number."""
    result: list[TimeCall] = []
    backs = iter(by_group["taken back"])
    back = next(backs, None)
    for call in calls:
        while back is not None and back.first <= call.last - 3:
            back = next(backs, None)
        if result and result[-1].kind == call.kind and _between(context, by_group, result[-1], call):
            result[-1] = replace(call, certain=True)
            continue
        due = back is not None and call.seconds is not None and call.last < back.first <= call.last + 4
        if back is not None and due and (back.number or 0.0) >= LEAST_PUT_RIGHT and not _called_between(calls, back):
            place = context.place(max(back.first + 1, back.last - 1), back.last)
            call = TimeCall(*place, call.kind, back.number, call.scope)
        result.append(call)
    return result


def _called_between(calls: Sequence[TimeCall], back: Match) -> bool:
    """True when what is said instead is a call of its own."""
    after = bisect_right(calls, back.first, key=lambda call: call.first)
    return after < len(calls) and calls[after].first <= back.last


def _between(context: SpotContext, by_group: dict[str, list[Match]], old: TimeCall, new: TimeCall) -> bool:
    """True when something between two calls takes the first one back."""
    if new.at_s - old.end_s > SAME_CALL_S or new.seconds == old.seconds:
        return False
    return bool(starting_in(by_group["taken back"], old.last + 1, new.first))


def _merge(calls: Sequence[TimeCall]) -> list[TimeCall]:
    """One call where the same thing was said twice within a breath."""
    merged: list[TimeCall] = []
    for call in calls:
        last = merged[-1] if merged else None
        same = last is not None and last.kind == call.kind and last.seconds == call.seconds
        if last is not None and same and call.at_s - last.end_s <= SAME_CALL_S:
            merged[-1] = replace(last, certain=last.certain or call.certain)
        else:
            merged.append(call)
    return merged
