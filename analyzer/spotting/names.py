"""Every way a planned move may be named, and how each is written and sounds."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from analyzer.language import load_language
from analyzer.language.patterns import PhraseSet, compile_phrases
from analyzer.language.sound import sequence_code
from analyzer.language.stems import forms_of, stem, stems_of
from analyzer.model.events import MoveRef
from analyzer.model.plan import Plan

HEAD_SCORE = 0.85
"""Score of a name's head word alone against the whole name (our judgement)."""


__all__ = ["Name", "NameWords", "name_words", "names_of", "split_words", "stem", "stems_of", "usual"]


@dataclass(frozen=True, eq=False)
class NameWords:
    """What a language says about names: words left out, ordinary words, words never misheard, phrases around."""

    articles: frozenset[str]
    ordinary: frozenset[str]
    never_misheard: frozenset[str]
    """Stems; those of ``ordinary`` among them."""
    phrases: PhraseSet
    head: int
    """Which word of a name may stand for all of it: the last (-1) or the first (0)."""
    short_forms: tuple[str, ...]
    """Endings of short forms, which are never misheard ("n't")."""


def _flat(rows: Iterable[Any]) -> frozenset[str]:
    return frozenset(word for row in rows for word in (row if isinstance(row, list) else [row]))


@cache
def name_words(code: str) -> NameWords:
    """Read ``names.yaml`` of a language; once a process."""
    language = load_language(code)
    data = language.read("names")
    return NameWords(
        articles=_flat(data["articles"]),
        ordinary=frozenset(stem(word) for word in _flat(data["ordinary"])),
        never_misheard=frozenset(stem(word) for row in ("never_misheard", "ordinary") for word in _flat(data[row])),
        phrases=compile_phrases(data["phrases"], language.numbers),
        head={"last": -1, "first": 0}[data["head"]],
        short_forms=tuple(data.get("short_forms", ())),
    )


def split_words(text: str) -> list[str]:
    """Return the lower-case words of a text; a hyphen parts words, an apostrophe does not."""
    return re.findall(r"[^\W_]+(?:'[^\W_]+)*", text.lower().replace("’", "'"))


@lru_cache(maxsize=20_000)
def usual(word: str, data: NameWords) -> bool:
    """Tell whether a word is itself wherever it is heard: a usual one, a short form ("don't", "there's"), no word."""
    if not word[:1].isalpha() or word.endswith(data.short_forms):
        return True
    return stem(word) in data.never_misheard or word.split("'")[0] in data.never_misheard


@dataclass(frozen=True, slots=True)
class Name:
    """One way to name moves. ``key`` its stems run together; ``words`` how many; ``codes`` its sound, in all
    forms of its last word; ``weight`` 1 for a full name, less for its head; ``ordinary`` of ordinary words only."""

    text: str
    key: str
    words: int
    codes: tuple[str, ...]
    moves: tuple[MoveRef, ...]
    weight: float
    ordinary: bool


@lru_cache(maxsize=32)
def names_of(plan: Plan, data: NameWords, heads: bool = True) -> tuple[Name, ...]:
    """Return every name of the plan's moves: names and nicknames, other word order and, with ``heads``, head words.

    A head word that is ordinary is left out; one that is another move's own name goes to that move alone. The last
    plans' names are kept.
    """
    found: dict[str, tuple[str, list[str], float, list[MoveRef]]] = {}
    for block_index, block in enumerate(plan.blocks):
        for move_index, move in enumerate(block.moves):
            for text in (move.name, *move.also):
                for words, weight in _variants(text, data, heads):
                    key = "".join(stem(word) for word in words)
                    known = found.get(key)
                    if known is None or weight > known[2]:
                        found[key] = (text, words, weight, [(block_index, move_index)])
                    elif weight == known[2] and (block_index, move_index) not in known[3]:
                        known[3].append((block_index, move_index))
    return tuple(
        Name(
            text=text,
            key=key,
            words=len(words),
            codes=_codes(words),
            moves=tuple(moves),
            weight=weight,
            ordinary=all(stem(word) in data.ordinary for word in words),
        )
        for key, (text, words, weight, moves) in found.items()
    )


def _variants(text: str, data: NameWords, heads: bool) -> list[tuple[list[str], float]]:
    words = [word for word in split_words(text) if word not in data.articles] or split_words(text)
    if not words:
        return []
    variants = [(words, 1.0)]
    if len(words) == 2:
        variants.append((words[::-1], 0.97))
    head = words[data.head]
    if heads and len(words) > 1 and stem(head) not in data.ordinary and len(head) > 2:
        variants.append(([head], HEAD_SCORE))
    return variants


def _codes(words: list[str]) -> tuple[str, ...]:
    codes = {sequence_code((*words[:-1], form)) for form in forms_of(words[-1])}
    return tuple(sorted(code for code in codes if code)) or ("",)
