"""What the analysis found: intervals, judged calls and promises, findings, and the whole audit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from analyzer.model.events import Events
from analyzer.model.plan import Plan, Schedule, Side
from analyzer.model.transcript import Transcript

Status = Literal["worked", "missing", "extra"]
Verdict = Literal["pass", "fail", "unclear"]
Severity = Literal["high", "medium", "low"]


@dataclass(frozen=True, slots=True)
class Interval:
    """One interval as recorded. Times in seconds; None when missing.

    ``planned`` index into ``schedule.intervals`` (None when extra); ``block``/``move`` names as in the plan (an
    extra one takes the block it fell in and its likely name or "unplanned"); ``u`` are standard uncertainties,
    posterior and word time together; ``confidence`` 0 to 1 that it was worked where it is placed (for a missing
    one: that it is missing).
    """

    id: str
    planned: int | None
    block: str
    round: int
    move: str
    side: Side | None
    status: Status
    start_s: float | None = None
    end_s: float | None = None
    start_u: float | None = None
    end_u: float | None = None
    confidence: float = 0.0
    length_u: float | None = None
    """Standard uncertainty of end - start from their joint posterior; None = combine the two in quadrature."""
    length_doubtful: bool = False
    """True when the length under a looser prior disagrees: a length verdict must then be ``unclear``."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """Where every planned interval was found.

    ``intervals`` in recorded order, missing ones at their planned place; ``lost_rounds`` (block, round) pairs that
    are missing as one event; ``reordered`` ids of intervals worked out of the planned order;
    ``found_share`` share of the plan's work found with a confidence of at least one half.
    """

    intervals: tuple[Interval, ...]
    lost_rounds: tuple[tuple[str, int], ...] = ()
    reordered: tuple[str, ...] = ()
    found_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """Words that carry a finding."""

    at_s: float
    text: str


@dataclass(frozen=True, slots=True)
class JudgedCall:
    """A time call or count against the real boundary. ``error_s`` = actual - said, seconds."""

    kind: Literal["left", "gone", "half", "count"]
    at_s: float
    u_s: float
    said: float | None
    actual: float | None
    error_s: float | None
    verdict: Verdict
    interval: str | None
    text: str


@dataclass(frozen=True, slots=True)
class PlacedOption:
    """An option with the interval, block and move it was offered for."""

    direction: Literal["easier", "harder"]
    at_s: float
    interval: str | None
    block: str | None
    move: str | None
    scope: Literal["move", "block"]
    text: str


@dataclass(frozen=True, slots=True)
class SideBalance:
    """Seconds a side of one move in one round."""

    block: str
    round: int
    move: str
    left_seconds: float
    right_seconds: float
    difference_percent: float
    u_s: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class JudgedPromise:
    """A promise against what was delivered."""

    kind: Literal["rounds", "moves", "seconds", "options"]
    said: float | None
    delivered: float | None
    at_s: float
    block: str | None
    verdict: Verdict
    text: str


@dataclass(frozen=True, slots=True)
class Coverage:
    """Easier options of one hard move in one round; ``first_fraction`` of the interval (< 0 = before it)."""

    block: str
    round: int
    move: str
    options: int
    first_fraction: float | None


@dataclass(frozen=True, slots=True)
class Waiver:
    """A finding, by its id, that someone accepts as it is, and why."""

    finding: str
    reason: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to act on.

    ``uncertainty`` is U = 2u in ``unit``; ``waived`` the reason of its waiver; ``say`` what would mend it when said:
    words of the plan, the house or the coach; ``instead`` what should stand in the captions where they have the words
    of ``evidence``.
    """

    id: str
    check: str
    severity: Severity
    verdict: Literal["fail", "unclear"]
    message: str
    advice: str
    at_s: float | None = None
    until_s: float | None = None
    block: str | None = None
    round: int | None = None
    move: str | None = None
    side: Side | None = None
    measured: float | None = None
    expected: float | None = None
    limit: float | None = None
    uncertainty: float | None = None
    unit: str | None = None
    evidence: tuple[Evidence, ...] = ()
    waived: str | None = None
    say: tuple[str, ...] = ()
    instead: str | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """What was measured before it was judged against limits: the tables of the report."""

    calls: tuple[JudgedCall, ...] = ()
    options: tuple[PlacedOption, ...] = ()
    sides: tuple[SideBalance, ...] = ()
    promises: tuple[JudgedPromise, ...] = ()
    coverage: tuple[Coverage, ...] = ()
    measures: dict[str, float | int | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Audit:
    """One recording's whole result; every writer reads this and recomputes nothing."""

    transcript: Transcript
    plan: Plan
    schedule: Schedule
    events: Events
    alignment: Alignment
    facts: Facts
    findings: tuple[Finding, ...]
    limits: dict[str, float | str | bool] = field(default_factory=dict)
    """The limits used, by check id and parameter ("interval-long.limit_s": 5.0)."""
    stale: tuple[Waiver, ...] = ()
    """Waivers of the plan whose finding this recording does not have."""
