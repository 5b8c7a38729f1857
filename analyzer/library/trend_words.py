"""The words of a trend, for the terminal and the page alike: values, changes, limits to reconsider."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyzer.library.estimates import Estimate
from analyzer.library.trend import MEASURES, SIGNED, CheckTrend, Group, Measure, Outlier, Trend
from analyzer.reports.plain import seconds_words

NONE = "\u2014"
MINUS = "\u2212"


@dataclass(frozen=True, slots=True)
class Sure:
    """A change that is more than chance alone explains."""

    group: str
    measure: Measure
    change: Estimate
    now: str
    before: str


def classes_words(count: int) -> str:
    """Return how many classes.

    >>> classes_words(1), classes_words(12)
    ('1 class', '12 classes')
    """
    return f"{count} class" if count == 1 else f"{count} classes"


def value_words(value: float | None, unit: str, signed: bool = False) -> str:
    """Return a value with its unit.

    >>> value_words(0.713, "share"), value_words(-0.05, "share", True), value_words(92.0, "s", True)
    ('71 %', '\u22125 %', '+1 min 32 s')
    """
    if value is None:
        return NONE
    if unit == "share":
        told = f"{abs(100 * value):.0f} %"
    elif unit == "s":
        told = seconds_words(abs(float(round(value))))
    else:
        told = f"{abs(value):.0f}"
    zero = told.lstrip("0 ").startswith(("%", "s")) or told == "0"
    sign = "" if zero else MINUS if value < 0 else "+" if signed else ""
    return sign + told


def range_words(estimate: Estimate, unit: str, signed: bool = False) -> str:
    """Return the ends of an interval, or why there is none.

    >>> range_words(Estimate(0.5, 0.4, 0.6, 90), "share"), range_words(Estimate(0.5, None, None, 2), "s")
    ('40 % to 60 %', 'too few classes for a range')
    """
    if estimate.value is None:
        return NONE
    if estimate.low is None or estimate.high is None:
        return "too few classes for a range"
    return f"{value_words(estimate.low, unit, signed)} to {value_words(estimate.high, unit, signed)}"


def change_words(estimate: Estimate, unit: str) -> str:
    """Return a change with its range; shares change by points of a hundred.

    >>> change_words(Estimate(-0.21, -0.34, -0.08, 12), "share")
    '\u221221 points (\u221234 to \u22128)'
    """
    if estimate.value is None:
        return NONE
    if unit != "share":
        ends = range_words(estimate, unit, True)
        return f"{value_words(estimate.value, unit, True)} ({ends})"
    value, low, high = (_points(v) for v in (estimate.value, estimate.low, estimate.high))
    ends = f"{low} to {high}" if estimate.low is not None else "too few classes for a range"
    return f"{value} points ({ends})"


def _points(value: float | None) -> str:
    return value_words(value, "share", True).removesuffix(" %")


def way_words(measure: Measure, change: Estimate) -> str:
    """Return whether a change is for the better: ``better``, ``worse``, or "" where that depends."""
    assert change.value is not None
    if measure.better == "nearer zero":
        return ""
    return "better" if (change.value > 0) == (measure.better == "more") else "worse"


def sure_changes(trend: Trend) -> tuple[Sure, ...]:
    """Return the changes between the two latest periods that are beyond chance, the whole library first."""
    return tuple(
        Sure(name, measure, change, group.now, group.before)
        for name, group in _named(trend)
        for measure, change in zip(MEASURES, group.changes, strict=True)
        if change.excludes_zero
    )


def _named(trend: Trend) -> Iterator[tuple[str, Group]]:
    yield "All classes", trend.whole
    for group in (*trend.coaches, *trend.series):
        yield group.name, group


def compared(trend: Trend) -> int:
    """Return how many changes were looked at."""
    return sum(change.value is not None for _, group in _named(trend) for change in group.changes)


def reconsider_words(row: CheckTrend) -> str:
    """Return what to do about a check that flags many classes."""
    found = row.reconsider
    assert found is not None
    if found.worst_tenth is None:
        return "it has no limit to move. Is it asked of these classes at all? House rules can turn it off."
    low, high = (_limit(value, found.unit) for value in (found.low, found.high))
    now = low if low == high else f"{low} to {high}"
    return f"its limit is {now}; {_limit(found.worst_tenth, found.unit)} would flag the worst tenth."


def _limit(value: float | None, unit: str) -> str:
    if unit == "share":
        return value_words(value, unit)
    return f"{value:g} {unit}".strip()


def outlier_words(row: Outlier) -> str:
    """Return what is odd about a class.

    >>> outlier_words(Outlier("a", "A", "", "overrun", "s", 92.0, 4.0, 9.1))
    'overrun +1 min 32 s (usual: +4 s)'
    """
    signed = row.respect in SIGNED
    value, typical = (value_words(v, row.unit, signed) for v in (row.value, row.typical))
    return f"{row.respect} {value} (usual: {typical})"


def by_class(outliers: tuple[Outlier, ...]) -> dict[str, list[Outlier]]:
    """Return the outliers class by class, the farthest class first."""
    found: dict[str, list[Outlier]] = {}
    for row in outliers:
        found.setdefault(row.key, []).append(row)
    return found
