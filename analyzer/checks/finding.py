"""Building findings: the place, the words near it, and an id that survives a re-run."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.verdict import COVERAGE, Judgement
from analyzer.model.audit import Evidence, Finding, Interval, Severity
from analyzer.model.plan import Side

QUOTE_S = 4.0  # our judgement: words this near to a time are quoted with it
QUOTE_WORDS = 14
FINDING_ID = re.compile(r"[0-9a-f]{12}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the plan a finding belongs; None where it belongs to more than one."""

    block: str | None = None
    round: int | None = None
    move: str | None = None
    side: Side | None = None

    @classmethod
    def of(cls, interval: Interval) -> Place:
        """Return the place of an interval."""
        return cls(interval.block, interval.round, interval.move, interval.side)

    def __str__(self) -> str:
        if self.move is None:
            return f"{self.block or 'The class'}" + (f", round {self.round}" if self.round else "")
        side = f", {self.side} side" if self.side else ""
        number = f", round {self.round}" if self.round else ""
        return f"{self.move} ({self.block}{number}{side})"


def build(
    context: CheckContext,
    check: str,
    place: Place,
    message: str,
    advice: str,
    *,
    verdict: str = "fail",
    severity: Severity | None = None,
    at_s: float | None = None,
    until_s: float | None = None,
    measured: float | None = None,
    expected: float | None = None,
    limit: float | None = None,
    u: float | None = None,
    unit: str | None = None,
    evidence: tuple[Evidence, ...] | None = None,
    say: tuple[str, ...] = (),
    instead: str | None = None,
) -> Finding:
    """Return a finding without id. ``severity`` holds only where the house rules do not set one themselves.

    ``u`` is a standard uncertainty; the finding carries U = 2u. Without ``evidence`` the words near ``at_s`` are
    quoted.
    """
    settings = context.rules.checks[check]
    return Finding(
        id="",
        check=check,
        severity=settings.severity if severity is None or settings.severity_set else severity,
        verdict="fail" if verdict == "fail" else "unclear",
        message=message,
        advice=advice,
        at_s=at_s,
        until_s=until_s,
        block=place.block,
        round=place.round,
        move=place.move,
        side=place.side,
        measured=measured,
        expected=expected,
        limit=limit,
        uncertainty=None if u is None else COVERAGE * u,
        unit=unit,
        evidence=(quote(context, at_s) if at_s is not None else ()) if evidence is None else evidence,
        say=say,
        instead=instead,
    )


def quote(context: CheckContext, at_s: float) -> tuple[Evidence, ...]:
    """Return the words said within a few seconds of a time, as one piece of evidence; none if nothing was said."""
    words = context.transcript.words
    first, stop = (int(n) for n in np.searchsorted(words.start_s, [at_s - QUOTE_S, at_s + QUOTE_S]))
    if stop - first > QUOTE_WORDS:
        middle = int(np.searchsorted(words.start_s, at_s))
        first = min(max(first, middle - QUOTE_WORDS // 2), stop - QUOTE_WORDS)
        stop = first + QUOTE_WORDS
    if stop <= first:
        return ()
    return (Evidence(float(words.start_s[first]), words.phrase(first, stop - 1)),)


def stable_id(check: str, place: Place, ordinal: int) -> str:
    """Return a short hash of check and place; times play no part, so a waiver outlives a re-timed transcript.

    ``ordinal`` counts from 1 the findings of one check at one place, in the order of time.
    """
    parts = (check, place.block, place.round, place.move, place.side, ordinal)
    return hashlib.sha256("\x1f".join("" if p is None else str(p) for p in parts).encode()).hexdigest()[:12]


def with_ids(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings by time (those without a time last), each with its stable id."""
    ordered = sorted(
        findings, key=lambda f: (f.at_s is None, f.at_s or 0.0, f.check, f.block or "", f.round or 0, f.move or "")
    )
    seen: dict[tuple[str, Place], int] = {}
    out = []
    for finding in ordered:
        place = Place(finding.block, finding.round, finding.move, finding.side)
        ordinal = seen[finding.check, place] = seen.get((finding.check, place), 0) + 1
        out.append(replace(finding, id=stable_id(finding.check, place, ordinal)))
    return tuple(out)


def seconds(value: float) -> str:
    """Return seconds in whole words of a second: ``50 s``.

    >>> seconds(49.6), seconds(-0.2)
    ('50 s', '0 s')
    """
    return f"{value:.0f} s" if abs(value) >= 0.5 else "0 s"


def settled_by(context: CheckContext, judgement: Judgement, margin: float) -> str:
    """Return the sentence that says why it is unclear and which timestamp grain would settle it.

    ``margin`` is the distance from the limit in seconds. Caption times place an end of work to about 1 s, word
    times to about 0.4 s (common practice, no source): the coarsest grain whose U is under the margin is named.
    """
    finer = {"stamp": ("caption times", "word times"), "cue": ("word times",)}.get(context.transcript.grain, ())
    need = next((g for g in finer if COVERAGE * (1.4 if g == "caption times" else 0.6) < abs(margin)), None)
    if need is None:
        need = f"{finer[-1]} or a listen" if finer else "only a listen"
    return f"The times are good to \u00b1{COVERAGE * judgement.u:.1f} s only; {need} would settle it."
