import json
import os
import subprocess
import sys

import pytest

from analyzer.checks import CHECKS
from analyzer.reports import validate_report

FIGURES = ("calls", "drift", "options", "sides", "timeline")
ALL_FILES = sorted(
    [
        *("calls.csv", "findings.csv", "fixes.md", "intervals.csv", "options.csv", "report.html", "report.json"),
        *("sides.csv", "figures.txt"),
        *(f"{name}.{form}" for name in FIGURES for form in ("png", "svg")),
    ]
)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_audit_writes_every_kind_and_says_where(run, sample, tmp_path):
    code, out, err = run("audit", sample[0], "--plan", sample[1], "--out", tmp_path / "out", "--fail-on", "never")
    assert (code, err) == (0, [])
    assert names(tmp_path / "out") == ALL_FILES
    assert f"Report: {tmp_path / 'out' / 'report.html'}" in out
    report = json.loads((tmp_path / "out" / "report.json").read_bytes())
    assert validate_report(report) == ()
    assert report["recording"]["file"] == "captions.vtt"
    assert str(tmp_path) not in (tmp_path / "out" / "report.json").read_text()


def test_only_some_kinds(run, sample, tmp_path):
    run("audit", sample[0], "--plan", sample[1], "--out", tmp_path / "out", "--only", "json, HTML")
    assert names(tmp_path / "out") == ["report.html", "report.json"]


def test_json_on_standard_output_is_the_report_and_nothing_else(run, sample, tmp_path):
    _, out, err = run("audit", sample[0], "--plan", sample[1], "--json", "-", "--out", tmp_path / "out")
    assert err == []
    assert out.encode() == (tmp_path / "out" / "report.json").read_bytes()
    run("audit", sample[0], "--plan", sample[1], "--json", tmp_path / "one.json", "-q")
    assert (tmp_path / "one.json").read_text() == out


def test_quiet(run, sample, tmp_path):
    _, out, err = run("audit", sample[0], "--plan", sample[1], "--out", tmp_path / "out", "--only", "json", "--quiet")
    assert (out, err) == ("", [])


@pytest.mark.parametrize("level", ["high", "medium", "low"])
def test_exit_code_follows_the_level(run, sample, level):
    code, out, _ = run("audit", sample[0], "--plan", sample[1], "--json", "-", "--fail-on", level)
    grave = ["high", "medium", "low"][: ["high", "medium", "low"].index(level) + 1]
    stand = [f for f in json.loads(out)["findings"] if f["verdict"] == "fail" and f["waived"] is None]
    assert code == int(any(f["severity"] in grave for f in stand))


def test_steps_are_kept_on_request(run, sample, tmp_path):
    run("audit", sample[0], "--plan", sample[1], "--keep-steps", tmp_path / "steps", "-q")
    assert [name.split("-", 1)[1] for name in names(tmp_path / "steps")] == [
        *("plan.json", "transcript.json", "schedule.json", "events.json", "alignment.json", "facts.json"),
        "findings.json",
    ]
    words = json.loads((tmp_path / "steps" / "2-transcript.json").read_bytes())["words"]
    assert len(words["text"]) == len(words["start_s"]) > 0


def test_demo(run, tmp_path):
    code, out, err = run("demo", "--out", tmp_path / "demo")
    assert (code, err) == (0, [])
    assert names(tmp_path / "demo") == ALL_FILES
    assert f"Report: {tmp_path / 'demo' / 'report.html'}" in out
    code, out, _ = run("demo", "--out", tmp_path / "demo", "--quiet")
    assert (code, out) == (0, f"{tmp_path / 'demo' / 'report.html'}\n")


def test_checks_lists_every_check(run):
    code, out, _ = run("checks")
    assert code == 0
    rows = [line.split() for line in out.splitlines()]
    assert sorted(row[0] for row in rows) == sorted(check.id for check in CHECKS)
    ranks = [("high", "medium", "low").index(row[1].strip(",")) for row in rows]
    assert ranks == sorted(ranks)
    assert ["count-missing", "low,", "off"] in [row[:3] for row in rows]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_explain_says_what_and_how_to_fix(run, check):
    code, out, _ = run("explain", check.id)
    assert code == 0
    told = " ".join(out.split())
    assert told.startswith(f"{check.id}: {check.title}")
    for text in (check.means, check.measured, check.fix):
        assert " ".join(text.split()) in told
    for parameter in check.parameters:
        assert f"{parameter.name} = {parameter.default:g}" in told
    assert max(map(len, out.splitlines()[1:]), default=0) <= 80


RULES = """name: Studio Nine
checks:
  interval-long: {limit_s: 4, by_kind: {cool-down: 12}, by_effort: {easy: 9}, severity: high}
  silence-long: {on: false}
  phrase-required: {phrases: [drink when you like], by_kind: {main: [soft knees]}}
"""


def test_explain_and_checks_show_what_holds_in_the_house(run, tmp_path):
    rules = tmp_path / "house.yaml"
    rules.write_text(RULES)
    code, out, _ = run("explain", "interval-long", "--rules", rules)
    told = " ".join(out.split())
    assert code == 0
    assert "(high severity)" in told
    assert "Limits, as Studio Nine has them" in told
    assert "limit_s = 4 s (0 to 600 allowed, 5 by default)" in told
    assert "limit_s = 12 s where the kind is cool-down." in told
    assert "limit_s = 9 s where the effort is easy." in told
    assert "Source of the check Common practice, no source." in told
    assert "(low severity, off)" in run("explain", "silence-long", "--rules", rules)[1]
    told = " ".join(run("explain", "phrase-required", "--rules", rules)[1].split())
    assert "phrases: drink when you like (each must be said once in the class)." in told
    assert "phrases in main: soft knees." in told
    code, out, _ = run("checks", "--rules", rules)
    rows = {line.split()[0]: line.split()[1:3] for line in out.splitlines()}
    assert rows["interval-long"][0] == "high"
    assert rows["silence-long"] == ["low,", "off"]


def test_explain_names_mistakes_in_house_rules(run, tmp_path):
    rules = tmp_path / "house.yaml"
    rules.write_text("checks:\n  interval-long: {limit_s: wide}\n  rest-lung: {}\n")
    code, out, err = run("explain", "interval-long", "--rules", rules)
    assert (code, out, len(err)) == (2, "", 2)
    assert err[0] == "house.yaml, line 2, checks.interval-long.limit_s: 'wide'; a number from 0 to 600 s is allowed"
    assert err[1].startswith("house.yaml, line 3, checks.rest-lung: ")


def test_plan_check_and_schedule(run, sample, tmp_path):
    code, out, _ = run("plan", "check", sample[1])
    assert code == 0
    assert "Nothing to mend." in out
    plan = tmp_path / "plan.yaml"
    plan.write_text("title: T\nblocks:\n  - {name: A, kind: main, moves: [{name: Jump, work: 40s, effort: hard}]}\n")
    code, out, _ = run("plan", "check", plan)
    assert code == 1
    assert "Jump" in out
    code, out, _ = run("plan", "schedule", plan, "--brief")
    assert code == 0
    assert out.splitlines()[-1].split() == ["0:00", "round", "1", "Jump", "40", "s"]


def test_help_and_version(run):
    code, out, _ = run()
    assert code == 0
    assert "audit" in out
    assert "explain" in out
    assert run("--version")[1].startswith("class-analyzer ")
    assert "--plan" in run("audit", "--help")[1]


@pytest.mark.parametrize(
    ("arguments", "banned"),
    [
        (["--help"], ["numpy", "jinja2", "yaml", "rich", "matplotlib", "pandas", "analyzer.audit"]),
        (
            ["audit", "{0}", "--plan", "{1}", "--only", "json", "--json", "-"],
            ["matplotlib", "pandas", "jinja2", "rich"],
        ),
        (["checks"], ["matplotlib", "pandas", "jinja2"]),
    ],
)
def test_no_more_is_imported_than_a_command_needs(sample, arguments, banned):
    words = [argument.format(*sample) for argument in arguments]
    code = f"import sys\nfrom analyzer.cli import main\nmain({words!r})\nprint(*sorted(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stderr.split())
    assert "analyzer.cli" in loaded
    assert loaded & set(banned) == set()


@pytest.mark.parametrize("command", [["checks"], ["--help"]])
def test_a_reader_that_closes_the_pipe_early_gets_no_complaint(command):
    code = f"import sys; from analyzer.cli import main; sys.exit(main({command!r}))"
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run([sys.executable, "-c", code], stdout=writer, stderr=subprocess.PIPE, check=False)
    os.close(writer)
    assert done.stderr == b""
    assert done.returncode == 141
