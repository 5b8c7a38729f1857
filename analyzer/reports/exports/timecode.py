"""Frames and timecode labels after SMPTE ST 12-1, drop-frame included.

A label counts frames; it is no clock. At 29.97 frames a second (30000/1001) an hour of labels lasts 3603.6 s, so
drop-frame leaves out the labels ``;00`` and ``;01`` at the start of every minute but each tenth (at 59.94 four of
them). No picture is left out. A semicolon before the frames marks drop-frame.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_LABEL = re.compile(r"([0-9]{2}):([0-5][0-9]):([0-5][0-9])([:;])([0-9]{2})", re.ASCII)


@dataclass(frozen=True, slots=True)
class FrameRate:
    """Frames a second as ``top / bottom``; ``nominal`` frames bear one second's labels; ``drop`` as above."""

    name: str
    top: int
    bottom: int
    nominal: int
    drop: bool = False

    @property
    def fps(self) -> float:
        """Frames a second."""
        return self.top / self.bottom

    @property
    def dropped(self) -> int:
        """Labels left out at the start of a minute."""
        return self.nominal // 15 if self.drop else 0

    @property
    def frames_a_day(self) -> int:
        """Labels there are: 24 hours of them."""
        return 86_400 * self.nominal - 1_296 * self.dropped


RATES: dict[str, FrameRate] = {
    rate.name: rate
    for rate in (
        FrameRate("23.976", 24_000, 1001, 24),
        FrameRate("24", 24, 1, 24),
        FrameRate("25", 25, 1, 25),
        FrameRate("29.97", 30_000, 1001, 30),
        FrameRate("29.97df", 30_000, 1001, 30, drop=True),
        FrameRate("30", 30, 1, 30),
        FrameRate("50", 50, 1, 50),
        FrameRate("59.94", 60_000, 1001, 60),
        FrameRate("59.94df", 60_000, 1001, 60, drop=True),
        FrameRate("60", 60, 1, 60),
    )
}


def frame_at(seconds: float, rate: FrameRate) -> int:
    """Return the frame, from 0, whose start is nearest to a time; halves go to the later one.

    The time is taken to the millisecond, and the rest is done in whole numbers.

    >>> frame_at(60.06, RATES["29.97"]), frame_at(12.34, RATES["25"])
    (1800, 309)
    """
    ms = round(seconds * 1000)
    return (2 * ms * rate.top + 1000 * rate.bottom) // (2000 * rate.bottom)


def timecode(frame: int, rate: FrameRate) -> str:
    """Return the label of a frame, counted from 0.

    Raises
    ------
    ValueError
        When the frame is below 0 or past 24 hours of labels.

    >>> timecode(1800, RATES["29.97df"]), timecode(1800, RATES["29.97"])
    ('00:01:00;02', '00:01:00:00')
    """
    if not 0 <= frame < rate.frames_a_day:
        raise ValueError(f"frame {frame} has no label within 24 hours")
    if rate.drop:
        a_minute = 60 * rate.nominal - rate.dropped
        tens, rest = divmod(frame, 10 * a_minute + rate.dropped)
        minutes = max(0, rest - rate.dropped) // a_minute  # the first minute of ten keeps all its labels
        frame += rate.dropped * (9 * tens + minutes)
    seconds, frames = divmod(frame, rate.nominal)
    mark = ";" if rate.drop else ":"
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{mark}{frames:02d}"


def parse_timecode(text: str, rate: FrameRate) -> int:
    """Return the frame, from 0, that a label names. Both separators are read at a drop-frame rate.

    Raises
    ------
    ValueError
        When it is no label, or one that the rate does not have.

    >>> parse_timecode("01:00:00;00", RATES["29.97df"])
    107892
    """
    text = text.strip()
    match = _LABEL.fullmatch(text)
    if match is None or int(match[1]) > 23:
        raise ValueError(f"'{text[:20]}' is not a timecode like 01:00:00:00")
    hours, minutes, seconds, frames = (int(match[n]) for n in (1, 2, 3, 5))
    if frames >= rate.nominal:
        raise ValueError(f"'{text}' has frame {frames}; 00 to {rate.nominal - 1} are there at {rate.name}")
    if match[4] == ";" and not rate.drop:
        raise ValueError(f"'{text}' is drop-frame, which {rate.name} is not")
    if frames < rate.dropped and seconds == 0 and minutes % 10:
        raise ValueError(f"'{text}' is one of the labels that drop-frame leaves out")
    minutes += 60 * hours
    return (60 * minutes + seconds) * rate.nominal + frames - rate.dropped * (minutes - minutes // 10)
