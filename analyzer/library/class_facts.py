"""What a trend needs of every class, drawn from the store in two queries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True, slots=True)
class Flag:
    """What one check found in one class: how many findings stand, and how far the worst is beyond what was expected.

    ``beyond`` is the distance that was held against ``limit``, U taken off, as the verdict does; None for a check
    without such a distance.
    """

    findings: int
    beyond: float | None
    limit: float | None
    unit: str


@dataclass(frozen=True, slots=True)
class ClassFacts:
    """One class. ``date`` is ISO 8601 or ""; pairs are (hits, of); times in seconds."""

    key: str
    title: str
    coach: str
    series: str
    date: str
    high: int
    standing: int
    drift_s: float | None
    over_s: float | None
    words_per_minute: float | None
    silence_s: float | None
    options: tuple[int, int]
    calls: tuple[int, int]
    sides: tuple[int, int]
    flags: Mapping[str, Flag] = field(default_factory=dict)


_CLASSES = """
WITH m AS (
    SELECT class,
        max(value) FILTER (measure = 'drift_at_end_seconds') AS drift,
        max(value) FILTER (measure = 'real_seconds') - max(value) FILTER (measure = 'planned_seconds') AS over,
        max(value) FILTER (measure = 'words_per_minute') AS pace,
        max(value) FILTER (measure = 'longest_silence_seconds') AS silence
    FROM measures GROUP BY class
), o AS (SELECT class, count(*) FILTER (options > 0) AS hits, count(*) AS n FROM coverage GROUP BY class),
c AS (SELECT class, count(*) FILTER (verdict = 'pass') AS hits, count(*) FILTER (verdict <> 'unclear') AS n
    FROM calls GROUP BY class),
s AS (SELECT class, count(*) FILTER (verdict = 'pass') AS hits, count(*) FILTER (verdict <> 'unclear') AS n
    FROM sides GROUP BY class)
SELECT k.class, k.title, k.coach, k.series, coalesce(k.date::VARCHAR, ''), k.high, k.high + k.medium + k.low,
    m.drift, m.over, m.pace, m.silence,
    coalesce(o.hits, 0), coalesce(o.n, 0), coalesce(c.hits, 0), coalesce(c.n, 0), coalesce(s.hits, 0), coalesce(s.n, 0)
FROM classes AS k
LEFT JOIN m USING (class) LEFT JOIN o USING (class) LEFT JOIN c USING (class) LEFT JOIN s USING (class)
WHERE k.reason = '' ORDER BY k.class
"""

_FLAGS = """
WITH f AS (
    SELECT class, "check", "limit", unit,
        abs(measured - coalesce(expected, 0)) - coalesce(uncertainty, 0) AS beyond
    FROM findings WHERE verdict = 'fail' AND waived IS NULL
)
SELECT class, "check", count(*), CASE WHEN bool_and(coalesce(beyond > "limit", false)) THEN max(beyond) END,
    max("limit"), coalesce(max(unit), '')
FROM f GROUP BY class, "check" ORDER BY class, "check"
"""


def read_facts(store: duckdb.DuckDBPyConnection) -> tuple[tuple[ClassFacts, ...], int]:
    """Return every audited class by its key, and how many could not be audited."""
    flags: dict[str, dict[str, Flag]] = {}
    for key, check, findings, beyond, limit, unit in store.execute(_FLAGS).fetchall():
        flags.setdefault(key, {})[check] = Flag(findings, beyond, limit, unit)
    facts = tuple(_facts(row, flags.get(row[0], {})) for row in store.execute(_CLASSES).fetchall())
    (failed,) = store.execute("SELECT count(*) FROM classes WHERE reason <> ''").fetchall()[0]
    return facts, int(failed)


def _facts(row: tuple[Any, ...], flags: dict[str, Flag]) -> ClassFacts:
    key, title, coach, series, date, high, standing, drift, over, pace, silence, *pairs = row
    return ClassFacts(
        *(key, title, coach, series, date, high, standing, drift, over, pace, silence),
        options=(pairs[0], pairs[1]),
        calls=(pairs[2], pairs[3]),
        sides=(pairs[4], pairs[5]),
        flags=flags,
    )
