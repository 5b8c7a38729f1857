"""What one cell of a plan's table holds: texts, several texts, durations; each way back to what it was.

A text that a spreadsheet would run as a formula or turn into a number or date gets a leading apostrophe when it is
written, and loses it when it is read (OWASP, CSV Injection, for the characters a formula starts with).
"""

from __future__ import annotations

import csv
import datetime as dt
import re

from analyzer.model.cells import FORMULA_STARTS
from analyzer.plans.durations import print_duration

_QUOTE = '"'
COMMENT = "#"
"""A row whose first cell starts with this is a remark."""
_NUMBER_LIKE = re.compile(r"[0-9.,:/% -]*[0-9][0-9.,:/% -]*(?:[ap]m)?|[0-9.,]+e[+-]?[0-9]+|true|false", re.IGNORECASE)
_DECIMAL = re.compile(r"[0-9]+(?:[.,][0-9]+)?", re.ASCII)
_WHOLE_MINUTES = re.compile(r"([0-9]+):([0-9]{2}):00(?:[.,]0+)?", re.ASCII)
_SECONDS_SHOWN = re.compile(r"s", re.IGNORECASE)
_HOURS_SHOWN = re.compile(r"h", re.IGNORECASE)
_NOT_SHOWN = re.compile(r'"[^"]*"|\\.|\[\$[^\]]*\]')
_EPOCH = dt.datetime(1899, 12, 30)  # day 0 of a workbook (ISO/IEC 29500-1, 18.17.4.1, from memory)


def to_cell(text: str) -> str:
    """Return a text as a cell holds it.

    >>> to_cell("plank"), to_cell("=1+1"), to_cell("010")
    ('plank', "'=1+1", "'010")
    """
    return f"'{text}" if _at_risk(text.lstrip("'")) else text


def from_cell(cell: str) -> str:
    """Return the text of a cell; what :func:`to_cell` put before it is taken off.

    >>> from_cell("'=1+1"), from_cell("'tis"), from_cell("plank")
    ('=1+1', "'tis", 'plank')
    """
    return cell[1:] if cell.startswith("'") and _at_risk(cell.lstrip("'")) else cell


def to_list_cell(texts: tuple[str, ...]) -> str:
    """Return several texts as one cell, semicolons between; a text with a semicolon or a quote is quoted.

    >>> to_list_cell(("hold a chair", "now; or later"))
    'hold a chair; "now; or later"'
    """
    quoted = (f'"{text.replace(_QUOTE, _QUOTE * 2)}"' if ";" in text or _QUOTE in text else text for text in texts)
    return to_cell("; ".join(quoted))


def from_list_cell(cell: str) -> tuple[str, ...]:
    """Return the texts of a cell: semicolons or line ends stand between them.

    >>> from_list_cell("hold a chair; drop the knees")
    ('hold a chair', 'drop the knees')
    """
    lines = from_cell(cell).splitlines()
    texts = [text.strip() for line in lines for text in next(csv.reader([line], delimiter=";", skipinitialspace=True))]
    return tuple(text for text in texts if text)


def duration_text(cell: str, unit: str, unclear_from_s: float) -> str:
    """Return a duration's cell as a plan writes it; what is no duration stays as it is.

    ``unit`` is that of plain numbers ("s", "m", "" for seconds). A comma may stand for the decimal point.

    Raises
    ------
    ValueError
        When a clock time of whole minutes is so long that it may be minutes and seconds which a spreadsheet took for
        hours and minutes, or a number so small that it may be a part of a day.
    """
    text = cell.strip()
    if _DECIMAL.fullmatch(text):
        number = text.replace(",", ".")
        if unit != "m" and 0 < float(number) < 1:
            raise ValueError(f"'{text}' is less than a second; write it with its unit, as in 45s")
        return number + (unit or "")
    clock = _WHOLE_MINUTES.fullmatch(text)
    if clock and unclear_from_s:
        hours, minutes = int(clock[1]), int(clock[2])
        if hours * 3600 + minutes * 60 >= unclear_from_s:
            short, long = print_duration(hours * 60 + minutes), print_duration(hours * 3600 + minutes * 60)
            raise ValueError(f"'{text}' may be {short} that the spreadsheet took for {long}; write {short} or {long}")
    return text


def value_text(value: object, number_format: str = "") -> str:
    """Return a workbook's value as text. A time is taken as the sheet shows it.

    A format without seconds shows ``1:30``, which in a plan is a minute and a half, whatever the spreadsheet took it
    for; with hours and seconds it is ``h:mm:ss``, with seconds alone ``m:ss``.

    >>> value_text(45.0), value_text(dt.time(1, 30), "h:mm"), value_text(dt.time(0, 1, 30), "h:mm:ss")
    ('45', '1:30', '0:01:30')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    elapsed = _elapsed(value)
    return str(value) if elapsed is None else _clock(elapsed, _NOT_SHOWN.sub("", number_format))


def _at_risk(text: str) -> bool:
    return bool(text) and (text[0] in FORMULA_STARTS or text[0] == COMMENT or bool(_NUMBER_LIKE.fullmatch(text)))


def _elapsed(value: object) -> dt.timedelta | None:
    if isinstance(value, dt.timedelta):
        return value
    if isinstance(value, dt.time):
        return dt.datetime.combine(_EPOCH, value) - _EPOCH
    if isinstance(value, dt.datetime) and value.year <= 1900:  # a time of a day or more
        return value - _EPOCH
    return None


def _clock(elapsed: dt.timedelta, shown: str) -> str:
    total_ms = round(elapsed / dt.timedelta(milliseconds=1))
    seconds, ms = divmod(total_ms, 1000)
    fraction = f".{ms:03d}" if ms else ""
    minutes, seconds = divmod(seconds, 60)
    if not _SECONDS_SHOWN.search(shown) and not seconds and not ms:
        return f"{minutes // 60}:{minutes % 60:02d}"
    if not _HOURS_SHOWN.search(shown):
        return f"{minutes}:{seconds:02d}{fraction}"
    return f"{minutes // 60}:{minutes % 60:02d}:{seconds:02d}{fraction}"
