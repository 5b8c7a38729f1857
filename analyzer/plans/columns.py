"""The columns of a plan as a table, from ``columns.yaml``, and which header means which of them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from analyzer.language.files import read_yaml
from analyzer.plans.durations import parse_duration_s
from analyzer.plans.validate import EFFORTS, KINDS, SIDES

CHOICES: dict[str, tuple[str, ...]] = {"kind": KINDS, "side": SIDES, "effort": EFFORTS}
"""The words allowed in a column, by its name."""
NEEDED = ("title", "block", "kind", "move", "work")
_UNIT = re.compile(r"[(\[]\s*(s|secs?|seconds|m|mins?|minutes)\s*[)\]]\s*$", re.IGNORECASE)

Unit = Literal["", "s", "m"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: see ``columns.yaml`` for what each field means. ``unclear_from_s`` is in seconds, 0 for no limit."""

    name: str
    of: Literal["plan", "block", "move", "note"]
    field: str
    type: Literal["text", "texts", "duration", "whole", "choice", "flag"]
    also: tuple[str, ...]
    holds: str
    left_out: str
    example: str
    unclear_from_s: float = 0.0


@cache
def columns() -> tuple[Column, ...]:
    """Return all columns in the order they are written; read once a process."""
    return tuple(map(_column, read_yaml(Path(__file__).with_name("columns.yaml"))))


def find_column(header: str) -> tuple[Column, Unit] | None:
    """Return the column a header means, and the unit that it gives to plain numbers in brackets; None for no column.

    >>> column, unit = find_column(" Work-Time (min) ")
    >>> column.name, unit
    ('work', 'm')
    """
    unit = _UNIT.search(header)
    column = _by_header().get(_bare(_UNIT.sub("", header)))
    if column is None or (unit and column.type != "duration"):
        return None
    return column, ("" if unit is None else "m" if unit[1].lower().startswith("m") else "s")


def _column(entry: dict[str, Any]) -> Column:
    unclear_from = entry.pop("unclear_from", "0")
    return Column(**entry | {"also": tuple(entry["also"])}, unclear_from_s=parse_duration_s(unclear_from))


@cache
def _by_header() -> dict[str, Column]:
    return {_bare(header): column for column in columns() for header in (column.name, *column.also)}


def _bare(header: str) -> str:
    """Return a header's letters and digits alone, in lower case and without accents."""
    decomposed = unicodedata.normalize("NFKD", header.casefold())
    return "".join(char for char in decomposed if char.isalnum())
