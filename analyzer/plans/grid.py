"""A table as bare cells of text: from CSV or a workbook's sheet to a Grid.

Sizes are capped before a library unpacks anything; formulas are never computed, their last values are read.
"""

from __future__ import annotations

import csv
import io
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from analyzer.model.errors import PlanError
from analyzer.plans.cells import COMMENT, value_text
from analyzer.plans.columns import find_column
from analyzer.plans.foreign import opens_plan
from analyzer.plans.mistakes import quote, refuse

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

MAX_ROWS = 10_000
MAX_COLUMNS = 200
MAX_UNPACKED = 30_000_000
SHEET = "Plan"
"""Name of the sheet that holds the plan."""
_DELIMITERS = (",", ";", "\t", "|")
_SAVE_AS = "save the plan as .xlsx, CSV or YAML"
_HEADERS = 2
"""A row with this many known headers, ``move`` or ``block`` among them, is the header row (our judgement)."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells by row and column, as text, "" where empty. Row 1 is the first; ``sheet`` is "" for CSV."""

    rows: tuple[tuple[str, ...], ...]
    sheet: str = ""

    def header(self) -> int | None:
        """Return the index of the header row: the first row that is neither empty nor a remark; None for none."""
        for index, row in enumerate(self.rows):
            if not is_remark(row):
                return index if _is_header(row) else None
        return None


def is_remark(row: tuple[str, ...]) -> bool:
    """Tell whether a row is empty, or a remark: its first cell starts with ``#``."""
    return not any(cell.strip() for cell in row) or row[0].lstrip().startswith(COMMENT)


def csv_grid(text: str, file: str) -> Grid | None:
    """Return a text as a grid when it is a plan's table in CSV; None when its first row is no header of one.

    The separator is a comma, semicolon, tab or upright bar: the one that finds the header.

    Raises
    ------
    PlanError
        When the table breaks off inside a quoted cell, or is far too large for a plan.
    """
    head = next((line for line in text.split("\n") if not _passed_over(line)), "")
    delimiter = next((mark for mark in _DELIMITERS if mark in head and _is_header(_first_row(head, mark))), None)
    if delimiter is None or opens_plan(head):
        return None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    rows: list[tuple[str, ...]] = []
    try:
        for row in reader:
            rows.append(tuple(row))
            _cap(len(rows), len(row), file, "")
    except csv.Error as error:
        place = f"row {len(rows) + 1}"
        raise refuse(file, 0, f"{place} is broken ({error})", "close every quoted cell, then save it again") from None
    return Grid(tuple(rows))


def workbook_grid(data: bytes, file: str) -> Grid:
    """Return the sheet of a workbook that holds the plan: the only one with a plan's header, or the one named Plan.

    Raises
    ------
    PlanError
        When the bytes are no .xlsx workbook, unpack to far more than a plan, or hold no such sheet.
    """
    _check_package(data, file)
    grids = _sheets(data, file)
    found = [grid for grid in grids if grid.header() is not None]
    named = [grid for grid in found if grid.sheet.strip().casefold() == SHEET.casefold()]
    if len(found) == 1 or len(named) == 1:
        return (named or found)[0]
    names = ", ".join(quote(grid.sheet) for grid in (found or grids))
    if not found:
        raise refuse(
            file, 0, f"no sheet starts with a row of a plan's headers (sheets: {names})", "start from the template"
        )
    raise refuse(file, 0, f"several sheets look like a plan: {names}", f"name the right one '{SHEET}'")


def _passed_over(line: str) -> bool:
    """Tell whether a line of CSV is an empty row or a remark, whatever its separator."""
    return not line.strip(' "\t,;|') or line.lstrip(' "').startswith(COMMENT)


def _first_row(line: str, delimiter: str) -> tuple[str, ...]:
    try:
        return tuple(next(csv.reader([line], delimiter=delimiter)))
    except csv.Error:
        return ()


def _is_header(row: tuple[str, ...]) -> bool:
    found = {match[0].name for match in map(find_column, row) if match is not None}
    return len(found) >= _HEADERS and not found.isdisjoint(("move", "block"))


def _check_package(data: bytes, file: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            entries = package.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        raise refuse(file, 0, "is a damaged workbook", _SAVE_AS) from None
    if not any(entry.filename.casefold() == "xl/workbook.xml" for entry in entries):
        raise refuse(file, 0, "is another kind of document, no .xlsx workbook", _SAVE_AS)
    if sum(entry.file_size for entry in entries) > MAX_UNPACKED:
        raise refuse(file, 0, f"unpacks to more than {MAX_UNPACKED:,} bytes", "a plan's workbook is far smaller")


def _sheets(data: bytes, file: str) -> list[Grid]:
    from openpyxl import load_workbook  # only paid for when a workbook is read

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what the library leaves out (styles, validation) is nothing of a plan's
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            return [Grid(tuple(_rows(book, name, file)), name) for name in book.sheetnames]
    except PlanError:
        raise
    except Exception as error:  # the library raises whatever a damaged part leads to
        raise refuse(file, 0, f"cannot be read as a workbook ({type(error).__name__})", _SAVE_AS) from error


def _rows(book: Workbook, name: str, file: str) -> Iterator[tuple[str, ...]]:
    sheet = book[name]
    if not hasattr(sheet, "reset_dimensions"):  # a sheet with a chart only
        return
    sheet.reset_dimensions()  # the size a sheet claims may be anything
    for number, row in enumerate(islice(sheet.iter_rows(max_col=MAX_COLUMNS + 1), MAX_ROWS + 1), start=1):
        texts = [value_text(cell.value, getattr(cell, "number_format", "") or "") for cell in row]
        while texts and not texts[-1]:
            texts.pop()
        _cap(number, len(texts), file, name)
        yield tuple(texts)


def _cap(rows: int, columns: int, file: str, sheet: str) -> None:
    found = ""
    if rows > MAX_ROWS:
        found = f"more than {MAX_ROWS:,} rows"
    elif columns > MAX_COLUMNS:
        found = f"more than {MAX_COLUMNS} columns"
    if found:
        place = f"sheet {quote(sheet)}: " if sheet else ""
        raise refuse(file, 0, f"{place}{found}", "delete what is no part of the plan")
