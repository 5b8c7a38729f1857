import json
from itertools import pairwise

import pysubs2
import webvtt

from analyzer.reports.exports.timer import timer_vtt


def read(report):
    cues = list(webvtt.from_string(timer_vtt(report).decode()))
    return [(c.start_time.in_milliseconds(), c.end_time.in_milliseconds(), json.loads(c.text)) for c in cues]


def test_every_interval_as_recorded_and_the_gaps_between(report):
    rows = [row for row in report["intervals"] if row["start"] is not None]
    cues = read(report)
    work = [cue for cue in cues if cue[2]["kind"] == "work"]
    assert [(start, end) for start, end, _ in work] == [
        (round(r["start"] * 1000), round(r["end"] * 1000)) for r in rows
    ]
    assert [told["interval"] for *_, told in work] == [row["id"] for row in rows]
    assert work[0][2] == {
        "kind": "work", "interval": "i1", "block": "Main A", "round": 1, "rounds": 2, "move": "Split squat",
        "side": "left", "planned_seconds": 40.0, "number": 1, "of": 8,
        "next": {"move": "Split squat", "side": "right"}, "seconds": 40.0,
    }  # fmt: skip
    assert cues[0][2] == {"kind": "gap", "next": {"move": "Split squat", "side": "left"}, "seconds": 55.0}
    assert work[-1][2]["planned_seconds"] is None
    assert work[-1][2]["next"] is None


def test_a_second_reader_has_the_same_times(report):
    events = pysubs2.SSAFile.from_string(timer_vtt(report).decode(), format_="vtt")
    assert [(event.start, event.end) for event in events] == [cue[:2] for cue in read(report)]


def test_cues_follow_one_another(report):
    first, second = report["intervals"][:2]
    second["start"] = first["end"] - 0.3  # they overlap a little
    report["intervals"][2]["start"] = second["end"] + 0.2  # and a blink is no gap
    cues = read(report)
    assert all(a[1] <= b[0] for a, b in pairwise(cues))
    assert [told["kind"] for *_, told in cues[:5]] == ["gap", "work", "work", "work", "gap"]
    assert cues[2][1] == cues[3][0]
    assert all(abs(told["seconds"] * 1000 - (end - start)) <= 5 for start, end, told in cues)


def test_no_word_breaks_out_of_its_cue(report):
    report["intervals"][0]["move"] = "a --> b\n\n00:00.000 --> 00:01.000\n<b>&amp;"
    cues = read(report)
    assert len(cues) == 16
    assert cues[1][2]["move"] == "a --> b 00:00.000 --> 00:01.000 <b>&amp;"


def test_nothing_worked_gives_an_empty_track(report):
    report["intervals"] = []
    assert timer_vtt(report) == b"WEBVTT Timer of Lowtide Strength\n"
