import csv
import io
import re
from dataclasses import replace

import pytest

from analyzer.library.class_facts import ClassFacts, Flag, read_facts
from analyzer.library.folders import open_folder
from analyzer.library.store import Store, connect
from analyzer.library.tables import class_lines, report_lines
from analyzer.library.trend import MEASURES, make_trend
from analyzer.library.trend_html import trend_html
from analyzer.library.trend_tables import trend_tables
from analyzer.library.trend_text import trend_text
from analyzer.library.trend_words import sure_changes
from analyzer.reports import report_dict
from analyzer.reports.plain import columns
from tests.library.test_compare_pages import Page
from tests.reports.synthetic import HOSTILE
from tests.reports.synthetic import audit as build

OFFERED = next(n for n, measure in enumerate(MEASURES) if measure.id == "options")


def facts(key, **told):
    base = ClassFacts(
        key, "Lowtide", "Coach A", "spring", "2026-03-14", 0, 2, 4.0, 10.0, 130.0, 8.0, (3, 4), (9, 10), (2, 2)
    )
    return replace(base, **told)


def library():
    """Two coaches over two months: Coach A's options fall from nearly all to few, Coach B's stay as they are."""
    rows = []
    for month, kept in (("2026-03", 9), ("2026-04", 2)):
        for number in range(20):
            day = f"{month}-{number + 1:02d}"
            beyond = 21.0 + number
            flags = {"start-drift": Flag(2, beyond, 20.0, "s")} if number >= 4 else {}
            offered = (kept + number % 2, 10)
            rows.append(facts(f"a/{day}", date=day, options=offered, drift_s=float(number), flags=flags))
            offered = (5 + number % 2, 10)
            rows.append(
                facts(f"b/{day}", date=day, coach="Coach B", series="autumn", options=offered, drift_s=-float(number))
            )
    return rows


def test_groups_hold_their_classes_and_the_change_between_their_latest_periods():
    trend = make_trend(library(), failed=3)
    assert [(g.name, g.classes, g.before, g.now) for g in trend.coaches] == [
        ("Coach A", 40, "2026-03", "2026-04"),
        ("Coach B", 40, "2026-03", "2026-04"),
    ]
    assert [g.name for g in trend.series] == ["autumn", "spring"]
    assert [(g.name, g.classes, g.before) for g in trend.periods] == [("2026-03", 40, ""), ("2026-04", 40, "2026-03")]
    fallen, kept = (group.changes[OFFERED] for group in trend.coaches)
    assert fallen.value == pytest.approx(-0.7)
    assert fallen.excludes_zero
    assert (kept.value, kept.excludes_zero) == (0.0, False)
    assert [(row.group, row.measure.id) for row in sure_changes(trend)] == [
        ("All classes", "options"),
        ("Coach A", "options"),
        ("spring", "options"),
    ]
    assert trend.failed == 3


def test_measures_are_what_they_say():
    rows = [
        facts("a", drift_s=-30.0, over_s=-5.0, options=(1, 4), calls=(1, 2), sides=(0, 0), high=1),
        facts("b", drift_s=10.0, over_s=None, options=(3, 4), calls=(1, 1), sides=(1, 1), high=0),
        facts("c", drift_s=None, over_s=7.0, options=(0, 0), calls=(0, 0), sides=(0, 1), high=0),
    ]
    values = [estimate.value for estimate in make_trend(rows).whole.estimates]
    assert values == pytest.approx([20.0, 1.0, 0.5, 2 / 3, 0.5, 2 / 3])


@pytest.mark.parametrize(("period", "names"), [("month", 2), ("quarter", 2), ("year", 1)])
def test_periods(period, names):
    rows = [facts("a", date="2026-03-31"), facts("b", date="2026-04-01"), facts("c", date="")]
    trend = make_trend(rows, period=period)
    assert len(trend.periods) == names
    assert trend.undated == 1


def test_a_limit_that_flags_many_is_pointed_out_with_the_one_for_the_worst_tenth():
    rows = library()
    (row,) = make_trend(rows).checks
    assert (row.check, row.findings, row.flagged.value) == ("start-drift", 64, 0.4)
    assert row.reconsider is not None
    limit = row.reconsider.worst_tenth
    flagged = sum(flag.beyond > limit for c in rows for flag in c.flags.values())
    assert flagged == len(rows) // 10
    assert sum(flag.beyond > limit - 0.11 for c in rows for flag in c.flags.values()) > flagged
    assert (row.reconsider.low, row.reconsider.high, row.reconsider.unit) == (20.0, 20.0, "s")
    assert make_trend(rows, reconsider_from=0.4).checks[0].reconsider is None
    with pytest.raises(ValueError, match=r"0\.1 to 1 is allowed"):
        make_trend(rows, reconsider_from=0.05)


@pytest.mark.parametrize(
    "flag", [Flag(1, None, None, ""), Flag(1, None, 3.0, "s"), Flag(1, 4.0, None, "s")], ids=["none", "one", "other"]
)
def test_a_check_without_a_limit_in_numbers_gets_none(flag):
    rows = [facts(str(n), flags={"order-changed": flag}) for n in range(10)]
    (row,) = make_trend(rows).checks
    assert row.reconsider.worst_tenth is None
    assert "it has no limit to move" in trend_text(make_trend(rows))


def test_nothing_is_pointed_out_in_fewer_than_ten_classes():
    rows = [facts(str(n), flags={"order-changed": Flag(1, None, None, "")}) for n in range(9)]
    assert make_trend(rows).checks[0].reconsider is None


def test_a_class_unlike_the_others_is_found():
    rows = [facts(str(n), over_s=10.0 + n) for n in range(12)] + [facts("odd", over_s=-200.0)]
    (row,) = make_trend(rows).outliers
    assert (row.key, row.respect, row.typical) == ("odd", "overrun", 15.0)
    assert row.score < -3.5


def test_the_store_gives_the_facts_of_its_reports(tmp_path):
    report = report_dict(build())
    told = {
        "reason": "",
        "high": 1,
        "medium": 2,
        "low": 0,
        "date": "2026-03-14",
        "title": "T",
        "coach": "",
        "series": "",
    }
    folder = open_folder(str(tmp_path))
    rows = [class_lines(told | {"class": key}) | report_lines(key, report) for key in "ab"]
    rows.append(class_lines(told | {"class": "c", "reason": "no times"}))
    Store(folder).add(rows)
    with connect(folder) as store:
        (a, b), failed = read_facts(store)
    assert failed == 1
    assert replace(b, key="a") == a
    assert (a.date, a.high, a.standing) == ("2026-03-14", 1, 3)
    assert a.options == (sum(row["options"] > 0 for row in report["coverage"]), len(report["coverage"]))
    decided = [call for call in report["calls"] if call["verdict"] != "unclear"]
    assert a.calls == (sum(call["verdict"] == "pass" for call in decided), len(decided))
    assert a.over_s == pytest.approx(report["measures"]["real_seconds"] - report["measures"]["planned_seconds"])
    stand = [f for f in report["findings"] if f["verdict"] == "fail" and f["waived"] is None]
    assert {check: flag.findings for check, flag in a.flags.items()} == {
        check: sum(f["check"] == check for f in stand) for check in {f["check"] for f in stand}
    }
    for f in stand:
        flag = a.flags[f["check"]]
        if flag.beyond is not None:
            assert flag.beyond > f["limit"]


def test_the_text_fits_eighty_columns_and_says_what_matters():
    text = trend_text(make_trend(library(), failed=2), "out/trend.html")
    assert max(columns(line) for line in text.split("\n")) <= 80
    flat = " ".join(text.split())
    assert "80 classes; 2 more could not be audited" in flat
    assert "Coach A: hard moves with an option \u221270 points" in flat
    assert "start-drift: its limit is 20 s; 36 s would flag the worst tenth." in flat
    assert text.endswith("Page: out/trend.html\n")


def test_the_page_holds_figures_changes_limits_and_cautions():
    page = trend_html(make_trend(library()), {"x": "y"})
    text = " ".join(Page(page).text.split())
    assert "How 80 classes are doing" in text
    assert "Coach A, hard moves with an option: \u221270 points" in text
    assert "36 s would flag the worst tenth" in text
    assert "It is not medical advice." in text
    assert page.count('<svg class="chart"') == len(MEASURES)
    assert page.count('<circle class="dot"') == 2 * len(MEASURES) + 4 * len(MEASURES) + 1
    assert trend_html(make_trend(library()), {"x": "y"}) == page


def test_the_page_names_reports_it_can_reach():
    rows = [facts(str(n), over_s=10.0 + n) for n in range(12)] + [facts("odd", over_s=-200.0)]
    page = trend_html(make_trend(rows), {"odd": "reports/odd/report.html"})
    assert '<a href="reports/odd/report.html"><bdi>odd</bdi></a>' in page
    assert "<bdi>odd</bdi></a>" not in trend_html(make_trend(rows))


@pytest.mark.parametrize("rows", [[], [facts("a", date="", coach="", series="")]], ids=["none", "one"])
def test_next_to_nothing_is_told_too(rows):
    trend = make_trend(rows)
    count = "1 class" if rows else "0 classes"
    assert f"How {count} {'is' if rows else 'are'} doing" in Page(trend_html(trend)).text
    assert trend_text(trend).startswith(count)
    assert len(trend_tables(trend)["groups.csv"].splitlines()) == 1 + len(MEASURES)


def test_hostile_names_stay_words():
    def page(text):
        rows = [facts(f"{text}{n}", coach=text, series=text, title=text, over_s=float(n)) for n in range(11)]
        rows.append(facts(text, coach=text, title=text, over_s=900.0))
        return trend_html(make_trend(rows)), trend_text(make_trend(rows)), trend_tables(make_trend(rows))

    (plain, _, _), (hostile, text, tables) = page("keep"), page(HOSTILE)
    assert Page(hostile).tags == Page(plain).tags
    assert "<script>alert('x')</script>" in Page(hostile).text
    assert "\x1b" not in hostile + text
    assert "=cmd" not in [row[0][:4] for row in csv.reader(io.StringIO(tables["outliers.csv"].decode()))]


def test_the_page_asks_nothing_from_elsewhere():
    page = trend_html(make_trend(library()))
    assert "default-src 'none'" in page.replace("&#39;", "'")
    assert not re.search(r"\b(?:src|href)\s*=\s*[\"']?(?:https?:)?//", page)
    assert not re.search(r"\sstyle=|\son\w+=|<script", page)


def test_the_tables_hold_every_value():
    trend = make_trend(library())
    tables = trend_tables(trend)
    groups = list(csv.DictReader(io.StringIO(tables["groups.csv"].decode())))
    assert len(groups) == len(MEASURES) * 7
    (row,) = (g for g in groups if (g["by"], g["name"], g["measure"]) == ("coach", "Coach A", "options"))
    assert (row["value"], row["period"], row["change"]) == ("0.6", "2026-04", "-0.7")
    (check,) = csv.DictReader(io.StringIO(tables["checks.csv"].decode()))
    assert (check["reconsider"], check["limit_for_worst_tenth"]) == ("yes", "36.0")
