"""What an invented class is made of. Times in seconds from the start of the recording."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from analyzer.model.plan import Plan

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Exercise:
    """One row of ``moves.yaml``: a generic exercise, where it fits, and what coaches say about it."""

    name: str
    tags: frozenset[str]
    effort: str
    sides: str
    also: tuple[str, ...]
    easier: str
    cue: str


@dataclass
class Word:
    """One spoken word; ``start``/``end`` absolute seconds."""

    text: str
    start: float
    end: float


@dataclass
class Line:
    """What was said in one go, with the tags that say what it was."""

    words: list[Word]
    tags: list[str] = field(default_factory=list)

    @property
    def start(self) -> float:
        return self.words[0].start

    @property
    def end(self) -> float:
        return self.words[-1].end

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


@dataclass
class GeneratedClass:
    """An invented class with its truth.

    ``intervals`` dicts with block, round, move, side, start, end; ``lost_rounds`` dicts with block, round;
    ``slips`` everything that differs from the plan by more than a careful auditor lets pass (check, place, seconds),
    ``findings`` the slips that a report should tell, ``events`` what was said (at, end, tag, text).
    """

    seed: int
    style: str
    shape: str
    timing: str
    plan: Plan
    plan_dict: dict[str, Any]
    lines: list[Line]
    intervals: list[dict[str, Any]]
    lost_rounds: list[dict[str, Any]]
    slips: list[dict[str, Any]]
    findings: list[dict[str, Any]]
    traps: list[dict[str, Any]]
    events: list[dict[str, Any]]
    duration_s: float

    @property
    def words(self) -> list[Word]:
        """Every word in spoken order."""
        return [word for line in self.lines for word in line.words]


@cache
def exercises() -> tuple[Exercise, ...]:
    """Return the list of exercises."""
    rows = yaml.safe_load((HERE / "moves.yaml").read_text(encoding="utf-8"))
    found = []
    for row in rows:
        name, tags, effort, sides, also, easier, cue = (part.strip() for part in row.split("|"))
        nicknames = tuple(part.strip() for part in also.split(","))
        found.append(Exercise(name, frozenset(tags.split()), effort, sides, nicknames, easier, cue))
    return tuple(found)


@cache
def style_data(name: str) -> dict[str, Any]:
    """Return one coach's way of speaking."""
    data: dict[str, Any] = yaml.safe_load((HERE / "styles" / f"{name}.yaml").read_text(encoding="utf-8"))
    return data


STYLES = tuple(sorted(path.stem for path in (HERE / "styles").glob("*.yaml")))
