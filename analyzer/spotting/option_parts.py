"""What offers are read from: sentences, the groups of phrases in each, how much of a planned option each says."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain

from analyzer.language import SpokenText
from analyzer.language.patterns import find
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import split_words, stem, stems_of
from analyzer.spotting.option_grammar import DIRECTIONS, REPAIRED, Direction, Grammar, misheard_words

CLAUSE_WORDS = 7
"""A sentence of more words holds a clause beside its condition: the group "clause"."""
ASKED_WORDS = 7
"""A question of at most this many words may be a condition: the group "asked"."""
LONGEST_WORDS = 30
"""A longer stretch without a full stop is cut into parts of this many words."""


@dataclass(frozen=True, slots=True)
class Part:
    """A sentence, or a piece of a long one: words ``first`` to ``last``, its groups, plan evidence a direction."""

    first: int
    last: int
    groups: frozenset[str]
    planned: tuple[float, float]


def as_meant(context: SpotContext, grammar: Grammar) -> SpokenText:
    """Return the text with the grammar's words in place of those that are misheard."""
    anew = misheard_words(context.words, grammar, context.language.code)
    if not anew:
        return context.spoken
    return context.spoken.respelt({at: anew[norm] for at, norm in enumerate(context.words.norm) if norm in anew})


def parts_of(context: SpotContext, meant: SpokenText, grammar: Grammar) -> list[Part]:
    """Return the sentences, each with its groups of phrases and what the plan foresees of it; linear in the words.

    ``meant`` as :func:`as_meant` gives it.
    """
    spans = [piece for first, last in context.spoken.sentences for piece in _pieces(first, last, context)]
    found: list[set[str]] = [set() for _ in spans]
    matches = find(grammar.phrases, context.spoken)
    if meant is not context.spoken:
        matches += find(grammar.phrases, meant, REPAIRED)
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
        Part(first, last, frozenset(groups), planned)
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
    known = {norm: planned.holding.keys() & stems_of(norm) for norm in set(context.words.norm)}
    firsts = [first for first, _ in spans]
    said: dict[int, set[str]] = {}
    for at, norm in enumerate(context.words.norm):
        if known[norm]:
            said.setdefault(bisect_right(firsts, at) - 1, set()).update(known[norm])
    worth = [(0.0, 0.0)] * len(spans)
    for span, stems in said.items():
        best = {"easier": 0.0, "harder": 0.0}
        for option, count in Counter(chain.from_iterable([planned.holding[part] for part in stems])).items():
            direction, wanted = planned.options[option]
            best[direction] = max(best[direction], _share(count, wanted, grammar))
        worth[span] = best["easier"], best["harder"]
    return worth


def _share(said: int, wanted: int, grammar: Grammar) -> float:
    """Return what it is worth that so many of an option's words were said."""
    if said == wanted and wanted > 1:
        return grammar.plan_full
    return grammar.plan_part if said > wanted / 2 else 0.0
