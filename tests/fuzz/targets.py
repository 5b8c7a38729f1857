"""What is fuzzed: every reader and the whole audit. A target takes any bytes and ends in a result or an AnalyzerError.

Results are judged by what must hold of all of them, refusals by being one short line. Anything else is a finding.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from zlib import crc32

import numpy as np

from analyzer.audit import audit_recording
from analyzer.checks import make_waiver, read_rules, read_waivers, waivers_path, with_waiver
from analyzer.checks.waivers import parse_waivers
from analyzer.model.errors import AnalyzerError, ReportError
from analyzer.plans import WRITERS, make_schedule, read_plan, review_plan
from analyzer.reports import render_files, report_bytes, summary_text
from analyzer.reports.exports.captions import changes_table, corrected_captions
from analyzer.reports.exports.chapters import chapters_text, chapters_vtt
from analyzer.reports.exports.marker_files import marker_bytes
from analyzer.reports.exports.markers import KINDS, marker_list
from analyzer.reports.exports.stored import parse_report, read_report
from analyzer.reports.exports.timecode import RATES
from analyzer.reports.exports.timer import timer_vtt
from analyzer.reports.plain import terminal_text
from analyzer.transcripts import parse_transcript
from tests.fuzz import seeds
from tests.fuzz.folder import scratch

LONGEST_LINE = 1000
SEPARATOR = b"\n%%%%\n"  # between the files of one audit: recording, plan, house rules, waivers
_WAIVER = ("0123456789ab", "stays, \"as it is\": 'so' # here")


@dataclass(frozen=True)
class Target:
    """``run`` takes a file's bytes and raises AnalyzerError where they cannot be used; ``seeds`` are good files."""

    run: Callable[[bytes], None]
    seeds: Callable[[], list[bytes]]


def attempt(target: Target, data: bytes) -> bool:
    """Return True when the bytes were used, False when they were refused as they should be."""
    try:
        target.run(data)
    except AnalyzerError as error:
        for mistake in error.mistakes or (error,):
            line = str(mistake)
            assert "\n" not in line, line
            assert 0 < len(terminal_text(line)) <= LONGEST_LINE, line
            assert mistake.found, line
        return False
    return True


def run_transcript(data: bytes) -> None:
    """A transcript: words in order, inside their bounds, all finite."""
    transcript = parse_transcript(data, "take")
    words = transcript.words
    arrays = (words.start_s, words.end_s, words.earliest_s, words.latest_s, words.u_s, words.pause_s)
    assert len(words.text) == len(words.norm) == len(words.speaker) > 0
    assert all(len(array) == len(words.text) and np.isfinite(array).all() for array in arrays)
    assert (np.diff(words.start_s) >= 0).all(), "words out of order"
    assert (words.earliest_s >= 0).all()
    assert (words.earliest_s <= words.start_s).all()
    assert (words.start_s <= words.latest_s).all()
    assert (words.start_s <= words.end_s).all()
    assert (words.u_s > 0).all()
    assert all(text and text == text.strip() for text in words.text)
    assert 0 < transcript.duration_s < np.inf
    assert transcript.duration_s >= words.end_s[-1]
    assert all("\n" not in problem.found for problem in transcript.problems)


def _run_plan(ending: str) -> Callable[[bytes], None]:
    def run(data: bytes) -> None:
        plan = read_plan(scratch(f"plan.{ending}", data))
        assert make_schedule(plan)
        review_plan(plan)
        nameless = replace(plan, name="", sha256="")
        for form in ("yaml", "csv") if ending != "xlsx" else ("xlsx",):
            again = read_plan(scratch(f"again.{form}", WRITERS[form](plan)))
            assert replace(again, name="", sha256="") == nameless, f"not the same plan through {form}"

    return run


def run_rules(data: bytes) -> None:
    """House rules: every limit a finite number."""
    rules = read_rules(scratch("rules.yaml", data))
    assert all(np.isfinite(value) for settings in rules.checks.values() for value in settings.values.values())


def run_waivers(data: bytes) -> None:
    """Waivers: one more can be added, and then all of them are there."""
    plan = scratch("class.yaml", b"")
    path = scratch(waivers_path(plan).name, data)
    known = read_waivers(plan)
    added = make_waiver(*_WAIVER)
    content = with_waiver(plan, added)  # refused where the layout cannot be added to line by line
    kept = [waiver for waiver in known if waiver.finding != added.finding]
    assert list(parse_waivers(content, str(path))) == [*kept, added]


def run_report(data: bytes) -> None:
    """A stored report, and all that is exported from one."""
    report = read_report(scratch("report.json", data))
    for rate in ("23.976", "29.97df"):
        for form in ("csv", "edl"):
            assert marker_bytes(marker_list(report, RATES[rate], "00:00:00:00", KINDS), form)
    assert chapters_vtt(report, "move").startswith(b"WEBVTT")
    assert chapters_text(report)
    assert timer_vtt(report).startswith(b"WEBVTT")
    assert changes_table(corrected_captions(report, seeds.TRANSCRIPTS["webvtt"]().encode(), "take.vtt"))


def run_audit(data: bytes) -> None:
    """A whole audit, with a plan or without: the report fits its schema, is the same again, and every form is made."""
    parts = [*data.split(SEPARATOR, 3), b"", b"", b""]
    recording = scratch("take.vtt", parts[0])
    plan: Path | None = None
    if parts[1]:
        plan = scratch("class.yaml", parts[1])
        scratch(waivers_path(plan).name, parts[3])
    rules: Path | None = scratch("house.yaml", parts[2]) if parts[2] else None
    audit = audit_recording(recording, plan, rules)
    content = report_bytes(audit)
    _own_report(content)
    assert summary_text(audit, None)
    mark = crc32(data) % 8  # the dearer forms in turn
    if mark == 0:
        assert report_bytes(audit_recording(recording, plan, rules)) == content, "not the same again"
    elif mark == 1:
        assert "</html>" in render_files(audit, ["html"])["report.html"].decode()
    elif mark == 2:
        for name, table in render_files(audit, ["csv", "fixes"]).items():
            assert not name.endswith(".csv") or list(csv.reader(io.StringIO(table.decode("utf-8-sig"))))


def _own_report(content: bytes) -> None:
    """Raise AssertionError, not a refusal, when the program cannot read its own report."""
    try:
        parse_report(content, "report.json")
    except ReportError as error:
        raise AssertionError(f"own report: {error}") from error


def _transcripts(*forms: str) -> Callable[[], list[bytes]]:
    return lambda: [seeds.TRANSCRIPTS[form]().encode() for form in forms]


def _audits() -> list[bytes]:
    shared = [seeds.RULES.encode(), seeds.WAIVERS.encode()]
    made = [make().encode() for make in seeds.TRANSCRIPTS.values()]
    planned = [SEPARATOR.join([recording, seeds.plan_in("yaml"), *shared]) for recording in made]
    return [*planned, *made[:3]]  # without a plan, one is drawn from the recording


TARGETS: dict[str, Target] = {
    "webvtt": Target(run_transcript, _transcripts("webvtt", "rollup")),
    "subrip": Target(run_transcript, _transcripts("subrip")),
    "sbv": Target(run_transcript, _transcripts("sbv")),
    "ass": Target(run_transcript, _transcripts("ass")),
    "ttml": Target(run_transcript, _transcripts("ttml")),
    "words-json": Target(run_transcript, _transcripts("segments", "words")),
    "table": Target(run_transcript, _transcripts("table", "word-table")),
    "stamped": Target(run_transcript, _transcripts("stamped", "bare")),
    "plan-yaml": Target(_run_plan("yaml"), lambda: [seeds.plan_in("yaml")]),
    "plan-csv": Target(_run_plan("csv"), lambda: [seeds.plan_in("csv")]),
    "plan-xlsx": Target(_run_plan("xlsx"), lambda: [seeds.plan_in("xlsx")]),
    "rules": Target(run_rules, lambda: [seeds.RULES.encode()]),
    "waivers": Target(run_waivers, lambda: [seeds.WAIVERS.encode()]),
    "report": Target(run_report, lambda: [seeds.report()]),
    "audit": Target(run_audit, _audits),
}
