"""The phrases of offers, what each is worth, and which word of theirs a misheard word may have been.

Takes a language's ``options.yaml``; gives its :class:`Grammar`. Looks at no plan.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Literal

import numpy as np
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.language import load_language
from analyzer.language.patterns import PhraseSet, compile_phrases
from analyzer.language.sound import CODE_LENGTH, sound_code
from analyzer.model.transcript import Words
from analyzer.spotting.names import name_words, stem, usual

Direction = Literal["easier", "harder"]
DIRECTIONS: tuple[Direction, Direction] = ("easier", "harder")
STRUCTURE = frozenset({"asked", "clause"})
"""Groups that come from the sentence's shape, not from phrases: they weigh only together with others."""
REPAIRED = ("bother", "trouble", "cannot", "lessen", "increase", "push", "allowed", "instead")
"""Groups whose words a misheard word may have been."""
ALIKE, CLEARLY, SHORTEST_REPAIR = 0.82, 0.04, 3
"""Least likeness by sound, lead over the next word, fewest phones of a word that is repaired. Our judgement."""


@dataclass(frozen=True, eq=False)
class Grammar:
    """The phrases of offers, compiled, with the weight of every group and of groups together."""

    phrases: PhraseSet
    vocabulary: tuple[str, ...]
    """The longer words of the ways and conditions: what a misheard word may have been."""
    sounds: tuple[str, ...]
    """How each word of the vocabulary sounds."""
    words: frozenset[str]
    weights: Mapping[str, Mapping[Direction, float]]
    together: tuple[tuple[frozenset[str], Mapping[Direction, float]], ...]
    names: tuple[str, ...]
    """All groups that a part may have, those of its shape too."""
    plan_full: float
    plan_part: float
    plan_again: float
    small: frozenset[str]


@cache
def offer_grammar(code: str) -> Grammar:
    """Read ``options.yaml`` of a language; once a process."""
    language = load_language(code)
    data = language.read("options")
    classes = {}
    for name, words in data["classes"].items():
        short = [f"{word}'s" for word in words] if name in data["short-forms"] else []
        classes[name] = "(" + "|".join(words + short) + ")"
    groups = {
        name: [re.sub(r"<(\w+)>", lambda found: classes[found[1]], line) for line in group["phrases"]]
        for name, group in data["groups"].items()
    }
    vocabulary = _vocabulary(groups, code)
    return Grammar(
        phrases=compile_phrases(groups, language.numbers),
        vocabulary=vocabulary,
        sounds=tuple([sound_code(word, code) for word in vocabulary]),
        words=frozenset(word for lines in groups.values() for line in lines for word in re.findall(r"[a-z']+", line)),
        weights={name: _weights(group) for name, group in data["groups"].items()},
        together=tuple((frozenset(row["all"]), _weights(row)) for row in data["together"]),
        names=(*data["groups"], *sorted(STRUCTURE)),
        plan_full=float(data["plan"]["full"]),
        plan_part=float(data["plan"]["part"]),
        plan_again=float(data["plan"]["again"]),
        small=frozenset(data["small"]),
    )


def _vocabulary(groups: Mapping[str, list[str]], code: str) -> tuple[str, ...]:
    lines = (line for name in REPAIRED for line in groups[name])
    words = {word for line in lines for word in re.findall(r"(?<![\w'])[a-z]+(?![\w'*])", line)}
    by_sound = {sound_code(word, code): word for word in sorted(words, key=lambda word: (-len(word), word))}
    return tuple(sorted(word for sound, word in by_sound.items() if len(sound) >= SHORTEST_REPAIR * CODE_LENGTH))


def misheard_words(words: Words, grammar: Grammar, code: str) -> dict[str, str]:
    """Return the grammar's word that an unusual word sounds like, for each such word.

    A recogniser that mishears "knees" writes another word that sounds alike. Only words that are neither usual in a
    class nor in the grammar are read anew, and only where one word of the grammar is clearly the most alike.
    """
    data, known = name_words(code), grammar.words
    said = sorted(set(words.norm) - known)
    odd = [norm for norm in said if norm.isalpha() and not usual(norm, data) and stem(norm) not in known]
    meant = {norm: _sounding_like(sound_code(norm, code), grammar) for norm in odd}
    return {norm: word for norm, word in meant.items() if word is not None}


@lru_cache(maxsize=20_000)
def _sounding_like(heard: str, grammar: Grammar) -> str | None:
    """Return the word of the grammar that clearly sounds most like this; None where none does."""
    least = ALIKE - CLEARLY - 0.01
    scorer = Levenshtein.normalized_similarity
    found = cdist([heard], grammar.sounds, scorer=scorer, score_cutoff=least, dtype=np.float32)[0]
    best = int(found.argmax())
    top, found[best] = found[best], 0.0
    return grammar.vocabulary[best] if top >= ALIKE and top - found.max() >= CLEARLY else None


def _weights(row: Mapping[str, Any]) -> dict[Direction, float]:
    return {direction: float(row.get(direction, 0.0)) for direction in DIRECTIONS}
