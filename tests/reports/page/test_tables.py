from dataclasses import replace

import pytest

from analyzer.model.audit import SideBalance
from analyzer.reports.page.tables import filters_of, limits_by_check, measure_rows, side_bars


def test_limits_stand_by_check_with_units_in_words():
    rows = limits_by_check(
        {
            "side-uneven.on": True,
            "side-uneven.severity": "high",
            "interval-long.limit_s": 5.0,
            "easier-late.limit_share": 0.5,
            "count-missing.on": False,
            "not-a-check.limit": 2.0,
        }
    )
    assert [row.check for row in rows] == [
        "count-missing",
        "easier-late",
        "interval-long",
        "not-a-check",
        "side-uneven",
    ]
    missing, late, long, unknown, uneven = rows
    assert (missing.on, uneven.on, uneven.severity) == (False, True, "high")
    assert long.numbers == (("limit", "5 s"),)
    assert late.numbers == (("limit", "50 %"),)
    assert (unknown.title, unknown.numbers) == ("", (("limit", "2"),))
    assert long.title


def test_measures_told_elsewhere_or_unknown_are_left_out():
    measures = {"words_per_minute": 116.52, "longest_silence_seconds": 71.0, "hard_moves_with_option_share": 2 / 3,
                "real_seconds": 900.0, "options_per_minute": None, "drift": float("nan")}  # fmt: skip
    assert measure_rows(measures) == [
        ("hard moves with option", "67 %"),
        ("longest silence", "1 min 11 s"),
        ("words per minute", "116.5"),
    ]


@pytest.mark.parametrize(("left", "right", "shares"), [(40.0, 20.0, (100.0, 50.0)), (0.0, 0.0, (0.0, 0.0))])
def test_side_bars_share_one_scale(left, right, shares):
    bars = side_bars([SideBalance("Main", 1, "Lunge", left, right, 50.0, 1.0, "fail")])
    assert (bars[0].left_share, bars[0].right_share) == shares


def test_filters_hold_each_value_once_in_order_of_mention(audit):
    places = [("B", "y"), ("A", "x"), ("B", None)]
    found = [replace(audit.findings[0], block=block, move=move) for block, move in places]
    filters = filters_of([*found, replace(audit.findings[2], block=None, move=None)])
    assert (filters.checks, filters.blocks, filters.moves) == (("interval-long", "side-uneven"), ("B", "A"), ("y", "x"))
