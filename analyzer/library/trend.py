"""How a library is doing: by coach, series and period, against the period before, check by check, class by class."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from analyzer.library.class_facts import ClassFacts
from analyzer.library.estimates import NOTHING, OUTLIER_FROM, Estimate, change, median, outlier_scores, share

Period = Literal["month", "quarter", "year"]
PERIODS: tuple[Period, ...] = ("month", "quarter", "year")
FEWEST_CLASSES = 10
"""A tenth of fewer classes is no class."""


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of a group of classes; ``short`` heads a narrow column, ``better`` says which way is better."""

    id: str
    title: str
    short: str
    unit: Literal["s", "share"]
    better: Literal["more", "less", "nearer zero"]
    means: str
    of: Callable[[Sequence[ClassFacts]], Estimate]


def _median_of(read: Callable[[ClassFacts], float | None]) -> Callable[[Sequence[ClassFacts]], Estimate]:
    return lambda classes: median([value for c in classes if (value := read(c)) is not None])


def _share_of(read: Callable[[ClassFacts], tuple[int, int]]) -> Callable[[Sequence[ClassFacts]], Estimate]:
    return lambda classes: share([read(c) for c in classes])


MEASURES: tuple[Measure, ...] = (
    Measure(
        "drift",
        "Drift",
        "drift, s",
        "s",
        "less",
        "how far off the plan's clock the last interval starts, early or late; the median class",
        _median_of(lambda c: None if c.drift_s is None else abs(c.drift_s)),
    ),
    Measure(
        "overrun",
        "Overrun",
        "over, s",
        "s",
        "nearer zero",
        "length of the class less its planned length; the median class",
        _median_of(lambda c: c.over_s),
    ),
    Measure(
        "options",
        "Hard moves with an option",
        "options",
        "share",
        "more",
        "hard moves, round by round, that get an easier option",
        _share_of(lambda c: c.options),
    ),
    Measure(
        "calls",
        "Calls that are right",
        "calls",
        "share",
        "more",
        "time calls and counts that fit the clock, of those the timing can decide",
        _share_of(lambda c: c.calls),
    ),
    Measure(
        "sides",
        "Even sides",
        "sides",
        "share",
        "more",
        "moves, round by round, whose left and right get equal time, of those the timing can decide",
        _share_of(lambda c: c.sides),
    ),
    Measure(
        "signed-off",
        "No high finding",
        "no high",
        "share",
        "more",
        "classes without a finding of high severity",
        _share_of(lambda c: (int(c.high == 0), 1)),
    ),
)


@dataclass(frozen=True, slots=True)
class Group:
    """Some classes: their measures in the order of :data:`MEASURES`, and the change from one period to a later one.

    ``now`` and ``before`` name the two periods, "" where there are no two.
    """

    name: str
    classes: int
    estimates: tuple[Estimate, ...]
    changes: tuple[Estimate, ...]
    now: str = ""
    before: str = ""


@dataclass(frozen=True, slots=True)
class Reconsider:
    """A limit that flags many classes: the least and the largest that held, and the one for the worst tenth alone.

    ``worst_tenth`` is None for a check that has no limit in numbers.
    """

    low: float | None
    high: float | None
    worst_tenth: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class CheckTrend:
    """How often one check finds something."""

    check: str
    findings: int
    flagged: Estimate
    change: Estimate
    reconsider: Reconsider | None


@dataclass(frozen=True, slots=True)
class Outlier:
    """A class unlike the others in one respect: its value, the median of all, and its modified z-score."""

    key: str
    title: str
    coach: str
    respect: str
    unit: str
    value: float
    typical: float
    score: float


@dataclass(frozen=True, slots=True)
class Trend:
    """A whole library. ``undated`` classes belong to no period; ``reconsider_from`` is a share of the classes."""

    period: Period
    reconsider_from: float
    classes: int
    failed: int
    undated: int
    whole: Group
    coaches: tuple[Group, ...]
    series: tuple[Group, ...]
    periods: tuple[Group, ...]
    checks: tuple[CheckTrend, ...]
    outliers: tuple[Outlier, ...]


def make_trend(
    classes: Sequence[ClassFacts], failed: int = 0, period: Period = "month", reconsider_from: float = 0.3
) -> Trend:
    """Return what the classes say together; ``failed`` is how many could not be audited.

    Raises
    ------
    ValueError
        When ``reconsider_from`` is under a tenth: a limit that flags no more needs none for the worst tenth.
    """
    if not 0.1 <= reconsider_from <= 1.0:
        raise ValueError(f"reconsider_from = {reconsider_from}: 0.1 to 1 is allowed")
    return Trend(
        period=period,
        reconsider_from=reconsider_from,
        classes=len(classes),
        failed=failed,
        undated=sum(not c.date for c in classes),
        whole=_group("All", classes, period),
        coaches=_groups(classes, lambda c: c.coach, period),
        series=_groups(classes, lambda c: c.series, period),
        periods=_period_groups(classes, period),
        checks=_checks(classes, period, reconsider_from),
        outliers=_outliers(classes),
    )


def period_of(date: str, period: Period) -> str:
    """Return the period of an ISO date; "" for none.

    >>> period_of("2026-05-14", "month"), period_of("2026-05-14", "quarter"), period_of("2026-05-14", "year")
    ('2026-05', '2026-Q2', '2026')
    """
    if not date or period == "year":
        return date[:4]
    return date[:7] if period == "month" else f"{date[:4]}-Q{(int(date[5:7]) + 2) // 3}"


def _groups(classes: Sequence[ClassFacts], of: Callable[[ClassFacts], str], period: Period) -> tuple[Group, ...]:
    """Return the groups by name, those without one left out."""
    return tuple(_group(name, rows, period) for name, rows in sorted(_parted(classes, of).items()) if name)


def _period_groups(classes: Sequence[ClassFacts], period: Period) -> tuple[Group, ...]:
    parted = _parted(classes, lambda c: period_of(c.date, period))
    parted.pop("", None)
    groups: list[Group] = []
    for name in sorted(parted):
        estimates = _estimates(parted[name])
        last = groups[-1] if groups else None
        changes = _changes(estimates, last.estimates if last else None)
        groups.append(
            Group(name, len(parted[name]), estimates, changes, name if last else "", last.name if last else "")
        )
    return tuple(groups)


def _group(name: str, classes: Sequence[ClassFacts], period: Period) -> Group:
    """Return a group with the change between its two latest periods that have classes."""
    now, before = _two_latest(classes, period)
    changes = _changes(_estimates(now[1]), _estimates(before[1])) if before[0] else _changes((), None)
    return Group(name, len(classes), _estimates(classes), changes, now[0] if before[0] else "", before[0])


_Parted = tuple[str, Sequence[ClassFacts]]


def _two_latest(classes: Sequence[ClassFacts], period: Period) -> tuple[_Parted, _Parted]:
    parted = _parted(classes, lambda c: period_of(c.date, period))
    names = sorted(name for name in parted if name)[-2:]
    if len(names) < 2:
        return ("", ()), ("", ())
    return (names[1], parted[names[1]]), (names[0], parted[names[0]])


def _parted(classes: Iterable[ClassFacts], of: Callable[[ClassFacts], str]) -> dict[str, list[ClassFacts]]:
    parted: dict[str, list[ClassFacts]] = {}
    for c in classes:
        parted.setdefault(of(c), []).append(c)
    return parted


def _estimates(classes: Sequence[ClassFacts]) -> tuple[Estimate, ...]:
    return tuple(measure.of(classes) for measure in MEASURES)


def _changes(now: Sequence[Estimate], before: Sequence[Estimate] | None) -> tuple[Estimate, ...]:
    if before is None:
        return (NOTHING,) * len(MEASURES)
    return tuple(change(a, b) for a, b in zip(now, before, strict=True))


def _checks(classes: Sequence[ClassFacts], period: Period, reconsider_from: float) -> tuple[CheckTrend, ...]:
    """Return the checks that find something, those that flag most classes first."""
    (_, now), (_, before) = _two_latest(classes, period)
    found = []
    for check in sorted({check for c in classes for check in c.flags}):
        flagged = _flagged(check, classes)
        assert flagged.value is not None
        many = flagged.value > reconsider_from and len(classes) >= FEWEST_CLASSES
        found.append(
            CheckTrend(
                check=check,
                findings=sum(c.flags[check].findings for c in classes if check in c.flags),
                flagged=flagged,
                change=change(_flagged(check, now), _flagged(check, before)),
                reconsider=_reconsider(check, classes) if many else None,
            )
        )
    return tuple(sorted(found, key=lambda row: (-(row.flagged.value or 0.0), row.check)))


def _flagged(check: str, classes: Sequence[ClassFacts]) -> Estimate:
    return share([(int(check in c.flags), 1) for c in classes])


def _reconsider(check: str, classes: Sequence[ClassFacts]) -> Reconsider:
    flags = [c.flags[check] for c in classes if check in c.flags]
    limits = [flag.limit for flag in flags if flag.limit is not None]
    beyond = sorted((flag.beyond for flag in flags if flag.beyond is not None), reverse=True)
    unit = flags[0].unit
    tenth = len(classes) // 10
    if len(beyond) < len(flags) or len(limits) < len(flags):
        return Reconsider(None, None, None, unit)
    return Reconsider(min(limits), max(limits), _rounded_up(beyond[tenth], unit), unit)


def _rounded_up(value: float, unit: str) -> float:
    """Return a limit that a person would set, never below ``value``: at it the class whose value it is passes."""
    step = 100.0 if unit == "share" else 10.0
    return math.ceil(round(value * step, 6)) / step


_RESPECTS: tuple[tuple[str, str, Callable[[ClassFacts], float | None]], ...] = (
    ("drift at the end", "s", lambda c: c.drift_s),
    ("overrun", "s", lambda c: c.over_s),
    ("findings", "", lambda c: float(c.standing)),
    ("words a minute", "", lambda c: c.words_per_minute),
    ("longest silence", "s", lambda c: c.silence_s),
)


SIGNED = frozenset({"drift at the end", "overrun"})
"""Respects in which a class may be off either way."""


def _outliers(classes: Sequence[ClassFacts]) -> tuple[Outlier, ...]:
    """Return the classes unlike the others, the farthest first."""
    found = []
    for respect, unit, read in _RESPECTS:
        rows = [(c, value) for c in classes if (value := read(c)) is not None]
        values = [value for _, value in rows]
        typical = median(values).value
        for (c, value), score in zip(rows, outlier_scores(values), strict=True):
            if abs(score) > OUTLIER_FROM and typical is not None:
                found.append(Outlier(c.key, c.title, c.coach, respect, unit, value, typical, score))
    return tuple(sorted(found, key=lambda row: (-abs(row.score), row.key, row.respect)))
