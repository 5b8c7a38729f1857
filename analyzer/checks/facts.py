"""The measured tables of one class, before any of it is held against a limit, and the totals a producer quotes."""

from __future__ import annotations

import numpy as np

from analyzer.checks.calls import judged_calls
from analyzer.checks.context import CheckContext
from analyzer.checks.lengths import planned_class_s
from analyzer.checks.options import coverages, placed_options
from analyzer.checks.places import worked_intervals
from analyzer.checks.promises import judged_promises
from analyzer.checks.sides import side_balances
from analyzer.checks.silence import longest_silences
from analyzer.checks.start_drift import drifts
from analyzer.model.audit import Coverage, Facts, PlacedOption


def gather_facts(context: CheckContext) -> Facts:
    """Return calls, options, sides, promises, coverage and measures of a class."""
    options = placed_options(context)
    covered = coverages(context)
    return Facts(
        calls=judged_calls(context),
        options=options,
        sides=side_balances(context),
        promises=judged_promises(context),
        coverage=covered,
        measures=_measures(context, options, covered),
    )


def _measures(
    context: CheckContext, options: tuple[PlacedOption, ...], covered: tuple[Coverage, ...]
) -> dict[str, float | int | None]:
    """Return the totals; None where there is nothing to divide by or to measure.

    ``drift_at_end_seconds`` is the drift of the last interval's start with nothing taken out for what is missing;
    ``longest_silence_seconds`` counts inside work only, planned quiet included; ``typical_u`` is the median.
    """
    words, real = context.transcript.words, context.transcript.class_s
    minutes = real / 60.0
    raw = drifts(context, discount=False)
    silences = longest_silences(context)
    worked = [w for w in worked_intervals(context) if w.plan is not None]
    return {
        "planned_seconds": planned_class_s(context),
        "real_seconds": real,
        "drift_at_end_seconds": raw[-1].drift_s if raw else None,
        "intervals_planned": len(context.schedule.intervals),
        "intervals_worked": len(worked),
        "hard_moves_with_option_share": sum(c.options > 0 for c in covered) / len(covered) if covered else None,
        "options_per_minute": len(options) / minutes if minutes > 0 else None,
        "words_per_minute": len(words) / minutes if minutes > 0 else None,
        "longest_silence_seconds": max((max(0.0, s.length_s) for s in silences), default=None),
        "typical_u": float(np.median(words.u_s)) if len(words) else None,
    }
