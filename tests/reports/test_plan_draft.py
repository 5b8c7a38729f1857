"""A plan drawn from a recording, written out: it reads back, says what was heard where, and passes its own audit."""

import re

import pytest

from analyzer.audit import audit_recording
from analyzer.model.errors import MismatchError
from analyzer.plans import read_plan
from analyzer.reports.digest import DRAWN, verdict_words, waive_command
from analyzer.reports.page import report_html
from analyzer.reports.plan_draft import draft_text
from tests.spoken import NAMES, as_vtt

STRUCTURE = {"move-missing", "move-extra", "round-missing", "order-changed"}
LENGTHS = {"interval-long", "rest-long", "block-long", "class-long", "start-drift"}


@pytest.fixture
def recording(tmp_path):
    path = tmp_path / "class.vtt"
    path.write_text(as_vtt(), encoding="utf-8")
    return path


def test_the_draft_reads_back_and_tells_what_was_heard(recording, tmp_path):
    text = draft_text(audit_recording(recording))
    plan = tmp_path / "plan.yaml"
    plan.write_text(text, encoding="utf-8")
    read = read_plan(plan)
    (block,) = (block for block in read.blocks if block.moves)
    assert [(m.name, m.work_s) for m in block.moves] == [(name, 40.0) for name in NAMES]
    assert (block.rounds, read.drawn) == (2, False)
    assert re.search(r"# Worked 0:(39|40) to 1:(19|20), (3:59|4:00) to 4:(39|40) \(40 s, 40 s\)\. Effort", text)
    assert text.count("a guess") == 1 + len(NAMES)
    assert "Cues: breathing at 0:55" in text


def test_a_draft_passes_its_own_audit(recording, tmp_path):
    plan = tmp_path / "plan.yaml"
    plan.write_text(draft_text(audit_recording(recording)), encoding="utf-8")
    audit = audit_recording(recording, plan)
    assert not {finding.check for finding in audit.findings} & (STRUCTURE | LENGTHS)
    assert all(interval.status == "worked" for interval in audit.alignment.intervals)


def test_an_audit_without_a_plan_says_so_and_judges_no_lengths(recording):
    audit = audit_recording(recording)
    assert verdict_words(audit)[1].startswith(DRAWN)
    assert not {finding.check for finding in audit.findings} & (STRUCTURE | LENGTHS)
    promise = next(promise for promise in audit.facts.promises if promise.kind == "rounds")
    assert (promise.said, promise.delivered) == (2.0, 2.0)


def test_efforts_are_guesses_so_no_missing_option_is_certain(tmp_path):
    path = tmp_path / "hard.vtt"
    path.write_text(as_vtt(("burpee", "jump squat", "plank")), encoding="utf-8")
    missing = [finding for finding in audit_recording(path).findings if finding.check == "easier-missing"]
    assert missing
    assert {finding.verdict for finding in missing} == {"unclear"}
    assert "guess" in missing[0].message


def test_talk_without_work_is_refused(tmp_path):
    path = tmp_path / "talk.vtt"
    path.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nMy cat sleeps all day.\n", encoding="utf-8")
    with pytest.raises(MismatchError, match=r"talk\.vtt: nothing in what is said sounds like timed work"):
        audit_recording(path)


def test_a_promise_of_rounds_is_never_certainly_broken_without_a_plan(tmp_path):
    path = tmp_path / "class.vtt"
    path.write_text(as_vtt().replace("Two rounds of three moves", "Five rounds of three moves"), encoding="utf-8")
    (broken,) = (f for f in audit_recording(path).findings if f.check == "promise-broken")
    assert (broken.verdict, broken.expected, broken.measured) == ("unclear", 5.0, 2.0)
    assert broken.message.endswith("Rounds and moves are only as heard: there is no plan.")


def test_without_a_plan_there_is_nothing_to_keep_a_waiver_beside(tmp_path):
    path = tmp_path / "class.vtt"
    path.write_text(as_vtt(("burpee", "jump squat", "plank")), encoding="utf-8")
    audit = audit_recording(path)
    assert {waive_command(finding, audit) for finding in audit.findings} == {""}
    assert "class-analyzer waive" not in report_html(audit)
