from __future__ import annotations

import pytest
import webvtt

from analyzer.model.errors import TranscriptError

SBV = "0:00:01.000,0:00:02.500\nHello all\n\n0:01:02.345,0:01:04.000\nand\nmarch\n"


def test_captions(read):
    transcript = read(SBV)
    assert transcript.form == "sbv"
    assert [(c.start_ms, c.end_ms, c.text, c.line) for c in transcript.captions] == [
        (1000, 2500, "Hello all", 1),
        (62345, 64000, "and march", 4),
    ]


def test_times_agree_with_another_reader(read, tmp_path):
    path = tmp_path / "class.sbv"
    path.write_text(SBV)
    others = [(c.start_time.in_milliseconds(), c.end_time.in_milliseconds()) for c in webvtt.from_sbv(str(path))]
    assert [(c.start_ms, c.end_ms) for c in read(SBV).captions] == others


def test_a_time_out_of_range_is_reported_with_its_line(read):
    transcript = read(SBV + "\n0:02:75.000,0:02:80.000\nlost\n")
    assert len(transcript.captions) == 2
    assert [(p.kind, p.place) for p in transcript.problems] == [("skipped", "line 8")]
    assert "75 seconds" in transcript.problems[0].found


def test_nothing_left(read):
    with pytest.raises(TranscriptError, match=r"take\.txt, line 1: no usable caption.*75 seconds"):
        read("0:02:75.000,0:02:80.000\nlost\n")
