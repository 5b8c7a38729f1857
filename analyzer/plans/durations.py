"""Durations as coaches write them: one parser, one printer.

Conventions: seconds as float, kept to whole milliseconds; digits are ASCII; nothing is guessed.
"""

from __future__ import annotations

import re
from decimal import Decimal

from analyzer.model.clock import parse_clock_ms

DURATION_HELP = "a duration such as 45s, 1m30s, 1:30 or 90 (seconds) is allowed"

_NUMBER = r"([0-9]{1,9}(?:\.[0-9]{1,9})?)"
_PARTS = re.compile(
    rf"(?:{_NUMBER} ?(?:h|hrs?|hours?))? ?(?:{_NUMBER} ?(?:m|mins?|minutes?))? ?(?:{_NUMBER} ?(?:s|secs?|seconds?))?",
    re.ASCII | re.IGNORECASE,
)
_PLAIN = re.compile(_NUMBER, re.ASCII)
_LONGEST_TEXT = 40


def parse_duration_s(text: str) -> float:
    """Return a written duration in seconds, to the millisecond.

    Takes ``45s``, ``45.5s``, ``2m``, ``2 min``, ``1m30s``, ``1h 5m``, a clock form ``1:30`` or ``1:02:03``, and a
    plain number of seconds. A clock form always reads minutes:seconds, never hours:minutes.

    Raises
    ------
    ValueError
        When the text is none of these, naming what was found.

    >>> parse_duration_s("1:30"), parse_duration_s("1m30s"), parse_duration_s("45")
    (90.0, 90.0, 45.0)
    """
    words = " ".join(text.split())
    short = words if len(words) <= _LONGEST_TEXT else words[:_LONGEST_TEXT] + "..."
    if words.startswith(("-", "\u2212")):
        raise ValueError(f"'{short}' is negative")
    if ":" in words:
        return parse_clock_ms(words) / 1000
    plain = _PLAIN.fullmatch(words)
    if plain:
        return _to_s(Decimal(plain[1]))
    parts = _PARTS.fullmatch(words) if words else None
    if parts is None:
        raise ValueError(f"'{short}' is not a duration")
    hours, minutes, seconds = (Decimal(part or 0) for part in parts.groups())
    return _to_s((hours * 60 + minutes) * 60 + seconds)


def print_duration(seconds: float) -> str:
    """Return a duration as a plan writes it, to the millisecond; :func:`parse_duration_s` reads it back.

    >>> print_duration(90), print_duration(45.5), print_duration(3600), print_duration(0)
    ('1m30s', '45.5s', '1h', '0s')
    """
    total = _whole_ms(Decimal(str(seconds)))
    hours, rest = divmod(total, 3_600_000)
    minutes, ms = divmod(rest, 60_000)
    fraction = f"{ms % 1000:03d}".rstrip("0")
    text = (f"{hours}h" if hours else "") + (f"{minutes}m" if minutes else "")
    if ms or not text:
        text += f"{ms // 1000}" + (f".{fraction}" if fraction else "") + "s"
    return text


def _whole_ms(seconds: Decimal) -> int:
    return int((seconds * 1000).to_integral_value())


def _to_s(seconds: Decimal) -> float:
    return _whole_ms(seconds) / 1000
