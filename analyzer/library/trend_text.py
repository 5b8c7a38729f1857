"""A trend for the terminal: plain text of 80 columns, the tables first and what to act on last."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

from analyzer.library.trend import MEASURES, Group, Measure, Trend
from analyzer.library.trend_words import (
    MINUS,
    by_class,
    change_words,
    classes_words,
    compared,
    outlier_words,
    range_words,
    reconsider_words,
    sure_changes,
    value_words,
    way_words,
)
from analyzer.reports.plain import columns, cut, terminal_text

WIDTH = 80
MOST = 8
"""Rows of a list; the page and the tables hold all of them."""
NAME, COUNT, CELL = 16, 8, 9


def trend_text(trend: Trend, page: str | None = None) -> str:
    """Return the trend, lines ending in a line feed; ``page`` is the path to point to, where there is one."""
    lines = [_head(trend), "", _row("", "classes", [measure.short for measure in MEASURES]), _group(trend.whole)]
    for title, groups in (
        ("By coach", trend.coaches),
        ("By series", trend.series),
        (f"By {trend.period}", _last(trend)),
    ):
        if groups:
            lines += ["", title, *(_group(group) for group in groups)]
    lines += ["", *_checks(trend), *_reconsider(trend), *_outliers(trend), *_changes(trend)]
    if page is not None:
        lines += ["", f"Page: {terminal_text(page)}"]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _head(trend: Trend) -> str:
    told = classes_words(trend.classes)
    told += f", {trend.undated} without a date" if trend.undated else ""
    return told + (f"; {trend.failed} more could not be audited" if trend.failed else "")


def _last(trend: Trend) -> tuple[Group, ...]:
    return trend.periods[-12:]


def _group(group: Group) -> str:
    cells = (_cell(measure, estimate.value) for measure, estimate in zip(MEASURES, group.estimates, strict=True))
    return _row(terminal_text(group.name), str(group.classes), cells)


def _cell(measure: Measure, value: float | None) -> str:
    if measure.unit == "s" and value is not None:
        return f"{round(value):{'+' if measure.better == 'nearer zero' else ''}d}".replace("-", MINUS)
    return value_words(value, measure.unit)


def _row(name: str, count: str, cells: Iterable[str]) -> str:
    name = cut(name, NAME)
    return name + " " * (NAME - columns(name)) + f"{count:>{COUNT}}" + "".join(f"{cell:>{CELL}}" for cell in cells)


def _checks(trend: Trend) -> Iterator[str]:
    if not trend.checks:
        return
    yield "Most frequent findings: share of classes, its range, findings in all"
    for row in trend.checks[:MOST]:
        ends = range_words(row.flagged, "share")
        yield f"  {row.check:<20}{value_words(row.flagged.value, 'share'):>6}  {ends:<16}{row.findings:>7}"


def _reconsider(trend: Trend) -> Iterator[str]:
    rows = [row for row in trend.checks if row.reconsider is not None]
    if rows:
        yield ""
        yield f"Limits to reconsider: more than {100 * trend.reconsider_from:.0f} % of the classes are flagged"
        for row in rows:
            yield from textwrap.wrap(f"  {row.check}: {reconsider_words(row)}", WIDTH, subsequent_indent="    ")


def _outliers(trend: Trend) -> Iterator[str]:
    found = by_class(trend.outliers)
    if found:
        yield ""
        yield "Classes unlike the others"
        for key, rows in list(found.items())[:MOST]:
            told = f"  {terminal_text(key)}: {', '.join(map(outlier_words, rows))}"
            yield from textwrap.wrap(told, WIDTH, subsequent_indent="    ")
        if len(found) > MOST:
            yield f"  and {len(found) - MOST} more"


def _changes(trend: Trend) -> Iterator[str]:
    looked_at = compared(trend)
    if not looked_at:
        return
    found = sure_changes(trend)
    yield ""
    yield f"Changes from one {trend.period} to the next that are beyond chance: {len(found)} of {looked_at}"
    for row in found[:MOST]:
        way = way_words(row.measure, row.change)
        told = f"{row.group}: {row.measure.title.lower()} {change_words(row.change, row.measure.unit)}"
        told += f", {way}" if way else ""
        told = f"  {terminal_text(told)}; {row.before} to {row.now}"
        yield from textwrap.wrap(told, WIDTH, subsequent_indent="    ")
    if len(found) > MOST:
        yield f"  and {len(found) - MOST} more"
