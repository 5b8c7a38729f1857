"""A trend as one self-contained page, in the report's dress and under its Content-Security-Policy."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from markupsafe import Markup

from analyzer import __version__
from analyzer.checks import CHECKS
from analyzer.library.trend import MEASURES, Group, Trend
from analyzer.library.trend_svg import period_chart, range_bar, scale_of, spoken
from analyzer.library.trend_words import (
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
from analyzer.reports.digest import CAUTIONS
from analyzer.reports.html import content_policy, part, template

_PACKAGE = "analyzer.library"


def trend_html(trend: Trend, links: Mapping[str, str] = MappingProxyType({})) -> str:
    """Return the page; the same Trend gives the same page. It runs no script.

    ``links`` lead from a class to its report, relative to where the page will lie.
    """
    style = part("report.css") + part("trend.css", _PACKAGE)
    tables = [("coach", trend.coaches), ("series", trend.series)]
    return template("trend.html.j2", _PACKAGE).render(
        trend=trend,
        policy=content_policy("", style),
        style=Markup(style),
        version=__version__,
        measures=MEASURES,
        facts=[(measure, *spoken(measure, e)) for measure, e in zip(MEASURES, trend.whole.estimates, strict=True)],
        charts=[
            (measure, period_chart(measure, n, trend.periods)) for n, measure in enumerate(MEASURES) if trend.periods
        ],
        tables=[(by, [_row(group, groups) for group in groups]) for by, groups in tables if groups],
        titles={check.id: check.title for check in CHECKS},
        changes=sure_changes(trend),
        compared=compared(trend),
        outliers=by_class(trend.outliers),
        links=links,
        range_bar=range_bar,
        range_words=range_words,
        value_words=value_words,
        change_words=change_words,
        classes_words=classes_words,
        way_words=way_words,
        outlier_words=outlier_words,
        reconsider_words=reconsider_words,
        cautions=CAUTIONS,
    )


def _row(group: Group, groups: tuple[Group, ...]) -> dict[str, Any]:
    cells = []
    for place, (measure, estimate, change) in enumerate(zip(MEASURES, group.estimates, group.changes, strict=True)):
        value, ends = spoken(measure, estimate)
        cells.append(
            {
                "value": value,
                "ends": ends,
                "bar": range_bar(estimate, *scale_of(measure, place, groups)),
                "change": change_words(change, measure.unit) if change.value is not None else "",
                "sure": change.excludes_zero,
            }
        )
    return {"group": group, "cells": cells}
