"""Clock times: the one parser of stamps and the one printer of times.

Conventions: whole milliseconds in ``*_ms``; float seconds in ``*_s``; both from the start of the recording.
"""

from __future__ import annotations

import re

MAX_MS = 100 * 3600 * 1000  # a class is never longer than 100 hours; beyond it a stamp is damage

_STAMP = re.compile(r"(?:([0-9]{1,4}):)?([0-9]{1,4}):([0-9]{1,2})(?:[.,]([0-9]{1,9}))?", re.ASCII)


def parse_clock_ms(text: str) -> int:
    """Return a stamp such as ``1:01``, ``00:01:01,5`` or ``01:01.250`` in whole milliseconds.

    The fraction is decimal whatever its number of digits (``.5`` is 500 ms, ``.05`` 50 ms); digits past the
    third are cut. With hours, minutes must be under 60; seconds must always be under 60.

    Raises
    ------
    ValueError
        When the text is not a stamp, naming what is out of range.

    >>> parse_clock_ms("1:01"), parse_clock_ms("00:01:01,42")
    (61000, 61420)
    """
    match = _STAMP.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"'{text.strip()[:40]}' is not a time like 1:01 or 00:01:01.500")
    hours, minutes, seconds = int(match[1] or 0), int(match[2]), int(match[3])
    if seconds > 59:
        raise ValueError(f"'{text.strip()}' has {seconds} seconds; 0 to 59 are allowed")
    if match[1] is not None and minutes > 59:
        raise ValueError(f"'{text.strip()}' has {minutes} minutes after the hours; 0 to 59 are allowed")
    fraction = int(((match[4] or "") + "000")[:3])
    value = ((hours * 60 + minutes) * 60 + seconds) * 1000 + fraction
    if value > MAX_MS:
        raise ValueError(f"'{text.strip()}' lies beyond 100 hours")
    return value


def clock(seconds: float | None) -> str:
    """Return a time as a player shows it: ``12:31``, ``1:02:03``; halves round up; None gives an em dash.

    >>> clock(751.2), clock(3723), clock(59.6)
    ('12:31', '1:02:03', '1:00')
    """
    if seconds is None:
        return "\u2014"
    total = int(max(0.0, seconds) + 0.5)
    hours, rest = divmod(total, 3600)
    minutes, secs = divmod(rest, 60)
    return f"{hours}:{minutes:02d}:{secs:02d}" if hours else f"{minutes}:{secs:02d}"
