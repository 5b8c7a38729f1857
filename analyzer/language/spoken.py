"""What was said as one string, and the way back to the words."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache
from itertools import accumulate, pairwise

import numpy as np

from analyzer.language.current import current_language
from analyzer.language.files import FOLDER, read_yaml
from analyzer.model.transcript import Bools, Floats, Ints, Words

EDGE = "|"
_ACCENTS = str.maketrans("áàâäãåéèêëíìîïóòôöõúùûü", "aaaaaaeeeeiiiiooooouuuu")
COUNT_DOWN = "987654321"


@cache
def _no_word(code: str) -> re.Pattern[str]:
    """Return what parts a written word into spoken ones: marks, and a number from the unit that sticks to it."""
    data = read_yaml(FOLDER / code / "numbers.yaml")
    units = "|".join(map(re.escape, (*data["seconds"], *data["minutes"], "x")))
    return re.compile(rf"[-\u2010-\u2015,/\u2026|]+|\.{{2,}}|(?<=\d)(?=(?:{units})$)")


def fold(text: str) -> str:
    """Return lower-case text with its vowels free of accents, which captions often leave out; ñ and ç stay.

    >>> fold("más"), fold("el niño"), fold("plank")
    ('mas', 'el niño', 'plank')
    """
    return text if text.isascii() else text.translate(_ACCENTS)


@dataclass(frozen=True)
class SpokenText:
    """Everything said as one lower-case string, and the way back to the words.

    ``text`` starts and ends with an edge mark; between sentences stands ``" | "``; a word with an inner hyphen is
    several tokens. ``owners`` holds for every token the index of its word; for an edge mark the word before it (-1
    before the first).
    """

    text: str
    tokens: Sequence[str] = field(repr=False)
    owners: Sequence[int] = field(repr=False)
    offsets: Sequence[int] = field(repr=False)
    """Where each token starts in ``text``, and where one more would."""

    @classmethod
    def of(cls, words: Words) -> SpokenText:
        """Build from words; linear in their number."""
        return cls._of(*_tokens(words))

    @classmethod
    def _of(cls, tokens: Sequence[str], owners: Sequence[int]) -> SpokenText:
        offsets = list(accumulate([len(token) + 1 for token in tokens], initial=0))
        return cls(" ".join(tokens), tokens, owners, offsets)

    def respelt(self, words: Mapping[int, str]) -> SpokenText:
        """Return the same with some words, each one token long, written otherwise; the key is the word's index."""
        tokens = list(self.tokens)
        for index, word in words.items():
            tokens[bisect_left(self.owners, index)] = word
        return self._of(tokens, self.owners)

    @cached_property
    def word_at(self) -> Ints:
        """For every character the index of the word that it belongs to; for a space or an edge mark as ``owners``."""
        return np.repeat(np.asarray(self.owners, dtype=np.int64), np.diff(self.offsets))[:-1]

    @cached_property
    def distinct(self) -> tuple[str, ...]:
        """Every token once."""
        return tuple(dict.fromkeys(self.tokens))

    @cached_property
    def which(self) -> Ints:
        """For every token its place in ``distinct``."""
        at = {token: place for place, token in enumerate(self.distinct)}
        return np.fromiter(map(at.__getitem__, self.tokens), dtype=np.int64, count=len(self.tokens))

    @cached_property
    def is_edge(self) -> Bools:
        """For every token whether it is an edge mark."""
        return np.asarray(self.which == self.which[0], dtype=np.bool_)

    @cached_property
    def places(self) -> Floats:
        """For every token the index of its word, half a word later for an edge mark."""
        return np.asarray(self.owners, dtype=np.float64) + 0.5 * self.is_edge

    @cached_property
    def sentences(self) -> tuple[tuple[int, int], ...]:
        """First and last word of every sentence, both included, in order."""
        ends = [self.owners[at] for at in np.flatnonzero(self.is_edge).tolist()]
        return tuple([(before + 1, last) for before, last in pairwise(ends) if last > before])


def _tokens(words: Words) -> tuple[list[str], list[int]]:
    code = current_language()
    parts = {norm: _parts(norm, code) for norm in set(words.norm)}
    tokens, owners = [EDGE], [-1]
    opens, closes = words.opens.tolist(), words.closes.tolist()
    for index, norm in enumerate(words.norm):
        if opens[index] and tokens[-1] != EDGE:
            tokens.append(EDGE)
            owners.append(index - 1)
        for token in parts[norm]:
            tokens.append(token)
            owners.append(index)
        if closes[index] and tokens[-1] != EDGE:
            tokens.append(EDGE)
            owners.append(index)
    if tokens[-1] != EDGE or len(tokens) == 1:
        tokens.append(EDGE)
        owners.append(len(words) - 1)
    return tokens, owners


@lru_cache(maxsize=20_000)
def _parts(norm: str, code: str) -> tuple[str, ...]:
    """Return a written word as spoken ones."""
    if norm.isalpha():
        return (fold(norm),)
    return tuple(_no_word(code).sub(" ", _apart(fold(norm))).split())


def _apart(norm: str) -> str:
    """Part a count down that was written as one number ("54321", "3.2.1")."""
    digits = norm.replace(".", "")
    if len(digits) < 3 or digits not in COUNT_DOWN or norm.count(".") not in (0, len(digits) - 1):
        return norm
    return " ".join(digits)
