"""Number words and spoken lengths of time.

Conventions: text is lower case, tokens are parted by single spaces, hyphens are already spaces. A *number* is a
count from 0 to 999,999 in digits or words; a *length* is seconds ("forty five seconds", "a minute and a half",
"1:30"). The words themselves live in ``<language>/numbers.yaml``; this module only knows how they combine.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class NumberWords:
    """How one language says numbers. Build with :meth:`of`; patterns hold no capture group and start at a word."""

    values: Mapping[str, int]
    tens: frozenset[str]
    hundred: str
    thousand: str
    joiners: frozenset[str]
    articles: frozenset[str]
    seconds: frozenset[str]
    minutes: frozenset[str]
    half: str
    quarter: str
    fillers: frozenset[str]
    misheard: Mapping[str, int]
    alike: Mapping[int, int]
    usual: frozenset[int]
    number_pattern: str
    length_pattern: str

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> NumberWords:
        """Build from the content of a ``numbers.yaml``; a missing key raises ``KeyError``."""
        values = {**data["ones"], **data["tens"], **dict.fromkeys(data["articles"], 1)}
        small = {word: value for word, value in data["ones"].items() if 0 < value < 10}
        values |= {ten + one: data["tens"][ten] + small[one] for ten in data["tens"] for one in small}
        number = _number_pattern(data)
        pairs = [(int(low), int(high)) for low, high in data["alike"]]
        return cls(
            values=values,
            tens=frozenset(data["tens"]),
            hundred=data["hundred"],
            thousand=data["thousand"],
            joiners=frozenset(data["joiners"]),
            articles=frozenset(data["articles"]),
            seconds=frozenset(data["seconds"]),
            minutes=frozenset(data["minutes"]),
            half=data["half"],
            quarter=data["quarter"],
            fillers=frozenset(data["fillers"]),
            misheard=dict(data["misheard"]),
            alike={**dict(pairs), **{high: low for low, high in pairs}},
            usual=frozenset(data["usual"]),
            number_pattern=number,
            length_pattern=_length_pattern(data, number),
        )

    def doubtful(self, value: float) -> bool:
        """True for a number of seconds that nobody calls while one that sounds like it is usual (fifty, fifteen)."""
        return value in self.alike and value not in self.usual and self.alike[int(value)] in self.usual

    @property
    def first_words(self) -> frozenset[str]:
        """Words a number can start with (digits apart)."""
        return frozenset(self.values) | {self.hundred}

    @property
    def first_length_words(self) -> frozenset[str]:
        """Words a length can start with (digits apart)."""
        return self.first_words | {self.half, self.quarter}

    def number(self, text: str) -> float | None:
        """Return the value of a whole number phrase, or None when the text is anything else.

        >>> from analyzer.language import load_language
        >>> numbers = load_language("en").numbers
        >>> numbers.number("a hundred and five"), numbers.number("forty five"), numbers.number("five four")
        (105.0, 45.0, None)
        """
        if re.fullmatch(r"\d+(?:\.\d+)?", text):
            return float(text)
        if re.fullmatch(self.number_pattern, text) is None:
            return None
        total = part = 0
        for word in text.split():
            if word in self.joiners:
                continue
            if word == self.thousand:
                total, part = total + max(part, 1) * 1000, 0
            elif word == self.hundred:
                part = max(part, 1) * 100
            else:
                part += int(word) if word.isdigit() else self.values[word]
        return float(total + part)

    def length_s(self, text: str) -> float | None:
        """Return a spoken length of time in seconds, or None when the text is anything else.

        >>> from analyzer.language import load_language
        >>> numbers = load_language("en").numbers
        >>> [numbers.length_s(t) for t in ("half a minute", "a minute and a half", "one minute thirty", "1:30", "5 s")]
        [30.0, 90.0, 90.0, 90.0, 5.0]
        """
        stamp = re.fullmatch(r"(\d+):(\d\d)", text)
        if stamp:
            return float(int(stamp[1]) * 60 + int(stamp[2]))
        if re.fullmatch(self.length_pattern, text) is None:
            return None
        return self._length_of(text.split())

    def _length_of(self, tokens: list[str]) -> float:
        minute_at = next((i for i, word in enumerate(tokens) if word in self.minutes), None)
        if minute_at is None:
            return self._amount(tokens[:-1])
        tail = [word for word in tokens[minute_at + 1 :] if word not in self.seconds]
        return self._amount(tokens[:minute_at]) * 60 + self._tail_s(tail)

    def _tail_s(self, tail: list[str]) -> float:
        if self.half in tail:
            return 30.0
        if self.quarter in tail:
            return 15.0
        words = tail[1:] if tail and tail[0] in self.joiners else tail
        return (self.number(" ".join(words)) or 0.0) if words else 0.0

    def _amount(self, tokens: list[str]) -> float:
        """Value of the words before a unit: a number, a number and a half, half, quarter(s), nothing (= one)."""
        words = [word for word in tokens if word not in self.fillers]
        fraction = 0.0
        if self.half in words:
            fraction, words = 0.5, words[: words.index(self.half)]
        elif any(word.startswith(self.quarter) for word in words):
            at = next(i for i, word in enumerate(words) if word.startswith(self.quarter))
            quarters = self.number(" ".join(words[:at])) if at else 1.0
            return 0.25 * (quarters or 1.0)
        if fraction:  # "two and a half", "one and a half", "a half": what stands before the joiner is whole
            words = words[: next((i for i, word in enumerate(words) if word in self.joiners), 0)]
            return fraction + (self._whole(words) if words else 0.0)
        return self._whole(words)

    def _whole(self, words: list[str]) -> float:
        if not words or (len(words) == 1 and words[0] in self.articles):
            return 1.0
        return self.number(" ".join(words)) or 0.0


def _any(words: Iterable[str]) -> str:
    return "(?:" + "|".join(re.escape(word) for word in sorted(words, key=lambda w: (-len(w), w))) + ")"


def _number_pattern(data: Mapping[str, Any]) -> str:
    """Bounded pattern of a number: no part of it repeats, and no word is tried twice, so matching is linear."""
    small = {word for word, value in data["ones"].items() if 0 < value < 10}
    below_100 = f"(?:{_any(data['tens'])}(?: ?{_any(small)})?|{_any(data['ones'])})"
    joined = f"(?:{_any(data['joiners'])} )?"
    hundred = f" {data['hundred']}(?: {joined}{below_100})?"
    below_1000 = f"(?:{below_100}(?:{hundred})?|{_any(data['articles'])}{hundred})"
    thousand = f" {data['thousand']}(?: {joined}{below_1000})?"
    return rf"(?:\d+(?:\.\d+)?|{below_1000}(?:{thousand})?|{_any(data['articles'])}{thousand})(?= |$)"


def _length_pattern(data: Mapping[str, Any], number: str) -> str:
    """Bounded pattern of a length of time. Seconds after minutes belong to it only up to four minutes: nobody calls
    longer lengths to the second, and "fifteen minutes, forty seconds each" are two lengths."""
    minutes, seconds, article = _any(data["minutes"]), _any(data["seconds"]), _any(data["articles"])
    half, quarter, joiner = data["half"], data["quarter"], _any(data["joiners"])
    filler = f"(?: {_any(data['fillers'])})?"
    tail = f"(?:(?: {joiner})? {number}(?: {seconds})?| {joiner} (?:a )?(?:{half}|{quarter}))"
    quarters = f"{quarter}s?(?: of)? a {minutes}"
    few = f"(?:{_any(word for word, value in data['ones'].items() if 0 < value < 5)}|[1-4])"
    return (
        r"(?:\d+:\d\d"
        f"|{few}(?: {joiner} a {half})?{filler} {minutes}{tail}"
        f"|{number}(?: {joiner} a {half})?(?:{filler} (?:{seconds}|{minutes})| {quarters})"
        f"|{article}(?:{filler} {minutes}(?:{tail})?| {quarters})"
        f"|(?:a )?{half}{filler}(?: a)?{filler} {minutes}"
        f"|{quarters}"
        ")(?= |$)"
    )
