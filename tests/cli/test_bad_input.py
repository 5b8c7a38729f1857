"""Whatever is wrong with what was given: exit code 2, one line that says what, and nothing written."""

import errno
import os

import pytest

PLAN = "title: T\nblocks:\n  - name: A\n    kind: main\n    moves:\n      - {name: Squat, work: 40s}\n"
CAPTIONS = "WEBVTT\n\n00:01.000 --> 00:03.000\nSquat for forty seconds\n"


def _folder(path):
    path.mkdir()


def _binary(path):
    path.write_bytes(bytes(range(256)) * 40)


def _text(text):
    return lambda path: path.write_text(text)


RECORDINGS = {
    "missing": lambda path: None,
    "folder": _folder,
    "empty": _text(""),
    "binary": _binary,
    "plan": _text(PLAN),
    "captions without words": _text("WEBVTT\n\n"),
}
PLANS = {
    "missing": lambda path: None,
    "folder": _folder,
    "empty": _text(""),
    "binary": _binary,
    "captions": _text(CAPTIONS),
    "no blocks": _text("title: T\n"),
    "alias bomb": _text("a: &a [x]\nb: &b [*a, *a]\ntitle: *b\n"),
}


def nothing_written(tmp_path):
    return not (tmp_path / "out").exists() and not list(tmp_path.glob("**/*.part"))


@pytest.mark.parametrize("kind", RECORDINGS)
def test_recordings(run, sample, tmp_path, kind):
    recording = tmp_path / "recording.vtt"
    RECORDINGS[kind](recording)
    code, out, err = run("audit", recording, "--plan", sample[1], "--out", tmp_path / "out")
    assert (code, out, len(err)) == (2, "", 1), err
    assert "recording.vtt" in err[0]
    assert nothing_written(tmp_path)


@pytest.mark.parametrize("kind", PLANS)
def test_plans(run, sample, tmp_path, kind):
    plan = tmp_path / "plan.yaml"
    PLANS[kind](plan)
    code, out, err = run("audit", sample[0], "--plan", plan, "--out", tmp_path / "out")
    assert (code, out, len(err)) == (2, "", 1), err
    assert "plan.yaml" in err[0]
    assert nothing_written(tmp_path)


def test_every_mistake_of_a_plan_gets_its_line(run, sample, tmp_path):
    plan = tmp_path / "plan.yaml"
    plan.write_text(PLAN.replace("work: 40s", "work: fast, effort: brutal") + "colour: red\n")
    code, _, err = run("audit", sample[0], "--plan", plan, "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 3), err
    for word in ("fast", "brutal", "colour"):
        assert sum(word in line for line in err) == 1
    assert nothing_written(tmp_path)


def test_recording_and_plan_swapped(run, sample, tmp_path):
    code, _, err = run("audit", sample[1], "--plan", sample[0], "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 1), err
    assert nothing_written(tmp_path)


def test_plan_of_another_class(run, sample, tmp_path):
    other = sample[1].parents[1] / "attic-mobility" / "plan.yaml"
    code, _, err = run("audit", sample[0], "--plan", other, "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 1), err
    assert nothing_written(tmp_path)


def test_out_is_a_file(run, sample, tmp_path):
    (tmp_path / "out").write_text("mine")
    code, _, err = run("audit", sample[0], "--plan", sample[1], "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 1)
    assert "out: is a file; a folder is needed" in err[0]
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.parametrize(
    ("make", "target", "told"),
    [
        (lambda folder: (folder / "j").mkdir(), "j", "j: is a folder; a file name is needed"),
        (lambda folder: None, "none/j.json", "j.json: lies in a folder that does not exist"),
        (lambda folder: (folder / "j").write_text("x"), "j/j.json", "j.json: lies under a file"),
    ],
)
def test_a_bad_target_for_the_json_leaves_no_report(run, sample, tmp_path, make, target, told):
    make(tmp_path)
    where = ["--out", tmp_path / "out", "--json", tmp_path / target]
    code, _, err = run("audit", sample[0], "--plan", sample[1], *where, "--only", "json")
    assert (code, len(err)) == (2, 1), err
    assert told in err[0]
    assert not (tmp_path / "out").exists()


def test_the_folder_for_steps_is_a_file(run, sample, tmp_path):
    (tmp_path / "steps").write_text("mine")
    where = ["--out", tmp_path / "out", "--keep-steps", tmp_path / "steps"]
    code, _, err = run("audit", sample[0], "--plan", sample[1], *where)
    assert (code, len(err)) == (2, 1), err
    assert "steps: is a file; a folder is needed" in err[0]
    assert not (tmp_path / "out").exists()


def test_disk_full_while_writing(run, sample, tmp_path, monkeypatch):
    def full(_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    code, _, err = run("audit", sample[0], "--plan", sample[1], "--out", tmp_path / "out", "--only", "json,csv")
    assert (code, len(err)) == (2, 1)
    assert "the disk is full" in err[0]
    assert nothing_written(tmp_path)


def test_the_recording_is_never_written_over(run, sample, tmp_path):
    recording = tmp_path / "report.json"
    recording.write_bytes(sample[0].read_bytes())
    code, _, err = run("audit", recording, "--plan", sample[1], "--out", tmp_path, "--only", "json")
    assert (code, len(err)) == (2, 1)
    assert "is the input itself" in err[0]
    assert recording.read_bytes() == sample[0].read_bytes()


def test_the_house_rules_are_never_written_over(run, sample, tmp_path):
    rules = tmp_path / "house.yaml"
    rules.write_text("name: ours\n")
    code, _, err = run("audit", sample[0], "--plan", sample[1], "--rules", rules, "--json", rules)
    assert (code, len(err)) == (2, 1)
    assert "is the input itself" in err[0]
    assert rules.read_text() == "name: ours\n"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["audit"], "recording"),
        (["audit", "a.vtt", "--plan", "p", "--only", "pdf"], "json, csv, html, fixes, figures"),
        (["audit", "a.vtt", "--plan", "p", "--fail-on", "awful"], "'--fail-on': 'awful'"),
        (["audit", "a.vtt", "--plan", "p", "--wrong"], "--wrong"),
        (["adit"], "adit"),
        (["plan"], "command"),
        (["explain", "interval-lng"], "did you mean 'interval-long'?"),
        (["explain", "\x1b[31mzzzzzz"], "class-analyzer checks"),
    ],
)
def test_usage(run, arguments, told):
    code, out, err = run(*arguments)
    assert (code, out, len(err)) == (2, "", 1), err
    assert told in err[0]
    assert "\x1b" not in err[0]


def test_house_rules_with_a_mistake(run, sample, tmp_path):
    rules = tmp_path / "rules.yaml"
    rules.write_text("checks:\n  interval-longer: {limit_s: 3}\n")
    code, _, err = run("audit", sample[0], "--plan", sample[1], "--rules", rules, "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 1), err
    assert "rules.yaml" in err[0]
    assert nothing_written(tmp_path)


def test_a_fault_of_the_program_is_one_line_with_a_hint(run, sample, monkeypatch):
    import analyzer.audit

    def broken(*_, **__):
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(analyzer.audit, "audit_recording", broken)
    monkeypatch.delenv("CLASS_ANALYZER_DEBUG", raising=False)
    code, out, err = run("audit", sample[0], "--plan", sample[1])
    assert (code, out, len(err)) == (3, "", 1)
    assert "ZeroDivisionError: oh" in err[0]
    assert "CLASS_ANALYZER_DEBUG=1" in err[0]
    monkeypatch.setenv("CLASS_ANALYZER_DEBUG", "1")
    with pytest.raises(ZeroDivisionError, match="oh"):
        run("audit", sample[0], "--plan", sample[1])


def test_stopped_by_the_user(run, sample, monkeypatch):
    import analyzer.audit

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(analyzer.audit, "audit_recording", stopped)
    code, _, err = run("audit", sample[0], "--plan", sample[1])
    assert (code, err) == (130, ["Stopped; files are written whole or not at all."])


def test_a_plan_with_thousands_of_mistakes_gets_fifty_lines(run, sample, tmp_path):
    plan = tmp_path / "plan.yaml"
    plan.write_text(PLAN + "".join(f"colour{n}: red\n" for n in range(3000)))
    code, _, err = run("audit", sample[0], "--plan", plan, "--out", tmp_path / "out")
    assert (code, len(err)) == (2, 51)
    assert err[-1] == "2,950 more mistakes like these."
