import json
import subprocess
import sys
from pathlib import Path

import opentimelineio as otio
import pysubs2
import pytest
import webvtt

from analyzer.cli import main
from analyzer.cli.export_commands import Rate
from analyzer.reports.exports.timecode import RATES

SAMPLE = Path(__file__).parents[2] / "sample_data" / "harbour-strength"


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    """The folder of the sample's report, as JSON alone."""
    folder = tmp_path_factory.mktemp("stored")
    words = [str(SAMPLE / "captions.vtt"), "--plan", str(SAMPLE / "plan.yaml"), "--out", str(folder)]
    assert main(["audit", *words, "--only", "json", "--quiet"]) == 1
    return folder


def test_the_rates_are_those_of_the_frame_arithmetic():
    assert [rate.value for rate in Rate] == list(RATES)


def test_markers_of_the_sample(run, stored, tmp_path):
    out = tmp_path / "cut.otio"
    code, told, err = run("export", "markers", stored, "--out", out, "--rate", "29.97df", "--start", "01:00:00;00")
    assert (code, err) == (0, [])
    assert told == f"13 markers in {out}, from 01:00:00;00 at 29.97df.\n"
    (clip,) = otio.adapters.read_from_file(str(out)).find_clips()
    call = next(m for m in clip.markers if m.name == "MEDIUM time-call-off")
    assert call.marked_range.start_time.to_timecode(30000 / 1001, True) == "01:06:19;01"  # 6:19 into the class
    assert str(tmp_path) not in out.read_text()


def test_the_form_may_differ_from_the_ending(run, stored, tmp_path):
    out = tmp_path / "markers.txt"
    assert run("export", "markers", stored / "report.json", "--out", out, "--rate", "25", "--form", "EDL", "-q")[
        :2
    ] == (0, "")
    assert out.read_text().startswith("TITLE: Harbour Strength")


def test_chapters_and_timer_of_the_sample(run, stored, tmp_path):
    text, track, timer = tmp_path / "chapters.txt", tmp_path / "chapters.vtt", tmp_path / "timer.vtt"
    assert run("export", "chapters", stored, "--out", text) == (0, f"Chapters in {text}.\n", [])
    assert [line.split(" ", 1)[1] for line in text.read_text().splitlines()] == [
        "Introduction", "Casting off", "Cargo", "Engine room", "Back to berth"
    ]  # fmt: skip
    assert run("export", "chapters", stored, "--out", track, "--by", "move", "-q") == (0, "", [])
    assert len(webvtt.read(track)) == 21
    assert run("export", "timer", stored, "--out", timer) == (0, f"Timer in {timer}.\n", [])
    kinds = [json.loads(cue.text)["kind"] for cue in webvtt.read(timer)]
    assert kinds.count("work") == 20


def test_captions_of_the_sample(run, stored, tmp_path):
    out, listed = tmp_path / "right.vtt", tmp_path / "changes.csv"
    recording = SAMPLE / "captions.vtt"
    code, told, err = run("export", "captions", stored, recording, "--out", out, "--changes", listed)
    assert (code, err) == (0, [])
    assert told.splitlines()[:2] == [f"4 changes in {out}, webvtt.", "2:29 spit squat. -> split squat."]
    before, after = webvtt.read(recording), webvtt.read(out)
    assert [(c.start, c.end) for c in after] == [(c.start, c.end) for c in before]
    assert sum(a.text != b.text for a, b in zip(before, after, strict=True)) == 4
    assert listed.read_text().count("\n") == 5
    assert run("export", "captions", stored, recording, "--out", out, "--form", "subrip", "-q") == (0, "", [])
    assert len(pysubs2.load(str(out), format_="srt")) == len(before)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("markers", "REPORT", "--out", "m.edl"), "Missing option '--rate'"),
        (("markers", "REPORT", "--out", "m.edl", "--rate", "29"), "'29' is not one of '23.976'"),
        (("markers", "REPORT", "--out", "m.mp4", "--rate", "25"), "--form: there is no form 'mp4'; allowed: csv, edl"),
        (("markers", "REPORT", "--out", "m", "--rate", "25"), "--form: there is no form ''"),
        (
            ("markers", "REPORT", "--out", "m.edl", "--rate", "25", "--what", "all"),
            "--what: there is no 'all'; allowed",
        ),
        (
            ("markers", "REPORT", "--out", "m.edl", "--rate", "25", "--start", "1:00"),
            "--start: '1:00' is not a timecode",
        ),
        (
            ("chapters", "REPORT", "--out", "c.mp4"),
            "c.mp4: '.mp4' is no form of chapters; end the name in .vtt or .txt",
        ),
        (("chapters", "REPORT", "--out", "c.vtt", "--by", "set"), "'set' is not one of"),
        (("captions", "REPORT", SAMPLE / "plan.yaml", "--out", "c.vtt"), "is a class plan, not a transcript"),
        (
            ("captions", "REPORT", SAMPLE.parent / "attic-mobility" / "transcript.txt", "--out", "c.txt"),
            "transcript.txt: is not",
        ),
        (("captions", "REPORT", SAMPLE / "captions.vtt", "--out", SAMPLE / "captions.vtt"), "is the input itself"),
        (
            ("captions", "REPORT", SAMPLE / "captions.vtt", "--out", "c.vtt", "--changes", "./c.vtt"),
            "is asked for twice",
        ),
        (("timer", "nowhere", "--out", "t.vtt"), "nowhere: cannot be read"),
        (("markers", "nowhere", "--out", "m.edl", "--rate", "25"), "nowhere: cannot be read (No such file"),
        (("markers", "REPORT", "--out", "REPORT", "--rate", "25", "--form", "csv"), "is the input itself"),
    ],
)
def test_one_line_and_nothing_written(run, stored, tmp_path, monkeypatch, arguments, told):
    monkeypatch.chdir(tmp_path)
    before = (stored / "report.json").read_bytes()
    words = [stored / "report.json" if word == "REPORT" else word for word in arguments]
    code, out, err = run("export", *words)
    assert (code, out, len(err)) == (2, "", 1)
    assert told in err[0]
    assert list(tmp_path.iterdir()) == []
    assert (stored / "report.json").read_bytes() == before


def test_edit_lists_and_tables_need_no_extra(stored, tmp_path):
    code = (
        "import sys\nsys.modules['opentimelineio'] = None\nfrom analyzer.cli import main\n"
        "words = ['export', 'markers', sys.argv[1], '--rate', '25', '--quiet', '--out']\n"
        "print([main([*words, f'{sys.argv[2]}/m.{form}']) for form in ('csv', 'edl', 'otio')])\n"
        "print(sorted({'numpy', 'matplotlib', 'jinja2', 'pandas'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code, stored, tmp_path], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[0] == "[0, 0, 2]"
    assert done.stderr.strip() == (
        "OpenTimelineIO: is not installed; install it with pip install opentimelineio; csv and edl do without"
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == ["m.csv", "m.edl"]
    assert not {"matplotlib", "jinja2", "pandas"} & set(done.stdout.splitlines()[1].split("'"))
