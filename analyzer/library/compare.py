"""Takes of one plan side by side: lengths and drift, findings fixed and new, and which take is better where.

Drift is seconds late (+) or early against the plan, its clock laid on the first worked interval of what is compared:
the class, or the block, so that no block answers for the one before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from analyzer.model.audit import Audit, Finding, Interval
from analyzer.model.plan import Side
from analyzer.reports.digest import by_time, standing, undecided, verdict_words
from analyzer.reports.plain import file_name
from analyzer.reports.report_json import plan_shift_s

RULE = (
    "Better is the take with fewer high, then medium, then low findings; between equals the one that strays less from "
    "the plan's clock, where the difference is beyond its uncertainty."
)
SAME = "A finding of two takes is the same when check, block, round, move, side and the count at that place are."

Reason = Literal["findings", "drift"]


@dataclass(frozen=True, slots=True)
class Take:
    """A take's file name, and its verdict in words."""

    name: str
    head: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Worked:
    """What a take made of a planned interval, seconds; None where it was not worked."""

    length_s: float | None = None
    drift_s: float | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """A planned interval, and what each take made of it, in the order of the takes."""

    block: str
    round: int
    move: str
    side: Side | None
    planned_s: float
    takes: tuple[Worked, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """What became of the findings from the first take to a later one, by finding id.

    ``fixed`` stood in the first and are not found now; ``remaining`` stand in both; ``unclear`` stood in the first and
    cannot be decided now; ``new`` stand now and did not before. Each in the order of its own take.
    """

    fixed: tuple[Finding, ...]
    remaining: tuple[Finding, ...]
    unclear: tuple[Finding, ...]
    new: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Score:
    """One take in one block: findings that stand by severity, and the farthest it strays from the plan's clock.

    ``drift_s`` is a size with its standard uncertainty ``drift_u``; None when nothing was worked.
    """

    high: int
    medium: int
    low: int
    drift_s: float | None
    drift_u: float = 0.0


@dataclass(frozen=True, slots=True)
class Contest:
    """One block, or the whole class (``block`` None): the scores, the better take's place and why; None = even."""

    block: str | None
    scores: tuple[Score, ...]
    better: int | None
    why: Reason | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two or more takes of one plan; ``changes`` holds one for each take after the first."""

    title: str
    plan: str
    takes: tuple[Take, ...]
    rows: tuple[Row, ...]
    changes: tuple[Change, ...]
    blocks: tuple[Contest, ...]
    whole: Contest


def compare_takes(audits: Sequence[Audit]) -> Comparison:
    """Return what sets the takes apart; the first is what the others are held against.

    Raises
    ------
    ValueError
        When there are fewer than two audits, or they are not of one plan.
    """
    if len(audits) < 2 or any(audit.plan != audits[0].plan for audit in audits):
        raise ValueError("two or more audits of one plan are needed")
    plan = audits[0].plan
    names = dict.fromkeys(block.name for block in plan.blocks if block.moves)
    return Comparison(
        title=plan.title or "Untitled class",
        plan=file_name(plan.name),
        takes=tuple(Take(file_name(a.transcript.name), *verdict_words(a)) for a in audits),
        rows=_rows(audits),
        changes=tuple(_change(audits[0], later) for later in audits[1:]),
        blocks=tuple(_contest(audits, name) for name in names),
        whole=_contest(audits, None),
    )


def _rows(audits: Sequence[Audit]) -> tuple[Row, ...]:
    plan = audits[0].plan
    worked = [(_worked(audit), audit, plan_shift_s(audit)) for audit in audits]
    rows = []
    for planned in audits[0].schedule.intervals:
        block = plan.blocks[planned.block]
        made = []
        for found, audit, shift in worked:
            interval = found.get(planned.index)
            made.append(Worked() if interval is None else _measured(interval, _drift_s(interval, audit) - shift))
        name = block.moves[planned.move].name
        rows.append(Row(block.name, planned.round, name, planned.side, planned.work_s, tuple(made)))
    return tuple(rows)


def _worked(audit: Audit) -> dict[int, Interval]:
    """Return the worked intervals by their place in the plan; of one worked twice, the first."""
    found: dict[int, Interval] = {}
    for interval in audit.alignment.intervals:
        if interval.status == "worked" and interval.planned is not None and interval.start_s is not None:
            found.setdefault(interval.planned, interval)
    return found


def _measured(interval: Interval, drift_s: float) -> Worked:
    assert interval.start_s is not None
    return Worked(None if interval.end_s is None else interval.end_s - interval.start_s, drift_s)


def _drift_s(interval: Interval, audit: Audit) -> float:
    """Return how much later an interval started than the plan's own clock says."""
    assert interval.planned is not None
    assert interval.start_s is not None
    return interval.start_s - audit.schedule.intervals[interval.planned].start_s


def _change(first: Audit, later: Audit) -> Change:
    before, after = standing(first.findings), standing(later.findings)
    stood, stand = {f.id for f in before}, {f.id for f in after}
    unclear = {f.id for f in undecided(later.findings)}
    return Change(
        fixed=by_time(f for f in before if f.id not in stand | unclear),
        remaining=by_time(f for f in after if f.id in stood),
        unclear=by_time(f for f in later.findings if f.id in unclear & stood),
        new=by_time(f for f in after if f.id not in stood),
    )


def _contest(audits: Sequence[Audit], block: str | None) -> Contest:
    scores = tuple(_score(audit, block) for audit in audits)
    better, why = _better(scores)
    return Contest(block, scores, better, why)


def _score(audit: Audit, block: str | None) -> Score:
    severities = [f.severity for f in standing(audit.findings) if block in (None, f.block)]
    worked = sorted(_worked(audit).values(), key=lambda i: i.start_s or 0.0)
    drift_s, drift_u = _farthest([i for i in worked if block in (None, i.block)], audit)
    return Score(severities.count("high"), severities.count("medium"), severities.count("low"), drift_s, drift_u)


def _farthest(worked: list[Interval], audit: Audit) -> tuple[float | None, float]:
    """Return the largest drift from the first of these intervals on, and its standard uncertainty."""
    if not worked:
        return None, 0.0
    first = worked[0]
    drifts = [
        (abs(_drift_s(row, audit) - _drift_s(first, audit)), math.hypot(row.start_u or 0.0, first.start_u or 0.0))
        for row in worked[1:]
    ]
    return max(drifts, default=(0.0, 0.0))


def _better(scores: Sequence[Score]) -> tuple[int | None, Reason | None]:
    """Return the place of the better take and what tells it from the others, by :data:`RULE`."""
    fewest = min((s.high, s.medium, s.low) for s in scores)
    equal = [n for n, s in enumerate(scores) if (s.high, s.medium, s.low) == fewest]
    if len(equal) == 1:
        return equal[0], "findings"
    drifts = sorted((s.drift_s, n) for n in equal if (s := scores[n]).drift_s is not None)
    if len(drifts) < len(equal):  # a take that did not work the block can't be told by its clock
        return None, None
    (least, best), (next_least, rival) = drifts[:2]
    u = 2 * math.hypot(scores[best].drift_u, scores[rival].drift_u)
    return (best, "drift") if next_least - least > u else (None, None)
