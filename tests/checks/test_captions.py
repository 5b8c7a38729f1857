"""Caption-order and caption-overlap, from the captions of a file to the finding."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from analyzer.checks import CHECKS, run_checks
from analyzer.checks.rules_reader import parse
from analyzer.transcripts import read_transcript


@pytest.fixture
def told(take, tmp_path):
    """Return how many captions each of the two checks counts in WebVTT cues given as (start, end) seconds."""

    def count(*cues, rules="", text=None):
        rows = [f"00:{a // 60:02.0f}:{a % 60:06.3f} --> 00:{b // 60:02.0f}:{b % 60:06.3f}\n" for a, b in cues]
        lines = text or [f"Word number {n} of the class" for n in range(len(rows))]
        file = tmp_path / "a.vtt"
        file.write_text("WEBVTT\n\n" + "\n".join(a + b + "\n" for a, b in zip(rows, lines, strict=True)))
        context = take.context()
        house = parse(f"checks: {{{rules}}}", CHECKS, "x") if rules else context.rules
        context = replace(context, transcript=read_transcript(file), rules=house)
        found = [f for f in run_checks(context) if f.check in ("caption-order", "caption-overlap")]
        assert all(f.verdict == "fail" for f in found)
        return {f.check: f.measured for f in found}

    return count


EVEN = tuple((3 * n, 3 * n + 3) for n in range(8))


@pytest.mark.parametrize(
    ("cues", "counts"),
    [
        ((*EVEN[:3], EVEN[4], EVEN[3], *EVEN[5:]), {"caption-order": 1.0}),  # two changed places
        ((*EVEN[1:], EVEN[0]), {"caption-order": 1.0}),  # the first one came last
        ((*EVEN[:7], (21, 21)), {"caption-order": 1.0}),  # ends when it starts
        ((*EVEN[:3], (9, 14), *EVEN[4:]), {"caption-overlap": 1.0}),  # stands 2 s into the next one
        ((*EVEN[:3], (9, 15.5), *EVEN[4:]), {"caption-overlap": 2.0}),  # and into the one after
        ((*EVEN[:2], (6, 9.05), *EVEN[3:]), {"caption-overlap": 1.0}),
        ((*EVEN, (23, 27)), {"caption-overlap": 1.0}),
    ],
)
def test_faulty_times_are_counted(told, cues, counts):
    assert told(*cues) == counts


@pytest.mark.parametrize(
    "cues",
    [
        EVEN,  # each ends when the next one starts
        tuple((a, b - 0.5) for a, b in EVEN),  # gaps
        (*EVEN[:3], (9, 11), (20, 22), (40, 43)),  # long silences
        (*EVEN[:3], (9, 9.2), (9.2, 9.4)),  # flashes
        (*EVEN[:2], (6, 9.04), *EVEN[3:]),  # a frame of 25 a second: nobody sees it
    ],
)
def test_sound_times_are_fine(told, cues):
    assert told(*cues) == {}


def test_captions_that_roll_up_do_not_overlap(told):
    lines = [
        "and lift your\nhands up high",
        "hands up high\nhold it there",
        "hold it there\nand breathe",
        "and breathe\nrest",
    ]
    assert told((0, 3), (3, 6), (6, 9), (9, 12), text=lines) == {}


def test_segments_of_a_recogniser_may_overlap(take, tmp_path):
    words = [{"word": f"w{n}", "start": 2.0 * n, "end": 2.0 * n + 1} for n in range(20)]
    cut = [(0, 20.5, words[:10]), (20.0, 40.0, words[10:])]
    file = tmp_path / "a.json"
    file.write_text(json.dumps({"segments": [{"start": a, "end": b, "words": some} for a, b, some in cut]}))
    context = replace(take.context(), transcript=read_transcript(file))
    assert [f for f in run_checks(context) if f.check == "caption-overlap"] == []


def test_the_house_may_tolerate_some(told):
    cues = (*EVEN[:3], (9, 14), *EVEN[4:])
    assert told(*cues, rules="caption-overlap: {limit_count: 1}") == {}
    assert told(*cues, rules="caption-order: {limit_count: 1}") == {"caption-overlap": 1.0}
