"""Turns a plan's table, one row a move, into the tree that its YAML would give, or tells what is wrong with it.

What belongs to the class stands once, on any row; what belongs to a block on any of its rows. It may be repeated, but
not with another value. An empty block cell means the block of the row above.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from analyzer.plans.cells import duration_text, from_cell, from_list_cell
from analyzer.plans.columns import CHOICES, NEEDED, Column, Unit, columns, find_column
from analyzer.plans.fields import closest, fold
from analyzer.plans.grid import Grid, is_remark
from analyzer.plans.mistakes import Mistakes, Places, quote, refuse
from analyzer.plans.yaml_reader import Listing, Mapping, Node, Scalar

_PATH = re.compile(r"(blocks(?:\[[0-9]+\])?)?(?:\.?(moves)(?:\[[0-9]+\])?)?\.?([a-z_]*)")
_NO_SECOND_MISTAKE = "1m"  # stands where a duration was told to be wrong, so that it is told once

Entry = tuple[str, int, Node]
"""Name of a field, its row, its value."""


@dataclass(frozen=True, slots=True)
class Head:
    """Which columns a table has: by index the column and the unit of its plain numbers."""

    row: int
    """Number of the header row, from 1."""
    found: dict[int, tuple[Column, Unit]]


class TablePlaces(Places):
    """Tells a place of a table by sheet, row and column."""

    line_word = "row"

    def __init__(self, sheet: str) -> None:
        self.sheet = sheet
        self.letters: dict[str, str] = {}

    def tell(self, line: int, place: str) -> str:
        """Return the place in words; ``place`` is a field's path, as a plan in YAML has it, or ``column X``."""
        parts = [f"sheet {quote(self.sheet)}" if self.sheet else "", f"row {line}" if line else ""]
        name = place.removeprefix("column ") if place.startswith("column ") else _column_of(place)
        if name:
            letter = self.letters.get(name)
            parts.append(f"column {letter} ({name})" if letter else f"column {name}")
        return ", ".join(part for part in parts if part)


@dataclass(slots=True)
class _Open:
    """A block while its rows are read."""

    row: int
    entries: dict[str, Entry] = field(default_factory=dict)
    moves: list[Node] = field(default_factory=list)

    def key(self) -> tuple[str, ...]:
        """Return what tells this block from the next, () where it has no name."""
        return _key(self.entries["name"][2]) if "name" in self.entries else ()

    def node(self) -> Node:
        moves: list[Entry] = [("moves", self.row, Listing(self.row, tuple(self.moves)))] if self.moves else []
        return Mapping(self.row, (*self.entries.values(), *moves))


def read_table(grid: Grid, file: str) -> tuple[Node, Mistakes]:
    """Return a table as a plan's tree, and the mistakes that only a table can have.

    Raises
    ------
    PlanError
        When the header row has no columns that make a plan, a column twice, or one that is not known.
    """
    places = TablePlaces(grid.sheet)
    notes = Mistakes(file, places)
    head = _head(grid, places, file)
    plan: dict[str, Entry] = {}
    blocks: list[_Open] = []
    for number, row in enumerate(grid.rows[head.row :], start=head.row + 1):
        if is_remark(row):
            continue
        _note_beyond(row, number, head, notes)
        cells = _cells(row, number, head, notes)
        _fill(plan, cells, "plan", number, notes)
        _add_row(blocks, cells, number, notes)
    listed = Listing(head.row, tuple(block.node() for block in blocks))
    return Mapping(head.row, (*plan.values(), ("blocks", head.row, listed))), notes


def _head(grid: Grid, places: TablePlaces, file: str) -> Head:
    index = grid.header()
    if index is None:
        raise refuse(file, 0, "no row of headers was found", "start from the template", places)
    notes = Mistakes(file, places)
    found: dict[int, tuple[Column, Unit]] = {}
    names = [column.name for column in columns()]
    for position, cell in enumerate(grid.rows[index]):
        header = " ".join(cell.split())
        match = find_column(header)
        letter = _letter(position)
        if match is None:
            if header:
                meant = closest(header, names)
                hint = f", did you mean '{meant}'?" if meant else ""
                notes.add(index + 1, f"column {letter}", f"unknown column {quote(header)}{hint}", _listed(names))
        elif match[0].name in places.letters:
            first = places.letters[match[0].name]
            found_twice = f"a second column of '{match[0].name}', the first is {first}"
            notes.add(index + 1, f"column {letter}", found_twice, "delete or rename one of them")
        else:
            places.letters[match[0].name] = letter
            found[position] = match
    missing = [name for name in NEEDED if name not in places.letters]
    if missing:
        notes.add(index + 1, "", f"no column {' and no column '.join(missing)}", "put its name into the header row")
    notes.raise_if_any()
    return Head(index + 1, found)


def _cells(row: tuple[str, ...], number: int, head: Head, notes: Mistakes) -> list[tuple[Column, Node]]:
    """Return the filled cells of a row, each as the value its column is for."""
    filled = ((head.found[i], cell) for i, cell in enumerate(row) if i in head.found and cell.strip())
    return [(column, _value(column, unit, cell, number, notes)) for (column, unit), cell in filled]


def _value(column: Column, unit: Unit, cell: str, number: int, notes: Mistakes) -> Node:
    if column.type == "texts":
        return Listing(number, tuple(Scalar(number, text) for text in from_list_cell(cell)))
    if column.type == "duration":
        try:
            return Scalar(number, duration_text(cell, unit, column.unclear_from_s))
        except ValueError as error:
            found, _, allowed = str(error).partition("; ")
            notes.add(number, f"column {column.name}", found, allowed)
            return Scalar(number, _NO_SECOND_MISTAKE)
    if column.type == "choice":
        word = fold(cell)
        return Scalar(number, next((choice for choice in CHOICES[column.name] if fold(choice) == word), cell))
    return Scalar(number, from_cell(cell) if column.type == "text" else cell)


def _add_row(blocks: list[_Open], cells: list[tuple[Column, Node]], number: int, notes: Mistakes) -> None:
    name = next((value for column, value in cells if column.name == "block"), None)
    if not any(column.of in ("block", "move") for column, _ in cells):
        return
    if not blocks or (name is not None and _key(name) != blocks[-1].key()):
        blocks.append(_Open(number))
    block = blocks[-1]
    _fill(block.entries, cells, "block", number, notes)
    move = tuple((column.field, number, value) for column, value in cells if column.of == "move")
    if move:
        block.moves.append(Mapping(number, move))


def _fill(entries: dict[str, Entry], cells: list[tuple[Column, Node]], of: str, number: int, notes: Mistakes) -> None:
    """Keep what belongs to the class or to a block; what was there already must be the same."""
    for column, value in cells:
        if column.of != of:
            continue
        known = entries.setdefault(column.field, (column.field, number, value))
        if _key(known[2]) != _key(value):
            found = f"another {column.name} than in row {known[1]}"
            notes.add(
                number, f"column {column.name}", found, f"it is the same for the whole {_WHOLE[of]}: write it once"
            )


_WHOLE = {"plan": "class", "block": "block"}


def _note_beyond(row: tuple[str, ...], number: int, head: Head, notes: Mistakes) -> None:
    """Note the first value that stands under no header: nothing is left out in silence."""
    for position, cell in enumerate(row):
        if cell.strip() and position not in head.found:
            place = f"column {_letter(position)}"
            notes.add(number, place, f"{quote(cell)} stands under no header", "give the column a header or empty it")
            return


def _key(node: Node) -> tuple[str, ...]:
    items: Iterator[Node] = iter(node.items) if isinstance(node, Listing) else iter((node,))
    return tuple(fold(" ".join((item.text or "").split())) for item in items if isinstance(item, Scalar))


def _column_of(path: str) -> str:
    """Return the column that holds a field, by the field's path in YAML; "" for the plan as a whole."""
    match = _PATH.match(path)
    if match is None or not path:
        return ""
    of = "move" if match[2] else "block" if match[1] else "plan"
    name = match[3] or ("name" if match[2] else "")
    return next((column.name for column in columns() if (column.of, column.field) == (of, name)), "")


def _letter(position: int) -> str:
    """Return a column's letters.

    >>> _letter(0), _letter(25), _letter(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    position += 1
    while position:
        position, rest = divmod(position - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def _listed(names: list[str]) -> str:
    return "allowed: " + ", ".join(names)
