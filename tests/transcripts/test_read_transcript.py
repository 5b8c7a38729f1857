"""The room as a whole: names, encodings, order, and one clear line for each kind of bad file."""

from __future__ import annotations

import hashlib
import pickle

import numpy as np
import pytest

from analyzer.model.errors import TranscriptError
from analyzer.transcripts import encoding, read_transcript

VTT = "WEBVTT\n\n00:01.000 --> 00:02.000\nÉlève les bras\n\n00:03.000 --> 00:04.000\nand rest\n"
PLAN = "title: Lowtide\nblocks:\n  - name: Main\n    kind: main\n    moves:\n      - name: Squat\n        work: 45s\n"


def test_name_and_digest_are_those_of_the_file(read):
    transcript = read(VTT, "take 1.vtt")
    assert transcript.name == "take 1.vtt"
    assert transcript.sha256 == hashlib.sha256(VTT.encode()).hexdigest()


def test_same_bytes_same_result(read):
    first, second = read(VTT), read(VTT)
    assert first.captions == second.captions
    assert np.array_equal(first.words.start_s, second.words.start_s)


def test_the_extension_does_not_matter(read):
    assert {read(VTT, name).form for name in ("a.srt", "a.json", "a.csv", "a")} == {"webvtt"}


ENCODINGS = {
    "utf-8": (VTT.encode(), 0),
    "utf-8 with mark": (VTT.encode("utf-8-sig"), 0),
    "utf-16 with mark": (VTT.encode("utf-16"), 0),
    "utf-16 big-endian with mark": (b"\xfe\xff" + VTT.encode("utf-16-be"), 0),
    "utf-32 with mark": (VTT.encode("utf-32"), 0),
    "utf-16 without mark": (VTT.encode("utf-16-le"), 1),
    "utf-16 big-endian without mark": (VTT.encode("utf-16-be"), 1),
    "Western European": (VTT.encode("cp1252"), 1),
}


@pytest.mark.parametrize("case", ENCODINGS)
def test_encodings(read, case):
    data, guessed = ENCODINGS[case]
    transcript = read(data)
    assert transcript.words.text == ("Élève", "les", "bras", "and", "rest")
    assert [problem.kind for problem in transcript.problems] == ["encoding"] * guessed


BAD_FILES = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \r\n\t\n", "the file is empty"),
    "only a mark": (b"\xef\xbb\xbf", "the file is empty"),
    "a plan": (PLAN.encode(), "is a class plan, not a transcript; give the plan with --plan"),
    "prose": (b"Today we march and then we rest.\n", "no times were found in the text; give WebVTT"),
    "spreadsheet": (b"PK\x03\x04" + bytes(range(256)), "is a zipped file"),
    "video": (b"\0\0\0\x20ftypisom" + bytes(range(256)), "is a video or audio file"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "is a picture"),
    "noise": (bytes((i * 197 + 31) % 256 for i in range(4000)), "binary|no times"),
    "control characters": (bytes(range(1, 32)) * 40, "is a binary file"),
    "half a character": (b"\xff\xfe" + "1:01 go".encode("utf-16-le")[:-1], "the bytes are not utf-16"),
    "no words": (b"WEBVTT\n\n00:01.000 --> 00:02.000\n[music]\n", "all captions are empty of words"),
    "all at zero": (
        b"WEBVTT\n\n" + b"00:00.000 --> 00:00.000\ngo\n\n" * 3,
        "all 3 captions start at 0:00; each caption needs a time of its own",
    ),
    "no length": (b"WEBVTT\n\n00:09.000 --> 00:09.000\ngo\n", "the captions span no time"),
    "no order": (
        b"WEBVTT\n\n"
        + b"".join(b"00:%02d.000 --> 00:%02d.900\ngo\n\n" % (s, s) for s in (50, 5, 40, 3, 30, 20, 10, 1)),
        "line 6: 5 of 8 captions start before the one ahead of them",
    ),
}


@pytest.mark.parametrize("case", BAD_FILES)
def test_bad_files_get_one_clear_line(read, case):
    data, message = BAD_FILES[case]
    with pytest.raises(TranscriptError, match=message) as caught:
        read(data)
    assert str(caught.value).startswith("take.txt")
    assert "\n" not in str(caught.value)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_missing_file(tmp_path):
    with pytest.raises(TranscriptError, match=r"gone\.vtt: no such file; check the path"):
        read_transcript(tmp_path / "gone.vtt")


def test_folder(tmp_path):
    with pytest.raises(TranscriptError, match="is a folder; give one transcript file"):
        read_transcript(tmp_path)


def test_too_large(tmp_path, monkeypatch):
    monkeypatch.setattr(encoding, "MAX_BYTES", 1000)
    path = tmp_path / "long.vtt"
    path.write_bytes(b"x" * 1001)
    with pytest.raises(TranscriptError, match=r"long\.vtt: holds 0 MB; at most"):
        read_transcript(path)


def test_a_time_that_goes_back_is_recorded_and_the_captions_sorted(read):
    rows = [(1, "one"), (3, "two"), (9, "four"), (6, "three")]
    text = "WEBVTT\n\n" + "".join(f"00:{s:02d}.000 --> 00:{s:02d}.900\n{word}\n\n" for s, word in rows)
    transcript = read(text)
    assert [(c.number, c.text) for c in transcript.captions] == [(1, "one"), (2, "two"), (4, "three"), (3, "four")]
    assert [(p.kind, p.place, p.at_s) for p in transcript.problems] == [("order", "line 12", 6.0)]
    assert (np.diff(transcript.words.start_s) > 0).all()


def test_overlaps_and_reversed_ends_are_recorded(read):
    text = "WEBVTT\n\n00:01.000 --> 00:05.000\none two\n\n00:04.000 --> 00:06.000\nthree\n\n"
    text += "00:08.000 --> 00:07.000\nfour\n"
    transcript = read(text)
    assert [(p.kind, p.place, p.found) for p in transcript.problems] == [
        ("overlap", "line 6", "starts 1.000 s before an earlier one ends"),
        ("order", "line 9", "ends before it starts"),
    ]
    assert transcript.captions[2].end_ms is None
    assert transcript.words.latest_s[1] > 4.0


def test_many_problems_are_summed(read):
    good = "00:01.000 --> 00:02.000\ngo\n\n"
    transcript = read("WEBVTT\n\n" + good + "00:01,000 --> oops\nlost\n\n" * 80)
    assert len(transcript.problems) == 51
    assert transcript.problems[-1].found == "30 more like these"
