"""Phrase files and how they are found in what was said.

A phrase file is YAML: names of groups, each with a list of phrases. A phrase is written as it is spoken, in lower
case, without punctuation:

===============  =================================================================================
``keep going``   these words, one after the other ("-" is the same as a space: ``half-way``)
``(a|b c)``      one of these
``[x]``          may be there or not; ``[a|b]`` as well
``*``            up to three free words of the same sentence
``stretch*``     any word that starts like this
``{n}``          a number, in digits or words: ``Match.number`` is its value
``{t}``          a length of time ("half a minute", "1:30", "ten more seconds"): value in seconds
``^`` / ``$``    a sentence starts / ends here
``/``            a sentence may end here (a phrase never crosses a sentence's end without it)
===============  =================================================================================

Brackets may stand inside brackets. Where two phrases of a group fit at the same word, the earlier in the file
wins. Every group compiles to one expression without nested repeats, tried only at words that one of its phrases
can start with (and, if all of them hold a number, only up to 160 characters before one): the cost is linear in the
words. A phrase that breaks these rules raises ``ValueError`` with the group and the phrase.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from analyzer.language.numbers import NumberWords
from analyzer.model.transcript import Ints, Words

EDGE = "|"
_DIGITS = "0"
COUNT_DOWN = "987654321"
REACH = 160
"""Characters from a phrase's start to its number, at most."""
_NO_WORD = re.compile(r"[-\u2010-\u2015,/\u2026|]+|\.{2,}|(?<=\d)(?=(?:s|secs?|seconds?|mins?|minutes?|x)$)")
_PIECE = re.compile(r"\s*(\(|\)|\[|\]|\||\{n\}|\{t\}|\^|\$|/|[a-z0-9'&:.%]+\*?|\*)")


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
    starts: Mapping[str, Sequence[int]]

    @classmethod
    def of(cls, words: Words) -> SpokenText:
        """Build from words; linear in their number."""
        tokens, owners = _tokens(words)
        lengths = np.fromiter((len(token) + 1 for token in tokens), dtype=np.int64, count=len(tokens))
        starts: dict[str, list[int]] = {}
        digits: list[int] = []
        offset = 0
        for token in tokens:
            starts.setdefault(token, []).append(offset)
            if token[0].isdigit():
                digits.append(offset)
            offset += len(token) + 1
        starts[_DIGITS] = digits
        return cls(" ".join(tokens), np.repeat(np.asarray(owners, dtype=np.int64), lengths)[:-1], starts)

    @cached_property
    def sentences(self) -> tuple[tuple[int, int], ...]:
        """First and last word of every sentence, both included, in order."""
        marks = self.starts[EDGE]
        pairs = ((int(self.word_at[a]) + 1, int(self.word_at[b])) for a, b in pairwise(marks))
        return tuple(pair for pair in pairs if pair[1] >= pair[0])


def _tokens(words: Words) -> tuple[list[str], list[int]]:
    tokens, owners = [EDGE], [-1]
    opens, closes = words.opens.tolist(), words.closes.tolist()
    for index, norm in enumerate(words.norm):
        if opens[index] and tokens[-1] != EDGE:
            tokens.append(EDGE)
            owners.append(index - 1)
        if norm.isalpha():
            tokens.append(norm)
            owners.append(index)
        else:
            parts = _NO_WORD.sub(" ", _apart(norm)).split()
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


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase that was found: words ``first`` to ``last`` (both included), its group, the last number in it.

    ``start``/``end`` are the character offsets in ``SpokenText.text`` (end excluded).
    """

    first: int
    last: int
    group: str
    number: float | None
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class PhraseGroup:
    """One compiled group. ``anchors`` words it can start with, ``prefixes`` beginnings of such words."""

    name: str
    pattern: re.Pattern[str]
    anchors: frozenset[str]
    prefixes: tuple[str, ...]
    slots: str
    """One letter a number slot, in order: ``n`` or ``t``."""
    needs: str
    """``t`` when every phrase holds a length of time, ``n`` when every one holds some number, else empty."""


@dataclass(frozen=True, slots=True)
class PhraseSet:
    """A compiled phrase file: its groups in file order."""

    groups: Mapping[str, PhraseGroup]
    numbers: NumberWords


def compile_phrases(groups: Mapping[str, Sequence[str]], numbers: NumberWords) -> PhraseSet:
    """Compile groups of phrases; raises ``ValueError`` naming group and phrase when one can't be read."""
    return PhraseSet({name: _compile_group(name, lines, numbers) for name, lines in groups.items()}, numbers)


def find(phrases: PhraseSet, spoken: SpokenText, groups: Iterable[str] | None = None) -> list[Match]:
    """Return every place where a phrase of the set was said, by first word, then by group in file order.

    Places of one group don't overlap; those of different groups may. ``groups`` limits the search to these names
    (an unknown name raises ``KeyError``).
    """
    names = list(phrases.groups) if groups is None else list(groups)
    marks = {need: _number_places(need, spoken, phrases.numbers) for need in ("t", "n")}
    found: list[Match] = []
    for name in names:
        group = phrases.groups[name]
        found.extend(_find_group(group, spoken, phrases.numbers, marks.get(group.needs)))
    found.sort(key=lambda match: match.start)
    return found


def starting_in(matches: Sequence[Match], low: int, high: int) -> Sequence[Match]:
    """Return those matches (ordered by first word) whose first word is ``low`` to ``high``, both included."""
    return matches[bisect_left(matches, low, key=_first) : bisect_right(matches, high, key=_first)]


def _first(match: Match) -> int:
    return match.first


def _number_places(need: str, spoken: SpokenText, numbers: NumberWords) -> list[int]:
    """Offsets of words without which there is no length of time (``t``) or no number at all (``n``), ascending."""
    words = numbers.seconds | numbers.minutes | {_DIGITS}
    if need == "n":
        words = words | numbers.first_words - frozenset(word for word in numbers.articles if len(word) < 3)
    return sorted(offset for word in words for offset in spoken.starts.get(word, ()))


def _close_to(offsets: list[int], marks: list[int]) -> list[int]:
    """Those offsets (ascending) that have a mark at or after them within ``REACH`` characters."""
    kept: list[int] = []
    at = 0
    for offset in offsets:
        while at < len(marks) and marks[at] < offset:
            at += 1
        if at == len(marks):
            break
        if marks[at] - offset <= REACH:
            kept.append(offset)
    return kept


def _find_group(group: PhraseGroup, spoken: SpokenText, numbers: NumberWords, marks: list[int] | None) -> list[Match]:
    offsets = sorted(offset for anchor in group.anchors for offset in spoken.starts.get(anchor, ()))
    if group.prefixes:
        more = [o for token, places in spoken.starts.items() if token.startswith(group.prefixes) for o in places]
        offsets = sorted({*offsets, *more})
    if marks is not None:
        offsets = _close_to(offsets, marks)
    text, word_at, fits = spoken.text, spoken.word_at, group.pattern.match
    found: list[Match] = []
    free = 0
    for offset in offsets:
        if offset < free:
            continue
        hit = fits(text, offset - 1)
        if hit is None:
            continue
        free = hit.end()
        value = None
        if hit.lastindex:
            said = hit[hit.lastindex]
            value = numbers.number(said) if group.slots[hit.lastindex - 1] == "n" else numbers.length_s(said)
        found.append(Match(int(word_at[offset]), int(word_at[free - 1]), group.name, value, offset, free))
    return found


# --- from phrase to expression -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece of a phrase: its expression (each word with the space before it), where it can start, if it can be
    empty, its number slots, and which of them no reading of it can do without."""

    pattern: str
    anchors: frozenset[str] = frozenset()
    prefixes: tuple[str, ...] = ()
    empty: bool = False
    slots: str = ""
    sure: frozenset[str] = frozenset()


def _compile_group(name: str, lines: Sequence[str], numbers: NumberWords) -> PhraseGroup:
    parts = [_read_phrase(name, line, numbers) for line in lines]
    if not parts:
        raise ValueError(f"group '{name}' has no phrases")
    pattern = "(?:" + "|".join(part.pattern for part in parts) + ")(?= )"
    return PhraseGroup(
        name=name,
        pattern=re.compile(pattern),
        anchors=frozenset().union(*(part.anchors for part in parts)),
        prefixes=tuple(sorted({prefix for part in parts for prefix in part.prefixes})),
        slots="".join(part.slots for part in parts),
        needs="t" if all("t" in part.sure for part in parts) else "n" if all(part.sure for part in parts) else "",
    )


def _read_phrase(name: str, line: str, numbers: NumberWords) -> _Part:
    where = f"group '{name}', phrase '{line}'"
    if not isinstance(line, str):
        raise ValueError(f"{where}: not text; put it in quotes")
    pieces = _pieces(where, line.replace("-", " "))
    part, rest = _read_choice(where, pieces, 0, numbers)
    if rest != len(pieces):
        raise ValueError(f"{where}: '{pieces[rest]}' without its opening bracket")
    if part.empty or pieces[:1] == ["*"] or not (part.anchors or part.prefixes):
        raise ValueError(f"{where}: must start with a word or a number")
    return part


def _pieces(where: str, line: str) -> list[str]:
    pieces, at, line = [], 0, line.rstrip()
    while at < len(line):
        piece = _PIECE.match(line, at)
        if piece is None:
            raise ValueError(f"{where}: can't read '{line[at:].strip()[:20]}'; see the syntax in patterns.py")
        pieces.append(piece[1])
        at = piece.end()
    return pieces


def _read_choice(where: str, pieces: list[str], at: int, numbers: NumberWords) -> tuple[_Part, int]:
    """Read alternatives up to a closing bracket or the end; gives the part and the index after it."""
    choices: list[_Part] = []
    sequence: list[_Part] = []
    while at < len(pieces) and pieces[at] not in (")", "]"):
        piece = pieces[at]
        at += 1
        if piece == "|":
            choices.append(_join(sequence))
            sequence = []
        elif piece in ("(", "["):
            inner, at = _read_choice(where, pieces, at, numbers)
            if at >= len(pieces) or pieces[at] != {"(": ")", "[": "]"}[piece]:
                raise ValueError(f"{where}: '{piece}' is never closed")
            at += 1
            sequence.append(inner if piece == "(" else _optional(inner))
        else:
            sequence.append(_read_piece(piece, numbers))
    choices.append(_join(sequence))
    return (choices[0] if len(choices) == 1 else _either(choices)), at


def _read_piece(piece: str, numbers: NumberWords) -> _Part:
    if piece == "*":
        return _Part(r"(?: [^ |]+){0,3}?", empty=True)
    if piece == "{n}":
        return _Part(f" ({numbers.number_pattern})", numbers.first_words | {_DIGITS}, slots="n", sure=frozenset("n"))
    if piece == "{t}":
        return _Part(
            f" ({numbers.length_pattern})", numbers.first_length_words | {_DIGITS}, slots="t", sure=frozenset("t")
        )
    if piece in ("^", "$", "/"):
        return _Part({"^": r"(?<=\|)", "$": r"(?= \|)", "/": r"(?: \|)?"}[piece], empty=True)
    if piece.endswith("*"):
        return _Part(f" {re.escape(piece[:-1])}[^ |]*", prefixes=(piece[:-1],))
    anchor = _DIGITS if piece[0].isdigit() else piece
    return _Part(f" {re.escape(piece)}(?= )", frozenset({anchor}))


def _join(sequence: list[_Part]) -> _Part:
    anchors: frozenset[str] = frozenset()
    prefixes: tuple[str, ...] = ()
    empty = True
    for part in sequence:
        if not empty:
            break
        anchors, prefixes, empty = anchors | part.anchors, prefixes + part.prefixes, part.empty
    return _Part(
        "".join(part.pattern for part in sequence),
        anchors,
        prefixes,
        empty,
        "".join(part.slots for part in sequence),
        frozenset().union(*(part.sure for part in sequence)),
    )


def _either(choices: list[_Part]) -> _Part:
    return _Part(
        "(?:" + "|".join(part.pattern for part in choices) + ")",
        frozenset().union(*(part.anchors for part in choices)),
        tuple(prefix for part in choices for prefix in part.prefixes),
        any(part.empty for part in choices),
        "".join(part.slots for part in choices),
        frozenset.intersection(*(part.sure for part in choices)),
    )


def _optional(part: _Part) -> _Part:
    return _Part(f"(?:{part.pattern})?", part.anchors, part.prefixes, True, part.slots)
