import subprocess
import sys

import pytest

from analyzer.library.pool import run_on_cores


@pytest.fixture
def folder(sample, tmp_path):
    """The sample class, paired by name, and a recording that is damaged."""
    folder = tmp_path / "classes"
    folder.mkdir()
    for name in ("a", "b"):
        (folder / f"{name}.vtt").write_bytes(sample[0].read_bytes())
        (folder / f"{name}.yaml").write_bytes(sample[1].read_bytes())
    (folder / "b.vtt").write_text("no captions")
    return folder


def test_a_folder_is_audited_and_its_bad_files_listed(run, folder, tmp_path):
    code, out, err = run("library", "audit", folder, "--out", tmp_path / "out", "--jobs", "1")
    assert (code, err) == (1, [])
    lines = out.splitlines()
    assert lines[0] == "2 classes: 1 audited now, 0 unchanged, 1 could not be audited."
    assert lines[2] == "Could not be audited"
    assert lines[3].startswith("  b: b.vtt: no times were found in the text")
    assert lines[-1] == f"Reports and store: {tmp_path / 'out'}"
    assert {path.name for path in (tmp_path / "out/reports/a").iterdir()} == {"report.json", "report.html"}


def test_a_run_where_all_is_well_is_quiet_when_asked(run, folder, tmp_path):
    (folder / "b.vtt").unlink()
    words = ("library", "audit", folder, "--out", tmp_path / "out", "--only", "json", "--jobs", "1", "-q")
    assert run(*words) == (0, "", [])
    assert run(*words) == (0, "", [])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["nowhere", "--out", "o"], "nowhere: no file is there; give a folder with recordings and their plans"),
        (["{folder}", "--out", "o", "--only", "pdf"], "--only: there is no kind 'pdf'"),
        (["{folder}", "--out", "o", "--manifest", "m.csv"], "m.csv: cannot be read"),
        (["nothere://a", "--out", "o"], "nothere://a: cannot be reached"),
        (["{folder}"], "Missing option '--out'"),
    ],
)
def test_bad_input_is_one_line(run, folder, words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, err = run("library", "audit", *(word.format(folder=folder) for word in words))
    assert (code, out, len(err)) == (2, "", 1)
    assert told in err[0]
    assert not (tmp_path / "o").exists()


def test_a_cluster_is_asked_where_one_is_named(run, folder, tmp_path, monkeypatch):
    asked = []

    def on_cluster(jobs, address):
        asked.append(address)
        yield from run_on_cores(jobs, 1)

    monkeypatch.setattr("analyzer.library.cluster.run_on_cluster", on_cluster)
    words = ("library", "audit", folder, "--out", tmp_path / "out", "--cluster", "tcp://scheduler:8786", "-q")
    assert run(*words) == (1, "", [])
    assert asked == ["tcp://scheduler:8786"]


def test_heavy_packages_are_only_loaded_for_the_library(sample):
    code = "import sys\nfrom analyzer.cli import main\nmain(['checks'])\nprint(*sorted(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(done.stderr.split()) & {"duckdb", "fsspec", "filelock", "distributed"} == set()


def test_a_trend_of_what_was_audited(run, folder, tmp_path):
    (folder / "2026-03-14-c.vtt").write_bytes((folder / "a.vtt").read_bytes())
    (folder / "2026-03-14-c.yaml").write_bytes((folder / "a.yaml").read_bytes())
    run("library", "audit", folder, "--out", tmp_path / "out", "--jobs", "1")
    code, out, err = run("library", "trend", tmp_path / "out", "--out", tmp_path / "trend", "--period", "quarter")
    assert (code, err) == (0, [])
    assert out.startswith("2 classes, 1 without a date; 1 more could not be audited\n")
    assert "2026-Q1" in out
    assert out.endswith(f"Page: {tmp_path / 'trend' / 'trend.html'}\n")
    names = {path.name for path in (tmp_path / "trend").iterdir()}
    assert names == {"trend.html", "groups.csv", "checks.csv", "outliers.csv"}
    assert str(tmp_path) not in (tmp_path / "trend" / "trend.html").read_text(encoding="utf-8")
    assert run("library", "trend", tmp_path / "out", "-q") == (0, "", [])
    code, _, err = run("library", "trend", tmp_path / "out", "--coach", "Nobody")
    assert (code, len(err)) == (2, 1)
    assert "no audited class is chosen; there are: Coach" in err[0]


def test_classes_that_are_gone_are_told_until_they_are_taken_out(run, folder, tmp_path):
    words = ("library", "audit", folder, "--out", tmp_path / "out", "--only", "json", "--jobs", "1")
    run(*words)
    (folder / "b.vtt").unlink()
    _, out, _ = run(*words)
    assert "Not in the folder any more: 1 class of the store; --prune takes them out.\n" in out
    _, out, _ = run(*words, "--prune")
    assert "1 class of the store; taken out of it.\n" in out
    assert "Not in the folder" not in run(*words)[1]


def test_a_trend_needs_a_store(run, tmp_path):
    code, _, err = run("library", "trend", tmp_path)
    assert (code, len(err)) == (2, 1)
    assert err[0].endswith("holds no store; give what 'class-analyzer library audit' wrote to")


def test_the_tables_are_told(run):
    code, out, _ = run("library", "tables")
    assert code == 0
    assert "## findings" in out
