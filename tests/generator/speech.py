"""How long words take, how numbers are said, and how a style's sentences are filled in."""

from __future__ import annotations

import math
import re
from random import Random
from typing import Any

from tests.generator.classes import Word

ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
ORDINALS = ("zeroth", "first", "second", "third", "fourth", "fifth")


def in_words(number: int) -> str:
    """Return a number below 1000 in words.

    >>> in_words(45), in_words(180)
    ('forty-five', 'one hundred eighty')
    """
    if number < 20:
        return ONES[number]
    if number < 100:
        return TENS[number // 10] + (f"-{ONES[number % 10]}" if number % 10 else "")
    rest = f" {in_words(number % 100)}" if number % 100 else ""
    return f"{ONES[number // 100]} hundred{rest}"


def syllables(word: str) -> int:
    """Return a rough number of syllables: groups of vowels, without a silent last e."""
    letters = re.sub(r"[^a-z]", "", word.lower())
    if len(letters) > 2 and letters.endswith("e") and not letters.endswith("le"):
        letters = letters[:-1]
    return max(1, len(re.findall(r"[aeiouy]+", letters)))


def fill(rng: Random, template: str, values: dict[str, Any]) -> str:
    """Return a sentence with its gaps filled, each sentence opened by a capital."""
    text = re.sub(r"\{(\w+)\}", lambda m: str(values.get(m[1], "")), template)
    text = re.sub(r"\s+", " ", text).strip()
    return re.sub(r"(^|[.!?]\s+)([a-z])", lambda m: m[1] + m[2].upper(), text)


def lognormal(rng: Random, median: float, spread: float) -> float:
    """Return a draw whose median and log spread are given."""
    return median * math.exp(rng.gauss(0.0, spread))


def say(rng: Random, text: str, rate: float) -> list[Word]:
    """Return the words with times from zero at about ``rate`` words a second, pauses inside a line included apart."""
    now, words = 0.0, []
    for piece in text.split():
        length = (0.42 + 0.43 * syllables(piece)) / rate * math.exp(rng.gauss(0, 0.12))
        words.append(Word(piece, now, now + length))
        now += length
        if piece[-1] in ".!?":
            now += min(2.0, lognormal(rng, 0.38, 0.45))
        elif piece[-1] in ",;:":
            now += lognormal(rng, 0.12, 0.4)
    return words


def count_down(rng: Random, first: int, last: int, step: float, comma: bool) -> list[Word]:
    """Return numbers from ``first`` down to ``last``, an onset about every ``step`` seconds, the last one exact."""
    numbers = range(first, last - 1, -1)
    words = []
    for place, number in enumerate(numbers):
        final = number == last
        at = place * step + (0.0 if final or place == 0 else rng.gauss(0, 0.05))
        mark = "." if final or not comma else ","
        text = in_words(number)
        text = text.capitalize() if place == 0 or not comma else text
        words.append(Word(text + mark, at, at + rng.uniform(0.28, 0.45)))
    return words


def shifted(words: list[Word], by: float) -> list[Word]:
    """Return the words moved in time."""
    return [Word(word.text, word.start + by, word.end + by) for word in words]


def length(words: list[Word]) -> float:
    """Return the length of a line that starts at zero."""
    return words[-1].end if words else 0.0
