"""SubRip and ASS. SubRip has no standard; its rules here are those of the Archive Team's file format wiki."""

from __future__ import annotations

from datetime import timedelta

import pysubs2
import pytest
import srt
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.model.errors import TranscriptError
from analyzer.transcripts.assemble import to_transcript
from analyzer.transcripts.detect import detect_form
from analyzer.transcripts.subtitles import read_ass, read_subrip

TWO = "1\n00:00:01,000 --> 00:00:02,500\nHello all\n\n2\n00:01:02,345 --> 00:01:04,000\nand <i>march</i>\n"
FORMS = {
    "plain": TWO,
    "CRLF": TWO.replace("\n", "\r\n"),
    "points": TWO.replace(",", "."),
    "no index": "00:00:01,000 --> 00:00:02,500\nHello all\n\n00:01:02,345 --> 00:01:04,000\nand <b>march</b>\n",
    "coordinates": TWO.replace("02,500", "02,500 X1:10 X2:20 Y1:30 Y2:40"),
    "many blank lines": TWO.replace("\n\n", "\n\n\n\n\n"),
    "override tags": TWO.replace("Hello", r"{\an8}Hello"),
    "font tags": TWO.replace("Hello all", '<font color="#ff0000">Hello</font> all'),
}

times = st.lists(st.integers(1, 5000), min_size=4, max_size=24).map(
    lambda gaps: [sum(gaps[: i + 1]) for i in range(len(gaps))]
)


@pytest.mark.parametrize("case", FORMS)
def test_subrip_forms(read, case):
    transcript = read(FORMS[case], "class.srt")
    assert transcript.form == "subrip"
    assert [(c.start_ms, c.end_ms, c.text) for c in transcript.captions] == [
        (1000, 2500, "Hello all"),
        (62345, 64000, "and march"),
    ]
    assert transcript.problems == ()


@settings(max_examples=40, deadline=None)
@given(times)
def test_times_agree_with_two_other_readers(stamps):
    pairs = list(zip(stamps[::2], stamps[1::2], strict=False))
    text = srt.compose(
        [
            srt.Subtitle(i + 1, timedelta(milliseconds=a), timedelta(milliseconds=b), f"word {i}")
            for i, (a, b) in enumerate(pairs)
        ]
    )
    ours = [(block.start_ms, block.end_ms) for block in read_subrip(text, "x.srt").blocks]
    theirs = [(s.start // timedelta(milliseconds=1), s.end // timedelta(milliseconds=1)) for s in srt.parse(text)]
    others = [(e.start, e.end) for e in pysubs2.SSAFile.from_string(text, format_="srt")]
    assert ours == theirs == others == pairs


def test_a_spoken_number_on_the_last_line_is_no_index(read):
    text = "1\n00:00:01,000 --> 00:00:02,000\nready\n3\n\n2\n00:00:03,000 --> 00:00:04,000\nand\n2\n"
    assert [c.text for c in read(text).captions] == ["ready 3", "and 2"]


def test_a_broken_time_is_reported_and_its_text_left_out(read):
    text = TWO + "\n3\n00:01:75,000 --> 00:01:80,000\nlost\n\n4\n01:20,000 --> 01:21,000\nlost too\n"
    transcript = read(text)
    assert [c.text for c in transcript.captions] == ["Hello all", "and march"]
    assert [(p.kind, p.place) for p in transcript.problems] == [("skipped", "line 10"), ("skipped", "line 14")]
    assert [c.line for c in transcript.captions] == [2, 6]


def test_nothing_left_is_an_error_that_names_the_line(read):
    with pytest.raises(TranscriptError, match=r"take\.txt, line 2: no usable caption; the first of 1 skipped"):
        read("1\n00:00:75,000 --> 00:00:80,000\nlost\n")


def test_hostile_text_is_read_in_good_time(read):
    # each of these makes a careless pattern take time with the square of its length
    for text in ("<a" * 100_000, "a" + "\n" * 200_000 + "b", "<" + " " * 100_000, "{" * 100_000, "." * 100_000 + "a"):
        assert len(read(TWO + f"\n3\n00:02:00,000 --> 00:02:03,000\nx {text}\n").captions) == 3


ASS = """[Script Info]
ScriptType: v4.00+

[Events]
Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text
Dialogue: 0,0:00:01.00,0:00:02.50,Default,Coach A,0,0,0,,{\\i1}Hello{\\i0} all,\\Nready
Comment: 0,0:00:03.00,0:00:04.00,Default,,0,0,0,,not said
Dialogue: 0,0:01:02.34,0:01:04.00,Default,,0,0,0,,and march
Dialogue: 0,0:01:05.00,0:01:06.00,Default,,0,0,0,,{\\p1}m 0 0 l 100 0{\\p0}
"""


def test_ass_dialogue_without_comments_and_drawings(read):
    transcript = read(ASS)
    assert transcript.form == "ass"
    assert [(c.start_ms, c.end_ms, c.text, c.speaker, c.line) for c in transcript.captions] == [
        (1000, 2500, "Hello all, ready", "Coach A", 6),
        (62340, 64000, "and march", None, 8),
    ]


@settings(max_examples=20, deadline=None)
@given(times)
def test_ass_times_agree_with_the_library_that_wrote_them(stamps):
    subs = pysubs2.SSAFile()
    subs.events = [
        pysubs2.SSAEvent(a * 10, b * 10, text="word") for a, b in zip(stamps[::2], stamps[1::2], strict=False)
    ]
    text = subs.to_string("ass")
    assert detect_form(text, "x") == "ass"
    captions = to_transcript(read_ass(text, "x"), "x", "").captions
    assert [(c.start_ms, c.end_ms) for c in captions] == [(e.start, e.end) for e in subs.events]


@pytest.mark.parametrize(
    ("broken", "told"),
    [
        ("Dialogue: 0,0:xx:05.00,0:01:06.00,Default,,0,0,0,,lost", "times like"),
        ("Dialogue: 0,0:75:05.00,0:76:06.00,Default,,0,0,0,,lost", "times like"),
        ("Dialogue: 0,-0:00:05.00,0:01:06.00,Default,,0,0,0,,lost", "times like"),
        ("Dialogue: 0,0:01:05.00,0:01:06.00,Default,lost", "5 of 10 fields"),
        (f"Dialogue: 0,{'9' * 5000}", "2 of 10 fields"),
    ],
)
def test_ass_damaged_lines_are_told_and_the_rest_is_used(read, broken, told):
    transcript = read(ASS + broken + "\nDialogue: x,0:01:08.00,0:01:09.00,Style,,left,0,0,,and rest\n")
    assert [(c.text, c.line) for c in transcript.captions][1:] == [("and march", 8), ("and rest", 11)]
    assert [(p.kind, p.place) for p in transcript.problems] == [("skipped", "line 10")]
    assert told in transcript.problems[0].found
    assert len(transcript.problems[0].found) < 120


def test_ass_styles_and_headings_cannot_spoil_the_words(read):
    odd = "Style: Default,Arial,huge,&Hxx,red\n[Fonts]\nfontname: a\n!!!!\n"
    assert read(odd.join(ASS.split("[Events]"))).captions == read(ASS.replace("[Events]", "\n" * 4)).captions
