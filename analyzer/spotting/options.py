"""Offers of an easier or a harder way, in any wording.

Every sentence gets a chance a direction from a learnt model of its words and of the groups of phrases found in it (a
condition, a permission, a lighter or heavier way, what refuses, tells a story or corrects form), and of how much of an
option that the plan foresees is in it. A language without a model adds up the weights of the groups instead. A
condition in one sentence and the way out in the next are read together.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import Literal

import numpy as np

from analyzer.language import SpokenText
from analyzer.model.events import MoveRef, OptionOffer
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import name_words, names_of, stems_of
from analyzer.spotting.option_grammar import Direction, Grammar, offer_grammar
from analyzer.spotting.option_groups import CONDITIONS, fit_by_groups
from analyzer.spotting.option_parts import LONGEST_WORDS, Part, as_meant, parts_of
from analyzer.spotting.text_model import Reading, chances, text_model

WEIGHTS_FILE = "options-weights.tsv"
LIKELY = 0.6
"""Chance from which the model's words are an offer: precision and recall are about equal there on whole classes by
authors whom the weights were not learnt from."""
LIKELY_BETWEEN = 0.95
"""The same while nobody works: seven in ten are offers from there on, one in four below. Of 49 outside of the work
altogether two were, of classes by authors whom the weights were not learnt from."""
PLANNED_LEAN = 6.0
"""Natural log odds for an offer where the plan's own option is said in full: of the sentences of generated classes that
offer nothing one in 2,000 says it by chance, and about one offer in four does (our judgement)."""
PAIR_GAP_S, MERGE_GAP_S = 3.0, 2.5
NEAR_S = 1.0
"""An offer this close to work is made in it."""
OPENER_WORDS = 4
"""A sentence of at most so many words may open a pair without a plain condition, where a model weighs the words."""
OUTRIGHT = frozenset({"named-easier", "named-harder"})
"""Groups that make an offer of a question, too."""


@dataclass(frozen=True, slots=True)
class _Offer:
    first: int
    last: int
    direction: Direction
    score: float
    groups: frozenset[str]


Run = tuple[Part, ...]
"""One part, or two neighbours."""
Fit = tuple[Direction, float] | None
"""The way that a run of words offers and how likely that is; None where it offers nothing."""


def spot_options(context: SpotContext) -> tuple[OptionOffer, ...]:
    """Return the offers of an easier or harder way, by time; linear in the words."""
    if not len(context.words):
        return ()
    grammar = offer_grammar(context.language.code)
    meant = as_meant(context, grammar)
    parts = parts_of(context, meant, grammar)
    offers = _merged(_offers(parts, grammar, meant, context), context)
    names = _own_names(context.plan, context.language.code)
    return tuple(_event(offer, context, names) for offer in offers)


def weighed_by_place(offers: Sequence[OptionOffer], work: Sequence[tuple[float, float]]) -> tuple[OptionOffer, ...]:
    """Return offers with those marked doubtful that are unlikely where they are made.

    ``work``: the start and end of all work, seconds. Before the first and after the last there is nobody to take an
    offer, unless it is for all that comes.
    """
    order = sorted(work)
    starts = [start_s for start_s, _ in order]
    latest = list(accumulate((end_s for _, end_s in order), max))

    def unlikely(offer: OptionOffer) -> bool:
        slack_s = NEAR_S + offer.u_s
        begun = bisect_right(starts, offer.at_s + slack_s)
        if begun and latest[begun - 1] >= offer.at_s - slack_s:
            return False
        between = begun and offer.at_s <= latest[-1]
        return offer.score < LIKELY_BETWEEN or not (between or offer.scope == "block")

    return tuple(replace(offer, doubtful=True) if order and unlikely(offer) else offer for offer in offers)


def _offers(parts: list[Part], grammar: Grammar, meant: SpokenText, context: SpotContext) -> list[_Offer]:
    """Return parts that are offers by themselves, then neighbours that are one together."""
    model = text_model(context.language.code, WEIGHTS_FILE)
    reading = None if model is None else model.read(meant)
    alone = _fits([(part,) for part in parts], grammar, reading)
    told = [
        fit is not None and ("asked" not in part.groups or bool(part.groups & OUTRIGHT))
        for fit, part in zip(alone, parts, strict=True)
    ]
    pairs: list[Run] = [
        (left, right)
        for at, (left, right) in enumerate(pairwise(parts))
        if not told[at] and _opens(left, reading) and ("asked" in left.groups or not told[at + 1])
        if right.last - left.first < LONGEST_WORDS
        if float(context.words.start_s[right.first] - context.words.end_s[left.last]) <= PAIR_GAP_S
    ]
    found: list[tuple[Run, Fit]] = [((part,), fit) for part, fit, tell in zip(parts, alone, told, strict=True) if tell]
    found += zip(pairs, _fits(pairs, grammar, reading), strict=True)
    offers = [_Offer(run[0].first, run[-1].last, *fit, _groups(run)) for run, fit in found if fit is not None]
    return sorted(offers, key=lambda offer: (offer.first, offer.last))


def _opens(part: Part, reading: Reading | None) -> bool:
    """Tell whether a part may be the first of two that are one offer: a condition, a question, a short call."""
    return bool(part.groups & CONDITIONS) or (reading is not None and part.last - part.first < OPENER_WORDS)


def _groups(run: Run) -> frozenset[str]:
    return run[0].groups | run[-1].groups


def _fits(runs: Sequence[Run], grammar: Grammar, reading: Reading | None) -> list[Fit]:
    """Return what each run of one part or two neighbours offers."""
    if reading is None:
        return [fit_by_groups(run, grammar) for run in runs]
    first, last = (np.array([run[at].planned for run in runs]).reshape(-1, 2) for at in (0, -1))
    leans = reading.leans([run[0].first for run in runs], [run[-1].last for run in runs], [_groups(r) for r in runs])
    odds = chances(leans + PLANNED_LEAN / grammar.plan_full * np.maximum(first, last))
    return [
        ("harder" if harder > easier else "easier", easier + harder) if easier + harder >= LIKELY else None
        for easier, harder in odds.tolist()
    ]


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
        score=round(offer.score, 4),
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
