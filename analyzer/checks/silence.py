"""Silence-long: nothing said for long while viewers work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from operator import sub

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, seconds, settled_by
from analyzer.checks.metadata import Check, limit_s
from analyzer.checks.places import Worked, limit_at, worked_intervals
from analyzer.checks.verdict import doubt, judge
from analyzer.model.audit import Finding


@dataclass(frozen=True, slots=True)
class Silence:
    """A stretch of work without words, seconds; ``u`` of its length."""

    row: Worked
    start_s: float
    end_s: float
    u: float

    @property
    def length_s(self) -> float:
        """Seconds of silence."""
        return self.end_s - self.start_s


@lru_cache(maxsize=2)
def longest_silences(context: CheckContext) -> tuple[Silence, ...]:
    """Return the longest wordless stretch inside each worked interval, the interval's own ends counting as bounds."""
    words, rows = context.transcript.words, worked_intervals(context)
    bounds = np.searchsorted(words.start_s, [(row.start_s, row.end_s) for row in rows]).reshape(-1, 2).tolist()
    out = []
    for row, (first, stop) in zip(rows, bounds, strict=True):
        before = float(words.end_s[first - 1]) if first else 0.0
        opens = [max(before, row.start_s), *words.end_s[first:stop].tolist()]
        closes = [*words.start_s[first:stop].tolist(), row.end_s]
        lengths = list(map(sub, closes, opens))
        n = lengths.index(max(lengths))
        u = [row.start_u, *words.u_s[first:stop].tolist(), row.end_u]
        out.append(Silence(row, opens[n], closes[n], math.hypot(u[n], u[n + 1])))
    return tuple(out)


def long_silences(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every interval, not planned quiet, with a long stretch in which nothing is said."""
    out = []
    for gap in longest_silences(context):
        if gap.length_s <= 0 or _quiet(context, gap.row):
            continue
        limit = limit_at(context, "silence-long", "limit_s", gap.row)
        judged = doubt(judge(gap.length_s, gap.u, high=limit), gap.row.unsure)
        if not judged.reported:
            continue
        place = Place.of(gap.row.interval)
        message = f"{place}: nothing is said for {seconds(gap.length_s)} of work."
        if judged.verdict != "fail":
            message += " " + settled_by(context, judged, gap.length_s - limit)
        out.append(
            build(
                context,
                "silence-long",
                place,
                message,
                "Add a cue, a time call or a kind word; or mark the move as quiet in the plan.",
                verdict=judged.verdict,
                at_s=gap.start_s,
                until_s=gap.end_s,
                measured=gap.length_s,
                expected=0.0,
                limit=limit,
                u=judged.u,
                unit="s",
                say=_cues(context, gap.row)[:1],
            )
        )
    return tuple(out)


def _cues(context: CheckContext, row: Worked) -> tuple[str, ...]:
    return () if row.plan is None else context.plan.blocks[row.plan.block].moves[row.plan.move].cues


def _quiet(context: CheckContext, row: Worked) -> bool:
    if row.plan is None:
        return False
    block = context.plan.blocks[row.plan.block]
    return block.quiet or block.moves[row.plan.move].quiet


SILENCE_LONG = Check(
    id="silence-long",
    title="A long silence during work",
    means="Viewers who look away from the screen do not know whether they are still with the class.",
    measured="Longest stretch without words inside an interval that is not planned quiet.",
    fix="Add words there, or mark the move as quiet in the plan.",
    severity="low",
    mend="record",
    function=long_silences,
    parameters=(limit_s(20.0, "longest silence that is tolerated"),),
    varies=("kind", "effort"),
)
