import json
import subprocess
import sys
from random import Random

import duckdb
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.library.folders import open_folder
from analyzer.library.store import Store, connect, read_table
from analyzer.library.tables import TABLES, class_lines, report_lines, tables_text
from analyzer.model.errors import AnalyzerError
from analyzer.reports import report_dict
from tests.library.conftest import results
from tests.reports.synthetic import audit as build

REPORT = report_dict(build())


def lines(key, mark="first", report=REPORT):
    """A class's rows; ``mark`` tells its versions apart."""
    row = {"class": key, "title": mark, "coach": "Coach A", "series": "spring", "date": "2026-03-14", "reason": ""}
    return class_lines(row | {"fingerprint": mark}) | report_lines(key, report)


@pytest.fixture
def folder(tmp_path):
    return open_folder(str(tmp_path / "it's [1] *"))  # a name that SQL and patterns would read otherwise


def test_an_empty_store_has_all_tables(folder):
    assert Store(folder).known() == {}
    with pytest.raises(AnalyzerError, match="holds no store"):
        connect(folder, must_exist=True)
    for table, columns in TABLES.items():
        frame = read_table(folder, table)
        assert (len(frame), list(frame)) == (0, [column.name for column in columns])


def test_a_report_is_kept_whole(folder):
    Store(folder).add([lines("a")])
    findings = read_table(folder, "findings")
    assert list(findings["id"]) == [finding["id"] for finding in REPORT["findings"]]
    assert list(findings["message"]) == [finding["message"] for finding in REPORT["findings"]]
    intervals = read_table(folder, "intervals").astype(object)
    for name in ("start", "end", "planned_start", "confidence"):
        told = [None if pd.isna(value) else value for value in intervals[name]]
        assert told == [interval[name] for interval in REPORT["intervals"]], name
    measures = read_table(folder, "measures").set_index("measure")["value"]
    assert measures.dropna().to_dict() == {k: v for k, v in REPORT["measures"].items() if v is not None}
    for table in ("calls", "options", "sides", "promises", "coverage"):
        assert len(read_table(folder, table)) == len(REPORT[table])


def test_other_readers_read_the_files(folder, tmp_path):
    """Parquet by pandas and pyarrow, which share no code with DuckDB."""
    store = Store(folder)
    store.add([lines("b"), lines("a")])
    (part,) = json.loads(folder.read("store/current.json"))["parts"]
    for table, columns in TABLES.items():
        path = folder.path(f"store/{part}/{table}.parquet")
        frame = pd.read_parquet(path, engine="pyarrow")
        assert list(frame) == [column.name for column in columns]
        assert list(frame["class"].unique()) == ["a", "b"]
    assert str(pd.read_parquet(folder.path(f"store/{part}/classes.parquet"))["date"].iloc[0])[:10] == "2026-03-14"


def test_the_last_version_of_a_class_counts(folder):
    store = Store(folder)
    store.add([lines("a"), lines("b")])
    store.add([lines("a", "second", REPORT | {"findings": []})])
    assert {key: known.fingerprint for key, known in store.known().items()} == {"a": "second", "b": "first"}
    assert set(read_table(folder, "findings")["class"]) == {"b"}
    assert len(read_table(folder, "measures")) == 2 * len(REPORT["measures"])
    before = {table: read_table(folder, table) for table in TABLES}
    store.settle()
    for table, frame in before.items():
        pd.testing.assert_frame_equal(read_table(folder, table), frame)
    assert len(json.loads(folder.read("store/current.json"))["parts"]) == 1


def test_a_class_that_goes_is_gone_from_all_tables(folder):
    store = Store(folder)
    store.add([lines("a"), lines("b")])
    store.settle({"a", "z"})
    for table in TABLES:
        assert set(read_table(folder, table)["class"]) <= {"b"}


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 2**32))
def test_order_and_portions_do_not_show(tmp_path_factory, seed):
    rng, root = Random(seed), tmp_path_factory.mktemp("stores")
    given_rows = [lines(f"class {n}") for n in range(6)]
    Store(open_folder(str(root / "one"))).add(given_rows)
    rng.shuffle(given_rows)
    store, at = Store(open_folder(str(root / "many"))), 0
    while at < len(given_rows):
        size = rng.randint(1, 3)
        store.add(given_rows[at : at + size])
        at += size
    store.settle()
    assert results(root / "one") == results(root / "many")


def test_a_reader_keeps_what_it_opened_and_sees_whole_commits(folder):
    store = Store(folder)
    store.add([lines("a")])
    reader = connect(folder)
    store.add([lines("b")])
    store.settle()
    assert reader.execute("SELECT count(*) FROM classes").fetchall() == [(1,)]
    assert connect(folder).execute("SELECT count(*) FROM classes").fetchall() == [(2,)]


def test_many_processes_read_while_one_writes(folder, tmp_path):
    Store(folder).add([lines("a")])
    code = (
        "import sys\nfrom analyzer.library.folders import open_folder\nfrom analyzer.library.store import connect\n"
        "for _ in range(10):\n"
        "    c = connect(open_folder(sys.argv[1]))\n"
        "    classes = {r[0] for r in c.execute('SELECT class FROM classes').fetchall()}\n"
        "    assert classes == {r[0] for r in c.execute('SELECT class FROM measures').fetchall()}, classes\n"
        "    assert 'a' in classes\n"
    )
    words = [sys.executable, "-c", code, folder.path("")]
    readers = [subprocess.Popen(words, stderr=subprocess.PIPE, text=True) for _ in range(2)]
    store = Store(folder)
    number = 0
    while any(reader.poll() is None for reader in readers):
        store.add([lines(f"b{number % 5}")])
        number += 1
    assert [reader.communicate()[1] for reader in readers] == ["", ""]
    assert number > 1


def test_what_a_killed_writer_left_goes_with_the_next_commit(folder):
    store = Store(folder)
    store.add([lines("a")])
    folder.write("store/part-0123456789abcdef", {"classes.parquet": b"half"})
    assert len(read_table(folder, "classes")) == 1
    Store(folder).add([lines("b")])
    assert not [name for name in folder.names("store") if "0123456789abcdef" in name]


def test_parts_that_were_current_stay_for_one_more_commit(folder):
    store = Store(folder)
    for key in "abc":
        store.add([lines(key)])
    store.settle()
    assert len({name.split("/")[1] for name in folder.names("store")} - {"current.json"}) == 4
    store.add([lines("d")])
    assert len({name.split("/")[1] for name in folder.names("store")} - {"current.json"}) == 2


def test_sql_joins_the_tables(folder):
    Store(folder).add([lines("a")])
    with connect(folder) as connection:
        rows = connection.execute(
            "SELECT coach, count(*) FROM findings JOIN classes USING (class) WHERE verdict = ? GROUP BY ALL", ["fail"]
        ).fetchall()
    assert rows == [("Coach A", sum(f["verdict"] == "fail" for f in REPORT["findings"]))]
    assert isinstance(connection, duckdb.DuckDBPyConnection)


def test_every_column_says_what_it_holds():
    text = tables_text()
    for table, columns in TABLES.items():
        assert f"## {table}\n" in text
        assert len({column.name for column in columns}) == len(columns)
        for column in columns:
            assert len(column.meaning) > 3
            assert f"| {column.name} | {column.kind} | {column.meaning} |" in text
        assert columns[0].name == "class"
