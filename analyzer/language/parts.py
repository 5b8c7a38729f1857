"""Pieces of a phrase over coded words, and how they combine.

A *code* is one character that stands for a word or for a kind of words (see :mod:`analyzer.language.lexicon`), so an
expression over codes never looks inside a word. Beside its expression each piece knows which codes can stand at its
first places: that tells quickly where a phrase can't be.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import groupby

FIRST_CODE = 0x10000
"""From this character on none means anything in an expression; and sets of them compile fast, because Python's re
makes its table of 65,536 entries only for characters before."""
PLACES = 3
"""How many of a phrase's first words are known."""
Codes = frozenset[str]
NONE: Codes = frozenset()


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a phrase.

    ``first`` codes it can start with; ``at`` codes that can stand at its first places (None: any); ``lengths`` how many
    words it may have, ``PLACES`` for that many or more; ``slots`` one letter a number in it, in order (``n`` number,
    ``t`` length); ``opens`` True when it fits only where a sentence starts.
    """

    pattern: str
    first: Codes = NONE
    at: tuple[Codes | None, ...] = (NONE,) * PLACES
    lengths: frozenset[int] = frozenset({0})
    slots: str = ""
    opens: bool = False

    @property
    def empty(self) -> bool:
        """True when it may have no words."""
        return 0 in self.lengths

    @property
    def heads(self) -> tuple[Codes | None, ...]:
        """Like ``at``, but any code where the piece may be over by then."""
        shortest = min(self.lengths)
        return tuple(None if shortest <= place else codes for place, codes in enumerate(self.at))


NOTHING = Part("")
ANY_WORDS = Part("", at=(None,) * PLACES, lengths=frozenset(range(4)))
"""Up to three free words; the expression is the lexicon's to give. A phrase never starts with one."""


def one_of(codes: Iterable[str]) -> Part:
    """Return the piece that is one word out of these codes."""
    some = frozenset(codes)
    return Part(char_class(some), some, (some, *(NONE,) * (PLACES - 1)), frozenset({1}))


def char_class(codes: Iterable[str]) -> str:
    """Return the shortest expression for one of these codes (none of them special in an expression)."""
    runs: list[list[int]] = []
    for code in sorted(map(ord, codes)):
        if runs and runs[-1][1] == code - 1:
            runs[-1][1] = code
        else:
            runs.append([code, code])
    if len(runs) == 1 and runs[0][0] == runs[0][1]:
        return chr(runs[0][0])
    return "[" + "".join(chr(a) if a == b else f"{chr(a)}-{chr(b)}" for a, b in runs) + "]"


def join(parts: Sequence[Part]) -> Part:
    """Return the pieces one after the other."""
    return reduce(lambda after, part: _then(part, after), reversed(parts[:-1]), parts[-1]) if parts else NOTHING


def _then(left: Part, right: Part) -> Part:
    sizes = left.lengths
    if len(sizes) == 1:
        (size,) = sizes
        at = left.at[:size] + right.at[: PLACES - size]
    else:
        at = tuple(
            _union([left.at[place], *[right.at[place - size] for size in sizes if size <= place]])
            for place in range(PLACES)
        )
    return Part(
        left.pattern + right.pattern,
        left.first | right.first if 0 in sizes else left.first,
        at,
        frozenset([min(PLACES, a + b) for a in sizes for b in right.lengths]),
        left.slots + right.slots,
        left.opens or (right.opens and sizes == {0}),
    )


def either(choices: Sequence[Part]) -> Part:
    """Return one of the pieces; the earlier is tried first."""
    if len(choices) == 1:
        return choices[0]
    patterns = [
        char_class(NONE.union(*[c.first for c in run])) if word else "|".join([c.pattern for c in run])
        for word, run in ((word, list(run)) for word, run in groupby(choices, key=_is_word))
    ]
    return Part(
        patterns[0] if len(patterns) == 1 and _is_word(choices[0]) else "(?:" + "|".join(patterns) + ")",
        NONE.union(*[choice.first for choice in choices]),
        tuple(_union([choice.at[place] for choice in choices]) for place in range(PLACES)),
        frozenset().union(*[choice.lengths for choice in choices]),
        "".join([choice.slots for choice in choices]),
        all(choice.opens for choice in choices),
    )


def _is_word(part: Part) -> bool:
    """True for a piece that is one word out of some, and nothing else."""
    return len(part.pattern) == 1 or (part.pattern[:1] == "[" and part.pattern.find("]") == len(part.pattern) - 1)


def optional(part: Part) -> Part:
    """Return the piece that may be there or not; being there is tried first."""
    return Part(f"(?:{part.pattern})?", part.first, part.at, part.lengths | {0}, part.slots)


def slot(part: Part, letter: str) -> Part:
    """Return the piece as a number of this kind."""
    return Part(f"({part.pattern})", part.first, part.at, part.lengths, letter + part.slots)


def _union(sets: list[Codes | None]) -> Codes | None:
    some = [codes for codes in sets if codes]
    if None in sets:
        return None
    return some[0] if len(some) == 1 else NONE.union(*some)
