from dataclasses import replace

import pytest

from analyzer.reports import summary_text
from analyzer.reports.plain import columns


def test_fits_eighty_by_twenty_four(build, hostile_text):
    for text in ("keep it up", hostile_text, "\u4f53\u64cd" * 80):
        audit = build(text)
        audit = replace(
            audit,
            plan=replace(audit.plan, title=text * 3),
            findings=tuple(replace(f, message=text * 5, move=text) for f in audit.findings),
        )
        told = summary_text(audit, "out/report.html")
        lines = told.split("\n")
        assert len(lines) <= 24
        assert max(columns(line) for line in lines) <= 80
        assert "\x1b" not in told
        assert "\u202e" not in told
        assert lines[-2] == "Report: out/report.html"


def test_says_the_verdict_and_what_to_fix(audit):
    told = summary_text(audit)
    assert "Not ready to sign off." in told
    assert "1:44  high    The right side got 12 s less than the left." in told
    assert "Worked 7 of 8 planned intervals, 1 unplanned." in told
    assert "Report:" not in told


def test_nothing_found(audit):
    told = summary_text(replace(audit, findings=()))
    assert "Nothing beyond the limits." in told
    assert "Fix first" not in told


@pytest.mark.parametrize("drift", [None, float("nan")])
def test_an_unknown_drift_is_left_out(audit, drift):
    facts = replace(audit.facts, measures={"drift_at_end_seconds": drift})
    assert "last interval" not in summary_text(replace(audit, facts=facts))
    known = replace(audit.facts, measures={"drift_at_end_seconds": 12.0})
    assert "the last interval started 12 s late." in summary_text(replace(audit, facts=known))
