"""The report's tables as CSV files that a spreadsheet opens without running anything.

Cells are quoted after RFC 4180. A text cell that a spreadsheet could take for a formula gets a leading apostrophe:
see :mod:`analyzer.model.cells`. Numbers stay numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from analyzer.model.audit import Audit
from analyzer.model.cells import FORMULA_STARTS
from analyzer.reports.report_json import report_dict

TABLES: Mapping[str, tuple[str, ...]] = {
    "findings": (
        "id", "check", "severity", "verdict", "at", "until", "block", "round", "move", "side", "measured",
        "expected", "limit", "uncertainty", "unit", "message", "advice", "evidence", "say", "instead",
        "waived",
    ),
    "intervals": (
        "id", "block", "round", "move", "side", "status", "planned_start", "planned_seconds", "start", "end",
        "start_u", "end_u", "confidence",
    ),
    "calls": ("kind", "at", "u", "said", "actual", "error", "verdict", "interval", "text"),
    "options": ("direction", "at", "interval", "block", "move", "scope", "text"),
    "sides": ("block", "round", "move", "left_seconds", "right_seconds", "difference_percent", "verdict"),
}  # fmt: skip


def table_files(audit: Audit) -> dict[str, bytes]:
    """Return ``findings.csv`` and its four sisters as UTF-8 bytes, by file name."""
    report = report_dict(audit)
    return {f"{name}.csv": table_bytes(columns, report[name]) for name, columns in TABLES.items()}


def safe_cell(value: Any) -> Any:
    """Return a cell that no spreadsheet runs as a formula; numbers and None pass untouched.

    >>> safe_cell("=1+1"), safe_cell("-2 s"), safe_cell(-2.0), safe_cell("plank")
    ("'=1+1", "'-2 s", -2.0, 'plank')
    """
    if isinstance(value, str) and value and (value[0] in FORMULA_STARTS):
        return "'" + value
    return value


def table_bytes(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Return rows as a CSV file, the columns' names first."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([safe_cell(_cell(row[column])) for column in columns])
    return buffer.getvalue().encode("utf-8")


def _cell(value: Any) -> Any:
    if isinstance(value, list):  # evidence and what to say: words, in one cell
        return " / ".join(piece["text"] if isinstance(piece, dict) else piece for piece in value)
    return "" if value is None else value
