import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.reports import report_dict
from analyzer.reports.tables import TABLES, safe_cell, table_files

# Source: OWASP, CSV Injection, and ASVS 1.2.10 (the first seven); full-width forms beside them.
STARTS = ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]


def read(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))


@pytest.mark.parametrize("start", STARTS)
def test_formula_cells_are_neutralised(build, start):
    text = f'{start}HYPERLINK("http://x","y")'
    assert safe_cell(text) == "'" + text
    rows = read(table_files(build(text))["options.csv"])
    cells = [row["text"] for row in rows]
    assert not any(cell[:1] in STARTS for cell in cells)
    if start not in "\r":  # a carriage return is a control character: it is replaced before it gets here
        assert any(cell.startswith("'" + start) for cell in cells)


@given(st.text())
def test_no_cell_starts_a_formula(text):
    buffer = io.StringIO(newline="")
    csv.writer(buffer, quoting=csv.QUOTE_ALL, lineterminator="\r\n").writerow(["first", safe_cell(text)])
    second = next(csv.reader(io.StringIO(buffer.getvalue(), newline="")))[1]
    assert second[:1] not in STARTS
    assert second in (text, "'" + text)


def test_numbers_stay_numbers(audit):
    rows = read(table_files(audit)["sides.csv"])
    assert [float(row["right_seconds"]) for row in rows] == [28.0, 40.0]
    raw = table_files(audit)["calls.csv"].decode()
    assert ",15.0,24.0,9.0," in raw
    assert safe_cell(-2.5) == -2.5


def test_tables_hold_every_row_and_column_of_the_report(audit):
    report = report_dict(audit)
    files = table_files(audit)
    assert sorted(files) == ["calls.csv", "findings.csv", "intervals.csv", "options.csv", "sides.csv"]
    for name, header in TABLES.items():
        rows = read(files[f"{name}.csv"])
        assert len(rows) == len(report[name])
        assert tuple(rows[0]) == header
        assert set(header) == set(report[name][0])


def test_lines_end_as_rfc_4180_says(audit):
    content = table_files(audit)["sides.csv"]
    assert content.count(b"\r\n") == content.count(b"\n") == 3
