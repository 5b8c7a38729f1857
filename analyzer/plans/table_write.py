"""Writes a plan as a table, in CSV or as a workbook, and the blank template of each form with its explanations."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans.cells import COMMENT, to_cell, to_list_cell
from analyzer.plans.columns import CHOICES, Column, columns
from analyzer.plans.durations import print_duration
from analyzer.plans.grid import SHEET

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

HOW = (
    "One row a move, in the order of the class. A talk block is a row without a move.",
    "What belongs to the class stands once, on the first row; what belongs to a block, on the block's first row.",
    "Durations: 45s, 1m30s, 1:30 or a number of seconds. A spreadsheet time that shows as 1:30 is a minute and a half.",
    "Several texts in one cell: semicolons between them.",
    "An unused column may be deleted; a row whose first cell starts with # is not read.",
)
_WIDTHS = {"text": 22, "texts": 26, "duration": 11, "whole": 9, "choice": 12, "flag": 9}
_BLANK_ROWS = 400  # rows that get the choices of a column to pick from

Row = list[str | int]


def to_csv(plan: Plan) -> bytes:
    """Return the plan as a CSV table in UTF-8 with its mark, which spreadsheets need to read accents (RFC 4180).

    Reading it gives an equal plan; ``name`` and ``sha256`` are about a file and left out.
    """
    return _csv([[column.name for column in _written()], *_rows(plan)])


def to_workbook(plan: Plan | None) -> bytes:
    """Return the plan as an .xlsx workbook: a sheet of the plan, and one that explains the columns; None leaves it
    blank. Reading it gives an equal plan.
    """
    from openpyxl import Workbook  # only paid for when a workbook is written

    book = Workbook()
    book.properties.creator = "Recorded-class analyzer"
    sheet = book.active
    assert sheet is not None
    sheet.title = SHEET
    _fill(sheet, [[column.name for column in _written()], *([] if plan is None else _rows(plan))])
    _dress(sheet)
    _explain(book)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def template_csv() -> bytes:
    """Return a blank CSV table under remarks that explain it."""
    remarks = [*HOW, *(f"{c.name}: {c.holds} Left out: {c.left_out}. Example: {c.example or '-'}" for c in columns())]
    return _csv([*([f"{COMMENT} {remark}"] for remark in remarks), [column.name for column in columns()]])


def template_yaml() -> str:
    """Return a plan in YAML with an example in every field and, behind it, what the field means."""
    lines = [f"{COMMENT} {line}" for line in textwrap.wrap(_YAML_HOW, 100)]
    lines += [*_examples("plan", "")]
    lines += ["blocks:", "  - name: Hello", "    kind: talk", "    length: 20s"]
    lines += [*_examples("block", "  ", skip=("length",)), "    moves:", *_examples("move", "      ")]
    return "\n".join(lines) + "\n"


_YAML_HOW = (
    "Put your own class in the place of the example. Durations: 45s, 1m30s, 1:30 or a number of seconds. "
    "Add blocks and moves by copying their lines, from the dash on; delete the fields you do not need."
)


def _examples(of: str, indent: str, skip: tuple[str, ...] = ()) -> Iterator[str]:
    """Give a line a field: its example as YAML and what it holds. The first of a block or move opens a list's item."""
    for column in columns():
        if column.of != of or column.field in skip:
            continue
        value = f"[{column.example.replace(';', ',')}]" if column.type == "texts" else column.example
        remark = f"{column.holds.partition('. ')[0].rstrip('.')}. Left out: {column.left_out}."
        opener = "" if of == "plan" else "- " if column.field == "name" else "  "
        yield f"{indent}{opener}{column.field}: {value}  {COMMENT} {remark}"


def _written() -> tuple[Column, ...]:
    """Return the columns a plan fills: all but the notes."""
    return tuple(column for column in columns() if column.of != "note")


def _rows(plan: Plan) -> Iterator[Row]:
    """Give the rows below the header."""
    of_plan: dict[str, Any] = {
        "title": plan.title,
        "coach": plan.coach,
        "length": plan.length_s,
        "equipment": plan.equipment,
    }
    for block in plan.blocks:
        of_block = _block_values(block)
        for move in block.moves or (None,):
            values = {"plan": of_plan, "block": of_block, "move": {} if move is None else _move_values(move)}
            yield [_cell(column, values[column.of].get(column.field)) for column in _written()]
            of_plan, of_block = {}, {"name": block.name}


def _block_values(block: Block) -> dict[str, Any]:
    return {
        "name": block.name,
        "kind": block.kind,
        "length": block.length_s,
        "demo": block.demo_s or None,
        "rounds": block.rounds if block.moves else None,
        "rest_between_rounds": block.rest_between_rounds_s or None,
        "rest_after": block.rest_after_s or None,
        "quiet": block.quiet,
    }


def _move_values(move: Move) -> dict[str, Any]:
    return {
        "name": move.name,
        "also": move.also,
        "work": move.work_s,
        "rest": move.rest_s or None,
        "side": move.side,
        "effort": move.effort,
        "easier": move.easier,
        "harder": move.harder,
        "cues": move.cues,
        "quiet": move.quiet,
    }


def _cell(column: Column, value: Any) -> str | int:
    if not value:
        return ""
    if column.type == "texts":
        return to_list_cell(value)
    if column.type == "duration":
        return print_duration(value)
    if column.type == "whole":
        return int(value)
    return "yes" if value is True else to_cell(value)


def _csv(rows: list[Any]) -> bytes:
    buffer = io.StringIO(newline="")
    csv.writer(buffer, lineterminator="\r\n").writerows(rows)
    return buffer.getvalue().encode("utf-8-sig")


def _fill(sheet: Worksheet, rows: list[Any]) -> None:
    for number, row in enumerate(rows, start=1):
        for position, value in enumerate(row, start=1):
            if value != "":
                cell = sheet.cell(number, position, value)
                if isinstance(value, str):
                    cell.data_type = "s"  # never a formula, whatever it starts with


def _dress(sheet: Worksheet) -> None:
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    sheet.freeze_panes = "A2"
    for position, column in enumerate(_written(), start=1):
        letter = get_column_letter(position)
        sheet.cell(1, position).font = Font(bold=True)
        sheet.cell(1, position).alignment = Alignment(vertical="top")
        sheet.column_dimensions[letter].width = max(_WIDTHS[column.type], len(column.name) + 2)
        choices = ("yes", "no") if column.type == "flag" else CHOICES.get(column.name, ())
        if choices:
            picks = DataValidation(type="list", formula1=f'"{",".join(choices)}"', allow_blank=True)
            picks.add(f"{letter}2:{letter}{_BLANK_ROWS}")
            sheet.add_data_validation(picks)


def _explain(book: Workbook) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet("Help")
    head = ("column", "what it holds", "left out", "example", "other headers that are taken for it")
    rows = [(c.name, c.holds, c.left_out, c.example, ", ".join(c.also)) for c in columns()]
    _fill(sheet, [*((line,) for line in HOW), (), head, *rows])
    for cell in sheet[len(HOW) + 2]:
        cell.font = Font(bold=True)
    for letter, width in zip("ABCDE", (21, 60, 24, 24, 60), strict=True):
        sheet.column_dimensions[letter].width = width
    for row in sheet.iter_rows(min_row=len(HOW) + 3):
        for cell in row:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
