from itertools import combinations, pairwise

import pysubs2
import pytest
import webvtt

from analyzer.model.clock import parse_clock_ms
from analyzer.reports.exports.chapters import LEVELS, chapters, chapters_text, chapters_vtt


def shifted(report, seconds):
    for row in report["intervals"]:
        if row["start"] is not None:
            row["start"] += seconds
            row["end"] += seconds
    return report


def titles(report, level):
    return [chapter.title for chapter in chapters(report, level)]


def test_blocks_rounds_and_moves(report):
    assert titles(report, "block") == ["Introduction", "Main A"]
    assert titles(report, "round") == ["Introduction", "Main A, round 1", "Main A, round 2"]
    moves = titles(report, "move")
    assert moves[:3] == ["Introduction", "Main A, round 1: Split squat, left", "Main A, round 1: Split squat, right"]
    assert len(moves) == 1 + sum(row["start"] is not None for row in report["intervals"])


def test_a_round_begins_where_the_work_before_it_ended(report):
    last = max(row["end"] for row in report["intervals"] if row["round"] == 1)
    assert chapters(report, "round")[2].start_s == last


@pytest.mark.parametrize("level", LEVELS)
def test_chapters_cover_the_recording_without_gap(report, level):
    found = chapters(report, level)
    assert found[0].start_s == 0.0
    assert found[-1].end_s == report["timing"]["duration"]
    assert all(a.end_s == b.start_s for a, b in pairwise(found))
    assert all(c.end_s > c.start_s for c in found)


@pytest.mark.parametrize("level", LEVELS)
def test_a_track_that_two_readers_take(report, hostile, level):
    for one in (report, hostile):
        found = chapters(one, level)
        text = chapters_vtt(one, level).decode()
        cues = list(webvtt.from_string(text))
        events = list(pysubs2.SSAFile.from_string(text, format_="vtt"))
        spans = [(round(c.start_s * 1000), round(c.end_s * 1000)) for c in found]
        assert [(c.start_time.in_milliseconds(), c.end_time.in_milliseconds()) for c in cues] == spans
        assert [(e.start, e.end) for e in events] == spans
    # W3C WebVTT, "using only nested cues": of any two one lies in the other, or they do not overlap
    for (a, b), (c, d) in combinations(spans, 2):
        assert b <= c or d <= a or (a <= c and d <= b) or (c <= a and b <= d)


def test_no_introduction_when_work_starts_at_once(report):
    assert titles(shifted(report, -50.0), "block") == ["Main A"]
    assert chapters(report)[0].start_s == 0.0


def test_a_class_without_work_is_one_chapter(report):
    report["intervals"] = []
    assert titles(report, "move") == ["Lowtide Strength"]
    assert chapters_text(report) == b"0:00 Lowtide Strength\n"


def test_the_list_in_whole_seconds_rises(report):
    report["intervals"][0]["start"] = 54.96
    report["intervals"].append(report["intervals"][0] | {"start": 54.1, "end": 54.9, "move": "Blink"})
    lines = chapters_text(report, "move").decode().splitlines()
    assert lines[:2] == ["0:00 Introduction", "0:54 Main A, round 1: Split squat, left"]
    times = [parse_clock_ms(line.split(" ")[0]) for line in lines]
    assert times == sorted(set(times))
