"""WebVTT against the parsing rules of the W3C draft "WebVTT: The Web Video Text Tracks Format" (sections "WebVTT
parser algorithm", "WebVTT cue timings and settings parsing", "WebVTT cue text parsing rules"), and the WPT file-parsing
tests that follow from them. Captions without a word are left out by us, so they do not show here."""

from __future__ import annotations

import pytest
import webvtt

from analyzer.model.errors import TranscriptError

H = "WEBVTT\n\n"
GO = "00:01.000 --> 00:02.000\nGo"

ACCEPTED = {
    "byte order mark": ("\ufeff" + H + GO, [(1.0, 2.0, "Go")]),
    "text after the signature": ("WEBVTT - morning class\n\n" + GO, [(1.0, 2.0, "Go")]),
    "tab after the signature": ("WEBVTT\tx\n\n" + GO, [(1.0, 2.0, "Go")]),
    "header lines are skipped": ("WEBVTT\nKind: captions\nLanguage: en\n\n" + GO, [(1.0, 2.0, "Go")]),
    "no blank line after the signature": ("WEBVTT\n" + GO, [(1.0, 2.0, "Go")]),
    "one digit of hours": (H + "1:00:00.000 --> 1:00:05.000\nGo", [(3600.0, 3605.0, "Go")]),
    "sixty hours": (H + "60:00:00.000 --> 61:00:00.000\nGo", [(216000.0, 219600.0, "Go")]),
    "no space about the arrow": (H + "00:01.000-->00:02.000\nGo", [(1.0, 2.0, "Go")]),
    "settings, one unknown": (H + "00:59.000 --> 00:01:00.500 align:start bogus line:0\nGo", [(59.0, 60.5, "Go")]),
    "settings without a space": (H + "00:01.000 --> 00:02.000xyz\nGo", [(1.0, 2.0, "Go")]),
    "no blank line between cues": (H + GO + "\n00:03.000 --> 00:04.000\nTwo", [(1.0, 2.0, "Go"), (3.0, 4.0, "Two")]),
    "an index leaks without a blank line": (
        H + GO + "\n7\n00:03.000 --> 00:04.000\nTwo",
        [(1.0, 2.0, "Go 7"), (3.0, 4.0, "Two")],
    ),
    "NOTE above a timing line is its id": (H + "NOTE\n" + GO, [(1.0, 2.0, "Go")]),
    "comment": (H + "NOTE a\nb\n\n" + GO, [(1.0, 2.0, "Go")]),
    "two lines above a timing line": (H + "block A\nround 1\n" + GO, [(1.0, 2.0, "Go")]),
    "a broken timing line loses its text": (
        H + "00:01.000 --> oops\nlost\n\n00:03.000 --> 00:04.000\nkept",
        [(3.0, 4.0, "kept")],
    ),
    "an empty cue": (H + "00:01.000 --> 00:02.000\n\n00:03.000 --> 00:04.000\nB", [(3.0, 4.0, "B")]),
    "style": (H + "STYLE\n::cue{}\n\n" + GO, [(1.0, 2.0, "Go")]),
    "a line of one space is no blank line": (H + "00:01.000 --> 00:02.000\nA\n \nB", [(1.0, 2.0, "A B")]),
    "lone carriage returns": ("WEBVTT\r\r00:01.000 --> 00:02.000\rA\r", [(1.0, 2.0, "A")]),
    "CRLF": ("WEBVTT\r\n\r\n00:01.000 --> 00:02.000\r\nA\r\n", [(1.0, 2.0, "A")]),
    "NUL becomes U+FFFD": (H + "00:01.000 --> 00:02.000\nA\0B", [(1.0, 2.0, "A\ufffdB")]),
}
# Cue text: payload, visible text, voice.
CUE_TEXT = {
    "voice, closed": ("<v Coach>Go</v>", "Go", "Coach"),
    "voice, open": ("<v Coach>Go", "Go", "Coach"),
    "voice with classes and spaces": ("<v.loud.near Coach  A >Go", "Go", "Coach A"),
    "references": ("Rest &amp; go", "Rest & go", None),
    "a bare ampersand": ("AT&T", "AT&T", None),
    "less than": ("a &lt; b", "a b", None),
    "a time inside": ("five <00:00:02.000>four", "five four", None),
    "malformed times inside": ("five <0:02.000>four <00:00:02.000 >three", "five four three", None),
    "unknown and stray tags": ("<x>hold</x> it</v>", "hold it", None),
}
# Where the library is more lenient than the standard, and we with it: a producer would rather keep the caption.
LENIENT = {
    "two digits of a fraction": (H + "00:01.00 --> 00:02.000\nGo", [(1.0, 2.0, "Go")]),
    "one digit of minutes": (H + "0:01.000 --> 00:02.000\nGo", [(1.0, 2.0, "Go")]),
    "four digits of a fraction": (H + "00:01.000 --> 00:02.0000\nGo", [(1.0, 2.0, "Go")]),
}
REFUSED = {
    "nothing else": ("WEBVTT", "holds no caption"),
    "lower case": ("webvtt\n\n" + GO, "line 1: the first line is 'webvtt'"),
    "a letter too many": ("WEBVTTX\n\n" + GO, "line 1: the first line is 'WEBVTTX'"),
    "a blank line first": ("\nWEBVTT\n\n" + GO, "line 1: the first line"),
    "commas": (H + "00:01,000 --> 00:02,000\nGo", "line 3: .*a point, not a comma"),
    "sixty minutes": (H + "60:00.000 --> 61:00.000\nGo", "line 3: no usable caption"),
    "sixty seconds": (H + "00:59.999 --> 01:60.000\nGo", "line 3: no usable caption"),
    "an arrow in the text": (H + "00:01.000 --> 00:02.000\nleft --> right", "line 4: no usable caption"),
    "end before start": (H + "00:05.000 --> 00:04.000\nGo", "span no time"),
    "over a hundred hours": (H + "100:00:00.000 --> 100:00:01.000\nGo", "captions beyond 100 hours: 1"),
}


@pytest.mark.parametrize("case", [*ACCEPTED, *LENIENT])
def test_cues_as_in_the_parsing_rules(read, case):
    text, expected = (ACCEPTED | LENIENT)[case]
    transcript = read(text)
    assert transcript.form == "webvtt"
    assert [(c.start_ms / 1000, c.end_ms / 1000, c.text) for c in transcript.captions] == expected


@pytest.mark.parametrize("case", CUE_TEXT)
def test_cue_text_as_in_the_parsing_rules(read, case):
    payload, visible, voice = CUE_TEXT[case]
    (caption,) = read(f"{H}00:01.000 --> 00:09.000\n{payload}").captions
    assert (caption.text, caption.speaker) == (visible, voice)


def test_a_bare_less_than_keeps_the_words_after_it(read):
    # the standard swallows them up to the next ">"; a coach's "5 < 10 seconds left" is worth more than its purity
    assert read(f"{H}00:01.000 --> 00:09.000\n5 < 10 seconds left").captions[0].text == "5 10 seconds left"


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_one_clear_line(read, case):
    text, message = REFUSED[case]
    with pytest.raises(TranscriptError, match=message):
        read(text)


def test_every_skipped_caption_is_reported_with_its_line(read):
    text = H + "00:01,000 --> 00:02,000\nlost\n\n00:03.000 --> 00:04.000\nkept\n\n00:05.000 --> oops\nlost\n\n"
    transcript = read(text + "00:06.000 --> 00:07.500\nand kept\n")
    assert [p.place for p in transcript.problems if p.kind == "skipped"] == ["line 3", "line 9"]
    assert [(c.line, c.text) for c in transcript.captions] == [(6, "kept"), (12, "and kept")]


def test_milliseconds_are_kept_and_agree_with_the_library(read):
    text = H + "\n\n".join(
        f"00:{m:02d}:{s:02d}.{ms:03d} --> 00:59:59.999\nword" for m, s, ms in ((0, 1, 7), (3, 4, 999))
    )
    captions = read(text).captions
    assert [c.start_ms for c in captions] == [c.start_time.in_milliseconds() for c in webvtt.from_string(text)]
    assert [c.start_ms for c in captions] == [1007, 184999]
