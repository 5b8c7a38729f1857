"""Phrase files and how they are found in what was said.

A phrase file is YAML: names of groups, each with a list of phrases. A phrase is written as it is spoken, in lower
case, without punctuation; an accent on a vowel may be there or not, here and in what was said:

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
wins. Words are read as codes (see :mod:`analyzer.language.lexicon`). Every phrase has an expression over codes without
nested repeats, compiled and tried only where its first words may stand: the cost is linear in the words. A
phrase that breaks these rules raises ``ValueError`` with the group and the phrase.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from analyzer.language.lexicon import Lexicon
from analyzer.language.numbers import NumberWords, length_part, number_part
from analyzer.language.parts import ANY_WORDS, NONE, PLACES, Part, either, join, one_of, optional, slot
from analyzer.language.spoken import EDGE, SpokenText, fold
from analyzer.model.transcript import Bools, Ints

__all__ = ["Match", "PhraseGroup", "PhraseSet", "SpokenText", "compile_phrases", "find", "starting_in"]

Bits = npt.NDArray[np.uint8]
_WORD = re.compile(r"(?:(?![A-Z])[^\W_]|['&:.%])+\*?")
_PIECE = re.compile(rf"\s*(\(|\)|\[|\]|\||\{{n\}}|\{{t\}}|\^|\$|/|{_WORD.pattern}|\*)")


class Match(NamedTuple):
    """A phrase that was found: words ``first`` to ``last`` (both included), its group, the last number in it.

    ``start``/``end`` are the character offsets in ``SpokenText.text`` (end excluded).
    """

    first: int
    last: int
    group: str
    number: float | None
    start: int
    end: int


@dataclass(frozen=True, eq=False)
class Phrase:
    """One phrase: its group and which one that is, its expression over codes, its numbers (see ``Part.slots``)."""

    group: str
    place: int
    pattern: str
    slots: str

    @cached_property
    def fits(self) -> Callable[[str, int], re.Match[str] | None]:
        """Match it at a place of coded text; compiled when first asked for."""
        return re.compile(self.pattern).match


@dataclass(frozen=True, slots=True)
class PhraseGroup:
    """One group: its name and the places of its phrases in the set, ``low`` to ``high`` (excluded)."""

    name: str
    low: int
    high: int


@dataclass(frozen=True, eq=False)
class PhraseSet:
    """A compiled phrase file: its groups in file order.

    ``heads[k]`` has a row a code and a bit a phrase (rows padded to whole bytes): set where the phrase's word ``k``
    may be that code. ``heads[0]`` has all rows twice: as above, then those of phrases that fit inside a sentence, too.
    """

    groups: Mapping[str, PhraseGroup]
    phrases: tuple[Phrase, ...]
    lexicon: Lexicon
    numbers: NumberWords
    heads: tuple[Bits, ...]
    begins: Bools
    """For each code whether a phrase may start with it."""


def compile_phrases(groups: Mapping[str, Sequence[str]], numbers: NumberWords) -> PhraseSet:
    """Compile groups of phrases; raises ``ValueError`` naming group and phrase when one can't be read."""
    groups = {name: [_folded(line) for line in some] for name, some in groups.items()}
    lines = [(name, line) for name, some in groups.items() for line in some]
    written = {word for _, line in lines if isinstance(line, str) for word in _WORD.findall(line.replace("-", " "))}
    starts = {word[:-1] for word in written if word.endswith("*")}
    lexicon = Lexicon.of({word for word in written if not word.endswith("*")}, starts, numbers)
    reader = _Reader.of(lexicon)
    found: dict[str, PhraseGroup] = {}
    phrases: list[Phrase] = []
    parts: list[Part] = []
    for at, (name, some) in enumerate(groups.items()):
        if not some:
            raise ValueError(f"group '{name}' has no phrases")
        found[name] = PhraseGroup(name, len(parts), len(parts) + len(some))
        for line in some:
            part = _read_phrase(name, line, reader)
            parts.append(part)
            phrases.append(Phrase(name, at, part.pattern + "(?=.)", part.slots))
    first, *others = _heads(parts, lexicon)
    inside = first & _bits([not part.opens for part in parts])
    begins: Bools = np.any(first, axis=1)
    return PhraseSet(found, tuple(phrases), lexicon, numbers, (np.concatenate([first, inside]), *others), begins)


def _folded(line: str) -> str:
    return fold(line) if isinstance(line, str) else line  # what is no text is refused further on, by its group


def _bits(flags: Sequence[bool] | Bools) -> Bits:
    return np.packbits(np.asarray(flags, dtype=np.bool_), axis=-1, bitorder="little")


def _heads(parts: Sequence[Part], lexicon: Lexicon) -> tuple[Bits, ...]:
    tables = np.zeros((PLACES, lexicon.size + 1, len(parts)), dtype=np.bool_)
    for number, part in enumerate(parts):
        tables[0, lexicon.rows(part.first), number] = True
        for place in range(1, PLACES):
            codes = part.heads[place]
            if codes is None:
                tables[place, :, number] = True
            else:
                tables[place, lexicon.rows(codes), number] = True
    return tuple(_bits(tables))


def find(phrases: PhraseSet, spoken: SpokenText, groups: Iterable[str] | None = None) -> list[Match]:
    """Return every place where a phrase of the set was said, by first word, then by group in file order.

    Places of one group don't overlap; those of different groups may. ``groups`` limits the search to these names
    (an unknown name raises ``KeyError``).
    """
    rows = phrases.lexicon.encode(spoken)
    codes = phrases.lexicon.text(rows)
    places, numbers = _candidates(phrases, rows, groups)
    free = [0] * len(phrases.groups)
    found: list[Match] = []
    for place, number in zip(places, numbers, strict=True):
        phrase = phrases.phrases[number]
        if place >= free[phrase.place]:
            hit = phrase.fits(codes, place)
            if hit is not None:
                free[phrase.place] = hit.end()
                found.append(_match(hit, phrase, spoken, phrases.numbers))
    return found


def _candidates(phrases: PhraseSet, rows: Ints, groups: Iterable[str] | None) -> tuple[list[int], list[int]]:
    """Return where which phrase may have been said, as far as its first words tell: tokens and phrases, in order."""
    first, *others = phrases.heads
    edge, size = phrases.lexicon.rows(phrases.lexicon.words[EDGE]), len(phrases.begins)
    at = np.flatnonzero(phrases.begins.take(rows))
    bits = first.take(rows[at] + size * (rows[at - 1] != edge), axis=0)
    if groups is not None:
        bits &= _of_groups(phrases, groups)
    rows = np.append(rows, [size - 1] * len(others))
    for place, fits in enumerate(others, 1):
        bits &= fits.take(rows[at + place], axis=0)
    some = np.flatnonzero(bits)
    byte, bit = np.divmod(np.flatnonzero(np.unpackbits(bits.ravel()[some], bitorder="little")), 8)
    row, column = np.divmod(some[byte], bits.shape[1])
    return at[row].tolist(), (8 * column + bit).tolist()


def _of_groups(phrases: PhraseSet, groups: Iterable[str]) -> Bits:
    """Return a bit a phrase: set for those of these groups."""
    wanted = np.zeros(len(phrases.phrases), dtype=np.bool_)
    for name in groups:
        wanted[phrases.groups[name].low : phrases.groups[name].high] = True
    return _bits(wanted)


def _match(hit: re.Match[str], phrase: Phrase, spoken: SpokenText, numbers: NumberWords) -> Match:
    first, end = hit.span()
    value = None
    if hit.lastindex:
        low, high = hit.span(hit.lastindex)
        value = _value(" ".join(spoken.tokens[low:high]), phrase.slots[hit.lastindex - 1], numbers)
    owners, offsets = spoken.owners, spoken.offsets
    return Match(owners[first], owners[end - 1], phrase.group, value, offsets[first], offsets[end] - 1)


@lru_cache(maxsize=20_000)
def _value(said: str, slot: str, numbers: NumberWords) -> float | None:
    """Return what a number or a length of time comes to, see ``Part.slots``; the same are said again and again."""
    return numbers.number(said) if slot == "n" else numbers.length_s(said)


def starting_in(matches: Sequence[Match], low: int, high: int) -> Sequence[Match]:
    """Return those matches (ordered by first word) whose first word is ``low`` to ``high``, both included."""
    return matches[bisect_left(matches, low, key=_first) : bisect_right(matches, high, key=_first)]


def _first(match: Match) -> int:
    return match.first


# --- from phrase to expression -----------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Reader:
    """Every piece that a phrase can be made of, by how it is written."""

    pieces: Mapping[str, Part]

    @classmethod
    def of(cls, lexicon: Lexicon) -> _Reader:
        edge = lexicon.words[EDGE]
        pieces = {word: one_of([code]) for word, code in lexicon.words.items()}
        pieces |= {f"{start}*": one_of(codes) for start, codes in lexicon.beginnings.items()}
        pieces["*"] = replace(ANY_WORDS, pattern=f"[^{edge}]{{0,3}}?")
        pieces["{n}"] = slot(number_part(lexicon.roles), "n")
        pieces["{t}"] = slot(length_part(lexicon.roles), "t")
        pieces["^"] = Part(f"(?<={edge})", opens=True)
        pieces["$"] = Part(f"(?={edge})")
        pieces["/"] = Part(f"{edge}?", at=(frozenset([edge]), *(NONE,) * (PLACES - 1)), lengths=frozenset({0, 1}))
        return cls(pieces)


def _read_phrase(name: str, line: str, reader: _Reader) -> Part:
    where = f"group '{name}', phrase '{line}'"
    if not isinstance(line, str):
        raise ValueError(f"{where}: not text; put it in quotes")
    pieces = _pieces(where, line.replace("-", " "))
    if any(piece[0].isdigit() and piece.endswith("*") for piece in pieces):
        raise ValueError(f"{where}: a word that starts like a number; write the number out")
    part, rest = _read_choice(where, pieces, 0, reader)
    if rest != len(pieces):
        raise ValueError(f"{where}: '{pieces[rest]}' without its opening bracket")
    if part.empty or pieces[:1] == ["*"] or not part.first:
        raise ValueError(f"{where}: must start with a word or a number")
    return part


def _pieces(where: str, line: str) -> list[str]:
    pieces: list[str] = _PIECE.findall(line)
    if "".join(pieces) != "".join(line.split()):
        at, end = 0, len(line.rstrip())
        while piece := _PIECE.match(line, at, end):
            at = piece.end()
        raise ValueError(f"{where}: can't read '{line[at:].strip()[:20]}'; see the syntax in patterns.py")
    return pieces


def _read_choice(where: str, pieces: list[str], at: int, reader: _Reader) -> tuple[Part, int]:
    """Read alternatives up to a closing bracket or the end; gives the part and the index after it."""
    choices: list[Part] = []
    sequence: list[Part] = []
    while at < len(pieces) and pieces[at] not in (")", "]"):
        piece = pieces[at]
        at += 1
        if piece == "|":
            choices.append(join(sequence))
            sequence = []
        elif piece in ("(", "["):
            inner, at = _read_choice(where, pieces, at, reader)
            if at >= len(pieces) or pieces[at] != {"(": ")", "[": "]"}[piece]:
                raise ValueError(f"{where}: '{piece}' is never closed")
            at += 1
            sequence.append(inner if piece == "(" else optional(inner))
        else:
            sequence.append(reader.pieces[piece])
    choices.append(join(sequence))
    return either(choices), at
