"""The store: what all audits of a library found, as Parquet tables that DuckDB, pandas and others read.

Layout below the store's folder: ``current.json`` names the parts that count, each a folder with one Parquet file a
table. A part is written whole before ``current.json``, replaced in one step, names it; so a reader never sees half of
one, and what a killed writer leaves is named nowhere and goes with the next commit. Of a class that stands in several
parts the last counts. :meth:`Store.settle` makes them one part, where each class stands once, sorted: the same classes
give the same bytes, in whatever order and in how many runs they came. Parts that were current before the last commit
stay until the next, for those who are still reading them.
"""

from __future__ import annotations

import hashlib
import json
import tempfile
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analyzer.library.folders import Folder, RemoteFolder, missing_extra
from analyzer.library.tables import TABLES, Lines
from analyzer.model.errors import AnalyzerError
from analyzer.reports.report_json import json_bytes

if TYPE_CHECKING:
    import duckdb
    import pandas

SCHEMA = "class-analyzer/store/1"
STORE = "store"
_CURRENT = "current.json"
_OFFLINE: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
}


@dataclass(frozen=True, slots=True)
class Known:
    """What the store knows of a class without its tables."""

    fingerprint: str
    reason: str


class Store:
    """The writer. One at a time: see ``lock`` in :mod:`analyzer.library.run`."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._parts = _pointer(folder)

    def known(self) -> dict[str, Known]:
        """Return every class in the store by its key."""
        with connect(self._folder) as connection:
            rows = connection.execute("SELECT class, fingerprint, reason FROM classes").fetchall()
        return {key: Known(fingerprint, reason) for key, fingerprint, reason in rows}

    def add(self, lines: Sequence[Lines]) -> None:
        """Commit some classes, new or audited again: all of them or, when this is cut short, none."""
        if not lines:
            return
        with _database() as connection, tempfile.TemporaryDirectory(prefix="part-") as temp:
            for table in TABLES:
                _load(connection, table, (part.get(table, b"") for part in lines), Path(temp))
            part = self._write(_parquet(connection, Path(temp)))
        self._commit((*(p for p in self._parts if p != part), part))

    def settle(self, gone: Collection[str] = ()) -> None:
        """Make all parts one, without the classes in ``gone``; nothing happens where that is so already."""
        if not self._parts or (len(self._parts) == 1 and not gone):
            return
        with connect(self._folder) as connection, tempfile.TemporaryDirectory(prefix="part-") as temp:
            connection.execute("CREATE TEMP TABLE gone (class VARCHAR)")
            if gone:
                connection.executemany("INSERT INTO gone VALUES (?)", [[key] for key in sorted(gone)])
            part = self._write(_parquet(connection, Path(temp), "WHERE class NOT IN (SELECT class FROM gone)"))
        self._commit((part,))

    def _write(self, files: Mapping[str, bytes]) -> str:
        """Write a part and return its name, which follows from its content."""
        digest = hashlib.sha256()
        for name, content in sorted(files.items()):
            digest.update(f"{name} {len(content)} ".encode() + content)
        part = f"part-{digest.hexdigest()[:16]}"
        self._folder.write(f"{STORE}/{part}", files)
        return part

    def _commit(self, parts: tuple[str, ...]) -> None:
        self._folder.write(STORE, {_CURRENT: json_bytes({"schema": SCHEMA, "parts": list(parts)})})
        kept = {*parts, *self._parts}
        self._parts = parts
        self._sweep(kept)

    def _sweep(self, kept: set[str]) -> None:
        found = {name.split("/")[1] for name in self._folder.names(STORE) if name.count("/") > 1}
        for part in sorted(found - kept):
            self._folder.remove(f"{STORE}/{part}")


def connect(folder: Folder, *, must_exist: bool = False) -> duckdb.DuckDBPyConnection:
    """Return a DuckDB connection with one view a table (:data:`analyzer.library.tables.TABLES`), each class once.

    A folder without a store has all tables, empty, unless it ``must_exist``.

    Raises
    ------
    AnalyzerError
        When DuckDB is not installed, the store is of another form, or missing though it must exist.
    """
    parts = _pointer(folder)
    if must_exist and not parts:
        raise AnalyzerError(folder.address, "", "holds no store", "give what 'class-analyzer library audit' wrote to")
    connection = _database()
    if isinstance(folder, RemoteFolder):
        connection.register_filesystem(folder.files)
    for table, columns in TABLES.items():
        names = ", ".join(f'"{column.name}"' for column in columns)
        empty = ", ".join(f'NULL::{column.kind} AS "{column.name}"' for column in columns)
        paths = [_quoted(folder.path(f"{STORE}/{part}/{table}.parquet")) for part in parts]
        selects = [f"SELECT {names}, {n} AS part FROM read_parquet({path})" for n, path in enumerate(paths)]
        selects = selects or [f"SELECT {empty}, 0 AS part WHERE false"]
        connection.execute(f"CREATE VIEW all_{table} AS {' UNION ALL '.join(selects)}")
        if table == "classes":
            connection.execute("CREATE VIEW newest AS SELECT class, max(part) AS part FROM all_classes GROUP BY class")
        connection.execute(
            f"CREATE VIEW {table} AS SELECT {names} FROM all_{table} AS a SEMI JOIN newest AS n "
            "ON a.class = n.class AND a.part = n.part"
        )
    return connection


def read_table(folder: Folder, table: str) -> pandas.DataFrame:
    """Return a table of the store, by class and row. Raises KeyError for a table that does not exist."""
    with connect(folder) as connection:
        return connection.execute(f"SELECT * FROM {table} ORDER BY {_order(table)}").df()


def _pointer(folder: Folder) -> tuple[str, ...]:
    """Return the current parts, the oldest first."""
    try:
        pointer: Any = json.loads(folder.read(f"{STORE}/{_CURRENT}"))
    except FileNotFoundError:
        return ()
    except (OSError, ValueError) as error:
        raise _damaged(folder, f"cannot be read ({error})") from error
    if not isinstance(pointer, dict) or pointer.get("schema") != SCHEMA:
        raise _damaged(folder, f"is not of the form {SCHEMA}")
    return tuple(map(str, pointer["parts"]))


def _damaged(folder: Folder, found: str) -> AnalyzerError:
    return AnalyzerError(
        folder.path(f"{STORE}/{_CURRENT}"), "", found, "choose another folder, or audit into a new one"
    )


def _database() -> duckdb.DuckDBPyConnection:
    try:
        import duckdb
    except ImportError as error:
        raise missing_extra("library", "duckdb") from error
    return duckdb.connect(":memory:", config=_OFFLINE | {"temp_directory": tempfile.gettempdir()})


def _load(connection: duckdb.DuckDBPyConnection, table: str, lines: Iterable[bytes], temp: Path) -> None:
    """Make a table of rows that are JSON lines."""
    typed = ", ".join(f'"{column.name}" {column.kind}' for column in TABLES[table])
    connection.execute(f"CREATE TABLE {table} ({typed})")
    path = temp / f"{table}.jsonl"
    with path.open("wb") as stream:
        stream.writelines(lines)
    if path.stat().st_size:
        kinds = ", ".join(f"'{column.name}': '{column.kind}'" for column in TABLES[table])
        connection.execute(
            f"INSERT INTO {table} SELECT * FROM "
            f"read_json({_quoted(str(path))}, format = 'newline_delimited', columns = {{{kinds}}})"
        )


def _parquet(connection: duckdb.DuckDBPyConnection, temp: Path, where: str = "") -> dict[str, bytes]:
    """Return every table as a sorted Parquet file, by file name.

    One thread, and the rows in one piece first: the pieces in which they come would show in the file's bytes.
    """
    connection.execute("SET threads = 1")
    files = {}
    for table in TABLES:
        path = temp / f"{table}.parquet"
        rows = f"SELECT * FROM {table} {where} ORDER BY {_order(table)}"
        connection.execute(f"CREATE OR REPLACE TEMP TABLE sorted AS {rows}")
        connection.execute(f"COPY sorted TO {_quoted(str(path))} (FORMAT parquet, COMPRESSION zstd)")
        files[path.name] = path.read_bytes()
    return files


def _order(table: str) -> str:
    """Return the columns that tell every row of a table from the others."""
    return {"classes": "class", "measures": "class, measure"}.get(table) or f"class, {TABLES[table][1].name}"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
