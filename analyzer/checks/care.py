"""Breath-missing, water-missing, safety-missing: what every class should say at least once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import mishears
from analyzer.checks.hints import hint_words
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import BlockSpan, Worked, block_spans, worked_intervals
from analyzer.language import current_language, load_language
from analyzer.model.audit import Finding
from analyzer.model.clock import clock
from analyzer.model.events import CueSaid, Signal

QUOTED = 4  # words quoted on either side
Said = CueSaid | Signal
LOST = " Much is misheard in the transcript, so it may be lost there; a listen would settle it."


def _said(context: CheckContext, kind: str) -> list[Said]:
    cues: list[Said] = [c for c in context.events.cues if c.kind == kind]
    return sorted([*cues, *(s for s in context.events.signals if s.kind == kind)], key=lambda s: s.at_s)


def _hint(context: CheckContext, group: str, low_s: float, high_s: float) -> str:
    """Return a sentence that quotes a word which may be part of what is missing; "" where there is none."""
    words = context.transcript.words
    first, stop = (int(n) for n in np.searchsorted(words.start_s, [low_s, high_s]))
    telling = hint_words(group)
    at = next((n for n in range(first, stop) if words.norm[n] in telling), None)
    if at is None:
        return ""
    quoted = words.phrase(max(first, at - QUOTED), min(stop - 1, at + QUOTED))
    return f" \u201c{quoted}\u201d at {clock(float(words.start_s[at]))} may stand for it; listen there."


def _to_say(kind: str) -> tuple[str, ...]:
    """Return a sentence that a coach may say, in the language of the class."""
    return (_sentences(current_language())[kind],)


@cache
def _sentences(code: str) -> Mapping[str, str]:
    sentences: Mapping[str, str] = load_language(code).read("say")
    return sentences


def breathless_blocks(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every worked block, long enough, in which nothing is said of breathing."""
    said = _said(context, "breath")
    out = []
    for span in block_spans(context):
        least = context.rules.value("breath-missing", "least_s", context.plan.blocks[span.block].kind)
        if span.end_s - span.start_s < least or any(_within(span, s, 0.0) for s in said):
            continue
        near_by = any(_within(span, s, 2.0) for s in said)
        place = Place(context.plan.blocks[span.block].name)
        hint = _hint(context, "breath", span.opens_s, span.closes_s)
        tail = " One said close to its ends may belong to it; finer times would settle it." if near_by else hint or LOST
        sure = not (near_by or hint or mishears(context) or any(m.unsure for m in span.members))
        out.append(
            build(
                context,
                "breath-missing",
                place,
                f"{place}: nothing is said of breathing.{'' if sure else tail}",
                "Add a breathing cue by voice-over, best where the work is hardest.",
                verdict="fail" if sure else "unclear",
                at_s=span.start_s,
                until_s=span.end_s,
                evidence=(),
                say=_to_say("breath"),
            )
        )
    return tuple(out)


def _within(span: BlockSpan, said: Said, times_u: float) -> bool:
    slack = times_u * said.u_s
    return span.opens_s - slack <= said.at_s <= span.closes_s + slack


def no_water(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding when a class longer than the limit never offers a drink."""
    limit = context.rules.value("water-missing", "longer_than_s")
    length = context.transcript.class_s
    if length <= limit or not worked_intervals(context) or _said(context, "water"):
        return ()
    hint = _hint(context, "water", context.transcript.class_start_s, context.transcript.duration_s)
    sure = not (hint or mishears(context))
    return (
        build(
            context,
            "water-missing",
            Place(),
            f"The class runs {clock(length)} and never offers a drink.{'' if sure else hint or LOST}",
            "Say or show a water break in a rest, best between two blocks.",
            verdict="fail" if sure else "unclear",
            at_s=0.0,
            until_s=context.transcript.duration_s,
            evidence=(),
            say=_to_say("water"),
        ),
    )


def no_caution(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding when no word of caution comes before the first hard move is worked."""
    hard = next((row for row in worked_intervals(context) if _is_hard(context, row)), None)
    if hard is None:
        return ()
    before = [s for s in _said(context, "safety") if s.at_s <= hard.start_s + 2 * s.u_s]
    if before:
        return ()
    place = Place.of(hard.interval)
    hint = _hint(context, "safety", 0.0, hard.start_s)
    sure = not (hint or hard.unsure or mishears(context))
    return (
        build(
            context,
            "safety-missing",
            place,
            f"{place} is the first hard move, and no word of caution comes before it.{'' if sure else hint or LOST}",
            "Say before it when to stop, ease off or ask a doctor; or show a line at the start.",
            verdict="fail" if sure else "unclear",
            at_s=hard.start_s,
            say=_to_say("safety"),
        ),
    )


def _is_hard(context: CheckContext, row: Worked) -> bool:
    return row.plan is not None and context.plan.blocks[row.plan.block].moves[row.plan.move].effort == "hard"


BREATH_MISSING = Check(
    id="breath-missing",
    title="Nothing is said of breathing",
    means="Many viewers hold their breath in hard work and do not notice.",
    measured="Breathing cues from the end of the block before to the block's end.",
    fix="Add one breathing cue by voice-over.",
    severity="low",
    mend="record",
    function=breathless_blocks,
    parameters=(Parameter("least_s", 60.0, "s", 0.0, 3600.0, "shorter blocks need none"),),
    varies=("kind",),
)
WATER_MISSING = Check(
    id="water-missing",
    title="No water break",
    means="Viewers forget to drink when nobody reminds them.",
    measured="Offers of a drink anywhere in a class that is longer than the limit.",
    fix="Say or show one in a rest.",
    severity="low",
    mend="record",
    function=no_water,
    parameters=(Parameter("longer_than_s", 1200.0, "s", 0.0, 36000.0, "shorter classes need none"),),
)
SAFETY_MISSING = Check(
    id="safety-missing",
    title="No caution before the first hard move",
    means="Viewers do not hear when to stop before it can hurt.",
    measured="Words of caution from the start of the recording to the start of the first hard move.",
    fix="Say or show one at the start.",
    severity="low",
    mend="record",
    function=no_caution,
)
