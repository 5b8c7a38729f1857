"""Takes a transcript, a plan, its schedule, events, an alignment and house rules. Gives facts and findings.
Never places anything, never writes files.

:func:`gather_facts` measures, :func:`run_checks` judges. To add a check: write its function and its
:class:`Check` in a file of this room, and put it into :data:`CHECKS`; listing, house rules and docs follow.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from analyzer.checks import rules as _rules
from analyzer.checks import rules_reader as _reader
from analyzer.checks.calls import TIME_CALL_OFF
from analyzer.checks.captions import CAPTION_ORDER, CAPTION_OVERLAP
from analyzer.checks.care import BREATH_MISSING, SAFETY_MISSING, WATER_MISSING
from analyzer.checks.context import CheckContext
from analyzer.checks.counts import COUNT_BROKEN, COUNT_LATE, COUNT_MISSING, COUNT_PACE
from analyzer.checks.cues import CUE_MISSING
from analyzer.checks.facts import gather_facts
from analyzer.checks.finding import with_ids
from analyzer.checks.intervals import INTERVAL_LONG, INTERVAL_SHORT
from analyzer.checks.lengths import BLOCK_LONG, BLOCK_SHORT, CLASS_LONG, CLASS_SHORT
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.misheard import CAPTION_MISHEARD
from analyzer.checks.names import NAME_MISSING
from analyzer.checks.options import EASIER_LATE, EASIER_MISSING, HARDER_MISSING
from analyzer.checks.overused import PHRASE_OVERUSED
from analyzer.checks.pace import CAPTION_FAST, PACE_FAST
from analyzer.checks.phrases import PHRASE_BANNED, PHRASE_REQUIRED
from analyzer.checks.previews import PREVIEW_MISSING, PREVIEW_WRONG
from analyzer.checks.promises import PROMISE_BROKEN
from analyzer.checks.rests import REST_LONG, REST_SHORT
from analyzer.checks.rules import HouseRules, Settings
from analyzer.checks.sides import SIDE_MISSING, SIDE_UNEVEN, SIDE_WRONG
from analyzer.checks.silence import SILENCE_LONG
from analyzer.checks.start_drift import START_DRIFT
from analyzer.checks.structure import MOVE_EXTRA, MOVE_MISSING, ORDER_CHANGED, ROUND_MISSING
from analyzer.checks.waivers import apply_waivers, make_waiver, read_waivers, waivers_path, with_waiver, without_waiver
from analyzer.model.audit import Finding

CHECKS: tuple[Check, ...] = (
    INTERVAL_LONG,
    INTERVAL_SHORT,
    REST_LONG,
    REST_SHORT,
    BLOCK_LONG,
    BLOCK_SHORT,
    CLASS_LONG,
    CLASS_SHORT,
    START_DRIFT,
    MOVE_MISSING,
    ROUND_MISSING,
    MOVE_EXTRA,
    ORDER_CHANGED,
    COUNT_BROKEN,
    COUNT_PACE,
    COUNT_LATE,
    COUNT_MISSING,
    TIME_CALL_OFF,
    PROMISE_BROKEN,
    NAME_MISSING,
    PREVIEW_MISSING,
    PREVIEW_WRONG,
    CUE_MISSING,
    SIDE_MISSING,
    SIDE_UNEVEN,
    SIDE_WRONG,
    EASIER_MISSING,
    EASIER_LATE,
    HARDER_MISSING,
    SILENCE_LONG,
    BREATH_MISSING,
    WATER_MISSING,
    SAFETY_MISSING,
    PACE_FAST,
    PHRASE_OVERUSED,
    PHRASE_BANNED,
    PHRASE_REQUIRED,
    CAPTION_MISHEARD,
    CAPTION_ORDER,
    CAPTION_OVERLAP,
    CAPTION_FAST,
)


def default_rules() -> HouseRules:
    """Return the built-in limits of every check."""
    return _rules.defaults(CHECKS)


def read_rules(path: Path | None) -> HouseRules:
    """Return a studio's house rules over the built-in ones; the built-in ones alone for None.

    Raises
    ------
    RulesError
        When the file cannot be read, or with all of its mistakes in one line.
    """
    return default_rules() if path is None else _reader.load(path, CHECKS)


def parse_rules(raw: bytes, file: str) -> HouseRules:
    """Return house rules from the bytes of a file, like :func:`read_rules`; ``file`` is what errors call it."""
    return _reader.parse_bytes(raw, CHECKS, file)


def limits_used(rules: HouseRules) -> dict[str, float | str | bool]:
    """Return every limit, severity and switch in force, as ``check.parameter``."""
    out: dict[str, float | str | bool] = {}
    for check in CHECKS:
        out.update(_rules.listed(check.id, rules.checks[check.id]))
    return out


def run_checks(context: CheckContext) -> tuple[Finding, ...]:
    """Return the findings of all checks that are on, by time, each with its stable id.

    A check that raises is not caught: a class with a check silently left out would look better than it is.
    """
    on = (check for check in CHECKS if context.rules.checks[check.id].on)
    if context.plan.drawn:
        return with_ids(f for check in on for f in _without_plan(check, context))
    return with_ids(f for check in on for f in check.function(context))


def _without_plan(check: Check, context: CheckContext) -> tuple[Finding, ...]:
    """Return a check's findings as far as they hold where the plan is drawn from the recording itself."""
    if check.needs == "plan":
        return ()
    found = check.function(context)
    if check.needs == "effort":
        guess = "Its effort is only a guess: there is no plan."
        return tuple(replace(f, verdict="unclear", message=f"{f.message} {guess}") for f in found)
    return found


__all__ = [
    "CHECKS",
    "Check",
    "CheckContext",
    "HouseRules",
    "Parameter",
    "Settings",
    "apply_waivers",
    "default_rules",
    "gather_facts",
    "limits_used",
    "make_waiver",
    "read_rules",
    "read_waivers",
    "run_checks",
    "waivers_path",
    "with_waiver",
    "without_waiver",
]
