from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.checks import CHECKS, default_rules, limits_used, read_rules
from analyzer.checks.rules_reader import parse
from analyzer.model.errors import RulesError

README = Path(__file__).resolve().parents[2] / "README.md"


@pytest.fixture
def read(tmp_path):
    def write_and_read(text, name="house.yaml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_rules(path)

    return write_and_read


def test_without_a_file_the_defaults_hold():
    assert read_rules(None) == default_rules()
    assert default_rules().value("interval-long", "limit_s") == 5.0


def test_limits_severity_and_switch_are_taken_over(read):
    rules = read("name: Studio North\nchecks: {interval-long: {limit_s: 6, severity: low, on: off}}\n")
    settings = rules.checks["interval-long"]
    assert (settings.values["limit_s"], settings.severity, settings.on) == (6.0, "low", False)
    assert settings.values["high_from_s"] == 15.0
    assert rules.name == "Studio North"
    assert rules.checks["interval-short"] == default_rules().checks["interval-short"]


@pytest.mark.parametrize("text", ["", "# nothing yet\n", "checks:\n", "name: x\n", "\ufeffchecks: {}\n"])
def test_an_empty_file_changes_nothing(read, text):
    assert read(text).checks == default_rules().checks


HEAD = "checks:\n  "


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (HEAD + "intervall-long: {}", r"line 2, checks.intervall-long: no check is called .*'interval-long'\?$"),
        (
            HEAD + "zzz: {}",
            r"line 2, checks.zzz: no check is called 'zzz'; allowed: what 'class-analyzer checks' lists",
        ),
        (HEAD + "interval-long: {limits: 3}", r"'limits' is unknown; did you mean 'limit_s'\?"),
        (HEAD + "interval-long: {limit_s: -1}", "limit_s: '-1'; a number from 0 to 600 s is allowed"),
        (HEAD + "interval-long: {limit_s: nan}", "'nan'; a number"),
        (HEAD + "interval-long: {limit_s: [1]}", "a list; a number"),
        (HEAD + "interval-long: {limit_s: }", "nothing; a number"),
        (HEAD + "interval-long: {severity: grave}", "'grave'; allowed: high, medium, low"),
        (HEAD + "interval-long: {on: maybe}", "'maybe'; true or false is allowed"),
        (HEAD + "interval-long: 6", "line 2, checks.interval-long: '6' stands where limits are expected"),
        (HEAD + "interval-long: {by_kind: {cooldown: 9}}", r"by_kind.cooldown: .*did you mean 'cool-down'\?"),
        (HEAD + "interval-long: {by_kind: {main: soon}}", "by_kind.main: 'soon'; a number from 0 to 600 s"),
        (HEAD + "interval-long: {by_effort: {brutal: 9}}", "'brutal' is unknown; allowed: easy, moderate, hard"),
        (HEAD + "block-long: {by_effort: {easy: 9}}", "'by_effort' is unknown"),
        (HEAD + "interval-long: {phrases: [a]}", "'phrases' is unknown"),
        ("checks: [interval-long]", "line 1, checks: a list stands where checks are expected"),
        ("rules: {}", r"'rules' is unknown; allowed: name, checks"),
        ("- a\n- b", "line 1: a list stands where fields are expected; allowed: name, checks"),
        (HEAD + "count-pace: {low_s: 2, high_s: 1}", "low_s 2 is over high_s 1"),
        ("checks: {a: &x {on: true}, b: *x}", "the anchor '&x'"),
        (HEAD + "rest-long: {limit_s: 1, limit_s: 2}", "limit_s: written twice, first in line 2"),
        ("checks: {? [a] : b}", "a field name that is no word"),
        ("checks: {interval-long: {", "line 1"),
        ("checks: !!python/object/apply:os.system [x]", "the tag"),
        (b"checks: \xff", "line 1: byte 0xFF is not UTF-8 text; plain YAML that starts with 'checks:' is allowed"),
        ("a: " + "x" * 200_001, "at most 200000 are allowed"),
    ],
)
def test_mistakes_are_named(read, text, says):
    with pytest.raises(RulesError, match=says) as caught:
        read(text)
    assert str(caught.value).startswith("house.yaml")
    assert " plan" not in str(caught.value)


def test_all_mistakes_are_listed(read):
    with pytest.raises(RulesError, match=r"^house.yaml, line 1, other: .* \(and 2 more mistakes\)$") as caught:
        read("other: 1\nchecks:\n  rest-lung: {}\n  rest-long: {limit_s: x}")
    assert [str(mistake).split(": ")[0] for mistake in caught.value.mistakes] == [
        "house.yaml, line 1, other",
        "house.yaml, line 3, checks.rest-lung",
        "house.yaml, line 4, checks.rest-long.limit_s",
    ]
    assert "did you mean 'rest-long'?" in str(caught.value.mistakes[1])


def test_a_limit_may_differ_by_kind_of_block_and_by_effort(read):
    rules = read("checks: {interval-long: {limit_s: 6, by_kind: {cool-down: 10}, by_effort: {easy: 8}}}")
    value = lambda *where: rules.value("interval-long", "limit_s", *where)  # noqa: E731
    assert [value(), value("main"), value("main", "hard")] == [6.0, 6.0, 6.0]
    assert [value("cool-down"), value("cool-down", "hard")] == [10.0, 10.0]
    assert [value("main", "easy"), value("cool-down", "easy")] == [8.0, 8.0]  # the move's own effort wins
    assert rules.value("interval-long", "high_from_s", "cool-down", "easy") == 15.0
    used = limits_used(rules)
    assert (used["interval-long.by_kind.cool-down"], used["interval-long.by_effort.easy"]) == (10.0, 8.0)


SLIPS = {  # check: a spoiled take, and the kind of block and effort it is spoiled in
    "interval-long": (lambda take: take.stretch("Plank", 8.0), "main", "hard"),
    "interval-short": (lambda take: take.stretch("Plank", -8.0), "main", "hard"),
    "rest-long": (lambda take: take.delay("Side lunge/1/left", 8.0), "main", "hard"),
    "rest-short": (lambda take: take.delay("Side lunge/1/left", -8.0), "main", "hard"),
    "block-long": (lambda take: take.stretch("Plank", 20.0), "main", None),
    "block-short": (lambda take: take.stretch("Plank", -20.0), "main", None),
}


@pytest.mark.parametrize("check", SLIPS)
def test_the_limit_of_the_place_is_the_one_that_is_used(make_take, check):
    spoil, kind, effort = SLIPS[check]
    wide = [f"by_kind: {{{kind}: 30}}", f"by_effort: {{{effort}: 30}}"][: 2 if effort else 1]
    assert [f.limit for f in spoil(make_take()).findings(check)] != []
    for text in wide:
        rules = parse(f"checks: {{{check}: {{{text}}}}}", CHECKS, "house.yaml")
        assert spoil(make_take(rules=rules)).findings(check) == []
    elsewhere = parse(f"checks: {{{check}: {{by_kind: {{cool-down: 30}}}}}}", CHECKS, "house.yaml")
    assert spoil(make_take(rules=elsewhere)).findings(check) == spoil(make_take()).findings(check)


def test_the_example_of_the_readme_loads(read):
    part = README.read_text(encoding="utf-8").split("```yaml\n")[2].split("```")[0]
    rules = read(part)
    assert rules.name == "Our studio"
    changed = {check for check, settings in rules.checks.items() if settings != default_rules().checks[check]}
    assert {"interval-long", "harder-missing"} <= changed
    assert all(f"  {check}: " in part or f"  {check}:\n" in part for check in changed)


def test_a_missing_file_is_one_clear_line(tmp_path):
    with pytest.raises(RulesError, match=r"none.yaml: cannot be read"):
        read_rules(tmp_path / "none.yaml")


def test_deep_nesting_is_refused(read):
    with pytest.raises(RulesError, match=r"house\.yaml"):
        read("checks: " + "[" * 50_000)


@given(st.text(max_size=200))
def test_any_text_gives_rules_or_a_rules_error(text):
    try:
        rules = parse(text, CHECKS, "x.yaml")
    except RulesError as error:
        assert "\n" not in str(error)  # noqa: PT017 - both outcomes are allowed
    else:
        assert set(rules.checks) == {check.id for check in CHECKS}


def test_limits_used_names_every_limit_of_every_check(read):
    used = limits_used(read("checks: {count-pace: {high_s: 1.6}}"))
    assert used["count-pace.high_s"] == 1.6
    assert used["count-missing.on"] is False
    for check in CHECKS:
        assert {f"{check.id}.{p.name}" for p in check.parameters} <= set(used)
        assert used[f"{check.id}.severity"] == check.severity
