import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from analyzer.model.audit import Facts, JudgedCall
from analyzer.reports.page.drift import drift_curve
from analyzer.reports.page.scatter import call_scatter


def places(svg):
    """Return (said, real) in drawing units by the second each mark plays from."""
    marks = re.findall(r'transform="translate\(([\d.]+) ([\d.]+)\)"[^>]*data-at="([\d.]+)"', str(svg))
    return {float(at): (float(x), float(y)) for x, y, at in marks}


def test_drift_needs_two_worked_intervals(audit):
    drift = drift_curve(audit)
    assert drift.rows[0][1] == 0.0
    ElementTree.fromstring(str(drift.svg))
    one = replace(audit.alignment, intervals=audit.alignment.intervals[:1])
    assert drift_curve(replace(audit, alignment=one)) is None


def test_the_drift_scale_holds_the_band_and_says_its_ends(audit):
    drift = drift_curve(audit)
    for points in re.findall(r'points="([^"]+)"', str(drift.svg)):
        heights = [float(pair.split(",")[1]) for pair in points.split()]
        assert min(heights) >= 0
        assert max(heights) <= 120
    assert min(row[1] for row in drift.rows) == -52.0  # the last hold: at 343 s, planned for 395 s
    assert (drift.top, drift.bottom) == ("10 s late", "1 min 00 s early")


def test_a_call_on_time_lies_on_the_line_and_a_late_one_above_it(audit):
    calls = tuple(
        JudgedCall("left", at, 0.5, said, real, real - said, "pass", None, "call")
        for at, said, real in ((10.0, 15.0, 15.0), (20.0, 15.0, 24.0), (30.0, 60.0, 60.0))
    )
    found = places(call_scatter(replace(audit, facts=Facts(calls=calls))).svg)
    left, bottom = 58.0, 412.0  # the corner where both are zero
    for at in (10.0, 30.0):
        assert found[at][0] - left == pytest.approx(bottom - found[at][1], abs=0.2)
    assert found[20.0][0] == found[10.0][0]
    assert found[20.0][1] < found[10.0][1]
    assert found[30.0][0] - left == pytest.approx(2 * (found[10.0][0] - left), abs=0.2)  # root of four


def test_counts_and_calls_without_a_number_are_left_out(audit):
    scatter = call_scatter(audit)
    ElementTree.fromstring(str(scatter.svg))
    assert (scatter.shown, scatter.left_out) == (2, 1)
    assert call_scatter(replace(audit, facts=Facts(calls=audit.facts.calls[2:3]))) is None


def test_the_band_is_as_wide_as_the_house_rules_say(audit):
    rules = {"time-call-off.limit_s": 5.0, "time-call-off.short_limit_s": 3.0, "time-call-off.short_until_s": 15.0}
    assert 'class="band"' in str(call_scatter(replace(audit, limits=rules)).svg)
    assert 'class="band"' not in str(call_scatter(replace(audit, limits={})).svg)


def test_words_of_a_call_stay_words(build, hostile_text):
    calls = (JudgedCall("left", 10.0, 0.5, 15.0, 15.0, 0.0, "pass", None, hostile_text),)
    root = ElementTree.fromstring(str(call_scatter(replace(build(), facts=Facts(calls=calls))).svg))
    title = next(element.text for element in root.iter() if element.tag == "title")
    assert "<script>alert('x')</script>" in title
    assert "\x1b" not in title
