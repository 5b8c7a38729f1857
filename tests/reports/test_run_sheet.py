"""The run sheet in all its forms."""

from __future__ import annotations

import csv
import io
import re
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pysubs2
import pytest
import webvtt

from analyzer.audit import audit_recording
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule, make_script, read_plan, to_yaml
from analyzer.plans.script import Line
from analyzer.reports.digest import PLAN_CAUTIONS, standing
from analyzer.reports.run_sheet import NO_ROOM, sheet_csv, sheet_html, sheet_text, sheet_vtt

SAMPLES = sorted(Path("sample_data").glob("*/plan.yaml"))
HOSTILE = Plan(
    "<script>alert(1)</script>",
    (
        Block("--> & Hi", "talk", length_s=9.0),
        Block("=1+1", "main", rounds=2, moves=(Move("\u202eA<b>", 12.0, easier=("{x} " * 20,), cues=("a\x1b[31m",)),)),
    ),
    coach="@me",
    equipment=("<i>",),
)


def _script(plan: Plan) -> tuple[Line, ...]:
    return make_script(plan, make_schedule(plan))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
def test_a_class_said_as_on_the_sheet_passes_its_own_audit(sample: Path, tmp_path: Path) -> None:
    """The captions are read as a recording: nothing but silence, which is the coach's to fill, stands."""
    plan = read_plan(sample)
    (tmp_path / "rehearsal.vtt").write_bytes(sheet_vtt(plan, _script(plan)))
    audit = audit_recording(tmp_path / "rehearsal.vtt", sample)
    assert [f.check for f in standing(audit.findings) if f.check != "silence-long"] == []
    assert {interval.status for interval in audit.alignment.intervals} == {"worked"}


@pytest.mark.parametrize(
    "plan", [HOSTILE, *map(read_plan, SAMPLES)], ids=["hostile", *(s.parent.name for s in SAMPLES)]
)
def test_captions_are_valid_for_two_readers(plan: Plan) -> None:
    """webvtt-py and pysubs2 as outside judges; the rules are WebVTT's on cue timings (W3C, WebVTT, section 4.1)."""
    data = sheet_vtt(plan, _script(plan)).decode()
    cues = list(webvtt.from_string(data))
    times = [(cue.start_time.in_milliseconds(), cue.end_time.in_milliseconds()) for cue in cues]
    assert data.startswith("WEBVTT")
    assert len(cues) == data.count(" --> ") == len({line.at_s for line in _script(plan)})
    assert all(start < end for start, end in times)
    assert all(one[1] <= two[0] for one, two in pairwise(times))
    events = pysubs2.SSAFile.from_string(data, format_="vtt")
    assert [(event.start, event.end) for event in events] == times
    assert not [cue for cue in cues if re.search(r"<(?!v )|-->", cue.raw_text)]


def test_the_table_has_a_row_a_line_and_runs_nothing() -> None:
    plan = HOSTILE
    rows = list(csv.DictReader(io.StringIO(sheet_csv(plan, make_schedule(plan), _script(plan)).decode(), newline="")))
    assert [float(row["at"]) for row in rows] == [line.at_s for line in _script(plan)]
    assert {row["fits"] for row in rows} == {"yes", "no"}
    assert {row["block"] for row in rows} == {"--> & Hi".replace("-", "'-", 1), "'=1+1"}
    assert not [cell for row in rows for cell in row.values() if cell[:1] in tuple("=+-@")]


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_stands_alone_and_shows_everything() -> None:
    plan = HOSTILE
    html = sheet_html(plan, make_schedule(plan), _script(plan))
    page = _Page()
    page.feed(html)
    assert html == sheet_html(plan, make_schedule(plan), _script(plan))
    assert "script" not in page.tags
    assert "default-src 'none'" in unescape(html)
    assert len(page.ids) == len(set(page.ids))
    assert all(link.startswith("#") and link[1:] in page.ids for link in page.links)
    assert plan.title in page.text
    assert NO_ROOM in page.text
    assert all(" ".join(caution.split()) in " ".join(page.text.split()) for caution in PLAN_CAUTIONS)
    assert page.text.count("Switch") == 0
    assert "\x1b" not in html


def test_the_text_fits_a_terminal_and_has_no_control_characters() -> None:
    plan = HOSTILE
    text = sheet_text(plan, make_schedule(plan), _script(plan))
    assert not [c for c in text if ord(c) < 32 and c != "\n"]
    assert "\u202e" not in text
    assert f"({NO_ROOM})" in text
    assert " ".join(PLAN_CAUTIONS) in " ".join(text.split())
    brief = sheet_text(plan, make_schedule(plan), _script(plan), brief=True)
    assert [line.split()[:3] for line in brief.splitlines() if "round" in line] == [
        ["0:09", "round", "1"],
        ["0:21", "round", "2"],
    ]
    assert "Half-way" not in brief


def test_every_line_of_a_sample_is_on_page_and_text() -> None:
    plan = read_plan(SAMPLES[0])
    script = _script(plan)
    page = _Page()
    page.feed(sheet_html(plan, make_schedule(plan), script))
    text = sheet_text(plan, make_schedule(plan), script)
    said = [line.text for line in script if line.kind != "talk"]
    assert all(page.text.count(words) >= said.count(words) for words in said)
    assert all(text.count(words) >= said.count(words) for words in said)


def test_a_plan_that_says_everything_twice_is_the_same_from_its_yaml(tmp_path: Path) -> None:
    plan = read_plan(SAMPLES[0])
    (tmp_path / "again.yaml").write_text(to_yaml(plan), encoding="utf-8")
    assert _script(read_plan(tmp_path / "again.yaml")) == _script(plan)
