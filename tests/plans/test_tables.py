"""Plans as tables: CSV and workbooks, there and back, and as people and spreadsheets really write them."""

from __future__ import annotations

import csv
import datetime as dt
import io
import shutil
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.model.errors import PlanError
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import WRITERS, read_plan, to_csv, to_workbook, to_yaml
from analyzer.plans.columns import columns
from analyzer.plans.table_write import template_csv, template_yaml
from tests.plans.strategies import PLANS

SAMPLES = sorted(Path("sample_data").glob("*/plan.yaml"))
HEADER = "title,block,kind,length,move,work,rest,side,easier\n"
SMALL = HEADER + "Pier Legs,Hello,talk,20s,,,,,\n,Steps,main,,Step-up,45s,10,each,hold on; lower\n,,,,March,1:30,,,\n"
PLAN = Plan(
    "Pier Legs",
    (
        Block("Hello", "talk", length_s=20.0),
        Block(
            "Steps",
            "main",
            moves=(
                Move("Step-up", 45.0, rest_s=10.0, side="each", easier=("hold on", "lower")),
                Move("March", 90.0),
            ),
        ),
    ),
)


def _bare(plan: Plan) -> Plan:
    return replace(plan, name="", sha256="")


def _read(folder: Path, data: str | bytes, name: str = "plan.csv") -> Plan:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return _bare(read_plan(path))


def _mistakes(folder: Path, data: str | bytes, name: str = "plan.csv") -> list[str]:
    with pytest.raises(PlanError, match=r"plan\.") as caught:
        _read(folder, data, name)
    return [str(mistake).removeprefix(str(folder / name)) for mistake in caught.value.mistakes]


def _workbook(rows: list[list[Any]], formats: dict[str, str] | None = None, sheet: str = "Plan") -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(row)
    for cell, number_format in (formats or {}).items():
        page[cell].number_format = number_format
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)
@given(PLANS)
def test_round_trip_through_every_form(tmp_path: Path, plan: Plan) -> None:
    """YAML to CSV to a workbook and back to YAML: what is read is equal at every step."""
    for form in ("yaml", "csv", "xlsx", "yaml"):
        plan_again = _read(tmp_path, WRITERS[form](plan), f"plan.{form}")
        assert plan_again == plan


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_other_readers_find_the_same_cells(sample: Path, form: str) -> None:
    """pandas as an outside judge: a row a move or talk block, headers as named, every duration readable."""
    plan = read_plan(sample)
    data = io.BytesIO(WRITERS[form](plan))
    options: dict[str, Any] = {"dtype": str, "keep_default_na": False}
    frame = pd.read_csv(data, **options) if form == "csv" else pd.read_excel(data, sheet_name="Plan", **options)
    assert list(frame.columns) == [column.name for column in columns() if column.of != "note"]
    assert [name for name in frame["move"] if name] == [move.name for block in plan.blocks for move in block.moves]
    assert list(dict.fromkeys(frame["block"])) == [block.name for block in plan.blocks]
    assert len(frame) == sum(len(block.moves) or 1 for block in plan.blocks)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
def test_a_workbook_saved_again_by_openpyxl_reads_the_same(sample: Path, tmp_path: Path) -> None:
    plan = _bare(read_plan(sample))
    book = openpyxl.load_workbook(io.BytesIO(to_workbook(plan)))
    book.save(tmp_path / "plan.xlsx")
    assert _bare(read_plan(tmp_path / "plan.xlsx")) == plan


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("saved_as", ["csv", "xlsx"])
def test_a_table_saved_by_libreoffice_reads_the_same(form: str, saved_as: str, tmp_path: Path) -> None:
    """LibreOffice as an outside judge: it opens our table and saves it in its own way."""
    plans = {path.parent.name: _bare(read_plan(path)) for path in SAMPLES}
    odd = Move("=1+1", 61.5, also=("010", "1:30", "-2", "@a", "a; b"), side="each", cues=('say "now"', "'tis", "1e5"))
    plans["odd"] = Plan("2024-01-01", (Block("#1", "main", moves=(odd, Move("TRUE", 45.0))),))
    (tmp_path / "in").mkdir()
    for name, plan in plans.items():
        (tmp_path / "in" / f"{name}.{form}").write_bytes(WRITERS[form](plan))
    target = "csv:Text - txt - csv (StarCalc):44,34,76,1" if saved_as == "csv" else "xlsx"
    home = f"-env:UserInstallation=file://{tmp_path}/home"
    filters = ["--infilter=CSV:44,34,76,1"] if form == "csv" else []  # comma, double quote, UTF-8, from row 1
    command = ["soffice", home, "--headless", *filters, "--convert-to", target, "--outdir", str(tmp_path / "out")]
    subprocess.run([*command, *map(str, (tmp_path / "in").iterdir())], check=True, capture_output=True, timeout=120)
    read = {name: _bare(read_plan(tmp_path / "out" / f"{name}.{saved_as}")) for name in plans}
    assert read == plans


@pytest.mark.parametrize(
    "text",
    [
        SMALL,
        "\ufeff" + SMALL,
        SMALL.replace("\n", "\r\n"),
        SMALL.replace(";", "\n").replace("hold on\n lower", '"hold on\nlower"'),
        SMALL.replace(";", "/").replace(",", ";").replace("hold on/ lower", '"hold on; lower"'),
        SMALL.replace(",", "\t"),
        '# made on Monday\n,,,\n" "\n\n' + SMALL.replace("\n,,,,March", "\n# a remark\n,,,,March"),
        SMALL.replace("title,block", " Class Title,BLOCK-NAME").replace("move,work,rest", "Exercise,Work time,Rest(s)"),
        SMALL.replace("length", "Talk_Length").replace("\n,,,,March", "\n,steps,MAIN,,March").replace("main", "Main"),
        SMALL.replace("easier", "easier,notes").replace("lower", "lower,ask first"),
        SMALL.replace("work", "work (min)").replace("45s", "0.75").replace("1:30", "1.5"),
        SMALL.replace("10,each", '"10,0",each'),
    ],
    ids=["plain", "utf-8 mark", "crlf", "lines in a cell", "semicolons", "tabs", "remarks", "headers", "repeated",
         "notes", "minutes", "decimal comma"],
)  # fmt: skip
def test_the_same_plan_in_many_hands(text: str, tmp_path: Path) -> None:
    assert _read(tmp_path, text) == PLAN


@pytest.mark.parametrize(
    ("value", "number_format", "seconds"),
    [
        (45, "General", 45.0),
        (45.5, "General", 45.5),
        ("45s", "General", 45.0),
        ("1:30", "@", 90.0),
        (dt.time(0, 0, 45), "h:mm:ss", 45.0),
        (dt.time(0, 1, 30), "hh:mm:ss", 90.0),
        (dt.time(0, 1, 30), "mm:ss", 90.0),
        (dt.time(0, 5), "mm:ss", 300.0),
        (dt.time(0, 0, 22, 500_000), "mm:ss.0", 22.5),
        (dt.time(1, 30), "h:mm", 90.0),  # 1:30 was typed and shows: a minute and a half
        (dt.time(0, 45), "h:mm", 45.0),
        (dt.time(0, 1, 30), "h:mm:ss AM/PM", 90.0),
        (dt.timedelta(seconds=90), "[h]:mm:ss", 90.0),
        (dt.timedelta(minutes=12), "[mm]:ss", 720.0),
    ],
)
def test_durations_of_a_workbook(value: Any, number_format: str, seconds: float, tmp_path: Path) -> None:
    data = _workbook(
        [["title", "block", "kind", "move", "work"], ["T", "A", "main", "Squat", value]], {"E2": number_format}
    )
    assert _read(tmp_path, data, "plan.xlsx").blocks[0].moves[0].work_s == seconds


def test_numbers_and_truth_values_of_a_workbook(tmp_path: Path) -> None:
    head = ["title", "class length", "block", "kind", "rounds", "block quiet", "move", "work", "quiet"]
    rows = [head, [2026, dt.time(0, 20), "A", "Warm up", 2.0, True, 100, 45, "no"]]
    plan = _read(tmp_path, _workbook(rows, {"B2": "h:mm:ss"}), "plan.xlsx")
    assert plan == Plan("2026", (Block("A", "warm-up", rounds=2, quiet=True, moves=(Move("100", 45.0),)),), "", 1200.0)


def test_the_sheet_is_found_among_others(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(to_workbook(PLAN)))
    book.create_sheet("Fees", 0).append(["member", "fee"])
    book.create_chartsheet("Chart").add_chart(openpyxl.chart.BarChart())
    book.save(tmp_path / "one.xlsx")
    assert _bare(read_plan(tmp_path / "one.xlsx")) == PLAN
    book["Plan"].title = "Monday"
    book.create_sheet("Old").append(["title", "block", "kind", "move", "work"])
    book.save(tmp_path / "two.xlsx")
    with pytest.raises(PlanError, match="several sheets look like a plan: 'Monday', 'Old'; name the right one 'Plan'"):
        read_plan(tmp_path / "two.xlsx")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("45s", "soon", ", row 3, column F (work): 'soon' is not a duration; a duration such as 45s"),
        ("45s", "", ", row 3, column F (work): missing; a duration such as 45s"),
        ("45s", "0.000520833", "'0.000520833' is less than a second; write it with its unit, as in 45s"),
        ("45s", "0:45:00", "'0:45:00' may be 45s that the spreadsheet took for 45m; write 45s or 45m"),
        ("1:30", "#REF!", ", row 4, column F (work): '#REF!' is not a duration"),
        ("each", "eech", ", row 3, column H (side): 'eech' is no side, did you mean 'each'?; allowed: both"),
        ("Step-up", "", ", row 3, column E (move): missing; some text is needed"),
        ("March", "step up", ", row 4, column E (move): this block already has a move 'step up', in row 3"),
        ("main", "mane", ", row 3, column C (kind): 'mane' is no kind, did you mean 'main'?"),
        (",Steps,main", ",Steps,", ", row 3, column C (kind): missing; allowed: talk"),
        ("Hello", "", ", row 2, column B (block): missing"),
        ("20s", "", ", row 2, column D (length): missing"),
        ("main,", "main,5s", ", row 3, column D (length): only a talk block has a length"),
        ("Pier Legs", "", ", column A (title): missing"),
        (",,,,March", "Other,,,,March", ", row 4, column A (title): another title than in row 2; it is the same for"),
        (",,,,March", ",,talk,,March", ", row 4, column C (kind): another kind than in row 3; it is the same for"),
        (",,,,March", ",Hello,talk,5s,\n,Last,main,,March", ", row 4, column B (block): the plan already has a block"),
        ("1:30,,,", "1:30,,,,more", ", row 4, column J: 'more' stands under no header; give the column a header"),
        ("easier", "easyer", ", row 1, column I: unknown column 'easyer', did you mean 'easier'?; allowed: title"),
        ("easier", "rest time", ", row 1, column I: a second column of 'rest', the first is G"),
        ("work", "notes", ", row 1: no column work; put its name into the header row"),
        ("rest", "side (s)", "row 1, column G: unknown column 'side (s)', did you mean 'side'?"),
        ("hold on", '"hold on', ": row 3 is broken (unexpected end of data); close every quoted cell"),
        ("March", "M\x1b[31m", "line 4: holds the control character U+001B"),
        ("March", "M" * 301, ", row 4, column E (move): 301 characters; at most 300 are allowed"),
    ],
)  # fmt: skip
def test_one_mistake_gives_one_line_with_row_and_column(old: str, new: str, told: str, tmp_path: Path) -> None:
    lines = _mistakes(tmp_path, SMALL.replace(old, new, 1))
    assert len(lines) == 1
    assert told in lines[0]


def test_a_workbook_s_mistake_names_its_sheet(tmp_path: Path) -> None:
    rows = [row.split(",") for row in SMALL.replace("45s", "soon").splitlines()]
    lines = _mistakes(tmp_path, _workbook(rows, sheet="Monday"), "plan.xlsx")
    assert lines == [
        ", sheet 'Monday', row 3, column F (work): 'soon' is not a duration; "
        "a duration such as 45s, 1m30s, 1:30 or 90 (seconds) is allowed"
    ]


def test_only_the_first_cell_makes_a_row_a_remark(tmp_path: Path) -> None:
    plan = _read(tmp_path, SMALL.replace("March", "#1 march"))
    assert [move.name for move in plan.blocks[1].moves] == ["Step-up", "#1 march"]


def test_a_title_that_reads_like_headers_leaves_yaml_yaml(tmp_path: Path) -> None:
    plan = replace(PLAN, title="title, block, move")
    assert _read(tmp_path, to_yaml(plan).replace('"', ""), "plan.yaml") == plan


def test_mistakes_come_at_once_in_the_order_of_rows(tmp_path: Path) -> None:
    lines = _mistakes(tmp_path, SMALL.replace("1:30", "0:45:00").replace("45s", "soon").replace("20s", "no"))
    assert [line.split(":")[0] for line in lines] == [
        ", row 2, column D (length)",
        ", row 3, column F (work)",
        ", row 4, column F (work)",
    ]


def _package(files: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in files.items():
            package.writestr(name, content)
    return buffer.getvalue()


def _with_part(name: str, content: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(to_workbook(PLAN))) as package:
        return _package({part: package.read(part) for part in package.namelist()} | {name: content})


_ENTITIES = b"""<?xml version="1.0"?><!DOCTYPE s [
<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>
<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>
<row r="1"><c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>"""


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"PK\x03\x04rest", "is a damaged workbook"),
        (_package({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet"}), "another kind of document"),
        (_package({"xl/workbook.xml": b"<a"}), "cannot be read as a workbook"),
        (_package({"xl/workbook.xml": b"\0" * 31_000_000}), "unpacks to more than 30,000,000 bytes"),
        (_with_part("xl/worksheets/sheet1.xml", _ENTITIES), "cannot be read as a workbook"),
        (
            _workbook([["member", "fee"]], sheet="Fees"),
            "no sheet starts with a row of a plan's headers (sheets: 'Fees')",
        ),
        (_workbook([["title", "block"], [*"a" * 300]]), "sheet 'Plan': more than 200 columns"),
        (_workbook([[]] * 10_001 + [["a"]]), "sheet 'Plan': more than 10,000 rows"),
    ],
    ids=["cut", "other office", "damaged part", "bomb", "entities", "no plan", "wide", "long"],
)
def test_a_workbook_that_holds_no_plan(data: bytes, told: str, tmp_path: Path) -> None:
    (line,) = _mistakes(tmp_path, data, "plan.xlsx")
    assert told in line


def test_no_cell_runs_as_a_formula() -> None:
    """OWASP, CSV Injection: first characters that may start a formula."""
    names = ["=1+1", "+1", "-1", "@a", "\uff1d1", "a", "'=1"]
    plan = Plan("=T", (Block("-A", "main", moves=tuple(Move(name, 45.0, also=(name, "b")) for name in names)),))
    rows = csv.reader(io.StringIO(to_csv(plan).decode("utf-8-sig"), newline=""))
    assert not [cell for row in rows for cell in row if cell[:1] in tuple("=+-@\uff1d")]
    sheet = openpyxl.load_workbook(io.BytesIO(to_workbook(plan)))["Plan"]
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None} <= {"s", "n"}


def test_the_blank_templates_explain_every_column_and_become_a_plan_when_filled(tmp_path: Path) -> None:
    names = [column.name for column in columns()]
    blank = template_csv().decode("utf-8-sig")
    assert all(f"# {name}: " in blank.replace('"', "") for name in names)
    told = [line.split(": ", 1)[1] for line in _mistakes(tmp_path, blank)]
    assert told == ["missing; some text is needed", "missing; a list of blocks is needed"]
    example = ",".join(f'"{column.example}"' if column.name != "length" else "" for column in columns())
    plan = _read(tmp_path, f"{blank}{example}\r\n")
    assert (plan.title, plan.length_s, plan.equipment) == ("Pier Legs", 1200.0, ("mat", "chair"))
    assert plan.blocks[0].moves[0].side == "each"
    book = openpyxl.load_workbook(io.BytesIO(to_workbook(None)))
    assert [cell.value for cell in book["Plan"][1]] == names[:-1]
    assert set(names) <= {row[0].value for row in book["Help"].iter_rows()}
    from_yaml = _read(tmp_path, template_yaml(), "plan.yaml")
    assert from_yaml == replace(plan, blocks=(Block("Hello", "talk", length_s=20.0), *plan.blocks))


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=40), st.integers(0, 8), st.sampled_from([",", ";", "\t"]))
def test_any_cell_reads_or_is_refused_in_one_line(tmp_path: Path, text: str, column: int, delimiter: str) -> None:
    cells = ["Pier Legs", "Steps", "main", "", "March", "45s", "", "", ""]
    cells[column] = text
    buffer = io.StringIO()
    csv.writer(buffer, delimiter=delimiter).writerows([HEADER.strip().split(","), cells])
    told: list[str] = []
    blocks = 0
    try:
        blocks = len(_read(tmp_path, buffer.getvalue().encode("utf-8", "replace")).blocks)
    except PlanError as error:
        told = [str(error), *map(str, error.mistakes)]
    assert blocks == (0 if told else 1)
    assert all(line.isprintable() for line in told)
