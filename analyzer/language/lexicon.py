"""Words as codes: one character for each word that a set of phrases knows, one for each kind of all other words.

A word that stands in a phrase has a code of its own. Any other word's code says what numbers know of it (its roles,
see :mod:`analyzer.language.numbers`) and the longest beginning (``stretch*``) that it has; most have neither and
share one code. An expression over codes so stays small, and finds the same as one over letters.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from analyzer.language.numbers import NumberWords, digit_roles
from analyzer.language.parts import FIRST_CODE, Codes
from analyzer.language.spoken import EDGE, SpokenText
from analyzer.model.transcript import Ints

_MOST_SEEN = 20_000
_DIGITS = ("digits", "digits short", "digits short few", "stamp", "")


@dataclass(frozen=True, eq=False)
class Lexicon:
    """The codes of one set of phrases. ``roles`` and ``beginnings`` hold all codes of a kind."""

    words: Mapping[str, str]
    roles: Mapping[str, Codes]
    beginnings: Mapping[str, Codes]
    seen: _Seen
    size: int

    @classmethod
    def of(cls, words: Iterable[str], beginnings: Iterable[str], numbers: NumberWords) -> Lexicon:
        """Give codes to the words and beginnings that stand in phrases, and to what numbers are made of."""
        own = sorted({*words, EDGE})
        prefixes = sorted(set(beginnings))
        codes: dict[tuple[str, ...], str] = {}

        def code(*kind: str) -> str:
            return codes.setdefault(kind, chr(FIRST_CODE + len(codes)))

        known = {word: code("word", word) for word in own}
        for word, roles in numbers.roles.items():
            if word not in known:
                known[word] = code("roles", " ".join(sorted(roles)), _longest(word, prefixes))
        digits = {kind: code("digits", kind) for kind in _DIGITS}
        starts = {prefix: code("beginning", prefix) for prefix in prefixes}
        by_role: dict[str, set[str]] = {}
        for word, word_code in known.items():
            for role in numbers.roles.get(word) or digit_roles(word).split():
                by_role.setdefault(role, set()).add(word_code)
        for kind, kind_code in digits.items():
            for role in kind.split():
                by_role.setdefault(role, set()).add(kind_code)
        by_start = {
            prefix: frozenset(
                [word_code for word, word_code in known.items() if word.startswith(prefix)]
                + [start_code for start, start_code in starts.items() if start.startswith(prefix)]
            )
            for prefix in prefixes
        }
        other = code("other")
        return cls(
            known,
            {role: frozenset(some) for role, some in by_role.items()},
            by_start,
            _Seen(known, digits, starts, other),
            len(codes),
        )

    def encode(self, spoken: SpokenText) -> Ints:
        """Return the row of every token's code."""
        if len(self.seen) > _MOST_SEEN:
            self.seen.clear()
        return self.rows(map(self.seen.__getitem__, spoken.distinct))[spoken.which]

    @staticmethod
    def text(rows: Ints) -> str:
        """Return the codes of these rows as a string."""
        return (rows + FIRST_CODE).astype("<u4").tobytes().decode("utf-32-le")

    @staticmethod
    def rows(codes: Iterable[str]) -> Ints:
        """Return the place of every code among all, from 0."""
        points = np.frombuffer("".join(codes).encode("utf-32-le"), dtype="<u4")
        return points.astype(np.int64) - FIRST_CODE


class _Seen(dict[str, str]):
    """Codes of the words met so far; a word that is new finds its own."""

    def __init__(self, words: Mapping[str, str], digits: Mapping[str, str], starts: Mapping[str, str], other: str):
        super().__init__()
        self._words, self._digits, self._starts, self._other = words, digits, starts, other
        self._prefixes = tuple(starts)

    def __missing__(self, token: str) -> str:
        code = self._words.get(token) or self._unknown(token)
        self[token] = code
        return code

    def _unknown(self, token: str) -> str:
        if token[0].isdigit():
            return self._digits[digit_roles(token)]
        if not token.startswith(self._prefixes):
            return self._other
        return self._starts[_longest(token, self._prefixes)]


def _longest(word: str, prefixes: Iterable[str]) -> str:
    return max((prefix for prefix in prefixes if word.startswith(prefix)), key=len, default="")
