"""A machine that lacks something: a locale, a home, standard streams, room on the disk, the right to write."""

from __future__ import annotations

import ctypes
import json
import os
import resource
import subprocess

import pytest

from analyzer.audit import audit_recording
from analyzer.reports import report_bytes
from tests.hardening.conftest import PLAN, RECORDING, ROOT

AUDIT = ("audit", RECORDING, "--plan", PLAN)
SPANISH = ROOT / "tests" / "fixtures" / "es" / "terraza"
PR_CAPBSET_DROP, CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH = 24, 1, 2


def told(done):
    """Return the one line on standard error of a command that could not do its work."""
    lines = done.stderr.decode().splitlines()
    assert (done.returncode, len(lines)) == (2, 1), done
    return lines[0]


@pytest.mark.parametrize(
    "environment",
    [
        {},
        {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "xx_YY.nothing", "HOME": "/nowhere", "TERM": "dumb", "COLUMNS": "0"},
        {"HOME": "", "TMPDIR": "/nowhere", "TZ": "Nowhere/Else", "PATH": ""},
    ],
    ids=["nothing set", "ascii", "no such locale or home", "no folder for temporary files"],
)
def test_without_locale_or_home(cli, tmp_path, environment):
    done = cli("audit", SPANISH / "captions.es.vtt", "--plan", SPANISH / "plan.es.yaml", "--out", tmp_path / "o",
               "--only", "json,html,csv,fixes", "--fail-on", "never", environment=environment)  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    usual = report_bytes(audit_recording(SPANISH / "captions.es.vtt", SPANISH / "plan.es.yaml"))
    assert (tmp_path / "o" / "report.json").read_bytes() == usual


def test_figures_without_a_home(cli, tmp_path):
    nowhere = dict.fromkeys(("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"), "/nowhere")
    done = cli(*AUDIT, "--out", tmp_path / "o", "--only", "figures", "--fail-on", "never", environment=nowhere)
    assert (done.returncode, done.stderr) == (0, b"")
    assert (tmp_path / "o" / "timeline.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("more", [(), ("--json", "-")])
def test_a_full_disk_behind_standard_output(cli, more):
    with open("/dev/full", "wb") as full:
        done = cli(*AUDIT, *more, stdout=full)
    assert told(done) == "standard output: No space left on device"


def _close(*descriptors):
    def close():
        for descriptor in descriptors:
            os.close(descriptor)

    return close


@pytest.mark.parametrize("closed", [(1,), (0, 1, 2)])
def test_standard_streams_that_are_closed(cli, tmp_path, closed):
    done = cli(*AUDIT, "--out", tmp_path / "o", "--only", "json", "--fail-on", "never", preexec_fn=_close(*closed))
    assert (done.returncode, done.stderr) == (0, b"")
    assert json.loads((tmp_path / "o" / "report.json").read_bytes())


def test_a_reader_of_standard_output_that_goes_away(cli):
    reading, writing = os.pipe()
    os.close(reading)
    with open(writing, "wb", closefd=True) as pipe:
        done = cli(*AUDIT, "--json", "-", stdout=pipe)
    assert (done.returncode, done.stderr) == (141, b"")


def _largest_file(size):
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


@pytest.mark.parametrize("size", [0, 50_000])
def test_no_room_for_the_report_leaves_the_old_one(cli, tmp_path, size):
    """The kernel refuses to let a file grow, as on a full disk: every file stays as it was."""
    old = {"report.json": b"old", "report.html": b"old"}
    for name, content in old.items():
        (tmp_path / name).write_bytes(content)
    done = cli(*AUDIT, "--out", tmp_path, "--only", "json,html", preexec_fn=_largest_file(size))
    assert "cannot be written (File too large)" in told(done)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == old


def _without_privileges():
    """Take from the superuser the right to pass over permissions; numbers from Linux's prctl.h and capability.h."""
    prctl = ctypes.CDLL(None).prctl
    for capability in (CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH):
        prctl(PR_CAPBSET_DROP, capability, 0, 0, 0)


@pytest.mark.parametrize(
    "where", [("--out", "kept"), ("--out", "kept/new"), ("--json", "kept/r.json"), ("--keep-steps", "kept")]
)
def test_a_folder_that_may_not_be_written(cli, tmp_path, where):
    kept = tmp_path / "kept"
    kept.mkdir()
    kept.chmod(0o555)
    done = cli(*AUDIT, where[0], tmp_path / where[1], "--only", "json", preexec_fn=_without_privileges)
    assert "may not be written; choose another folder or change its permissions" in told(done)
    assert list(kept.iterdir()) == []


def test_a_recording_that_may_not_be_read(cli, tmp_path):
    recording = tmp_path / "take.vtt"
    recording.write_bytes(RECORDING.read_bytes())
    recording.chmod(0)
    done = cli("audit", recording, "--plan", PLAN, preexec_fn=_without_privileges)
    assert "take.vtt' is not readable" in told(done)


def test_a_recording_from_a_pipe_is_read_once(cli, tmp_path):
    """Also where the words turn out to be in another language than was thought at first."""
    pipe = tmp_path / "take"
    os.mkfifo(pipe)
    with subprocess.Popen(["cp", SPANISH / "captions.es.vtt", pipe]) as feeding:
        done = cli("audit", pipe, "--plan", SPANISH / "plan.es.yaml", "--json", "-", "--fail-on", "never")
        assert feeding.wait(10) == 0
    report = json.loads(done.stdout)
    assert (done.returncode, report["recording"]["file"]) == (0, "take")
    assert len(report["intervals"]) == 11


@pytest.mark.parametrize(
    ("given", "found"),
    [("/dev/zero", "zero: is too large"), ("/dev/null", "null: the file is empty"), ("/dev/urandom", "is too large")],
)
def test_a_device_is_no_recording(cli, given, found):
    assert found in told(cli("audit", given, "--plan", PLAN))
    assert "/dev/" in told(cli("audit", RECORDING, "--plan", given))
