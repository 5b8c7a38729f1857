"""A stored ``report.json`` read back: what every export starts from, so that none needs another audit."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from analyzer.model.errors import ReportError
from analyzer.reports.report_json import SCHEMA, Json, validate_report

MAX_BYTES = 16 * 1024 * 1024  # an eight-hour class takes under 2 MB
LARGEST = 1e9  # seconds, words, percent: no number of a report comes near
_EXACT_DIGITS = 9
NAME = "report.json"
_AUDIT = "make it with class-analyzer audit"


def report_path(given: Path) -> Path:
    """Return the report's file: the one given, or ``report.json`` in the folder given."""
    return given / NAME if given.is_dir() else given


def read_report(path: Path) -> Json:
    """Return the report in a file, with every key that the schema needs.

    Raises
    ------
    ReportError
        When the file cannot be read, is over 16 MB, or is no report of this program.
    """
    try:
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        raise ReportError(path.name, "", f"cannot be read ({error.strerror})", f"give a {NAME}; {_AUDIT}") from error
    except ValueError as error:  # a NUL in the path
        raise ReportError(ascii(path.name), "", "is not a file name", f"give a {NAME}") from error
    if len(raw) > MAX_BYTES:
        raise ReportError(path.name, "", f"holds more than {MAX_BYTES // 2**20} MB", f"give a {NAME}; {_AUDIT}")
    return parse_report(raw, path.name)


def parse_report(raw: bytes, name: str) -> Json:
    """Return the report in a file's bytes; ``name`` is what errors call the file. Raises ReportError."""
    try:
        text = raw.decode("utf-8-sig")
        report = json.loads(text, parse_constant=_no_number, parse_float=_float, parse_int=_int)
    except UnicodeDecodeError as error:
        raise ReportError(name, f"byte {error.start}", "is not UTF-8 text", f"give a {NAME}; {_AUDIT}") from error
    except json.JSONDecodeError as error:
        raise ReportError(name, f"line {error.lineno}", f"is not JSON ({error.msg})", f"give a {NAME}") from error
    except (ValueError, RecursionError) as error:
        raise ReportError(name, "", f"is not JSON that can be used ({error})", f"give a {NAME}; {_AUDIT}") from error
    if not isinstance(report, dict) or report.get("schema") != SCHEMA:
        raise ReportError(name, "", "is not a report of a class", f"its schema must be {SCHEMA}; {_AUDIT}")
    mistakes = validate_report(report)
    if mistakes:
        more = f" and {len(mistakes) - 1} more" if len(mistakes) > 1 else ""
        raise ReportError(name, "", f"does not fit the report's schema: {mistakes[0]}{more}", f"{_AUDIT} again")
    return report


def recorded(report: Json) -> list[dict[str, Any]]:
    """Return the intervals that have a start and an end on the recording, in the order of time."""
    rows = [row for row in report["intervals"] if row["start"] is not None and row["end"] is not None]
    return sorted(rows, key=lambda row: (row["start"], row["end"]))


def length_s(report: Json) -> float:
    """Return the recording's length, seconds: as transcribed, or to the end of its last interval."""
    return float(max([report["timing"]["duration"], *(row["end"] for row in recorded(report))]))


def _no_number(word: str) -> float:
    raise ValueError(f"it holds {word[:20]}")


def _float(text: str) -> float:
    value = float(text)
    return value if abs(value) <= LARGEST else _no_number(text)


def _int(text: str) -> int:
    return int(_float(text)) if len(text) > _EXACT_DIGITS else int(text)
