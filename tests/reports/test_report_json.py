import json
import math
from dataclasses import replace

import pytest

from analyzer.model.audit import Facts
from analyzer.reports import report_bytes, report_dict, validate_report
from analyzer.reports.report_json import plan_shift_s, read_schema

TOP = [
    *("schema", "tool_version", "title", "recording", "plan", "timing", "intervals", "calls", "options"),
    *("sides", "promises", "coverage", "findings", "stale_waivers", "measures"),
]


def test_keys_are_those_of_the_contract(audit):
    report = report_dict(audit)
    assert list(report) == TOP
    assert report["schema"] == "class-analyzer/report/1"
    assert set(report["timing"]) == {"grain", "typical_u", "words", "duration", "class_start"}


def test_the_report_fits_its_schema_even_with_hostile_words(audit, build, hostile_text):
    assert validate_report(report_dict(audit)) == ()
    assert validate_report(report_dict(build(hostile_text))) == ()


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda r: r.update(extra=1), "extra"),
        (lambda r: r.pop("sides"), "sides"),
        (lambda r: r["intervals"][0].update(status="done"), "done"),
        (lambda r: r["findings"][0].update(verdict="pass"), "pass"),
        (lambda r: r["recording"].update(file="/home/a/take.vtt"), "take.vtt"),
        (lambda r: r["timing"].update(grain="line"), "line"),
        (lambda r: r["measures"].update(wpm="fast"), "fast"),
        (lambda r: r["findings"][0]["evidence"][0].update(who="a"), "who"),
    ],
)
def test_the_schema_is_strict(audit, change, told):
    report = json.loads(report_bytes(audit))
    change(report)
    mistakes = validate_report(report)
    assert len(mistakes) == 1
    assert told in mistakes[0]


def test_every_object_of_the_schema_refuses_unknown_keys():
    def objects(node):
        if isinstance(node, dict):
            if node.get("type") == "object":
                yield node
            for value in node.values():
                yield from objects(value)
        elif isinstance(node, list):
            for value in node:
                yield from objects(value)

    closed = [node for node in objects(read_schema()) if node.get("additionalProperties") is not False]
    assert [sorted(node) for node in closed if "propertyNames" not in node] == []


def test_same_audit_same_bytes(build):
    assert report_bytes(build()) == report_bytes(build())


def test_numbers_are_finite_and_rounded(audit):
    def numbers(node):
        if isinstance(node, dict):
            for value in node.values():
                yield from numbers(value)
        elif isinstance(node, list):
            for value in node:
                yield from numbers(value)
        elif isinstance(node, float):
            yield node

    text = report_bytes(audit).decode()
    found = list(numbers(json.loads(text)))
    assert found
    assert all(math.isfinite(value) and round(value, 3) == value for value in found)
    assert "NaN" not in text
    assert json.loads(text)["measures"]["drift_at_end_seconds"] is None


def test_measures_of_an_unusual_kind_become_plain_numbers(audit):
    facts = replace(audit.facts, measures={"b": -0.0001, "a": float("inf"), "c": 3})
    report = report_dict(replace(audit, facts=facts))
    assert report["measures"] == {"a": None, "b": 0.0, "c": 3}
    assert math.copysign(1.0, report["measures"]["b"]) == 1.0


def test_no_folder_leaks(build):
    for name in ("/home/someone/takes/take-2.vtt", "C:\\takes\\take-2.vtt"):
        assert report_dict(build(name=name))["recording"]["file"] == "take-2.vtt"


def test_the_plan_is_shifted_onto_the_first_worked_interval(audit):
    report = report_dict(audit)
    first = next(i for i in report["intervals"] if i["status"] == "worked")
    assert first["planned_start"] == first["start"] == 55.0
    assert plan_shift_s(audit) == 5.0
    extra = next(i for i in report["intervals"] if i["status"] == "extra")
    assert extra["planned_start"] is None
    assert extra["planned_seconds"] is None


def test_nothing_worked_leaves_the_plan_where_it_is(audit):
    missing = tuple(replace(i, status="missing", start_s=None, end_s=None) for i in audit.alignment.intervals[:3])
    bare = replace(audit, alignment=replace(audit.alignment, intervals=missing), facts=Facts(), findings=())
    assert plan_shift_s(bare) == 0.0
    assert validate_report(report_dict(bare)) == ()


def test_lone_surrogates_and_controls_can_be_written(build):
    report = report_dict(build("\ud83d oh\x00 dear"))
    assert report["calls"][1]["text"] == "? oh\ufffd dear"
    report_bytes(build("\ud83d"))
