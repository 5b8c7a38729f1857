"""Numbers and words made safe to print: rounding without NaN, text without control characters."""

from __future__ import annotations

import math
import re
import unicodedata
from pathlib import PurePosixPath, PureWindowsPath

_LINE_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_MARKDOWN = re.compile(r"[\\`*_\[\]|~@#$]|:(?=//)|(?<=www)\.")
_DIRECTION_MARKS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def rounded(value: float | int | None, digits: int = 2) -> float | int | None:
    """Return a number fit for JSON: integers as they are, floats rounded, NaN and infinities as None, no -0.0.

    >>> rounded(1.005), rounded(-0.001), rounded(float("nan")), rounded(3)
    (1.0, 0.0, None, 3)
    """
    if value is None or isinstance(value, int):
        return value
    if not math.isfinite(value):
        return None
    return round(float(value), digits) + 0.0


def safe_text(text: str) -> str:
    """Return text that any UTF-8 file may hold: lone surrogates and control characters replaced.

    Tabs and line feeds stay.

    >>> safe_text("go\\x07 now")
    'go\\ufffd now'
    """
    if text.isprintable():
        return text
    return _LINE_CONTROLS.sub("\ufffd", text.encode("utf-8", "replace").decode("utf-8"))


def terminal_text(text: str) -> str:
    """Return text as one line that cannot steer a terminal: no escapes, controls or direction marks.

    >>> terminal_text("\\x1b[31mred\\nline\\u202e")
    '[31mred line'
    """
    spaced = " ".join(safe_text(text.translate(_NO_CONTROLS)).split())
    return "".join(c for c in spaced if c not in _DIRECTION_MARKS and unicodedata.category(c) not in ("Cc", "Cs"))


def markdown_text(text: str) -> str:
    """Return text as one line of Markdown that shows it as it is: no markup, HTML or link of its own.

    Source: CommonMark 0.31.2, sections 2.4 (backslash escapes) and 2.5 (entities); the bare links, struck text and
    tables of the GitHub dialect (0.29) are taken out too.

    >>> markdown_text("*Squat* | <b>")
    '\\*Squat\\* \\| &lt;b&gt;'
    """
    line = terminal_text(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return _MARKDOWN.sub(r"\\\g<0>", line)


def columns(text: str) -> int:
    """Return how many terminal columns a text takes: wide characters two, combining marks none.

    Source: Unicode Standard Annex 11 (East Asian Width), classes W and F.

    >>> columns("abc"), columns("\\u4f53\\u64cd")
    (3, 4)
    """
    width = 0
    for char in text:
        if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me", "Cf"):
            continue
        width += 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1
    return width


def cut(text: str, width: int) -> str:
    """Return ``text`` in at most ``width`` terminal columns, an ellipsis marking what was left out.

    >>> cut("a long sentence", 8), cut("short", 8)
    ('a long\u2026', 'short')
    """
    if columns(text) <= width:
        return text
    kept = ""
    for char in text:
        if columns(kept + char) > width - 1:
            break
        kept += char
    return kept.rstrip() + "\u2026"


def file_name(name: str) -> str:
    """Return the last part of a path written for any system, so that no report tells where a file lay.

    >>> file_name("/home/someone/takes/class.vtt"), file_name("D:\\\\takes\\\\class.vtt")
    ('class.vtt', 'class.vtt')
    """
    return safe_text(PureWindowsPath(PurePosixPath(name).name).name or name)


def seconds_words(value: float | None) -> str:
    """Return seconds as a coach says them: ``24 s``, ``1 min 05 s``; None gives an em dash.

    >>> seconds_words(24.04), seconds_words(65.2), seconds_words(2.6)
    ('24 s', '1 min 05 s', '2.6 s')
    """
    if value is None or not math.isfinite(value):
        return "\u2014"
    size = abs(value)
    sign = "\u2212" if value <= -0.05 else ""
    if size < 10 and abs(size - round(size)) >= 0.05:
        return f"{sign}{size:.1f} s"
    minutes, seconds = divmod(int(size + 0.5), 60)
    return f"{sign}{minutes} min {seconds:02d} s" if minutes else f"{sign}{seconds} s"


def late(drift: float) -> str:
    """Return a drift in words.

    >>> late(12.2), late(-3), late(0.2)
    ('12 s late', '3 s early', 'on time')
    """
    if abs(drift) < 0.5:
        return "on time"
    return f"{seconds_words(abs(drift))} {'late' if drift > 0 else 'early'}"


_NO_CONTROLS = {code: " " if code in (9, 10, 13) else "" for code in (*range(32), *range(127, 160))}
