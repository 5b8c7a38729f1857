"""What was said as one string, and the way back to the words."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import accumulate, pairwise

import numpy as np

from analyzer.language.current import current_language
from analyzer.language.files import FOLDER, read_yaml
from analyzer.model.transcript import Ints, Words

EDGE = "|"
_DIGITS = "0"
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
    several tokens. ``word_at[c]`` is the index of the word that character ``c`` belongs to; for an edge mark or a
    space the word before it (-1 before the first). ``starts`` maps every token to the character offsets at which
    it starts, ascending; the key ``"0"`` holds all tokens that begin with a digit.
    """

    text: str
    word_at: Ints
    tokens: Sequence[str] = field(repr=False)
    offsets: Sequence[int] = field(repr=False)
    """Where each token starts in ``text``, and where one more would."""

    @classmethod
    def of(cls, words: Words) -> SpokenText:
        """Build from words; linear in their number."""
        tokens, owners = _tokens(words)
        return cls._of(tokens, np.asarray(owners, dtype=np.int64))

    @classmethod
    def _of(cls, tokens: Sequence[str], owners: Ints) -> SpokenText:
        offsets = list(accumulate([len(token) + 1 for token in tokens], initial=0))
        return cls(" ".join(tokens), np.repeat(owners, np.diff(offsets))[:-1], tokens, offsets)

    def respelt(self, words: Mapping[int, str]) -> SpokenText:
        """Return the same with some words, each one token long, written otherwise; the key is the word's index."""
        tokens = list(self.tokens)
        for index, word in words.items():
            tokens[bisect_left(self.owners, index)] = word
        return self._of(tokens, np.asarray(self.owners, dtype=np.int64))

    @cached_property
    def owners(self) -> Sequence[int]:
        """For every token the index of its word, see ``word_at``."""
        owners: list[int] = self.word_at[self.offsets[:-1]].tolist()
        return owners

    @cached_property
    def starts(self) -> Mapping[str, Sequence[int]]:
        """Every token and the character offsets at which it starts, ascending."""
        starts: dict[str, list[int]] = {token: [] for token in self.distinct}
        for token, offset in zip(self.tokens, self.offsets, strict=False):
            starts[token].append(offset)
        digits = [offsets for token, offsets in starts.items() if token[0].isdigit()]
        return starts | {_DIGITS: sorted(offset for offsets in digits for offset in offsets)}

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
    def sentences(self) -> tuple[tuple[int, int], ...]:
        """First and last word of every sentence, both included, in order."""
        marks = self.starts[EDGE]
        pairs = ((int(self.word_at[a]) + 1, int(self.word_at[b])) for a, b in pairwise(marks))
        return tuple(pair for pair in pairs if pair[1] >= pair[0])


def _tokens(words: Words) -> tuple[list[str], list[int]]:
    tokens, owners, no_word = [EDGE], [-1], _no_word(current_language())
    opens, closes = words.opens.tolist(), words.closes.tolist()
    for index, norm in enumerate(words.norm):
        if opens[index] and tokens[-1] != EDGE:
            tokens.append(EDGE)
            owners.append(index - 1)
        if norm.isalpha():
            tokens.append(fold(norm))
            owners.append(index)
        else:
            parts = no_word.sub(" ", _apart(fold(norm))).split()
            tokens.extend(parts)
            owners.extend([index] * len(parts))
        if closes[index] and tokens[-1] != EDGE:
            tokens.append(EDGE)
            owners.append(index)
    if tokens[-1] != EDGE or len(tokens) == 1:
        tokens.append(EDGE)
        owners.append(len(words) - 1)
    return tokens, owners


def _apart(norm: str) -> str:
    """Part a count down that was written as one number ("54321", "3.2.1")."""
    digits = norm.replace(".", "")
    if len(digits) < 3 or digits not in COUNT_DOWN or norm.count(".") not in (0, len(digits) - 1):
        return norm
    return " ".join(digits)
