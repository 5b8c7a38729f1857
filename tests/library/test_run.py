import csv
import io
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import fsspec
import psutil
import pytest

from analyzer.audit import audit_recording
from analyzer.library import run as run_module
from analyzer.library.folders import open_folder
from analyzer.library.pool import run_on_cores
from analyzer.library.run import Asked, audit_library
from analyzer.library.store import Store, read_table
from analyzer.model.errors import AnalyzerError, RulesError
from analyzer.reports import report_bytes
from tests.library.conftest import BAD, results

JSON = Asked(kinds=("json",))
ROOT = Path(__file__).parents[2]


def in_process(jobs):
    return run_on_cores(jobs, 1)


def audit(source, out, asked=JSON, **more):
    return audit_library(open_folder(str(source)), open_folder(str(out)), asked, in_process, **more)


@pytest.fixture(scope="module")
def whole(made_classes, tmp_path_factory):
    """The results of one run without interruption."""
    out = tmp_path_factory.mktemp("whole") / "out"
    summary = audit(made_classes, out)
    return summary, out


def test_good_classes_are_audited_and_bad_ones_listed(whole, made_classes):
    summary, out = whole
    assert (summary.classes, summary.audited, summary.unchanged) == (6, 5, 0)
    assert [row.name for row in summary.failed] == [BAD]
    assert [row.name for row in summary.left_out] == ["notes.txt"]
    rows = list(csv.reader(io.StringIO((out / "not-audited.csv").read_text(encoding="utf-8"))))
    assert [row[0] for row in rows] == ["name", BAD, "notes.txt"]
    assert rows[1][1].startswith("2026-04-01-damaged.vtt: no times were found in the text; give WebVTT")


def test_a_report_is_the_one_that_audit_gives(whole, made_classes):
    _, out = whole
    for recording in made_classes.glob("*/*class-*.vtt"):
        alone = audit_recording(recording, recording.with_suffix(".yaml"))
        key = recording.relative_to(made_classes).with_suffix("")
        assert (out / "reports" / key / "report.json").read_bytes() == report_bytes(alone)


def test_what_has_not_changed_is_skipped(classes, tmp_path):
    out = tmp_path / "out"
    told = []
    audit(classes, out, tell=told.append)
    assert [(step.done, step.total) for step in told] == [(n, 6) for n in range(1, 7)]
    before = results(out)
    again = audit(classes, out)
    assert (again.audited, again.unchanged, [row.name for row in again.failed]) == (0, 5, [BAD])
    assert results(out) == before


def test_each_change_audits_anew(classes, tmp_path):
    out = tmp_path / "out"
    audit(classes, out)
    key = "spring/2026-03-10-class-0"
    plan = classes / f"{key}.yaml"
    report = out / "reports" / key / "report.json"
    plan.write_text(plan.read_text().replace("Coach A", "Coach C"))
    assert audit(classes, out).audited == 1
    finding = json.loads(report.read_text())["findings"][0]["id"]
    plan.with_name("2026-03-10-class-0.waivers.yaml").write_text(f'waivers: [{{finding: "{finding}", reason: fine}}]')
    assert audit(classes, out).audited == 1
    assert json.loads(report.read_text())["findings"][0]["waived"] == "fine"
    report.unlink()
    assert audit(classes, out).audited == 1
    (classes / f"{key}.vtt").write_text("damaged")
    summary = audit(classes, out)
    assert (summary.audited, len(summary.failed)) == (0, 2)
    assert not report.exists()
    rules = tmp_path / "rules.yaml"
    rules.write_text("checks: {start-drift: {on: false}}")
    assert audit(classes, out, Asked(rules=rules, kinds=("json",))).audited == 4


def test_classes_whose_files_are_gone_stay_until_pruned(classes, tmp_path):
    out = tmp_path / "out"
    audit(classes, out)
    for path in classes.glob("autumn/*class-1*"):
        path.unlink()
    gone = "autumn/2026-04-11-class-1"
    assert audit(classes, out).gone == (gone,)
    assert gone in set(read_table(open_folder(str(out)), "classes")["class"])
    audit(classes, out, Asked(kinds=("json",), prune=True))
    assert gone not in set(read_table(open_folder(str(out)), "intervals")["class"])
    assert audit(classes, out).gone == ()


def test_a_folder_of_objects_gives_the_same(whole, made_classes, monkeypatch):
    """Source and results at fsspec addresses; the store is read there too, in several parts."""
    monkeypatch.setattr(run_module, "BATCH", 2)
    files = fsspec.filesystem("memory")
    try:
        for path in made_classes.rglob("*.*"):
            files.pipe_file(f"/classes/{path.relative_to(made_classes).as_posix()}", path.read_bytes())
        summary = audit("memory://classes", "memory://classes/out")
        assert (summary.audited, len(summary.failed)) == (5, 1)
        remote = open_folder("memory://classes/out")
        assert audit("memory://classes", "memory://classes/out").unchanged == 5
        for name, content in results(whole[1]).items():
            assert remote.read(name) == content, name
        assert len(read_table(remote, "classes")) == 6
    finally:
        files.store.clear()


KILL = """
import os, signal, sys
from analyzer.library import run, store
run.BATCH = 2
point, number = sys.argv[3], [0]

def dies(function):
    def wrapped(*given):
        number[0] += 1
        if number[0] == int(sys.argv[4]):
            os.kill(os.getpid(), signal.SIGKILL)
        return function(*given)
    return wrapped

if point == "commit": store.Store._commit = dies(store.Store._commit)
if point == "take": run._Run._take = dies(run._Run._take)
if point == "rename": os.replace = dies(os.replace)
from tests.library.test_run import audit
audit(sys.argv[1], sys.argv[2])
"""


@pytest.mark.parametrize(
    ("point", "number", "stored"),
    [("take", 4, 2), ("commit", 2, 2), ("commit", 4, 6), ("rename", 17, 2)],
    ids=["between classes", "part written, not named", "while made one", "amid the files of a part"],
)
def test_a_killed_run_goes_on_to_the_same_result(whole, made_classes, tmp_path, point, number, stored):
    out = tmp_path / "out"
    words = [sys.executable, "-c", KILL, made_classes, out, point, str(number)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == -signal.SIGKILL, done.stderr
    assert len(read_table(open_folder(str(out)), "classes")) == stored
    summary = audit(made_classes, out)
    assert summary.unchanged + summary.audited == 5
    assert summary.unchanged >= stored - 1  # one may be the class that could not be audited
    assert results(out) == results(whole[1])


def heeds_interrupts() -> None:
    """Undo what a shell does to its background jobs, these tests among them perhaps: they ignore interrupts."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.slow
@pytest.mark.parametrize("ending", [signal.SIGINT, signal.SIGKILL])
def test_the_command_is_stopped_with_its_workers_and_goes_on(whole, made_classes, tmp_path, ending):
    code = 130 if ending == signal.SIGINT else -signal.SIGKILL
    for attempt in range(5):  # on a busy machine the run may be over before it is stopped
        out = tmp_path / f"out-{attempt}"
        words = [sys.executable, "-m", "analyzer", "library", "audit", made_classes, "--out", out, "--only", "json"]
        command = subprocess.Popen(
            [*map(str, words), "--jobs", "2"],
            cwd=ROOT,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
            preexec_fn=heeds_interrupts,
        )
        deadline = time.monotonic() + 60
        while not list(out.glob("reports/*/*/report.json")):
            assert time.monotonic() < deadline
            time.sleep(0.005)
        workers = psutil.Process(command.pid).children(recursive=True)
        os.killpg(command.pid, ending) if ending == signal.SIGINT else command.kill()
        _, told = command.communicate(timeout=60)
        if command.returncode == code:
            break
    assert command.returncode == code
    assert len(workers) >= 2
    assert "Traceback" not in told
    assert psutil.wait_procs(workers, timeout=30)[1] == []
    summary = audit(made_classes, out)
    assert summary.unchanged + summary.audited == 5
    assert results(out) == results(whole[1])


def test_a_manifest_says_who_made_a_class_and_when(classes, tmp_path):
    manifest = tmp_path / "list.csv"
    name = "spring/2026-03-10-class-0"
    manifest.write_text(f"recording,plan,coach,series,date\n{name}.vtt,{name}.yaml,Coach Z,evening,2025-12-31\n")
    out = tmp_path / "out"
    assert audit(classes, out, Asked(kinds=("json",), manifest=manifest)).audited == 1
    (row,) = read_table(open_folder(str(out)), "classes").to_dict("records")
    assert (row["class"], row["coach"], row["series"], str(row["date"])[:10]) == (
        name,
        "Coach Z",
        "evening",
        "2025-12-31",
    )


def test_results_may_lie_in_the_folder(classes):
    assert audit(classes, classes / "out").audited == 5
    again = audit(classes, classes / "out")
    assert (again.classes, again.unchanged, [row.name for row in again.left_out]) == (6, 5, ["notes.txt"])


@pytest.mark.parametrize("package", ["duckdb", "filelock"])
def test_what_is_not_installed_is_told(classes, tmp_path, monkeypatch, package):
    monkeypatch.setitem(sys.modules, package, None)
    told = rf"{package}: is not installed; run: pip install 'recorded-class-analyzer\[library\]'"
    with pytest.raises(AnalyzerError, match=told):
        audit(classes, tmp_path / "out")


def test_two_runs_do_not_write_at_once(classes, tmp_path):
    out = tmp_path / "out"
    with run_module._locked(open_folder(str(out))), pytest.raises(AnalyzerError, match="another audit writes here"):
        audit(classes, out)
    assert audit(classes, out).audited == 5


def test_what_cannot_be_asked_is_told_before_any_work(classes, tmp_path):
    rules = tmp_path / "rules.yaml"
    rules.write_text("checks: {no-such: {}}")
    with pytest.raises(RulesError, match="no-such"):
        audit(classes, tmp_path / "out", Asked(rules=rules))
    with pytest.raises(AnalyzerError, match="language"):
        audit(classes, tmp_path / "out", Asked(language="xx"))
    (tmp_path / "file").write_text("x")
    with pytest.raises(AnalyzerError, match="is a file"):
        audit(classes, tmp_path / "file")
    with pytest.raises(AnalyzerError, match="is the folder of classes itself"):
        audit(classes, classes / "spring" / "..")
    assert not (tmp_path / "out").exists()


def test_a_fault_in_one_class_does_not_end_the_others(classes, tmp_path, monkeypatch):
    from analyzer.library import work

    def faulty(recording, *given, **more):
        if "class-2" in recording.name:
            raise ZeroDivisionError("division by zero")
        return audit_recording(recording, *given, **more)

    monkeypatch.setattr(work, "audit_recording", faulty)
    summary = audit(classes, tmp_path / "out")
    reasons = {row.name: row.reason for row in summary.failed}
    assert reasons["spring/2026-05-12-class-2"] == "a fault of this program: ZeroDivisionError: division by zero"
    assert summary.audited == 4
    monkeypatch.undo()
    assert audit(classes, tmp_path / "out").audited == 1  # what may pass is tried again


def test_a_file_that_cannot_be_read_is_listed(classes, tmp_path, monkeypatch):
    from analyzer.library.folders import LocalFolder

    audit(classes, tmp_path / "out")
    read = LocalFolder.read

    def unreadable(self, name, most=-1):
        if name.endswith("class-4.vtt"):
            raise PermissionError(13, "Permission denied")
        return read(self, name, most)

    monkeypatch.setattr(LocalFolder, "read", unreadable)
    summary = audit(classes, tmp_path / "out")
    assert ("spring/2026-07-14-class-4", "cannot be read: Permission denied") in [
        (row.name, row.reason) for row in summary.failed
    ]
    assert (tmp_path / "out/reports/spring/2026-07-14-class-4/report.json").exists()  # it may be back tomorrow


def test_a_plan_s_mistake_does_not_tell_where_the_work_was_done(classes, tmp_path):
    (classes / "spring" / "2026-03-10-class-0.yaml").write_text("title: A\nblocks: 3\n")
    summary = audit(classes, tmp_path / "out")
    (row,) = (row for row in summary.failed if row.name.endswith("class-0"))
    assert row.reason.startswith("2026-03-10-class-0.yaml, line 2")


def test_the_store_is_not_opened_when_it_is_of_another_form(classes, tmp_path):
    out = tmp_path / "out"
    (out / "store").mkdir(parents=True)
    (out / "store" / "current.json").write_text('{"schema": "something/2"}')
    with pytest.raises(AnalyzerError, match="is not of the form class-analyzer/store/1"):
        Store(open_folder(str(out)))
