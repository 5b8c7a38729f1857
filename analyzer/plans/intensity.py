"""An estimate of how hard the work of a plan is, from published METs of the moves whose names match.

An estimate for adults in general, never for one person: what a move takes depends on body, pace and form.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from analyzer.language import DEFAULT, speaking
from analyzer.language.files import read_yaml
from analyzer.language.stems import stems_of
from analyzer.model.plan import Effort, Move, Plan

Level = Literal["light", "moderate", "vigorous"]
MODERATE_FROM, VIGOROUS_FROM = 3.0, 6.0
"""METs (Physical Activity Guidelines for Americans, 2nd ed., 2018, chapter 1)."""

LEAST_SHARE = 0.5
"""Of the work, from which the mean of the moves with a value stands for it all (our judgement)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One published value. ``names`` as stems; ``effort`` the planned efforts it is for, () for all."""

    code: str
    activity: str
    met: float
    names: tuple[tuple[str, ...], ...]
    effort: tuple[Effort, ...]


@dataclass(frozen=True, slots=True)
class Estimate:
    """Published METs by name of move, and their mean over the work of these moves, ``share`` (0 to 1) of all work."""

    values: tuple[tuple[str, float], ...]
    mets: float
    share: float
    source: str

    @property
    def level(self) -> Level | None:
        """Return the published class of the mean; None when too little of the work has a value to speak for it all."""
        return level_of(self.mets) if self.share >= LEAST_SHARE else None


def level_of(mets: float) -> Level:
    """Return the class of an intensity.

    >>> level_of(2.9), level_of(3.0), level_of(5.9), level_of(6.0)
    ('light', 'moderate', 'moderate', 'vigorous')
    """
    return "light" if mets < MODERATE_FROM else "moderate" if mets < VIGOROUS_FROM else "vigorous"


def entry_of(move: Move) -> Entry | None:
    """Return the published entry that names a move: the longest name that ends the move's own, or one it also goes by.

    >>> [entry.met for entry in (entry_of(Move("Tempo squats", 40.0)),) if entry], entry_of(Move("Squat thrust", 40.0))
    ([3.0], None)
    """
    entries, _ = _table()
    for name in (move.name, *move.also):
        stems = _stems(name)
        fits = [
            (len(words), entry)
            for entry in entries
            if not entry.effort or move.effort in entry.effort
            for words in entry.names
            if stems[-len(words) :] == words
        ]
        if fits:
            return max(fits, key=lambda fit: fit[0])[1]
    return None


def estimate(plan: Plan) -> Estimate | None:
    """Return the estimate for a plan, weighted by time of work; None when no move has a published value."""
    work_s = known_s = sum_s = 0.0
    values: dict[str, float] = {}
    for block in plan.blocks:
        for move in block.moves:
            seconds = move.work_s * block.rounds
            work_s += seconds
            entry = entry_of(move)
            if entry is not None:
                values[move.name] = entry.met
                known_s += seconds
                sum_s += entry.met * seconds
    if not values:
        return None
    return Estimate(tuple(values.items()), sum_s / known_s, known_s / work_s, _table()[1])


@cache
def _table() -> tuple[tuple[Entry, ...], str]:
    data = read_yaml(Path(__file__).with_name("mets.yaml"))
    entries = tuple(
        Entry(e["code"], e["activity"], e["met"], tuple(map(_stems, e["names"])), tuple(e.get("effort", ())))
        for e in data["entries"]
    )
    return entries, data["source"]


def _stems(name: str) -> tuple[str, ...]:
    with speaking(DEFAULT):  # the table is in English
        return tuple(part for word in name.casefold().split() for part in stems_of(word) if part)
