"""Offers of an easier or a harder way, in any wording.

Every sentence gets a score a direction: the weights of the groups of phrases found in it (a condition, a permission,
a lighter or heavier way; less what refuses, tells a story or corrects form), and how much of an option that the plan
foresees is in it. A condition in one sentence and the way out in the next are read together. From 1 it is an offer.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, pairwise
from typing import Literal

from analyzer.language.patterns import find
from analyzer.model.events import MoveRef, OptionOffer
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import name_words, names_of, split_words, stem, stems_of
from analyzer.spotting.option_grammar import (
    DIRECTIONS,
    REPAIRED,
    STRUCTURE,
    Direction,
    Grammar,
    misheard_words,
    offer_grammar,
)
from analyzer.spotting.option_words import JOINED, MOST_LEAN, OptionWords, held_columns, lean_of, option_words

ENOUGH = 0.99
ENOUGH_BARE = 1.3
"""Enough for a way alone, with neither condition nor permission: that is how the full move is taught, too."""
CLAUSE_WORDS = 7
"""A sentence of more words holds a clause beside its condition: the group "clause"."""
ASKED_WORDS = 7
"""A question of at most this many words may be a condition: the group "asked"."""
PLAN_DECIDES = 0.4
"""Added to the direction that the plan foresees when the words fit both."""
PAIR_COST = 0.1
"""Taken off when two sentences must be read together."""
PAIR_GAP_S, MERGE_GAP_S = 3.0, 2.5
OPENER_WORDS = 4
"""A sentence of at most so many words may open a pair without a plain condition, where the words lean."""
NO_WAY = 0.7
"""Most that the phrases may say where they hear no way to go."""
LONGEST_WORDS = 30
"""A longer stretch without a full stop is cut into parts of this many words."""
CONDITIONS = frozenset({"bother", "trouble", "cannot", "choice", "push"})
"""Plain conditions: beside one of them the group "if" counts nothing; a sentence with one may open a pair."""
WAYS = {
    "easier": frozenset(
        {"named-easier", "lessen", "lessen-surely", "lessen-slightly", "undo", "instead", "showing", "place"}
    ),
    "harder": frozenset({"named-harder", "increase", "push"}),
}

OUTRIGHT = frozenset({"named-easier", "named-harder"})
WAYS_PLANNED = {
    "easier": frozenset({"lessen", "lessen-surely", "lessen-slightly", "undo"}),
    "harder": frozenset({"increase"}),
}
"""Groups that hear the same words as the plan's own option: the two are not added up."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A sentence, or a piece of a long one: words ``first`` to ``last``, its groups, plan evidence a direction."""

    first: int
    last: int
    groups: frozenset[str]
    planned: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Offer:
    first: int
    last: int
    direction: Direction
    score: float
    groups: frozenset[str]


def spot_options(context: SpotContext) -> tuple[OptionOffer, ...]:
    """Return the offers of an easier or harder way, by time; linear in the words."""
    if not len(context.words):
        return ()
    grammar = offer_grammar(context.language.code)
    parts = parts_of(context, grammar)
    offers = _merged(_offers(parts, grammar, context), context)
    names = _own_names(context.plan, context.language.code)
    return tuple(_event(offer, context, names) for offer in offers)


def parts_of(context: SpotContext, grammar: Grammar) -> list[_Part]:
    """Return the sentences, each with its groups of phrases and what the plan foresees of it."""
    spans = [piece for first, last in context.spoken.sentences for piece in _pieces(first, last, context)]
    found: list[set[str]] = [set() for _ in spans]
    matches = find(grammar.phrases, context.spoken)
    anew = misheard_words(context.words, grammar, context.language.code)
    if anew:
        respelt = {at: anew[norm] for at, norm in enumerate(context.words.norm) if norm in anew}
        matches += find(grammar.phrases, context.spoken.respelt(respelt), REPAIRED)
    at = 0
    for match in sorted(matches, key=lambda match: match.first):
        while at + 1 < len(spans) and spans[at + 1][0] <= match.first:
            at += 1
        found[at].add(match.group)
    for (first, last), groups in zip(spans, found, strict=True):
        if last - first < ASKED_WORDS and context.words.text[last].endswith("?"):
            groups.add("asked")
        if last - first >= CLAUSE_WORDS:
            groups.add("clause")
    worth = _plan_evidence(spans, context, grammar)
    return [
        _Part(first, last, frozenset(groups), planned)
        for (first, last), groups, planned in zip(spans, found, worth, strict=True)
    ]


def _pieces(first: int, last: int, context: SpotContext) -> Iterable[tuple[int, int]]:
    """Cut a sentence that is too long to be one, at its commas or longest pauses where there are any."""
    while last - first >= LONGEST_WORDS:
        window = range(first + LONGEST_WORDS // 3, first + LONGEST_WORDS)
        cut = max(window, key=lambda i: (context.breaks_after(i), float(context.words.pause_s[i + 1]), i))
        yield first, cut
        first = cut + 1
    yield first, last


@dataclass(frozen=True, eq=False)
class _Planned:
    """The options that a plan foresees: way and number of words of each, and for every stem those that hold it."""

    options: tuple[tuple[Direction, int], ...]
    holding: Mapping[str, tuple[int, ...]]


@lru_cache(maxsize=32)
def _planned_options(plan: Plan, small: frozenset[str]) -> _Planned:
    """Return the options of a plan, small words left out; the last plans' are kept."""
    found: dict[tuple[Direction, frozenset[str]], None] = {}
    for move in (move for block in plan.blocks for move in block.moves):
        for direction, texts in zip(DIRECTIONS, (move.easier, move.harder), strict=True):
            for text in texts:
                stems = frozenset(stem(word) for word in split_words(text) if word not in small)
                if stems:
                    found[direction, stems] = None
    holding: dict[str, tuple[int, ...]] = {}
    for at, (_, stems) in enumerate(found):
        for part in stems:
            holding[part] = (*holding.get(part, ()), at)
    return _Planned(tuple((direction, len(stems)) for direction, stems in found), holding)


def _plan_evidence(spans: list[tuple[int, int]], context: SpotContext, grammar: Grammar) -> list[tuple[float, float]]:
    """Return for each span how much of an option that the plan foresees is in it, easier and harder."""
    planned = _planned_options(context.plan, grammar.small)
    holding, norms = planned.holding, context.words.norm
    known = {norm for norm in set(norms) if not holding.keys().isdisjoint(stems_of(norm))}
    said = [at for at, norm in enumerate(norms) if norm in known]
    worth: list[tuple[float, float]] = []
    for first, last in spans:
        here = said[bisect_left(said, first) : bisect_right(said, last)]
        best = {"easier": 0.0, "harder": 0.0}
        if here:
            parts = holding.keys() & set(chain.from_iterable([stems_of(norms[at]) for at in here]))
            for option, count in Counter(chain.from_iterable([holding[part] for part in parts])).items():
                direction, wanted = planned.options[option]
                best[direction] = max(best[direction], _share(count, wanted, grammar))
        worth.append((best["easier"], best["harder"]))
    return worth


def _share(said: int, wanted: int, grammar: Grammar) -> float:
    """Return what it is worth that so many of an option's words were said."""
    if said == wanted and wanted > 1:
        return grammar.plan_full
    return grammar.plan_part if said > wanted / 2 else 0.0


def _scores(groups: frozenset[str], planned: tuple[float, float], grammar: Grammar) -> list[float]:
    """Return what the groups and the plan say for the easier and for the harder way."""
    plain = groups - {"if"} if groups & CONDITIONS else groups
    together = [row for needed, row in grammar.together if needed <= (groups if STRUCTURE & needed else plain)]
    scores: list[float] = []
    for direction, worth in zip(DIRECTIONS, planned, strict=True):
        ways = sum(grammar.weights[group][direction] for group in plain & WAYS_PLANNED[direction])
        total = max(worth, ways + grammar.plan_again * (worth > 0 and ways > 0))
        total += sum(grammar.weights[group][direction] for group in plain - WAYS_PLANNED[direction] - STRUCTURE)
        scores.append(total + sum(row[direction] for row in together))
    return scores


def _offers(parts: list[_Part], grammar: Grammar, context: SpotContext) -> list[_Offer]:
    """Return parts that are offers by themselves, then neighbours that are one together."""
    table = option_words(context.language.code, grammar.names)
    alone = [_fit(base_scores(part, grammar), (part,), context, table) for part in parts]
    told = [
        fits is not None and ("asked" not in part.groups or bool(part.groups & OUTRIGHT))
        for fits, part in zip(alone, parts, strict=True)
    ]
    offers = [
        _Offer(part.first, part.last, *fits, part.groups)
        for part, fits, tell in zip(parts, alone, told, strict=True)
        if tell and fits is not None
    ]
    for at, (left, right) in enumerate(pairwise(parts)):
        gap = float(context.words.start_s[right.first] - context.words.end_s[left.last])
        if told[at] or gap > PAIR_GAP_S or right.last - left.first >= LONGEST_WORDS or not _opens(left, table):
            continue
        if told[at + 1] and "asked" not in left.groups:
            continue
        fits = _fit(base_pair(left, right, grammar), (left, right), context, table)
        if fits is not None:
            offers.append(_Offer(left.first, right.last, *fits, left.groups | right.groups))
    return sorted(offers, key=lambda offer: (offer.first, offer.last))


def _opens(part: _Part, table: OptionWords | None) -> bool:
    """Tell whether a part may be the first of two that are one offer: a condition, a question, a short call."""
    return bool(part.groups & CONDITIONS) or (table is not None and part.last - part.first < OPENER_WORDS)


def _fit(
    base: tuple[float, float], parts: tuple[_Part, ...], context: SpotContext, table: OptionWords | None
) -> tuple[Direction, float] | None:
    """Return the way that is offered and its score; None where nothing is. The words' lean counts where it decides."""
    easier, harder = base
    if table is not None and ENOUGH - MOST_LEAN <= max(base) < ENOUGH:
        held = {table.columns[JOINED]} if len(parts) > 1 else set()
        for part in parts:
            norms = context.words.norm[part.first : part.last + 1]
            held |= held_columns(norms, part.groups, table.kinds, table.columns, table.number)
        lean = lean_of(held, table)
        easier, harder = easier + lean[0], harder + lean[1]
    planned = [max(part.planned[way] for part in parts) for way in (0, 1)]
    if easier >= ENOUGH and harder >= ENOUGH and planned[0] != planned[1]:
        harder += PLAN_DECIDES if planned[1] > planned[0] else -PLAN_DECIDES
    if max(easier, harder) < ENOUGH:
        return None
    return ("harder", harder) if harder > easier else ("easier", easier)


def base_scores(part: _Part, grammar: Grammar) -> tuple[float, float]:
    """Return what the phrases say of a sentence by itself, easier and harder; :data:`ENOUGH` is an offer."""
    return _alone(part.groups, part.planned, grammar)


@lru_cache(maxsize=4096)
def _alone(groups: frozenset[str], planned: tuple[float, float], grammar: Grammar) -> tuple[float, float]:
    found = _scores(groups, planned, grammar)
    for at, direction in enumerate(DIRECTIONS):
        if groups <= WAYS_PLANNED[direction] - {"lessen-surely"} | STRUCTURE | {"form", "place"}:
            found[at] -= ENOUGH_BARE - ENOUGH
        if not _has_way(groups, planned, direction):
            found[at] = min(found[at], NO_WAY)
    return found[0], found[1]


def base_pair(left: _Part, right: _Part, grammar: Grammar) -> tuple[float, float]:
    """Return what the phrases say of two sentences as one. The way must be in the second; an appetite needs none."""
    return _together(left.groups, right.groups, left.planned, right.planned, grammar)


@lru_cache(maxsize=4096)
def _together(
    left: frozenset[str],
    right: frozenset[str],
    foreseen: tuple[float, float],
    planned: tuple[float, float],
    grammar: Grammar,
) -> tuple[float, float]:
    found = _scores(left | right, (max(foreseen[0], planned[0]), max(foreseen[1], planned[1])), grammar)
    eager = {"asked", "push"} <= left
    for at, direction in enumerate(DIRECTIONS):
        found[at] -= PAIR_COST
        if not (left & CONDITIONS and (_has_way(right, planned, direction) or (at == 1 and eager))):
            found[at] = min(found[at], NO_WAY)
    return found[0], found[1]


def _has_way(groups: frozenset[str], planned: tuple[float, float], direction: Direction) -> bool:
    """An offer needs a way to go, not only a condition and a permission."""
    if direction == "easier" and {"bother", "clause"} <= groups:
        return True
    return bool(groups & WAYS[direction]) or planned[DIRECTIONS.index(direction)] > 0


def _merged(offers: list[_Offer], context: SpotContext) -> list[_Offer]:
    """Make one of neighbouring sentences that offer the same way."""
    merged: list[_Offer] = []
    for offer in offers:
        if merged and merged[-1].direction == offer.direction:
            before = merged[-1]
            gap = float(context.words.start_s[offer.first] - context.words.end_s[before.last])
            if offer.first <= before.last + 1 and gap <= MERGE_GAP_S:
                merged[-1] = _Offer(
                    before.first,
                    max(before.last, offer.last),
                    offer.direction,
                    max(before.score, offer.score),
                    before.groups | offer.groups,
                )
                continue
        merged.append(offer)
    return merged


@dataclass(frozen=True, eq=False)
class _OwnNames:
    """The plan's names that are no ordinary words: the moves of each key, and every beginning of a key."""

    moves: Mapping[str, tuple[MoveRef, ...]]
    beginnings: frozenset[str]


@lru_cache(maxsize=32)
def _own_names(plan: Plan, code: str) -> _OwnNames:
    """Return the names of a plan; the last plans' are kept."""
    moves = {name.key: name.moves for name in names_of(plan, name_words(code)) if not name.ordinary}
    return _OwnNames(moves, frozenset(key[:size] for key in moves for size in range(1, len(key) + 1)))


def _event(offer: _Offer, context: SpotContext, names: _OwnNames) -> OptionOffer:
    scope: Literal["move", "block"] = "block" if "blanket" in offer.groups else "move"
    moves: tuple[MoveRef, ...] = ()
    if scope == "move":
        lead = _lead_in(offer.first, context)
        moves = _named_moves(offer.first, offer.last, context, names) or _named_moves(*lead, context, names)
    first, last, at_s, end_s, u_s, text = context.place(offer.first, offer.last)
    return OptionOffer(
        first=first,
        last=last,
        at_s=at_s,
        end_s=end_s,
        u_s=u_s,
        text=text,
        direction=offer.direction,
        moves=moves,
        scope=scope,
        score=round(min(1.0, offer.score / 2), 4),
    )


def _lead_in(first: int, context: SpotContext) -> tuple[int, int]:
    """Return the sentence just before word ``first``, if it is close; else an empty run."""
    words, sentences = context.words, context.spoken.sentences
    at = bisect_left(sentences, (first, first)) - 1
    if at < 0 or float(words.start_s[first] - words.end_s[sentences[at][1]]) > PAIR_GAP_S:
        return first, first - 1
    return sentences[at]


def _named_moves(first: int, last: int, context: SpotContext, names: _OwnNames) -> tuple[MoveRef, ...]:
    """Return the moves named in the offer, longest name first; empty where none is."""
    stems = [part for norm in context.words.norm[first : last + 1] for part in stems_of(norm) if part]
    starts = [at for at, part in enumerate(stems) if part in names.beginnings]
    for size in (4, 3, 2, 1):
        for at in starts:
            found = names.moves.get("".join(stems[at : at + size])) if at + size <= len(stems) else None
            if found:
                return found
    return ()
