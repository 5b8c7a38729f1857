"""``plan convert`` and ``plan schedule``: forms, files, and what they refuse."""

from dataclasses import replace
from itertools import pairwise

import pytest

from analyzer.plans import read_plan


def _bare(path):
    return replace(read_plan(path), name="", sha256="")


def test_convert_there_and_back(run, sample, tmp_path):
    files = [sample[1], *(tmp_path / name for name in ("a.csv", "b.XLSX", "c.yml"))]
    for source, target in pairwise(files):
        assert run("plan", "convert", source, target) == (0, "", [])
    assert {_bare(path).title for path in files} == {_bare(sample[1]).title}
    assert [_bare(path) for path in files[1:]] == [_bare(sample[1])] * 3


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_every_command_takes_a_table(run, sample, tmp_path, form):
    plan = tmp_path / f"plan.{form}"
    run("plan", "convert", sample[1], plan)
    _, told, err = run("audit", sample[0], "--plan", sample[1], "--fail-on", "never")
    told = told.replace("plan.yaml", plan.name)
    assert (run("audit", sample[0], "--plan", plan, "--fail-on", "never"), err) == ((0, told, []), [])
    assert run("plan", "check", plan) == run("plan", "check", sample[1])
    assert run("plan", "schedule", plan) == run("plan", "schedule", sample[1])


@pytest.mark.parametrize("form", ["csv", "xlsx", "yaml"])
def test_templates(run, tmp_path, form):
    target = tmp_path / f"new.{form}"
    assert run("plan", "convert", "--template", target) == (0, "", [])
    _, _, err = run("plan", "check", target)
    told = ["missing; some text is needed", "missing; a list of blocks is needed"]
    assert [line.split(": ", 1)[1] for line in err] == ([] if form == "yaml" else told)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "plan convert: needs a plan and a file to write; or --template FILE"),
        (["{plan}"], "needs a plan and a file to write"),
        (["{plan}", "{new}.csv", "--template", "{new}.csv"], "needs a plan and a file to write"),
        (["{plan}", "{new}.docx"], "new.docx: does not say the form; allowed endings: .yaml, .yml, .csv, .xlsx"),
        (["{plan}", "{old}"], "old.csv: is there already; choose another name, or say --replace"),
        (["{old}", "{old}", "--replace"], "old.csv: is the input itself"),
        (["{new}.yaml", "{new}.csv"], "new.yaml: no such file"),
        (["{plan}", "{new}/x.csv"], "lies in a folder that does not exist"),
    ],
)
def test_what_cannot_be_converted(run, sample, tmp_path, arguments, told):
    old = tmp_path / "old.csv"
    run("plan", "convert", sample[1], old)
    before = old.read_bytes()
    names = {"plan": sample[1], "new": tmp_path / "new", "old": old}
    code, out, err = run("plan", "convert", *(argument.format(**names) for argument in arguments))
    assert (code, out, len(err)) == (2, "", 1)
    assert told in err[0]
    assert [path.name for path in tmp_path.iterdir()] == ["old.csv"]
    assert old.read_bytes() == before


def test_replace_writes_over(run, sample, tmp_path):
    target = tmp_path / "plan.csv"
    target.write_text("old")
    assert run("plan", "convert", sample[1], target, "--replace") == (0, "", [])
    assert _bare(target) == _bare(sample[1])


def test_schedule_is_printed_or_written(run, sample, tmp_path):
    code, out, err = run("plan", "schedule", sample[1])
    assert (code, err) == (0, [])
    assert "Next up, Split squat, left side." in out
    files = [tmp_path / name for name in ("sheet.html", "sheet.csv", "sheet.vtt")]
    options = zip(("--html", "--csv", "--captions"), files, strict=True)
    assert run("plan", "schedule", sample[1], *(part for pair in options for part in pair)) == (0, "", [])
    starts = [path.read_bytes()[:15].lower() for path in files]
    assert starts == [b"<!doctype html>", b'"clock","at","u', b"webvtt harbour "]
    assert run("plan", "schedule", sample[1], "--captions", "-")[1].encode() == files[2].read_bytes()
    assert "Lo siguiente" in run("plan", "schedule", sample[1], "--language", "es")[1]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--language", "xx"], "no language 'xx'; there is: en, es"),
        (["--html", "{tmp}"], "is a folder; a file name is needed"),
        (["--csv", "{tmp}/a/b.csv", "--html", "{tmp}/x.html"], "lies in a folder that does not exist"),
        (["--captions", "{plan}"], "is the input itself"),
    ],
)
def test_a_schedule_that_cannot_be_written(run, sample, tmp_path, arguments, told):
    plan = tmp_path / "plan.yaml"
    plan.write_bytes(sample[1].read_bytes())
    code, out, err = run("plan", "schedule", plan, *(a.format(tmp=tmp_path, plan=plan) for a in arguments))
    assert (code, out, len(err)) == (2, "", 1)
    assert told in err[0]
    assert [path.name for path in tmp_path.iterdir()] == ["plan.yaml"]


def test_a_plan_drawn_from_a_recording(run, sample, tmp_path):
    target = tmp_path / "drawn.yaml"
    assert run("plan", "draft", sample[0], "--out", target) == (0, "", [])
    code, out, err = run("plan", "draft", sample[0])
    assert (code, out, err) == (0, target.read_text(encoding="utf-8"), [])
    assert read_plan(target).blocks
    code, _, err = run("plan", "draft", sample[0], "--out", target)
    assert (code, err) == (2, [f"{target}: is there already; choose another name, or say --replace"])
    assert run("plan", "draft", sample[0], "--out", target, "--replace")[0] == 0


def test_an_audit_without_a_plan(run, sample, tmp_path):
    code, out, _ = run("audit", sample[0], "--out", tmp_path / "report", "--only", "json,html", "--fail-on", "never")
    assert code == 0
    assert "No plan was given" in out
    assert '"drawn": true' in (tmp_path / "report" / "report.json").read_text(encoding="utf-8")
    assert "No plan was given" in (tmp_path / "report" / "report.html").read_text(encoding="utf-8")
