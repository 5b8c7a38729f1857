from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analyzer.checks import CHECKS, default_rules, limits_used, read_rules
from analyzer.checks.rules import parse
from analyzer.model.errors import RulesError


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


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("checks: {intervall-long: {}}", r"no check is called 'intervall-long' \(did you mean 'interval-long'\?\)"),
        ("checks: {interval-long: {limits: 3}}", r"interval-long.limits is unknown \(did you mean 'limit_s'\?\)"),
        ("checks: {interval-long: {limit_s: -1}}", "'-1' is not a number from 0 to 600 s"),
        ("checks: {interval-long: {limit_s: nan}}", "'nan' is not a number"),
        ("checks: {interval-long: {limit_s: [1]}}", "is not a number"),
        ("checks: {interval-long: {severity: grave}}", "'grave' is none of high, medium, low"),
        ("checks: {interval-long: {on: maybe}}", "'maybe' is neither true nor false"),
        ("checks: {interval-long: 6}", "'6' is no mapping"),
        ("checks: [interval-long]", "'checks' must map"),
        ("rules: {}", r"'rules' is unknown"),
        ("- a\n- b", "a list; start with 'checks:'"),
        ("checks: {count-pace: {low_s: 2, high_s: 1}}", "low_s 2 is over high_s 1"),
        ("checks: {a: &x {on: true}, b: *x}", "an alias"),
        ("checks: {rest-long: {limit_s: 1, limit_s: 2}}", "'limit_s' twice"),
        ("checks: {? [a] : b}", "a key that is no plain word"),
        ("checks: {interval-long: {", "line"),
        ("checks: !!python/object/apply:os.system [x]", "must map|not YAML|no mapping|constructor"),
        (b"checks: \xff", "byte 8: not UTF-8 text"),
        ("a: " + "x" * 200_001, "at most 200000 are allowed"),
    ],
)
def test_mistakes_are_named(read, text, says):
    with pytest.raises(RulesError, match=says):
        read(text)


def test_all_mistakes_are_listed_in_one_line(read):
    with pytest.raises(RulesError, match=r"^house.yaml: 3 mistakes: ") as caught:
        read("other: 1\nchecks: {rest-lung: {}, rest-long: {limit_s: x}}")
    assert "\n" not in str(caught.value)
    assert "did you mean 'rest-long'?" in str(caught.value)


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
