"""What a written word says about how it is spoken: norm, syllables, natural length, the stop after it, counting.

Never looks at times. Lengths are seconds at a natural rate and are scaled to the speaker by the timing module.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import NamedTuple

from analyzer.language import current_language, fold, load_language

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
_PIECES = re.compile(r"[0-9]+|[^\W\d_]+")
_CLOSERS = "\"'”’)]»"
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
        return _voice(current_language()).ampersand if text == "&" else ""
    core = match[0].rstrip("_")
    return core if core == match[0] else norm_of(core)  # what the underscores hid may be punctuation again


@dataclass(frozen=True, slots=True)
class _Voice:
    """How one language is spoken, from its ``speech.yaml``; number words of twenty and under, and misheard ones."""

    vowels: re.Pattern[str]
    silent: re.Pattern[str] | None
    syllabic: re.Pattern[str] | None
    ones: tuple[int, ...]
    tens: tuple[int, ...]
    hundred: int
    joiner: int
    ampersand: str
    numbers: Mapping[str, int]
    misheard: Mapping[str, int]


@cache
def _voice(code: str) -> _Voice:
    language = load_language(code)
    data, numbers = language.read("speech"), language.numbers
    return _Voice(
        vowels=re.compile(data["vowels"]),
        silent=re.compile(data["silent"]) if data.get("silent") else None,
        syllabic=re.compile(data["syllabic"]) if data.get("syllabic") else None,
        ones=tuple(map(int, data["ones"])),
        tens=tuple(map(int, data["tens"])),
        hundred=int(data["hundred"]),
        joiner=int(data["joiner"]),
        ampersand=data["ampersand"],
        numbers={word: value for word, value in numbers.counted.items() if value <= 20},
        misheard=dict(numbers.misheard),
    )


def syllables_of(norm: str) -> int:
    """Return the number of syllables of a norm, by its vowel groups; digits as the words they are read as.

    >>> [syllables_of(word) for word in ("three", "seven", "exhale", "push-ups", "45", "1:30")]
    [1, 2, 2, 2, 3, 3]
    """
    voice = _voice(current_language())
    return max(1, sum(_piece(piece, voice) for piece in _PIECES.findall(norm)))


def _piece(piece: str, voice: _Voice) -> int:
    if piece.isascii() and piece.isdigit():
        return _number_syllables(int(piece), voice) if len(piece) <= 3 else 2 * len(piece)
    groups = len(voice.vowels.findall(piece))
    if groups > 1 and voice.silent and voice.silent.search(piece):
        groups -= 1
    return groups + (1 if voice.syllabic and voice.syllabic.search(piece) else 0)


def _number_syllables(value: int, voice: _Voice) -> int:
    if value < 20:
        return voice.ones[value]
    if value < 100:
        return voice.tens[value // 10] + (voice.ones[value % 10] if value % 10 else 0)
    rest = value % 100
    more = voice.joiner + _number_syllables(rest, voice) if rest else 0
    return voice.ones[value // 100] + voice.hundred + more


def spoken(text: str) -> Spoken:
    """Return what a word, as printed, says about how it is spoken. Cached: a class repeats its words."""
    return _spoken(text, current_language())


@lru_cache(maxsize=65536)
def _spoken(text: str, code: str) -> Spoken:
    voice = _voice(code)
    norm = norm_of(text)
    syllables = syllables_of(norm)
    letters = sum(3 * _piece(piece, voice) if piece.isdigit() else len(piece) for piece in _PIECES.findall(norm))
    length = SYLLABLE_S * syllables + LETTER_S * letters
    tail = text.rstrip(_CLOSERS)[-1:]
    stop = NO_STOP
    if not tail.isalnum():
        stop = SENTENCE_END if tail in _MARKS else COMMA if tail in _PAUSES else NO_STOP
    plain = fold(norm)
    number = int(norm) if norm.isascii() and norm.isdigit() and len(norm) < 3 else voice.numbers.get(plain)
    maybe = voice.misheard.get(plain, NOT_A_NUMBER)
    return Spoken(norm, syllables, max(length, 0.1), stop, NOT_A_NUMBER if number is None else number, maybe)
