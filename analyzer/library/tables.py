"""The tables of the store: their columns, types and meaning in one place, and a report as their rows.

Times are seconds from the start of the recording. Every table begins with ``class``; ``row`` counts within a class
from 0, in the order of the report.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal["VARCHAR", "DOUBLE", "INTEGER", "DATE"]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name, its SQL type, and what stands in it."""

    name: str
    kind: Kind
    meaning: str


def _columns(*rows: str) -> tuple[Column, ...]:
    """Read columns written as ``name type: meaning``."""
    kinds: dict[str, Kind] = {"text": "VARCHAR", "number": "DOUBLE", "whole": "INTEGER", "date": "DATE"}
    out = []
    for row in rows:
        left, _, meaning = row.partition(": ")
        name, _, kind = left.partition(" ")
        out.append(Column(name, kinds[kind], meaning))
    return tuple(out)


_CLASS = ("class text: the class: its recording's path in the folder, without extension",)
_ROW = (*_CLASS, "row whole: place in the report, from 0")
_PLACE = (
    "block text: block of the plan",
    "round whole: round of the block, from 1",
    "move text: move of the plan",
)

TABLES: Mapping[str, tuple[Column, ...]] = {
    "classes": _columns(
        *_CLASS,
        "title text: title of the plan; empty where the class could not be audited",
        "coach text: from the manifest, else from the plan",
        "series text: from the manifest, else the recording's folder",
        "date date: from the manifest, else the start of the recording's name",
        "reason text: why the class could not be audited; empty where it was",
        "recording text: file name of the recording",
        "plan text: file name of the plan",
        "grain text: what carries the times: word, cue (a caption) or stamp",
        "high whole: findings that stand, of high severity",
        "medium whole: findings that stand, of medium severity",
        "low whole: findings that stand, of low severity",
        "unclear whole: findings the timing could not decide",
        "waived whole: findings accepted with a reason",
        "fingerprint text: hash of all that the audit came from: inputs, rules, language, version",
    ),
    "measures": _columns(
        *_CLASS,
        "measure text: name of the total, as in the report's measures",
        "value number: its value; empty where it could not be measured",
    ),
    "intervals": _columns(
        *_ROW,
        "id text: id in the report",
        *_PLACE,
        "side text: left or right, where it has one",
        "status text: worked, missing or extra",
        "planned_start number: start by the plan, laid on the first worked interval",
        "planned_seconds number: work by the plan",
        "start number: real start",
        "end number: real end",
        "start_u number: standard uncertainty of the start",
        "end_u number: standard uncertainty of the end",
        "confidence number: 0 to 1",
    ),
    "findings": _columns(
        *_ROW,
        "id text: stable id: the same place gives the same id in every audit",
        "check text: name of the check",
        "severity text: high, medium or low",
        "verdict text: fail, or unclear where the timing cannot decide",
        "at number: where it starts",
        "until number: where it ends",
        *_PLACE,
        "side text: left or right, where it has one",
        "measured number: in the finding's unit",
        "expected number: in the finding's unit",
        "limit number: what was tolerated, in the finding's unit",
        "uncertainty number: U, twice the standard uncertainty",
        "unit text: unit of the four before",
        "message text: what was found",
        "advice text: what mends it",
        "waived text: why it may stay; empty where it is not waived",
    ),
    "calls": _columns(
        *_ROW,
        "kind text: left, gone, half or count",
        "at number: when it was said",
        "u number: standard uncertainty of that",
        "said number: seconds said",
        "actual number: seconds real",
        "error number: actual less said",
        "verdict text: pass, fail or unclear",
        "interval text: id of the interval it was said in",
        "text text: the words",
    ),
    "options": _columns(
        *_ROW,
        "direction text: easier or harder",
        "at number: when it was offered",
        "interval text: id of the interval it was offered for",
        "block text: block of the plan",
        "move text: move of the plan",
        "scope text: move or block",
        "text text: the words",
    ),
    "sides": _columns(
        *_ROW,
        *_PLACE,
        "left_seconds number: work on the left",
        "right_seconds number: work on the right",
        "difference_percent number: of the longer side",
        "verdict text: pass, fail or unclear",
    ),
    "promises": _columns(
        *_ROW,
        "kind text: rounds, moves, seconds or options",
        "said number: what was announced",
        "delivered number: what came",
        "at number: when it was said",
        "block text: block of the plan",
        "verdict text: pass, fail or unclear",
        "text text: the words",
    ),
    "coverage": _columns(
        *_ROW,
        *_PLACE,
        "options whole: easier options a hard move got in this round",
        "first_fraction number: when the first came, as a share of the work; under 0 is before it",
    ),
}
"""Table -> its columns."""

Lines = dict[str, bytes]
"""Table -> rows, a JSON object a line."""


def tables_text() -> str:
    """Return what the tables hold, as Markdown."""
    parts = []
    for table, columns in TABLES.items():
        rows = [f"| {c.name} | {c.kind} | {c.meaning} |" for c in columns]
        parts.append("\n".join([f"## {table}", "", "| column | type | content |", "| --- | --- | --- |", *rows]))
    return "\n\n".join(parts) + "\n"


def class_lines(row: Mapping[str, Any]) -> Lines:
    """Return the one row of ``classes`` that tells of a class."""
    return {"classes": _lines("classes", [row])}


def report_lines(key: str, report: Mapping[str, Any]) -> Lines:
    """Return the rows of every table but ``classes``, from a report as ``report_dict`` makes it."""
    measures = [{"measure": name, "value": value} for name, value in report["measures"].items()]
    lines = {"measures": _lines("measures", [{"class": key} | row for row in measures])}
    for table in TABLES:
        if table not in ("classes", "measures"):
            lines[table] = _lines(table, [{"class": key, "row": n} | row for n, row in enumerate(report[table])])
    return lines


def _lines(table: str, rows: Iterable[Mapping[str, Any]]) -> bytes:
    names = [column.name for column in TABLES[table]]
    return b"".join(
        json.dumps({name: row.get(name) for name in names}, ensure_ascii=False).encode("utf-8") + b"\n" for row in rows
    )
