"""The small tables of the page: the limits used, the measures, the sides as bars, what filters can be set to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from analyzer.checks import CHECKS, Check
from analyzer.model.audit import Finding, SideBalance
from analyzer.reports.html import quantity
from analyzer.reports.plain import seconds_words

_TOLD_ABOVE = frozenset(("typical_u", "planned_seconds", "real_seconds", "drift_at_end_seconds"))


@dataclass(frozen=True, slots=True)
class Limits:
    """What held for one check: its title, whether it was on, its severity, its numbers as (name, value) in words."""

    check: str
    title: str
    on: bool
    severity: str
    numbers: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SideBars:
    """Seconds a side with the lengths of their bars, in percent of the longest side of the class."""

    side: SideBalance
    left_share: float
    right_share: float


@dataclass(frozen=True, slots=True)
class Filters:
    """What the findings can be filtered by; each list in order of first mention."""

    checks: tuple[str, ...]
    blocks: tuple[str, ...]
    moves: tuple[str, ...]


def limits_by_check(limits: Mapping[str, float | str | bool]) -> list[Limits]:
    """Return the limits of an audit, one entry a check, by name."""
    values: dict[str, dict[str, float | str | bool]] = {}
    for key, value in limits.items():
        name, _, parameter = key.partition(".")
        values.setdefault(name, {})[parameter] = value
    known = {check.id: check for check in CHECKS}
    return [_limits(name, known.get(name), own) for name, own in sorted(values.items())]


def _limits(name: str, check: Check | None, values: Mapping[str, float | str | bool]) -> Limits:
    units = {parameter.name: parameter.unit for parameter in check.parameters} if check else {}
    numbers = tuple(
        (_spoken(key), _limit_value(value, units.get(key)))
        for key, value in values.items()
        if key not in ("on", "severity")
    )
    title = check.title if check else ""
    return Limits(name, title, bool(values.get("on", True)), str(values.get("severity", "")), numbers)


def measure_rows(measures: Mapping[str, float | int | None]) -> list[tuple[str, str]]:
    """Return the measures not told at the top of the page, as (name, value) in words, by name."""
    rows = []
    for key, value in sorted(measures.items()):
        if value is None or not math.isfinite(value) or key in _TOLD_ABOVE:
            continue
        if key.endswith(("_s", "_seconds")):
            told = seconds_words(float(value))
        elif key.endswith("_share"):
            told = f"{100 * float(value):.0f} %"
        else:
            told = quantity(value, None)
        rows.append((_spoken(key), told))
    return rows


def side_bars(sides: Iterable[SideBalance]) -> list[SideBars]:
    """Return every two-sided move with the lengths of its two bars."""
    sides = list(sides)
    longest = max([1.0, *(s.left_seconds for s in sides), *(s.right_seconds for s in sides)])
    return [SideBars(s, 100 * s.left_seconds / longest, 100 * s.right_seconds / longest) for s in sides]


def filters_of(findings: Iterable[Finding]) -> Filters:
    """Return what is there to filter by."""
    findings = list(findings)
    return Filters(
        tuple(sorted({f.check for f in findings})),
        tuple(dict.fromkeys(f.block for f in findings if f.block)),
        tuple(dict.fromkeys(f.move for f in findings if f.move)),
    )


def _limit_value(value: float | str | bool, unit: str | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return quantity(value, unit)


def _spoken(name: str) -> str:
    """Return a field name as words, its unit suffix left out.

    >>> _spoken("end_drift_s"), _spoken("words_per_minute")
    ('end drift', 'words per minute')
    """
    words = name.split("_")
    if words[-1] in ("s", "seconds", "share") and len(words) > 1:
        words = words[:-1]
    return " ".join(words)
