import io

import pysubs2
import pytest
import srt
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from analyzer.reports.exports.vtt import TimedText, in_order, stamp, subrip_bytes, webvtt_bytes

WORDS = st.text(st.sampled_from("ab é&<>-–\"'{}\\\u202e\U0001f938 \t"), min_size=1, max_size=24).filter(str.strip)
SPANS = st.lists(st.tuples(st.integers(1, 4000), st.integers(0, 4000), WORDS), min_size=1, max_size=6)


def cues(spans):
    made, at = [], 0
    for length, gap, text in spans:
        made.append(TimedText(at + gap, at + gap + length, text))
        at += gap + length
    return made


@given(SPANS)
def test_webvtt_as_another_reader_has_it(spans):
    made = cues(spans)
    read = list(webvtt.from_buffer(io.BytesIO(webvtt_bytes(made))))
    assert [(c.start_time.in_milliseconds(), c.end_time.in_milliseconds()) for c in read] == [
        (c.start_ms, c.end_ms) for c in made
    ]
    signs = (("&lt;", "<"), ("&gt;", ">"), ("&amp;", "&"))  # the library leaves references as they are
    for cue, back in zip(made, read, strict=True):
        text = back.text
        for reference, sign in signs:
            text = text.replace(reference, sign)
        assert text == " ".join(cue.text.split())


@given(SPANS)
def test_subrip_as_another_reader_has_it(spans):
    made = cues(spans)
    read = list(srt.parse(subrip_bytes(made).decode()))
    back = [
        (e.index, round(e.start.total_seconds() * 1000), round(e.end.total_seconds() * 1000), e.content) for e in read
    ]
    assert back == [
        (n, c.start_ms, c.end_ms, " ".join(c.text.split()).replace("-->", "->")) for n, c in enumerate(made, 1)
    ]


def test_three_hours_in_two_readers():
    made = [TimedText(3 * 3_600_000 + 61_500, 3 * 3_600_000 + 62_250, "Last\n\nround", "Coach A")]
    vtt, sub = webvtt_bytes(made, "A class --> now\nWEBVTT"), subrip_bytes(made)
    assert vtt.decode() == "WEBVTT A class -> now WEBVTT\n\n03:01:01.500 --> 03:01:02.250\n<v Coach A>Last\nround\n"
    assert webvtt.from_string(vtt.decode())[0].voice == "Coach A"
    for content, form in ((vtt, "vtt"), (sub, "srt")):
        (event,) = pysubs2.SSAFile.from_string(content.decode(), format_=form)
        assert (event.start, event.end) == (10_861_500, 10_862_250)
    assert sub == b"1\r\n03:01:01,500 --> 03:01:02,250\r\nCoach A: Last\r\nround\r\n"


@pytest.mark.parametrize(
    ("span", "ms"), [((1.0, 2.0, 0), (1000, 2000)), ((1.0, 2.0, 1500), (1500, 2000)), ((-1.0, 0.0, 0), (0, 1))]
)
def test_spans_never_run_back(span, ms):
    assert in_order(*span) == ms


def test_hours_past_a_day_are_written_out():
    assert stamp(360_000_000) == "100:00:00.000"
