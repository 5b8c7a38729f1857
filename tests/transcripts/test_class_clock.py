"""Where a class begins in its recording: a pre-roll, a cold open, a studio's timecode, or as told."""

from dataclasses import replace

import pytest

from analyzer.audit import audit_recording
from analyzer.language import speaking
from analyzer.model.errors import TranscriptError
from analyzer.transcripts import read_transcript, with_class_start
from tests.factory import transcript_from
from tests.spoken import as_vtt, told

WELCOME = "Hello and welcome to the class."


@pytest.mark.parametrize(
    ("said", "start_s"),
    [
        ([(2.0, WELCOME), (8.0, "We start.")], 0.0),
        ([(30.0, WELCOME), (35.0, "We start.")], 0.0),
        ([(70.0, WELCOME), (75.0, "We start.")], 70.0),
        ([(36000.0, WELCOME), (36005.0, "We start.")], 36000.0),
        ([(1.0, "Ten minutes, no kit, big sweat."), (20.0, WELCOME), (30.0, "We start.")], 20.0),
        ([(1.0, "Ten minutes, no kit, big sweat."), (5.0, WELCOME), (30.0, "We start.")], 0.0),
        ([(1.0, "We start."), (20.0, "Shoulders down."), (300.0, WELCOME)], 0.0),
        ([(1.0, WELCOME), (20.0, "Shoulders down."), (60.0, "And lower.")], 0.0),
    ],
)
def test_the_start_that_is_heard(said, start_s):
    with speaking("en"):
        found = with_class_start(transcript_from(said))
    assert (found.class_start_s, found.class_s) == (start_s, pytest.approx(found.duration_s - start_s))


def test_the_start_that_is_told():
    transcript = transcript_from([(1.0, WELCOME), (90.0, "And lower.")])
    with speaking("en"):
        assert with_class_start(transcript, 12.0).class_start_s == 12.0
        with pytest.raises(TranscriptError, match=r"--starts-at: 10:00 lies after the last words; a time before 1:3"):
            with_class_start(transcript, 600.0)


def test_a_class_without_a_word_begins_at_nought():
    with speaking("en"):
        assert with_class_start(transcript_from([])).class_start_s == 0.0


@pytest.mark.parametrize("offset_s", [0, 75, 3600, 36000])
def test_the_same_findings_on_any_clock(tmp_path, sample_plan, offset_s):
    recording, plan = sample_plan
    moved = tmp_path / "moved.vtt"
    moved.write_text(shifted(recording.read_text(encoding="utf-8"), offset_s), encoding="utf-8")
    here, there = audit_recording(recording, plan), audit_recording(moved, plan)
    assert there.transcript.class_s == pytest.approx(here.transcript.class_s, abs=2.0)
    assert [f.check for f in there.findings] == [f.check for f in here.findings]
    for a, b in zip(here.alignment.intervals, there.alignment.intervals, strict=True):
        assert (b.start_s - offset_s, b.end_s - offset_s) == pytest.approx((a.start_s, a.end_s), abs=0.5)


def shifted(text, offset_s):
    """WebVTT with all its stamps moved."""
    import re

    def later(match):
        parts = [float(part) for part in match[0].split(":")]
        at = sum(part * 60**power for power, part in enumerate(reversed(parts))) + offset_s
        return f"{int(at // 3600):02}:{int(at % 3600 // 60):02}:{at % 60:06.3f}"

    return re.sub(r"(?:\d\d:)?\d\d:\d\d\.\d{3}", later, text)


@pytest.fixture
def sample_plan():
    from pathlib import Path

    folder = Path(__file__).parents[2] / "sample_data" / "harbour-strength"
    return folder / "captions.vtt", folder / "plan.yaml"


def test_a_plan_drawn_after_a_pre_roll_is_the_same(tmp_path):
    plans = []
    for offset_s in (0, 120):
        path = tmp_path / "class.vtt"
        path.write_text(shifted(as_vtt(), offset_s), encoding="utf-8")
        plans.append(replace(audit_recording(path).plan, sha256=""))
    assert plans[0].blocks[1:-1] == plans[1].blocks[1:-1]
    assert told()[0][0] == 2.0  # the first word, where the class begins after a pre-roll
    assert plans[0].blocks[0].length_s - plans[1].blocks[0].length_s in (0.0, 5.0)
    assert read_transcript(path).class_start_s == 0.0
