import hashlib

import pytest

from analyzer.model.errors import ReportError
from analyzer.reports.exports.corrections import changes, renamed
from analyzer.transcripts import parse_transcript

TEXT = b"""WEBVTT

00:01.000 --> 00:04.000
We start with the spit squat,

00:05.000 --> 00:08.000
spit squat again, and a visit.

00:09.000 --> 00:12.000
Pay us a visit.
"""


def finding(name, *evidence, **changed):
    pieces = [{"at": at, "text": text} for at, text in evidence]
    return {"instead": name, "verdict": "fail", "waived": None, "evidence": pieces} | changed


def report(*findings, data=TEXT):
    return {"recording": {"file": "take.vtt", "sha256": hashlib.sha256(data).hexdigest()}, "findings": list(findings)}


def found(*findings, data=TEXT):
    made = changes(report(*findings, data=data), parse_transcript(data, "take.vtt"))
    return [(change.first, change.heard, change.right) for change in made]


def test_each_place_is_found_by_its_words_and_time():
    split = finding("Split squat", (5.0, "spit squat"), (2.7, "spit squat,"))
    assert found(split, finding("V-sit", (7.5, "visit."))) == [
        (4, "spit squat,", "split squat,"),
        (6, "spit squat", "split squat"),
        (11, "visit.", "V-sit."),
    ]


@pytest.mark.parametrize(
    "changed", [{"waived": "it may stay"}, {"verdict": "unclear"}, {"instead": None}, {"evidence": []}]
)
def test_only_standing_findings_with_a_right_name_change_words(changed):
    assert found(finding("Split squat", (5.0, "spit squat"), **changed)) == []


def test_reports_made_before_the_key_ask_for_nothing():
    old = finding("x")
    del old["instead"]
    assert found(old) == []


def test_words_belong_to_the_first_that_claims_them():
    assert found(finding("Split squat", (5.0, "spit squat")), finding("Squat again", (5.5, "squat again,"))) == [
        (6, "spit squat", "split squat")
    ]


@pytest.mark.parametrize(
    ("words", "heard", "name", "told"),
    [
        (
            "then reach pup and fold down slowly",
            "reach pup and fold",
            "Reach up and fold down",
            "reach up and fold down",
        ),
        ("now dead buck breast low", "buck breast", "Dead bug press", "dead bug press"),
        ("bend over road", "bend over road", "Bent-over row", "bent-over row"),
        ("down down dog", "down dock", "Down dog", None),
    ],
)
def test_words_of_the_name_beside_it_are_not_doubled(words, heard, name, told):
    data = f"WEBVTT\n\n00:01.000 --> 00:05.000\n{words}\n".encode()
    assert [right for *_, right in found(finding(name, (1.0, heard)), data=data)] == ([told] if told else [])


def test_another_file_is_refused():
    with pytest.raises(
        ReportError, match=r"^take\.vtt: is not the file the report was made from, take\.vtt; give that"
    ):
        changes(report(data=b"other"), parse_transcript(TEXT, "take.vtt"))


@pytest.mark.parametrize(
    ("said", "name", "new"),
    [
        (["spit", "squat"], "Split squat", ("split", "squat")),
        (["Spit", "squat."], "split squat", ("Split", "squat.")),
        (["\u201cSPIT", "SQUAT\u201d,"], "Split squat", ("\u201cSPLIT", "SQUAT\u201d,")),
        (["visit!"], "V-sit", ("V-sit!",)),
        (["bend", "over", "road,"], "Bent-over row", ("bent-over", "row,", "")),
        (["tiptop"], "Tip toe walk", ("tip toe walk",)),
        (["a", "bee"], "One two three", ("one two", "three")),
        (["\u2026"], "Plank", ("\u2026plank",)),
    ],
)
def test_the_name_takes_case_and_marks_of_what_was_said(said, name, new):
    assert renamed(said, name) == new
