"""What a written word says about how it is spoken: norm, syllables, natural length, the stop after it, counting.

Never looks at times. Lengths are seconds at a natural rate and are scaled to the speaker by the timing module.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from analyzer.language import load_language

# Articulation about 5 syllables a second, pauses apart (Jacewicz et al., JASA 128(2), 2010). Half of a word's length
# goes by syllables, half by letters (about three a syllable), as "stretched" takes longer than "a".
SYLLABLE_S = 0.10
LETTER_S = 0.033
# Natural speech tops out near 8 to 10 syllables a second (common practice); nothing is said faster.
FASTEST_SYLLABLE_S = 0.10
COUNTED_S = 0.40  # a counted number, spoken alone, takes 0.3 to 0.5 s (common practice)

NO_STOP, COMMA, SENTENCE_END = 0, 1, 2
NOT_A_NUMBER = -100

_CORE = re.compile(r"[^\W_](?:.*[\w%])?|%", re.DOTALL)
_VOWELS = re.compile(r"[aeiouyàáâäãåæèéêëìíîïòóôöõøœùúûüýÿ]+")
_PIECES = re.compile(r"[0-9]+|[^\W\d_]+")
_SILENT = re.compile(r"(?:[^aeiouyl]e|[aeiouy]le|[^aeiouytd]ed|[^aeiouysxzcgl]es|[aeiouy]les)$")
_SYLLABIC = re.compile(r"(?:ism|isms|thm|[dst]n't|[^aeiouyt]i(?:er|est))$")
_CLOSERS = "\"'”’)]»"
_ONES = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)  # zero to nineteen, as CMUdict has them
_TENS = (0, 1, 2, 2, 2, 2, 2, 3, 2, 2)
_MARKS, _PAUSES = frozenset(".!?…"), frozenset(",;:–—-")
_APOSTROPHES = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'", "′": "'"})


class Spoken(NamedTuple):
    """One word: ``norm``, ``syllables`` (at least 1), natural ``length_s``, ``stop`` after it, and its ``number``.

    ``maybe`` is the number that a recogniser may have misheard it from; both are ``NOT_A_NUMBER`` otherwise.
    """

    norm: str
    syllables: int
    length_s: float
    stop: int
    number: int
    maybe: int


def norm_of(text: str) -> str:
    """Return a word lower case, its apostrophes straight, its outer punctuation removed; inner marks stay.

    An ampersand on its own is the word it is read as.

    >>> norm_of("“Push-ups,”"), norm_of("Don’t!"), norm_of("..."), norm_of("60%")
    ('push-ups', "don't", '', '60%')
    """
    lowered = text.lower()
    if lowered.isalnum():
        return lowered
    match = _CORE.search(lowered.translate(_APOSTROPHES))
    if match is None:
        return "and" if text == "&" else ""
    core = match[0].rstrip("_")
    return core if core == match[0] else norm_of(core)  # what the underscores hid may be punctuation again


def syllables_of(norm: str) -> int:
    """Return the number of syllables of a norm, by its vowel groups; digits as the words they are read as.

    >>> [syllables_of(word) for word in ("three", "seven", "exhale", "push-ups", "45", "1:30")]
    [1, 2, 2, 2, 3, 3]
    """
    return max(1, sum(_piece(piece) for piece in _PIECES.findall(norm)))


def _piece(piece: str) -> int:
    if piece.isascii() and piece.isdigit():
        return _number_syllables(int(piece)) if len(piece) <= 3 else 2 * len(piece)
    groups = len(_VOWELS.findall(piece))
    if groups > 1 and _SILENT.search(piece):
        groups -= 1
    return groups + (1 if _SYLLABIC.search(piece) else 0)


def _number_syllables(value: int) -> int:
    if value < 20:
        return _ONES[value]
    if value < 100:
        return _TENS[value // 10] + (_ONES[value % 10] if value % 10 else 0)
    rest = value % 100
    return _ONES[value // 100] + 2 + (1 + _number_syllables(rest) if rest else 0)


@lru_cache(maxsize=65536)
def spoken(text: str) -> Spoken:
    """Return what a word, as printed, says about how it is spoken. Cached: a class repeats its words."""
    norm = norm_of(text)
    syllables = syllables_of(norm)
    letters = sum(3 * _piece(piece) if piece.isdigit() else len(piece) for piece in _PIECES.findall(norm))
    length = SYLLABLE_S * syllables + LETTER_S * letters
    tail = text.rstrip(_CLOSERS)[-1:]
    stop = NO_STOP
    if not tail.isalnum():
        stop = SENTENCE_END if tail in _MARKS else COMMA if tail in _PAUSES else NO_STOP
    values, misheard = _numbers()
    number = int(norm) if norm.isascii() and norm.isdigit() and len(norm) < 3 else values.get(norm, NOT_A_NUMBER)
    return Spoken(norm, syllables, max(length, 0.1), stop, number, misheard.get(norm, NOT_A_NUMBER))


@lru_cache(maxsize=1)
def _numbers() -> tuple[dict[str, int], dict[str, int]]:
    """Return number words of twenty and under, and words that are misheard numbers."""
    numbers = load_language().numbers
    values = {word: value for word, value in numbers.values.items() if value <= 20 and word not in ("a", "an")}
    return values, dict(numbers.misheard)
