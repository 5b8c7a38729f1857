import csv
import io
import re

import opentimelineio as otio
import pytest
from timecode import Timecode

from analyzer.model.errors import OutputError
from analyzer.reports.exports.marker_files import COLUMNS, edit_list, marker_bytes
from analyzer.reports.exports.markers import COLOURS, KINDS, marker_list
from analyzer.reports.exports.timecode import RATES

LOCATOR = re.compile(r"^\* LOC: (\S+) (\w+) +(.*)$", re.MULTILINE)
LIBRARY_FORMS = ["otio", "xml"]


def made(report, rate="25", start="01:00:00:00", kinds=KINDS):
    return marker_list(report, RATES[rate], start, kinds)


def read_back(content, form, **options):
    (clip,) = otio.adapters.from_filepath(f"x.{form}").read_from_string(content.decode(), **options).find_clips()
    return clip


def test_standing_findings_alone_by_default(report):
    found = marker_list(report, RATES["25"])
    standing = [f for f in report["findings"] if f["verdict"] == "fail" and f["waived"] is None]
    assert len(found.markers) == len(standing)
    assert {m.level for m in found.markers} <= {"high", "medium", "low"}
    assert (found.start, found.label(0)) == (0, "00:00:00:00")


def test_a_finding_as_a_marker(report):
    marker = next(m for m in made(report).markers if "side-uneven" in m.name)
    assert (marker.first, marker.last, marker.level, marker.colour) == (2600, 3300, "high", "RED")  # 104 s, 132 s
    assert marker.name == "HIGH side-uneven"
    assert marker.note.startswith("The right side got 12 s less than the left. Re-record")


def test_what_is_waived_or_missing_gets_no_marker(report):
    kinds = {m.level for m in made(report).markers}
    assert kinds == set(COLOURS)
    intervals = [m for m in made(report).markers if m.level == "interval"]
    assert len(intervals) == sum(row["status"] != "missing" for row in report["intervals"])
    for finding in report["findings"]:
        finding["waived"] = "it may stay"
    assert made(report, kinds=("findings", "unclear")).markers == ()


def test_a_finding_of_the_whole_class_stands_at_its_start(report):
    report["findings"] = [report["findings"][0] | {"at": None, "until": None}]
    (marker,) = made(report, kinds=("findings",)).markers
    assert (marker.first, marker.last) == (0, 0)
    assert marker.note.startswith("The whole class. ")


def test_marks_past_the_end_are_kept_inside(report):
    report["findings"] = [report["findings"][0] | {"at": -3.0, "until": 1e6}, report["findings"][1] | {"at": 9e5}]
    found = made(report, kinds=("findings",))
    assert [(m.first, m.last) for m in found.markers] == [(0, found.length), (found.length - 1, found.length - 1)]


@pytest.mark.parametrize("form", LIBRARY_FORMS)
@pytest.mark.parametrize("rate", [name for name in RATES if not name.endswith("df")])
def test_the_library_reads_its_forms_back(report, form, rate):
    found = made(report, rate)
    clip = read_back(marker_bytes(found, form), form)
    assert clip.name == "take-2.vtt" == found.recording
    assert clip.source_range.duration.to_frames() == found.length
    spans = [
        (m.marked_range.start_time.to_frames() - found.start, m.marked_range.duration.to_frames()) for m in clip.markers
    ]
    assert spans == [(m.first, m.last - m.first) for m in found.markers]
    if form == "otio":
        told = [(m.name, m.comment, m.color) for m in clip.markers]
        assert told == [(m.name, m.note, m.colour) for m in found.markers]
    else:  # its markers have neither note nor colour
        assert [m.name for m in clip.markers] == [m.line for m in found.markers]


@pytest.mark.parametrize("rate", ["29.97df", "59.94df"])
def test_drop_frame_in_the_librarys_own_form(report, rate):
    found = made(report, rate, "00:58:59;28")
    text = marker_bytes(found, "otio").decode()
    timeline = otio.adapters.read_from_string(text, "otio_json")
    assert timeline.global_start_time.to_timecode(RATES[rate].fps, drop_frame=True) == "00:58:59;28"
    assert timeline.metadata["class_analyzer"] == {"frame_rate": rate, "drop_frame": True}
    labels = [m.marked_range.start_time.to_timecode(RATES[rate].fps, True) for m in timeline.find_clips()[0].markers]
    assert labels == [found.label(m.first) for m in found.markers]


@pytest.mark.parametrize("rate", ["24", "25", "30", "50", "60"])
def test_the_edit_list_read_by_the_librarys_adapter(report, rate):
    found = made(report, rate)
    clip = read_back(marker_bytes(found, "edl"), "edl", rate=int(rate))
    assert clip.source_range.start_time.to_frames() == found.start
    assert clip.source_range.duration.to_frames() == found.length
    back = [(m.marked_range.start_time.to_frames() - found.start, m.color) for m in clip.markers]
    assert back == [(m.first, m.colour) for m in found.markers]


@pytest.mark.parametrize("rate", ["23.976", "29.97", "29.97df", "59.94", "59.94df"])
def test_the_edit_lists_timecodes_at_broken_rates(report, rate):
    """The adapter reads these as drop-frame, and no locator with a semicolon: another library counts the frames."""
    found = made(report, rate)
    text = edit_list(found)
    drop = rate.endswith("df")
    assert ("FCM: DROP FRAME\r\n" if drop else "FCM: NON-DROP FRAME\r\n") in text

    def frame(label):
        return Timecode(rate.removesuffix("df"), label, force_non_drop_frame=not drop).frames - 1  # it counts from 1

    frames = [frame(label) - found.start for label, _, _ in LOCATOR.findall(text)]
    assert frames == [m.first for m in found.markers]
    event = next(line for line in text.splitlines() if line.startswith("001")).split()
    assert [frame(label) for label in event[4:]] == [found.start, found.start + found.length] * 2


def test_an_edit_list_is_plain_lines(hostile):
    hostile["title"] = "Two\nlines\r\n001  AX V C"
    hostile["recording"]["file"] = "été №7 (final take).vtt"
    text = edit_list(made(hostile))
    lines = text.split("\r\n")
    assert lines[0] == "TITLE: Two lines 001 AX V C"
    assert lines[3].startswith("001  T7FINALT V     C        01:00:00:00 ")  # a reel of eight plain letters or digits
    assert len([line for line in lines if line[:1].isdigit()]) == 1
    assert not re.search(r"[\x00-\x09\x0b\x0c\x0e-\x1f\x7f]", text)
    assert max(map(len, lines)) < 240


def test_the_table_holds_every_marker(report):
    found = made(report, "29.97df", "00:00:00;00")
    rows = list(csv.DictReader(io.StringIO(marker_bytes(found, "csv").decode(), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert [(r["timecode"], int(r["frame"]), r["name"]) for r in rows] == [
        (found.label(m.first), m.first, m.name) for m in found.markers
    ]
    assert [float(r["at"]) for r in rows] == [round(m.at_s, 2) for m in found.markers]


@pytest.mark.parametrize("form", ["csv", "edl", *LIBRARY_FORMS])
def test_same_report_same_bytes(report, hostile, form):
    assert marker_bytes(made(report), form) == marker_bytes(made(report), form)
    assert marker_bytes(made(hostile), form) == marker_bytes(made(hostile), form)


@pytest.mark.parametrize("form", ["csv", "edl", *LIBRARY_FORMS])
def test_no_marker_at_all(report, form):
    report["findings"] = []
    assert len(marker_bytes(made(report, kinds=("findings",)), form)) > 60


@pytest.mark.parametrize(
    ("rate", "start", "told"),
    [
        ("25", "an hour", "--start: 'an hour' is not a timecode"),
        ("29.97df", "00:01:00;00", "leaves out"),
        ("25", "23:59:00:00", "pass 24 hours; give an earlier one"),
    ],
)
def test_starts_that_cannot_be(report, rate, start, told):
    with pytest.raises(OutputError, match=told):
        made(report, rate, start)


@pytest.mark.parametrize(
    ("form", "told"), [("mp4", "no form 'mp4'; allowed: csv, edl, otio, xml;"), ("", "no form ''")]
)
def test_forms_there_are_not(report, form, told):
    with pytest.raises(OutputError, match=told):
        marker_bytes(made(report), form)


def test_a_form_that_loses_markers_is_refused(report, monkeypatch):
    class Deaf:
        write_to_string = staticmethod(lambda made: made.to_json_string())
        read_from_string = staticmethod(lambda text: otio.schema.Timeline())

    monkeypatch.setattr(otio.adapters, "from_filepath", lambda name: Deaf)
    with pytest.raises(OutputError, match=r"the form otio keeps 0 of \d+ markers; use one of: csv, edl, otio"):
        marker_bytes(made(report), "otio")


def test_an_adapter_that_fails_is_told_in_one_line(report, monkeypatch):
    monkeypatch.setattr(otio.adapters, "from_filepath", lambda name: object())
    with pytest.raises(OutputError, match="the adapter for xml cannot write markers"):
        marker_bytes(made(report), "xml")
