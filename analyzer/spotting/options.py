"""Offers of an easier or a harder way, in any wording.

Every sentence gets a score a direction: the weights of the groups of phrases found in it (a condition, a permission,
a lighter or heavier way; less what refuses, tells a story or corrects form), and how much of an option that the plan
foresees is in it. A condition in one sentence and the way out in the next are read together. From 1 it is an offer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import yaml

from analyzer.language import load_language
from analyzer.language.patterns import Match, PhraseSet, compile_phrases, find
from analyzer.model.events import MoveRef, OptionOffer
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import name_words, names_of, split_words, stem

Direction = Literal["easier", "harder"]
DIRECTIONS: tuple[Direction, Direction] = ("easier", "harder")
ENOUGH = 1.0
PAIR_COST = 0.1
"""Taken off when two sentences must be read together."""
PAIR_GAP_S, MERGE_GAP_S = 3.0, 2.5
LONGEST_WORDS = 30
"""A longer stretch without a full stop is cut into parts of this many words."""
CONDITIONS = frozenset({"bother", "cannot", "choice", "push", "blanket"})
WAYS = {
    "easier": frozenset({"named-easier", "lessen", "lessen-slightly", "instead", "allowed", "showing"}),
    "harder": frozenset({"named-harder", "increase", "push"}),
}


@dataclass(frozen=True)
class Grammar:
    """The phrases of offers, compiled, with the weight of every group and of groups together."""

    phrases: PhraseSet
    weights: Mapping[str, Mapping[Direction, float]]
    together: tuple[tuple[frozenset[str], Mapping[Direction, float]], ...]
    plan_full: float
    plan_part: float


@cache
def offer_grammar(code: str) -> Grammar:
    """Read ``options.yaml`` of a language; once a process."""
    language = load_language(code)
    data = yaml.load((language.folder / "options.yaml").read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    classes = {name: "(" + "|".join(words) + ")" for name, words in data["classes"].items()}
    groups = {
        name: [re.sub(r"<(\w+)>", lambda found: classes[found[1]], line) for line in group["phrases"]]
        for name, group in data["groups"].items()
    }
    return Grammar(
        phrases=compile_phrases(groups, language.numbers),
        weights={name: _weights(group) for name, group in data["groups"].items()},
        together=tuple((frozenset(row["all"]), _weights(row)) for row in data["together"]),
        plan_full=float(data["plan"]["full"]),
        plan_part=float(data["plan"]["part"]),
    )


def _weights(row: Mapping[str, Any]) -> dict[Direction, float]:
    return {direction: float(row.get(direction, 0.0)) for direction in DIRECTIONS}


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
    parts = _parts(context, grammar)
    offers = _merged(_offers(parts, grammar, context), context)
    names = _own_names(context)
    return tuple(_event(offer, context, names) for offer in offers)


def _parts(context: SpotContext, grammar: Grammar) -> list[_Part]:
    spans = [piece for first, last in context.spoken.sentences for piece in _pieces(first, last, context)]
    found: list[set[str]] = [set() for _ in spans]
    matches = find(grammar.phrases, context.spoken)
    at = 0
    for match in sorted(matches, key=lambda match: match.first):
        while at + 1 < len(spans) and spans[at + 1][0] <= match.first:
            at += 1
        found[at].add(match.group)
    wanted = _planned_options(context.plan)
    return [
        _Part(first, last, frozenset(groups), _plan_evidence(first, last, context, wanted, grammar))
        for (first, last), groups in zip(spans, found, strict=True)
    ]


def _pieces(first: int, last: int, context: SpotContext) -> Iterable[tuple[int, int]]:
    """Cut a sentence that is too long to be one, at its commas or longest pauses where there are any."""
    while last - first >= LONGEST_WORDS:
        window = range(first + LONGEST_WORDS // 3, first + LONGEST_WORDS)
        cut = max(window, key=lambda i: (context.breaks_after(i), float(context.words.pause_s[i + 1]), i))
        yield first, cut
        first = cut + 1
    yield first, last


def _planned_options(plan: Plan) -> dict[Direction, list[frozenset[str]]]:
    """Return the stems of every option the plan foresees, small words left out."""
    wanted: dict[Direction, set[frozenset[str]]] = {"easier": set(), "harder": set()}
    for block in plan.blocks:
        for move in block.moves:
            for direction, texts in (("easier", move.easier), ("harder", move.harder)):
                for text in texts:
                    stems = frozenset(stem(word) for word in split_words(text) if word not in _SMALL)
                    if stems:
                        wanted[direction].add(stems)  # type: ignore[index]
    return {direction: sorted(texts, key=sorted) for direction, texts in wanted.items()}


_SMALL = frozenset("the a an your of to and or in on at with it".split())


def _plan_evidence(
    first: int, last: int, context: SpotContext, wanted: Mapping[Direction, list[frozenset[str]]], grammar: Grammar
) -> tuple[float, float]:
    said = {stem(word) for norm in context.words.norm[first : last + 1] for word in norm.split("-")}
    worth: list[float] = []
    for direction in DIRECTIONS:
        best = 0.0
        for stems in wanted[direction]:
            share = len(stems & said) / len(stems)
            if share == 1.0 and len(stems) > 1:
                best = max(best, grammar.plan_full)
            elif share > 0.5 or (share == 1.0 and len(stems) == 1):
                best = max(best, grammar.plan_part)
        worth.append(best)
    return worth[0], worth[1]


def _score(groups: frozenset[str], planned: float, direction: Direction, grammar: Grammar) -> float:
    total = planned + sum(grammar.weights[group][direction] for group in groups)
    return total + sum(weights[direction] for needed, weights in grammar.together if needed <= groups)


def _offers(parts: list[_Part], grammar: Grammar, context: SpotContext) -> list[_Offer]:
    """Return parts that are offers by themselves, then neighbours that are one together."""
    offers: list[_Offer] = []
    best = [_best(part.groups, part.planned, grammar) for part in parts]
    for part, (direction, score) in zip(parts, best, strict=True):
        if score >= ENOUGH and _has_way(part.groups, part.planned, direction):
            offers.append(_Offer(part.first, part.last, direction, score, part.groups))
    for left, right, (_, one), (_, two) in zip(parts, parts[1:], best, best[1:], strict=False):
        gap = float(context.words.start_s[right.first] - context.words.end_s[left.last])
        if one >= ENOUGH or two >= ENOUGH or gap > PAIR_GAP_S or not left.groups & CONDITIONS:
            continue
        if right.last - left.first >= LONGEST_WORDS:
            continue
        groups = left.groups | right.groups
        planned = (max(left.planned[0], right.planned[0]), max(left.planned[1], right.planned[1]))
        direction, score = _best(groups, planned, grammar)
        way = _has_way(right.groups, right.planned, direction)
        if score - PAIR_COST >= ENOUGH and way:
            offers.append(_Offer(left.first, right.last, direction, score - PAIR_COST, groups))
    return sorted(offers, key=lambda offer: (offer.first, offer.last))


def _best(groups: frozenset[str], planned: tuple[float, float], grammar: Grammar) -> tuple[Direction, float]:
    easier, harder = (
        _score(groups, worth, direction, grammar) for direction, worth in zip(DIRECTIONS, planned, strict=True)
    )
    return ("harder", harder) if harder > easier else ("easier", easier)


def _has_way(groups: frozenset[str], planned: tuple[float, float], direction: Direction) -> bool:
    """An offer needs a way to go, not only a condition and a permission."""
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


def _own_names(context: SpotContext) -> dict[str, tuple[MoveRef, ...]]:
    if not context.plan.blocks:
        return {}
    return {n.key: n.moves for n in names_of(context.plan, name_words(context.language.code)) if not n.ordinary}


def _event(offer: _Offer, context: SpotContext, names: Mapping[str, tuple[MoveRef, ...]]) -> OptionOffer:
    scope: Literal["move", "block"] = "block" if "blanket" in offer.groups else "move"
    moves = _named_moves(offer.first, offer.last, context, names) if scope == "move" else ()
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


def _named_moves(
    first: int, last: int, context: SpotContext, names: Mapping[str, tuple[MoveRef, ...]]
) -> tuple[MoveRef, ...]:
    """Return the moves named in the offer, longest name first; empty where none is."""
    stems = [stem(part) for norm in context.words.norm[first : last + 1] for part in norm.split("-") if part]
    for size in (4, 3, 2, 1):
        for at in range(len(stems) - size + 1):
            found = names.get("".join(stems[at : at + size]))
            if found:
                return found
    return ()


__all__ = ["Match", "offer_grammar", "spot_options"]
