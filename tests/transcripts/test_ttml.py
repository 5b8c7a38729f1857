"""TTML time expressions as in W3C Timed Text Markup Language 2, section 12.3.1 (clock, frames, ticks, offsets)."""

from __future__ import annotations

import pysubs2
import pytest

from analyzer.model.errors import TranscriptError

HEAD = '<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter"'


def document(body: str, attributes: str = "") -> str:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{HEAD} {attributes}><body><div>{body}</div></body></tt>'


TIMES = {
    "clock": ('begin="00:00:01.500" end="00:00:03"', "", (1500, 3000)),
    "seconds": ('begin="1.5s" end="3s"', "", (1500, 3000)),
    "other units": ('begin="1500ms" end="0.5m"', "", (1500, 30000)),
    "duration": ('begin="1.5s" dur="2s"', "", (1500, 3500)),
    "frames, default rate": ('begin="00:00:01:15" end="00:00:03:00"', "", (1500, 3000)),
    "frames at 25": ('begin="00:00:01:10" end="00:00:03:00"', 'ttp:frameRate="25"', (1400, 3000)),
    "frames at 30000/1001": (
        'begin="00:00:01:30" end="00:00:03:00"',
        'ttp:frameRate="30" ttp:frameRateMultiplier="1000 1001"',
        (2001, 3000),
    ),
    "ticks": ('begin="15000000t" end="30000000t"', 'ttp:tickRate="10000000"', (1500, 3000)),
}


@pytest.mark.parametrize("case", TIMES)
def test_time_expressions(read, case):
    times, attributes, expected = TIMES[case]
    transcript = read(document(f"<p {times}>two words</p>", attributes))
    assert transcript.form == "ttml"
    assert [(c.start_ms, c.end_ms) for c in transcript.captions] == [expected]


def test_times_agree_with_another_reader(read):
    subs = pysubs2.SSAFile()
    subs.events = [pysubs2.SSAEvent(1007, 2500, text="Hello all"), pysubs2.SSAEvent(62345, 64000, text=r"and\Nmarch")]
    transcript = read(subs.to_string("ttml"))
    assert [(c.start_ms, c.end_ms, c.text) for c in transcript.captions] == [
        (1007, 2500, "Hello all"),
        (62345, 64000, "and march"),
    ]


def test_nested_times_add_up_and_sequences_follow_each_other(read):
    body = '<div begin="10s"><p begin="1s" end="2s">first one</p></div>'
    body += '<div begin="20s" timeContainer="seq"><p dur="2s">second<br/>one</p>'
    body += '<p dur="3s">third <span>one</span></p></div>'
    captions = read(document(body)).captions
    assert [(c.start_ms, c.end_ms, c.text) for c in captions] == [
        (11000, 12000, "first one"),
        (20000, 22000, "second one"),
        (22000, 25000, "third one"),
    ]


def test_timed_spans_of_an_untimed_paragraph(read):
    body = '<p><span begin="1s" end="2s">one</span> <span begin="3s" end="4s">two</span></p>'
    assert [(c.start_ms, c.text) for c in read(document(body)).captions] == [(1000, "one"), (3000, "two")]


def test_agents_name_the_speaker(read):
    text = (
        f'{HEAD} xmlns:ttm="http://www.w3.org/ns/ttml#metadata"><head><metadata><ttm:agent xml:id="c1" type="person">'
        '<ttm:name type="full">Coach A</ttm:name></ttm:agent></metadata></head><body><div>'
        '<p begin="1s" end="2s" ttm:agent="c1">march on</p></div></body></tt>'
    )
    assert read(text).captions[0].speaker == "Coach A"


REFUSED = {
    "entity bomb": ('<!DOCTYPE tt [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><tt><body/></tt>', "declares a document type"),
    "external entity": ('<!DOCTYPE tt SYSTEM "file:///etc/passwd"><tt/>', "declares a document type"),
    "not well formed": (document("<p begin='1s'>"), "line 2: is not well-formed XML"),
    "no paragraph": (document(""), "holds no caption"),
    "too deep": (document("<div>" * 60 + "<p begin='1s' end='2s'>x</p>" + "</div>" * 60), "nests beyond 40 levels"),
    "a web page": ("<html><body><p>hello</p></body></html>", "no tt element"),
    "a bad time": (document("<p begin='1:75' end='2s'>lost</p>"), "paragraph 1: no usable caption.*75 seconds"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_one_clear_line(read, case):
    text, message = REFUSED[case]
    with pytest.raises(TranscriptError, match=message):
        read(text)


def test_a_document_of_too_many_elements(read, monkeypatch):
    monkeypatch.setattr("analyzer.transcripts.ttml._MAX_ELEMENTS", 5)
    with pytest.raises(TranscriptError, match="it holds more than 5 elements; export it again"):
        read(document("<div><p begin='1s' end='2s'>x</p><br/></div>"))
