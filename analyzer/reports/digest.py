"""The report in a few sentences: how many findings stand, the verdict sentence, what to fix first.

Counts only: whether something is a finding, and how grave, was decided before an Audit reaches this room.
A waived finding never counts; an unclear one is told apart and never counts as a finding.
"""

from __future__ import annotations

import math
import shlex
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from analyzer.model.audit import Audit, Finding, Severity, Waiver
from analyzer.reports.plain import file_name, terminal_text

SEVERITIES: tuple[Severity, ...] = ("high", "medium", "low")
Level = Literal["high", "medium", "low", "never"]
State = Literal["redo", "look", "small", "clear"]


@dataclass(frozen=True, slots=True)
class Tally:
    """How many findings stand (``high``, ``medium``, ``low``), are ``unclear``, and were ``waived``."""

    high: int
    medium: int
    low: int
    unclear: int
    waived: int

    @property
    def standing(self) -> int:
        """Findings that stand, whatever their severity."""
        return self.high + self.medium + self.low


@dataclass(frozen=True, slots=True)
class FixFirst:
    """The worst finding of one check, and how many ``more`` of the same check and severity stand beside it."""

    finding: Finding
    more: int


def standing(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings that count: failed and not waived."""
    return tuple(f for f in findings if f.verdict == "fail" and f.waived is None)


def undecided(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings whose timing could not settle them, waived ones left out."""
    return tuple(f for f in findings if f.verdict == "unclear" and f.waived is None)


def waived(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings someone has accepted with a reason."""
    return tuple(f for f in findings if f.waived is not None)


def tally(audit: Audit) -> Tally:
    """Count the findings of an audit."""
    stand = [f.severity for f in standing(audit.findings)]
    return Tally(
        high=stand.count("high"),
        medium=stand.count("medium"),
        low=stand.count("low"),
        unclear=len(undecided(audit.findings)),
        waived=len(waived(audit.findings)),
    )


def reaches(audit: Audit, level: Level) -> bool:
    """Return whether a standing finding is as grave as ``level`` or graver; ``never`` is reached by none."""
    if level == "never":
        return False
    grave = SEVERITIES[: SEVERITIES.index(level) + 1]
    return any(f.severity in grave for f in standing(audit.findings))


def state(audit: Audit) -> State:
    """Return the gravest state: ``redo`` (a high finding stands), ``look``, ``small``, or ``clear``."""
    counts = tally(audit)
    if counts.high:
        return "redo"
    if counts.medium:
        return "look"
    return "small" if counts.low else "clear"


_NO_ADVICE = "It is not medical advice. Licensed practice and local rules decide what may be taught, shown and said."
CAUTIONS = (
    "This report listens to words only. It does not see the picture and does not judge form, so it is no safety "
    "review.",
    _NO_ADVICE,
    "A time is as good as the transcript it comes from. Every verdict allows for U, twice the standard uncertainty; "
    "what U could turn round is listed as not decided.",
    "An option, cue or count that was shown without a word is not heard here.",
)
PLAN_CAUTIONS = (
    "This is drawn from the words and times of a plan. It sees nobody and does not judge form, so it is no safety "
    "review.",
    _NO_ADVICE,
    "Whoever feels pain, dizziness or unusual breathlessness stops; whoever has a condition, an injury or a doubt asks "
    "a health professional before joining in.",
)
"""What goes with a plan's review and run sheet, before anything is recorded."""

DRAWN = (
    "No plan was given, so one was drawn from the recording itself: promises, calls, counts, sides, options and "
    "captions are checked; lengths, rests and order are not."
)
"""What a report of a class without a plan says at its top."""

_HEADS = {
    "redo": "Not ready to sign off",
    "look": "Nothing grave, some things to look at",
    "small": "Only small things",
    "clear": "Nothing beyond the limits",
}


def verdict_words(audit: Audit) -> tuple[str, str]:
    """Return the verdict as a headline and the sentence that backs it with counts."""
    counts = tally(audit)
    named = zip((counts.high, counts.medium, counts.low), SEVERITIES, strict=True)
    found = [f"{number} {name}" for number, name in named if number]
    noun = "finding" if counts.standing == 1 else "findings"
    sentence = f"{_listed(found)} {noun}." if found else "No finding stands against the plan."
    if audit.plan.drawn:
        sentence = f"{DRAWN} {sentence if found else 'No finding stands.'}"
    if counts.unclear:
        what = "One thing" if counts.unclear == 1 else f"{counts.unclear} things"
        sentence += f" {what} could not be decided at this timing."
    if counts.waived:
        sentence += f" {counts.waived} waived."
    if audit.stale:
        sentence += f" {_stale(audit.stale)}"
    return _HEADS[state(audit)], sentence


def plan_words(audit: Audit) -> str:
    """Return the plan's file name without its folder, or what stands for it."""
    return file_name(audit.plan.name) or "a draft of its own"


def fix_first(audit: Audit, most: int = 3) -> tuple[FixFirst, ...]:
    """Return what to fix first: the gravest checks, each by its largest excess over the limit.

    Order: severity, then the number of findings of that check (one cause often makes many), then time.
    """
    groups: dict[tuple[Severity, str], list[Finding]] = {}
    for finding in standing(audit.findings):
        groups.setdefault((finding.severity, finding.check), []).append(finding)
    order = sorted(
        groups.items(), key=lambda item: (SEVERITIES.index(item[0][0]), -len(item[1]), _time(item[1][0]), item[0][1])
    )
    return tuple(
        FixFirst(max(group, key=lambda f: (_excess(f), -_time(f))), len(group) - 1) for _, group in order[:most]
    )


def by_time(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings in the order of the recording; those without a time come last."""
    return tuple(sorted(findings, key=lambda f: (_time(f), f.check, f.id)))


def where(finding: Finding) -> str:
    """Return the place of a finding in words: ``Main A, round 2, Split squat, left``; empty for the whole class."""
    parts = [
        finding.block,
        None if finding.round is None else f"round {finding.round}",
        finding.move,
        None if finding.side is None else f"{finding.side} side",
    ]
    return ", ".join(part for part in parts if part)


def waive_command(finding: Finding, audit: Audit) -> str:
    """Return the command that waives a finding, "" where no plan is there to keep it beside; the reason is left to
    whoever runs it."""
    if audit.plan.drawn:
        return ""
    plan = shlex.quote(terminal_text(file_name(audit.plan.name)))
    return f'class-analyzer waive {finding.id} --plan {plan} --reason "why it may stay"'


def planned_s(audit: Audit) -> float:
    """Return the planned length of the class, seconds: as measured against, else as scheduled."""
    value = _measure(audit, "planned_seconds")
    return audit.schedule.total_s if value is None else value


def end_drift_s(audit: Audit) -> float | None:
    """Return how late (+) or early the last interval started, seconds; None where it is unknown."""
    return _measure(audit, "drift_at_end_seconds")


def _measure(audit: Audit, name: str) -> float | None:
    value = audit.facts.measures.get(name)
    return float(value) if value is not None and math.isfinite(value) else None


def _excess(finding: Finding) -> float:
    if finding.measured is None or finding.expected is None:
        return 0.0
    return abs(finding.measured - finding.expected) / max(finding.limit or 1.0, 1e-6)


def _time(finding: Finding) -> float:
    return float("inf") if finding.at_s is None else finding.at_s


def _stale(waivers: tuple[Waiver, ...], most: int = 2) -> str:
    ids = [waiver.finding for waiver in waivers]
    more = [f"{len(ids) - most} more"] if len(ids) > most else []
    what = "1 waiver is" if len(ids) == 1 else f"{len(ids)} waivers are"
    return f"{what} stale: {_listed([*ids[:most], *more])}."


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
