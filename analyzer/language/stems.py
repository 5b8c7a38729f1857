"""The part of a word that stays the same in all its forms, and the forms in which a name's word may be heard.

Both are rules in ``<language>/stems.yaml``: steps, each a list of pairs ``[pattern, replacement]``, of which the first
pair whose pattern is found is applied; a step of no such pair changes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from analyzer.language.current import current_language
from analyzer.language.files import FOLDER, read_yaml
from analyzer.language.spoken import fold

Step = tuple[tuple[re.Pattern[str], str], ...]


@dataclass(frozen=True)
class StemRules:
    """How one language builds its words: ``stem`` from any form, ``base`` from a name's last word, ``forms`` of it."""

    stem: tuple[Step, ...]
    base: tuple[Step, ...]
    forms: tuple[Step, ...]


@cache
def _rules(code: str) -> StemRules:
    data = read_yaml(FOLDER / code / "stems.yaml")
    return StemRules(*(_steps(data[key]) for key in ("stem", "base", "forms")))


def _steps(rows: Iterable[Iterable[Sequence[Any]]]) -> tuple[Step, ...]:
    return tuple(tuple((re.compile(pattern), put) for pattern, put in row) for row in rows)


def _apply(steps: Iterable[Step], word: str) -> str:
    for step in steps:
        for pattern, put in step:
            if pattern.search(word):
                word = pattern.sub(put, word)
                break
    return word


@lru_cache(maxsize=50_000)
def _stem(word: str, code: str) -> str:
    return _apply(_rules(code).stem, fold(word))


def stem(word: str) -> str:
    """Return the part of a word that stays the same in its forms ("lunges", "lunging"), in the current language."""
    return _stem(word, current_language())


@lru_cache(maxsize=50_000)
def _stems_of(word: str, code: str) -> tuple[str, ...]:
    return tuple([_stem(part, code) for part in word.split("-")])


def stems_of(word: str) -> tuple[str, ...]:
    """Return the stems of a word's parts between hyphens, in the current language."""
    return _stems_of(word, current_language())


def forms_of(word: str) -> frozenset[str]:
    """Return the forms in which a name's last word may be heard: itself, its base, and what the rules make of it."""
    rules = _rules(current_language())
    base = _apply(rules.base, word)
    return frozenset([word, base, *(_apply([step], base) for step in rules.forms)])
