import json
import shutil
from pathlib import Path

import pytest

from analyzer.audit import audit_recording
from analyzer.model.errors import AnalyzerError, OutputError
from analyzer.reports import report_bytes, report_dict

SAMPLE = Path(__file__).parents[1] / "sample_data" / "harbour-strength"
RECORDING, PLAN = SAMPLE / "captions.vtt", SAMPLE / "plan.yaml"


@pytest.fixture(scope="module")
def audit():
    return audit_recording(RECORDING, PLAN)


def test_every_planned_interval_is_accounted_for(audit):
    planned = [i.planned for i in audit.alignment.intervals if i.planned is not None]
    assert set(planned) == {row.index for row in audit.schedule.intervals}
    assert audit.facts.measures["intervals_planned"] == len(audit.schedule.intervals)


def test_same_files_same_bytes_wherever_they_lie(audit, tmp_path):
    copies = [Path(shutil.copy(path, tmp_path / path.name)) for path in (RECORDING, PLAN)]
    assert report_bytes(audit_recording(*copies)) == report_bytes(audit)


def test_findings_point_into_the_plan(audit):
    blocks = {block.name for block in audit.plan.blocks}
    assert {f.block for f in audit.findings} - {None} <= blocks
    assert len({f.id for f in audit.findings}) == len(audit.findings)


def test_house_rules_reach_the_checks(audit, tmp_path):
    rules = tmp_path / "rules.yaml"
    rules.write_text("checks:\n  interval-long: {limit_s: 7}\n")
    assert audit_recording(RECORDING, PLAN, rules).limits["interval-long.limit_s"] == 7.0
    assert audit.limits["interval-long.limit_s"] == 5.0


def test_steps_before_a_failure_are_kept(tmp_path):
    other = SAMPLE.parent / "attic-mobility" / "plan.yaml"
    with pytest.raises(AnalyzerError, match=r"plan\.yaml"):
        audit_recording(RECORDING, other, keep_steps=tmp_path / "steps")
    kept = sorted(path.name for path in (tmp_path / "steps").iterdir())
    assert kept == ["1-plan.json", "2-transcript.json", "3-schedule.json", "4-events.json"]
    assert json.loads((tmp_path / "steps" / "1-plan.json").read_bytes())["title"]


def test_steps_that_cannot_be_written_are_said(tmp_path):
    (tmp_path / "steps").write_text("x")
    with pytest.raises(OutputError, match="is a file"):
        audit_recording(RECORDING, PLAN, keep_steps=tmp_path / "steps")


def test_the_recording_s_own_words_carry_the_findings(audit):
    said = set(" ".join(audit.transcript.words.text).split())
    quoted = [piece["text"] for finding in report_dict(audit)["findings"] for piece in finding["evidence"]]
    assert quoted
    for text in quoted:
        assert set(text.replace("\u2026", " ").split()) <= said
