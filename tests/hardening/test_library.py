"""Library folders that are hostile, odd, closed or changing: what is wrong is listed, the other classes are audited."""

from __future__ import annotations

import csv
import io
import json
import os
import signal
import subprocess
from pathlib import Path

import pytest

from analyzer.audit import audit_recording
from analyzer.library import run as run_module
from analyzer.library import work
from analyzer.library.folders import LocalFolder, open_folder
from analyzer.library.run import Asked, audit_library
from analyzer.library.store import read_table
from analyzer.model.errors import AnalyzerError
from analyzer.reports import report_bytes
from tests.fuzz import seeds
from tests.hardening.conftest import COMMAND, ROOT
from tests.hardening.test_limits import LAUGHS, packed
from tests.hardening.test_paths import ODD
from tests.hardening.test_surroundings import _without_privileges

TAKE, PLAN = seeds.TRANSCRIPTS["webvtt"]().encode(), seeds.PLAN.encode()
WAIT_S = 20


@pytest.fixture(autouse=True)
def _never_waits():
    """End a test that waits for a pipe."""

    def end(*_):
        raise TimeoutError("it waits")

    before = signal.signal(signal.SIGALRM, end)
    signal.alarm(WAIT_S)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def source(tmp_path):
    """A folder with one good class, named so that it comes last."""
    folder = tmp_path / "classes"
    folder.mkdir()
    put(folder, "z-good")
    return folder


def put(folder, name, take=TAKE, plan=PLAN, form="yaml"):
    """Write a class as NAME.vtt and NAME.yaml; None leaves a file out."""
    for content, end in ((take, "vtt"), (plan, form)):
        if content is not None:
            (folder / f"{name}.{end}").write_bytes(content)


def audit(source, out, **asked):
    def one_by_one(jobs):
        yield from map(work.audit_job, jobs)

    asked = Asked(kinds=("json",), **asked)
    return audit_library(open_folder(str(source)), open_folder(str(out)), asked, one_by_one)


def told(out):
    """Return what ``not-audited.csv`` says, by name."""
    rows = csv.DictReader(io.StringIO((out / "not-audited.csv").read_text(encoding="utf-8"), newline=""))
    return {row["name"]: row["reason"] for row in rows}


def stored(out):
    """Return the keys of the audited classes in the store."""
    rows = read_table(open_folder(str(out)), "classes").to_dict("records")
    return {row["class"] for row in rows if not row["reason"]}


def _loop(path, outside):
    path.symlink_to(path.name + "-back")
    (path.parent / f"{path.name}-back").symlink_to(path)


SPECIAL = {
    "loop": (_loop, "cannot be read: Too many levels of symbolic links"),
    "link outside": (lambda path, outside: path.symlink_to(outside), "it is a link that leads out of the folder"),
    "broken link": (lambda path, _: path.symlink_to("nowhere"), "cannot be read: No such file or directory"),
    "device": (lambda path, _: path.symlink_to("/dev/zero"), "it is a link that leads out of the folder"),
    "pipe": (lambda path, _: os.mkfifo(path), "cannot be read: it is no ordinary file"),
}


@pytest.mark.parametrize("end", ["vtt", "yaml", "waivers.yaml"])
@pytest.mark.parametrize(("make", "reason"), SPECIAL.values(), ids=SPECIAL)
def test_what_is_no_file_of_the_folder_is_listed(source, tmp_path, make, reason, end):
    put(source, "a")
    outside = tmp_path / "outside"
    outside.write_bytes(TAKE if end == "vtt" else PLAN)
    (source / f"a.{end}").unlink(missing_ok=True)
    make(source / f"a.{end}", outside)
    summary = audit(source, tmp_path / "out")
    assert (summary.audited, [row.name for row in summary.failed]) == (1, ["a"])
    assert reason in told(tmp_path / "out")["a"]
    assert stored(tmp_path / "out") == {"z-good"}


def test_a_link_to_a_file_of_the_folder_is_followed(source, tmp_path):
    (source / "a.vtt").symlink_to("z-good.vtt")
    (source / "a.yaml").symlink_to(source / "z-good.yaml")
    assert audit(source, tmp_path / "out").audited == 2


def test_links_to_folders_are_listed_and_not_followed(source, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    put(elsewhere, "theirs")
    (source / "circle").symlink_to(source)
    (source / "away").symlink_to(elsewhere)
    summary = audit(source, tmp_path / "out")
    assert (summary.classes, summary.audited) == (1, 1)
    assert told(tmp_path / "out") == dict.fromkeys(("away", "circle"), "is a link to a folder, which is not followed")


@pytest.mark.parametrize("make", [os.mkfifo, lambda path: path.symlink_to("/dev/zero")], ids=["pipe", "device"])
def test_a_manifest_that_is_no_file(source, tmp_path, make):
    make(source / "manifest.csv")
    with pytest.raises(AnalyzerError, match=r"manifest\.csv: cannot be read \(it is "):
        audit(source, tmp_path / "out")


def test_a_manifest_without_end(source, tmp_path):
    with pytest.raises(AnalyzerError, match="zero: is too large; at most 64 MB"):
        audit(source, tmp_path / "out", manifest=Path("/dev/zero"))


def test_folders_nested_deeper_than_calls(source):
    deepest = "/".join("d" * 1200)
    for end in range(1, len(deepest) + 1, 2):
        os.mkdir(source / deepest[:end])
    put(source / deepest, "a")
    try:
        assert LocalFolder(source).names("d") == (f"{deepest}/a.vtt", f"{deepest}/a.yaml")
    finally:
        subprocess.run(["rm", "-r", source / "d"], check=True)


def test_odd_names(source, tmp_path):
    names = {os.fsdecode(name).removeprefix("./").removesuffix(".vtt") for name in ODD.values()}
    for name in names:
        put(source, name if len(name) < 200 else name[:-1])
    out = tmp_path / "out"
    summary = audit(source, out)
    assert told(out) == {}
    assert summary.audited == len(names) + 1
    keys = {os.path.relpath(path.parent, out / "reports") for path in out.rglob("report.json")}
    assert stored(out) == keys
    assert "t\\udcff\\udcfe\\udce9" in keys
    assert audit(source, out).unchanged == len(names) + 1


def test_names_that_differ_in_what_is_no_text(source, tmp_path):
    put(source, os.fsdecode(b"a\xff"))
    put(source, "a\\udcff")
    audit(source, tmp_path / "out")
    ((_, reason),) = told(tmp_path / "out").items()
    assert reason.startswith("2 plans have this name: ")


def test_a_name_too_long_for_its_report(source, tmp_path):
    put(source, os.fsdecode(b"\xff" * 240))
    out = tmp_path / "out"
    summary = audit(source, out)
    assert (summary.audited, stored(out)) == (1, {"z-good"})
    assert [row.reason for row in summary.failed] == ["its report cannot be written: it has too long a name"]
    assert audit(source, out).unchanged == 1


def test_odd_names_on_the_command_line(run, source, tmp_path):
    put(source, "\x1b[31m\u202e\n" + os.fsdecode(b"\xff"), take=None)
    code, shown, err = run("library", "audit", source, "--out", tmp_path / "out", "--jobs", "1", "--only", "json")
    assert (code, err) == (0, [])
    assert "no recording has its name" in shown
    assert not set("\x1b\u202e") & set(shown)


def test_a_folder_of_results_whose_name_is_no_text(run, source, tmp_path):
    out = tmp_path / os.fsdecode(b"out\xff")
    code, _, err = run("library", "audit", source, "--out", out, "--jobs", "1")
    assert (code, len(err)) == (2, 1)
    assert "has a name that is not plain text; choose another folder" in err[0]
    assert not out.exists()


@pytest.mark.parametrize("name", ["o [1]*?", "o'\"\n", "-o"])
def test_odd_names_of_results(source, tmp_path, name):
    audit(source, tmp_path / name)
    assert audit(source, tmp_path / name).unchanged == 1


HOSTILE = {
    "huge line": (b"WEBVTT\n\n00:01.000 --> 00:09.000\n" + b"x" * 200_000, PLAN, "yaml", "only 0%"),
    "too large": (b"x" * (run_module.RECORDING_BYTES + 9), PLAN, "yaml", "holds 32 MB"),
    "null bytes": (b"\0" * 9999, PLAN, "yaml", "the file is empty"),
    "laughs": (TAKE, LAUGHS.encode(), "yaml", "anchors are not allowed"),
    "null bytes as plan": (TAKE, b"title: a\0b", "yaml", "holds the control character"),
    "bomb": (TAKE, packed(extra=b"\0" * 60_000_000), "xlsx", "unpacks to more than"),
    "large plan": (TAKE, b"#" * (run_module.PLAN_BYTES + 9), "yaml", "is larger than"),
}


def test_hostile_files_among_good_ones(source, tmp_path):
    for name, (take, plan, form, _) in HOSTILE.items():
        put(source, name, take, plan, form)
    out = tmp_path / "out"
    audit(source, out)
    assert stored(out) == {"z-good"}
    reasons = told(out)
    assert {name for name, row in HOSTILE.items() if row[-1] not in reasons[name]} == set()
    assert max(map(len, reasons.values())) < 500


def test_a_recording_that_changes_after_it_was_read(source, tmp_path, monkeypatch):
    """The report is of the bytes under whose hash it is stored, and the new ones are audited the next time."""
    before = report_bytes(audit_recording(source / "z-good.vtt", source / "z-good.yaml"))
    changed = TAKE.replace(b"go", b"stop") + b"\n\n59:00.000 --> 59:04.000\nrest\n"
    read = LocalFolder.read

    def read_then_change(self, name, most=-1):
        content = read(self, name, most)
        if name == "z-good.vtt":
            (source / name).write_bytes(changed)
        return content

    monkeypatch.setattr(LocalFolder, "read", read_then_change)
    out = tmp_path / "out"
    audit(source, out)
    report = out / "reports" / "z-good" / "report.json"
    assert report.read_bytes() == before
    assert audit(source, out).audited == 1
    assert report.read_bytes() == report_bytes(audit_recording(source / "z-good.vtt", source / "z-good.yaml"))
    assert report.read_bytes() != before
    assert audit(source, out).unchanged == 1


def test_a_plan_that_disappears_amid_the_run(source, tmp_path, monkeypatch):
    put(source, "a")
    put(source, "b")
    out = tmp_path / "out"
    read = LocalFolder.read

    def read_then_remove(self, name, most=-1):
        if name == "a.yaml":
            (source / "b.yaml").unlink()
        return read(self, name, most)

    monkeypatch.setattr(LocalFolder, "read", read_then_remove)
    assert audit(source, out).audited == 2
    assert told(out) == {"b": "cannot be read: No such file or directory"}
    monkeypatch.undo()
    put(source, "b")
    assert audit(source, out).audited == 1
    assert told(out) == {}


def test_a_closed_folder_is_listed_and_its_classes_are_kept(source, tmp_path, cli):
    (source / "spring").mkdir()
    put(source / "spring", "a")
    out = tmp_path / "out"
    assert audit(source, out).audited == 2
    (source / "spring").chmod(0)
    try:
        done = cli("library", "audit", source, "--out", out, "--jobs", "1", "--only", "json", "--prune",
                   preexec_fn=_without_privileges)  # fmt: skip
    finally:
        (source / "spring").chmod(0o700)
    assert (done.returncode, done.stderr) == (0, b"")
    assert told(out) == {"spring": "cannot be listed: Permission denied"}
    assert stored(out) == {"spring/a", "z-good"}
    assert audit(source, out).unchanged == 2


def test_a_library_that_may_not_be_read(source, tmp_path, cli):
    source.chmod(0)
    try:
        done = cli("library", "audit", source, "--out", tmp_path / "out", preexec_fn=_without_privileges)
    finally:
        source.chmod(0o700)
    (line,) = done.stderr.decode().splitlines()
    assert done.returncode == 2
    assert "classes: cannot be listed: Permission denied; give a folder" in line


@pytest.mark.parametrize("name", [".lock", "store/current.json", "not-audited.csv", "reports/z-good/report.json"])
def test_links_among_the_results_are_not_written_through(source, tmp_path, name):
    precious, link = tmp_path / "precious", tmp_path / "out" / name
    precious.write_bytes(b"mine")
    link.parent.mkdir(parents=True)
    link.symlink_to(precious)
    with pytest.raises(AnalyzerError):
        audit(source, tmp_path / "out")
    assert precious.read_bytes() == b"mine"
    assert link.is_symlink()


def test_house_rules_from_a_pipe_are_read_once(source, tmp_path):
    pipe = tmp_path / "rules"
    os.mkfifo(pipe)
    rules = tmp_path / "rules.yaml"
    rules.write_text("checks: {start-drift: {on: false}}")
    with subprocess.Popen(["cp", rules, pipe]) as feeding:
        audit(source, tmp_path / "out", rules=pipe)
        assert feeding.wait(10) == 0
    rules.rename(tmp_path / "kept")
    (tmp_path / "kept").rename(pipe)
    assert audit(source, tmp_path / "out", rules=pipe).unchanged == 1


def test_closed_folders_of_results_are_none_of_the_classes(source):
    (source / "out").mkdir()
    (source / "out" / "link").symlink_to(source)
    audit(source, source / "out")
    assert told(source / "out") == {}


def test_two_runs_at_once(source, tmp_path):
    """One of them does the work; the other says why not, or finds nothing left to do."""
    out = tmp_path / "out"
    words = [*COMMAND, "library", "audit", str(source), "--out", str(out), "--jobs", "1", "--only", "json"]
    runs = [subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in "ab"]
    ends = [(run.communicate(timeout=60), run.returncode) for run in runs]
    for (shown, err), code in ends:
        assert code == 0 or (code == 2 and "another audit writes here; wait for it to end" in err), err
        assert code or shown.startswith("1 class: ")
    assert 0 in [code for _, code in ends]
    assert json.loads((out / "reports" / "z-good" / "report.json").read_bytes())
    assert stored(out) == {"z-good"}
    assert audit(source, out).unchanged == 1
