from dataclasses import replace

import pytest

from analyzer.reports.digest import fix_first, reaches, state, tally, verdict_words, where


def only(audit, *severities, **changes):
    return replace(audit, findings=tuple(replace(audit.findings[0], severity=s, **changes) for s in severities))


def test_waived_and_unclear_never_count(audit):
    counts = tally(audit)
    assert (counts.high, counts.medium, counts.low, counts.unclear, counts.waived) == (3, 2, 1, 1, 1)
    assert counts.standing == 6


@pytest.mark.parametrize(
    ("severities", "found", "reached"),
    [
        (("high",), "redo", {"high", "medium", "low"}),
        (("medium", "low"), "look", {"medium", "low"}),
        (("low",), "small", {"low"}),
        ((), "clear", set()),
    ],
)
def test_state_and_levels(audit, severities, found, reached):
    changed = only(audit, *severities)
    assert state(changed) == found
    assert {level for level in ("high", "medium", "low", "never") if reaches(changed, level)} == reached


@pytest.mark.parametrize("change", [{"verdict": "unclear"}, {"waived": "agreed"}, {"waived": ""}])
def test_unclear_or_waived_reaches_no_level(audit, change):
    changed = only(audit, "high", **change)
    assert state(changed) == "clear"
    assert not reaches(changed, "low")


def test_fix_first_takes_three_different_checks_worst_first(audit):
    many = replace(audit, findings=(*audit.findings, replace(audit.findings[7], id="f09", at_s=100.0)))
    first = fix_first(many)
    assert [(item.finding.check, item.more) for item in first] == [
        ("easier-missing", 1),
        ("side-uneven", 0),
        ("move-missing", 0),
    ]


def test_words(audit):
    assert verdict_words(audit) == (
        "Not ready to sign off",
        "3 high, 2 medium and 1 low findings. One thing could not be decided at this timing. 1 waived.",
    )
    assert verdict_words(only(audit, "low"))[1] == "1 low finding."
    assert verdict_words(only(audit))[1] == "No finding stands against the plan."
    assert where(audit.findings[4]) == "Main A, round 2, Split squat, left side"
