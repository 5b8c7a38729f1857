"""All that a check may look at, in one frozen object."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.checks.rules import HouseRules
from analyzer.model.audit import Alignment
from analyzer.model.events import Events
from analyzer.model.plan import Plan, Schedule
from analyzer.model.transcript import Transcript


@dataclass(frozen=True, slots=True, eq=False)
class CheckContext:
    """One class: what was said, what was planned, where it was found, and the limits that hold."""

    transcript: Transcript
    plan: Plan
    schedule: Schedule
    events: Events
    alignment: Alignment
    rules: HouseRules
