from dataclasses import replace
from itertools import pairwise

import pytest

from analyzer.reports.page.timeline import LINE_S, Piece, position_rules, slip_of, timeline_lines


def lane(lines, css):
    return [(line, placed) for line in lines for own in line.lanes if own.css == css for placed in own.placed]


def test_lines_of_two_minutes_cover_the_class(audit):
    lines = timeline_lines(audit)
    assert lines[0].start_s == 0.0
    assert lines[-1].end_s >= audit.transcript.duration_s
    assert all(line.end_s - line.start_s == LINE_S for line in lines)


def test_every_interval_is_one_stop_on_its_lane(audit):
    lines = timeline_lines(audit)
    found = [n + 1 for n, i in enumerate(audit.alignment.intervals) if i.start_s is not None]
    stops = [p.item.href for _, p in lane(lines, "recorded") if p.item.href and not p.rest]
    assert sorted(stops) == sorted(f"#iv-{n}" for n in found)
    planned = [p.item.href for _, p in lane(lines, "planned") if p.item.href and not p.rest]
    assert sorted(planned) == [f"#iv-{n + 1}" for n in range(8)]


def test_pieces_of_a_lane_do_not_overlap_and_stay_on_their_line(audit):
    for css in ("planned", "recorded"):
        places = [(line.start_s, p.left, p.left + p.width) for line, p in lane(timeline_lines(audit), css)]
        for (line, _, end), (following, start, _) in pairwise(places):
            assert end <= 1000
            assert (line, end) <= (following, start + 1)  # to the thousandth that rounding may take


def test_a_place_is_where_its_time_is(audit):
    for line, placed in lane(timeline_lines(audit), "recorded"):
        if placed.item.href and not placed.rest:
            assert placed.left == pytest.approx((placed.item.start_s - line.start_s) / LINE_S * 1000, abs=0.5)


def test_rests_and_demos_stand_between_the_work(audit):
    lines = timeline_lines(audit)
    planned = [p.item for _, p in lane(lines, "planned")]
    recorded = [p.item for _, p in lane(lines, "recorded")]
    assert {"plan-rest", "plan-talk", "plan", "plan lost"} <= {item.css for item in planned}
    assert "Planned rest, 1:35 to 1:45, 10 s" in {item.told for item in planned}
    assert "Rest, 1:35 to 1:44, 9 s" in {item.told for item in recorded}


@pytest.mark.parametrize(
    ("start", "told"),
    [
        (55.0, "Main A, round 1, Split squat left: 0:55 to 1:35, 40 s of 40 s planned"),
        (191.0, "Main A, round 1, Bear hold: 3:11 to 3:57, 46 s of 30 s planned, beyond the limit"),
    ],
)
def test_a_screen_reader_hears_what_the_bar_shows(audit, start, told):
    pieces = [p.item for _, p in lane(timeline_lines(audit), "recorded") if isinstance(p.item, Piece)]
    assert told in {piece.told for piece in pieces if piece.start_s == start}


def test_a_rest_that_a_finding_calls_off_is_marked(audit):
    rest = replace(audit.findings[5], check="rest-short", verdict="fail", at_s=95.0, expected=25.0)
    pieces = [p.item for _, p in lane(timeline_lines(replace(audit, findings=(rest,))), "recorded")]
    off = [piece for piece in pieces if piece.css == "rest off"]
    assert [(piece.label, piece.told) for piece in off] == [
        ("\u221216 s", "Rest, 1:35 to 1:44, 9 s, 25 s planned"),
    ]


def test_a_plan_that_began_before_the_recording_is_drawn_before_zero(audit):
    moved = tuple(
        replace(i, start_s=None, end_s=None, status="missing") if n < 3 else i
        for n, i in enumerate(audit.alignment.intervals)
    )
    early = tuple(replace(i, start_s=i.start_s - 150, end_s=i.end_s - 150) if i.start_s else i for i in moved)
    lines = timeline_lines(replace(audit, alignment=replace(audit.alignment, intervals=early)))
    assert lines[0].start_s < 0
    assert lines[0].ticks[0] == (0, "\u22122:00")


def test_nothing_worked_still_shows_the_plan(audit):
    lines = timeline_lines(replace(audit, alignment=replace(audit.alignment, intervals=())))
    assert lane(lines, "recorded") == []
    assert sum(p.item.css == "plan lost" and not p.rest for _, p in lane(lines, "planned")) == 8


def test_the_style_has_a_rule_for_every_place_used(audit):
    lines = timeline_lines(audit)
    rules = position_rules(lines)
    for css in ("planned", "recorded", "calls", "options", "flags"):
        for _, placed in lane(lines, css):
            assert f".l{placed.left}{{left:{placed.left / 10:g}%}}" in rules
            assert not placed.width or f".w{placed.width}{{width:{placed.width / 10:g}%}}" in rules


def test_a_slip_is_found_by_place_and_side(audit):
    hold = audit.alignment.intervals[3]
    assert slip_of(hold, audit.findings) is audit.findings[2]
    assert slip_of(replace(hold, round=2), audit.findings) is None
