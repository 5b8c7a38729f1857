"""A trend as CSV tables, one row a value, for spreadsheets and programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from analyzer.library.estimates import Estimate
from analyzer.library.trend import MEASURES, Trend
from analyzer.reports.plain import rounded
from analyzer.reports.tables import table_bytes

_GROUPS = (
    "by", "name", "classes", "measure", "unit", "value", "low", "high", "period", "previous_period", "change",
    "change_low", "change_high",
)  # fmt: skip
_CHECKS = (
    "check", "findings", "classes_flagged_share", "low", "high", "change", "change_low", "change_high", "reconsider",
    "limit_from", "limit_to", "limit_for_worst_tenth", "unit",
)  # fmt: skip
_OUTLIERS = ("class", "title", "coach", "respect", "unit", "value", "typical", "modified_z_score")


def trend_tables(trend: Trend) -> dict[str, bytes]:
    """Return ``groups.csv``, ``checks.csv`` and ``outliers.csv`` by file name; shares are fractions of 1."""
    return {
        "groups.csv": table_bytes(_GROUPS, _groups(trend)),
        "checks.csv": table_bytes(_CHECKS, _checks(trend)),
        "outliers.csv": table_bytes(_OUTLIERS, _outliers(trend)),
    }


def _groups(trend: Trend) -> Iterator[dict[str, Any]]:
    for by, groups in (
        ("library", (trend.whole,)),
        ("coach", trend.coaches),
        ("series", trend.series),
        (trend.period, trend.periods),
    ):
        for group in groups:
            for measure, estimate, change in zip(MEASURES, group.estimates, group.changes, strict=True):
                yield {
                    "by": by,
                    "name": group.name,
                    "classes": estimate.classes,
                    "measure": measure.id,
                    "unit": measure.unit,
                    "period": group.now,
                    "previous_period": group.before,
                    **_ends(estimate, "value", "low", "high"),
                    **_ends(change, "change", "change_low", "change_high"),
                }


def _checks(trend: Trend) -> Iterator[dict[str, Any]]:
    for row in trend.checks:
        found = row.reconsider
        yield {
            "check": row.check,
            "findings": row.findings,
            **_ends(row.flagged, "classes_flagged_share", "low", "high"),
            **_ends(row.change, "change", "change_low", "change_high"),
            "reconsider": "yes" if found else "no",
            "limit_from": found.low if found else None,
            "limit_to": found.high if found else None,
            "limit_for_worst_tenth": found.worst_tenth if found else None,
            "unit": found.unit if found else "",
        }


def _outliers(trend: Trend) -> Iterator[dict[str, Any]]:
    for row in trend.outliers:
        yield {
            "class": row.key,
            "title": row.title,
            "coach": row.coach,
            "respect": row.respect,
            "unit": row.unit,
            "value": rounded(row.value),
            "typical": rounded(row.typical),
            "modified_z_score": rounded(row.score),
        }


def _ends(estimate: Estimate, value: str, low: str, high: str) -> dict[str, Any]:
    return {value: rounded(estimate.value, 4), low: rounded(estimate.low, 4), high: rounded(estimate.high, 4)}
