"""Files far larger, deeper or denser than any class: refused or read, soon and in little memory."""

from __future__ import annotations

import io
import json
import time
import tracemalloc
import zipfile

import pytest

from analyzer.checks import read_rules, read_waivers, waivers_path
from analyzer.checks.house_files import MAX_BYTES as HOUSE_BYTES
from analyzer.model.errors import AnalyzerError, PlanError, ReportError, RulesError, TranscriptError, WaiverError
from analyzer.model.transcript import Transcript
from analyzer.plans import read_plan
from analyzer.reports.exports.stored import parse_report
from analyzer.transcripts import assemble, encoding, parse_transcript, read_transcript
from tests.fuzz import seeds

SOON_S = 20.0  # of processor time; each takes a second or two
LITTLE = 400_000_000  # bytes over what was there before
LAUGHS = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join([f'*{before}'] * 9)}]\n" for before, name in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.fixture(autouse=True)
def _soon_and_in_little_memory():
    began = time.process_time()
    tracemalloc.start()
    yield
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < LITTLE
    assert time.process_time() - began < SOON_S


def line_of(refused) -> str:
    told = str(refused.value)
    assert len(told) < 500
    assert "\n" not in told
    return told


def read_or_told(data: bytes) -> Transcript | str:
    """Return a transcript, or the line that says why it is none."""
    try:
        return parse_transcript(data, "take")
    except TranscriptError as error:
        return str(error)


ONE_LINE = "WEBVTT\n\n00:01.000 --> 00:09.000\n"
LONG = 2_000_000
HUGE = {
    "one line": "x" * LONG,
    "one word": ONE_LINE + "a" * LONG,
    "one caption of too many words": ONE_LINE + "go " * (LONG // 3),
    "open tags": ONE_LINE + "<" * LONG,
    "open brackets": "[0:01] go " + "(" * LONG,
    "stamps in a row": "[0:01] a " * (LONG // 60),
    "open music": "[0:01] " + "\u266aa" * (LONG // 4),
    "arrows": "-->" * (LONG // 3),
    "digits": "1" * LONG,
    "colons": "1:" * (LONG // 2),
    "names": "A b c d " * (LONG // 8),
    "blanks": "a" + " " * LONG + "b",
    "blank lines": "WEBVTT" + "\n" * LONG,
    "null bytes": "WEBVTT\n\n" + "a\0" * (LONG // 2),
    "deep JSON": "[" * LONG,
    "deep JSON objects": '{"segments":' * (LONG // 12),
    "a JSON number": "[" + "9" * LONG + "]",
    "a JSON text": '{"text":"' + "x" * LONG + '"}',
    "deep XML": "<tt><body>" + "<p>" * (LONG // 3),
    "wide XML": "<tt><body>" + "<p/>" * (LONG // 3),
    "XML attributes": "<tt " + "".join(f"a{n}='1' " for n in range(LONG // 40)) + "/>",
    "XML entities": "<!DOCTYPE tt [<!ENTITY a 'go'>"
    + "".join(f"<!ENTITY b{n} '&a;&a;'>" for n in range(99))
    + "]><tt/>",
    "a cell": 'start,end,text\n1,2,"' + "go " * (LONG // 3),
    "columns": "start,end,text\n" + "," * LONG,
    "an ASS line": "[Script Info]\nDialogue: 0,0:00:01.00,0:00:09.00,D,,0,0,0,," + "{" * LONG,
}


@pytest.mark.parametrize("content", HUGE.values(), ids=HUGE)
def test_huge_transcripts(content):
    told = read_or_told(content.encode())
    assert isinstance(told, str) or len(told.words.text) <= assemble.MAX_WORDS
    assert not isinstance(told, str) or len(told) < 500


def test_a_line_of_100_megabytes(tmp_path):
    path = tmp_path / "take.vtt"
    with path.open("wb") as stream:
        stream.write(b"WEBVTT\n\n00:01.000 --> 00:09.000\n")
        for _ in range(100):
            stream.write(b"go" * 500_000)
    with pytest.raises(TranscriptError, match=r"take\.vtt: holds 95 MB; at most 32 MB") as refused:
        read_transcript(path)
    line_of(refused)


def test_a_million_captions():
    rows = "".join(f"{n // 3600:02d}:{n // 60 % 60:02d}:{n % 60:02d}.000 --> 99:00:00.000\ngo\n\n" for n in range(1000))
    data = ("WEBVTT\n\n" + rows * 1000).encode()
    assert len(data) > encoding.MAX_BYTES  # what is in memory already is refused, too
    with pytest.raises(TranscriptError, match="holds 3,000,002 lines; at most 1,000,000 are allowed"):
        parse_transcript(data, "take")


def test_more_words_than_any_class():
    told = f"take: holds {assemble.MAX_WORDS + 1:,} words; one class, of at most 150,000, is allowed"
    with pytest.raises(TranscriptError, match=told):
        parse_transcript(f"[0:01] {'go ' * assemble.MAX_WORDS}\n[9:59] go".encode(), "take")
    assert len(parse_transcript(f"[0:01] {'go ' * 9999}\n[9:59] go".encode(), "take").words.text) == 10_000


@pytest.mark.parametrize("kind", ["plan", "rules", "waivers"])
def test_billion_laughs(tmp_path, kind):
    path = tmp_path / ("class.waivers.yaml" if kind == "waivers" else "x.yaml")
    path.write_text(LAUGHS)
    read = {"plan": read_plan, "rules": read_rules, "waivers": lambda path: read_waivers(tmp_path / "class.yaml")}[kind]
    with pytest.raises(AnalyzerError, match="line 1: the anchor '&a'; remove it: anchors are not allowed") as refused:
        read(path)
    assert type(refused.value) is {"plan": PlanError, "rules": RulesError, "waivers": WaiverError}[kind]


BRACKETS = 150_000
YAMLS = {
    "deep": "[" * BRACKETS,
    "deep mappings": "{" * BRACKETS,
    "deep lists": "- " * (BRACKETS // 2),
    "questions": "? " * (BRACKETS // 2),
    "a tag": "!" * BRACKETS,
    "open quote": "name: '" + "''" * (BRACKETS // 2),
    "tabs": "\t" * BRACKETS + "x",
    "null byte": "name: a\0b",
}


@pytest.mark.parametrize("content", YAMLS.values(), ids=YAMLS)
@pytest.mark.parametrize("read", [read_plan, read_rules])
def test_hostile_yaml(tmp_path, read, content):
    path = tmp_path / "x.yaml"
    path.write_text(content)
    with pytest.raises((PlanError, RulesError), match=r"x\.yaml") as refused:
        read(path)
    line_of(refused)


def test_house_files_that_are_too_large(tmp_path):
    for path in (tmp_path / "rules.yaml", waivers_path(tmp_path / "class.yaml")):
        path.write_bytes(b"#" * (HOUSE_BYTES + 1))
    with pytest.raises(RulesError, match="more than 200000 bytes"):
        read_rules(tmp_path / "rules.yaml")
    with pytest.raises(WaiverError, match="more than 200000 bytes"):
        read_waivers(tmp_path / "class.yaml")


def packed(**changed: bytes) -> bytes:
    """Return the seed plan's workbook with parts put in place of others (``sheet``) or beside them."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(seeds.plan_in("xlsx"))) as package, zipfile.ZipFile(out, "w", 8) as new:
        first = next(name for name in package.namelist() if "worksheets/sheet1" in name)
        for name in package.namelist():
            content = changed.get("sheet", package.read(name)) if name == first else package.read(name)
            new.writestr(name, content.replace(b"</sheetData>", changed.get("rows", b"") + b"</sheetData>"))
        if "extra" in changed:
            new.writestr("xl/media/film.bin", changed["extra"])
    return out.getvalue()


ENTITIES = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "go"><!ENTITY b "&a;&a;&a;">]><worksheet>&b;</worksheet>'
BOOKS = {
    "a bomb": (lambda: packed(extra=b"\0" * 100_000_000), "unpacks to more than 30,000,000 bytes"),
    "entities": (lambda: packed(sheet=ENTITIES), "cannot be read as a workbook"),
    "a far row": (lambda: packed(rows=b'<row r="1048576"><c r="A1048576"><v>1</v></c></row>'), "more than 10,000 rows"),
    "columns": (lambda: packed(rows=b'<row r="9"><c r="GS9"><v>1</v></c></row>'), "more than 200 columns"),
    "deep": (lambda: packed(rows=b"<a>" * 200_000), "cannot be read as a workbook"),
    "no zip": (lambda: b"PK\x03\x04" + b"\0" * 99, "is a damaged workbook"),
}


@pytest.mark.parametrize(("make", "found"), BOOKS.values(), ids=BOOKS)
def test_hostile_workbooks(tmp_path, make, found):
    path = tmp_path / "plan.xlsx"
    path.write_bytes(make())
    with pytest.raises(PlanError, match=found) as refused:
        read_plan(path)
    line_of(refused)


def test_a_workbook_that_lies_about_its_size(tmp_path):
    """The size that a package's list of parts claims is all that is ever unpacked."""
    real = packed(extra=b"\0" * 50_000_000)
    size = (50_000_000).to_bytes(4, "little")
    assert real.count(size) == 2  # before the part itself, and in the list at the end
    path = tmp_path / "plan.xlsx"
    path.write_bytes(real.replace(size, (10).to_bytes(4, "little")))
    assert read_plan(path).blocks


REPORTS = {
    "deep": b"[" * 1_000_000,
    "a number": b'{"schema": ' + b"9" * 1_000_000 + b"}",
    "a text": json.dumps({"schema": "x" * 5_000_000}).encode(),
    "keys": json.dumps({str(n): n for n in range(200_000)}).encode(),
    "null bytes": b"\0" * 1_000_000,
}


@pytest.mark.parametrize("content", REPORTS.values(), ids=REPORTS)
def test_hostile_reports(content):
    with pytest.raises(ReportError, match=r"report\.json") as refused:
        parse_report(content, "report.json")
    line_of(refused)


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("[0:01] caf\u00e9 squat\n[0:09] plank".encode("utf-16"), "caf\u00e9"),
        ("[0:01] caf\u00e9 squat\n[0:09] plank".encode("cp1252"), "caf\u00e9"),
        ("[0:01] caf\u00e9 squat\n".encode() + "[0:09] caf\u00e9".encode("cp1252"), "squat"),
        (b"\xef\xbb\xbf[0:01] squat\x00 go\n[0:09] plank", "go"),
        (b"[0:01] squat\n[0:05] go\n" + "[0:09] plank".encode("utf-16-le"), "squat"),
    ],
    ids=["UTF-16", "Western", "two in one file", "mark and null byte", "half UTF-16"],
)
def test_mixed_encodings_are_read_or_refused(content, word):
    told = read_or_told(content)
    assert ("take: " in told) if isinstance(told, str) else word in told.words.text
