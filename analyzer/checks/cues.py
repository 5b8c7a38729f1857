"""Cue-missing: a must-say cue of the plan that is never said."""

from __future__ import annotations

import numpy as np

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import mishears, sounds_within
from analyzer.checks.metadata import Check
from analyzer.checks.places import BlockSpan, Worked, block_spans, near, worked_intervals
from analyzer.model.audit import Evidence, Finding
from analyzer.model.events import CueSaid, MoveRef
from analyzer.model.plan import Move

ALIKE = 0.72  # our judgement: in a misheard transcript, words that sound this much like a cue may be it
SAID_FROM = 0.7  # our judgement: a cue of a lower score may have been said; see the spotter of cues


def missing_cues(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every worked move of which some must-say cue falls nowhere in its block.

    The block counts from the end of the one before it, so that its demo is part of it. A move counts once, not by
    round: said once, a cue is said. Part of a cue, in the block's demo, just before the move or in it, may be the
    cue misheard or in other words: then it is unclear.
    """
    said: dict[tuple[MoveRef | None, str], list[CueSaid]] = {}
    for event in context.events.cues:
        if event.kind == "must-say":
            said.setdefault((event.move, event.cue), []).append(event)
    misheard = mishears(context)
    out = []
    for span in block_spans(context):
        block = context.plan.blocks[span.block]
        for number, move in enumerate(block.moves):
            own = [w for w in span.members if w.plan is not None and w.plan.move == number]
            heard = {cue: said.get(((span.block, number), cue), []) for cue in move.cues}
            missing = [cue for cue in move.cues if not _inside(span, heard[cue])]
            if own and missing:
                perhaps = [_as_evidence(e) for cue in missing for e in _partly(context, span, own, heard[cue])]
                if not perhaps and misheard:
                    perhaps = [hit for cue in missing for hit in _alike(context, span, own, cue)]
                out.append(_finding(context, block.name, move, missing, own[0], perhaps))
    return tuple(out)


def _inside(span: BlockSpan, said: list[CueSaid]) -> bool:
    return any(
        span.opens_s - 2 * c.u_s - 1.0 <= c.at_s <= span.closes_s + 2 * c.u_s for c in said if c.score >= SAID_FROM
    )


def _partly(context: CheckContext, span: BlockSpan, own: list[Worked], said: list[CueSaid]) -> list[CueSaid]:
    """Return what may be a cue of a move, likeliest first: in the demo, in the gap before the move or in its work."""
    windows, closes = _windows(context, span, own), context.transcript.words.closes
    whole = [c for c in said if not closes[c.first : c.last].any()]  # not parts of two sentences
    near_by = [c for c in whole if any(a - c.u_s <= c.at_s <= b + c.u_s for a, b in windows)]
    return sorted(near_by, key=lambda c: -c.score)


def _windows(context: CheckContext, span: BlockSpan, own: list[Worked]) -> list[tuple[float, float]]:
    rows = worked_intervals(context)
    windows = [(span.opens_s, span.start_s)]
    for row in own:
        before = max((r.end_s for r in near(rows, row.start_s) if r.end_s <= row.start_s), default=0.0)
        windows.append((before, row.end_s))
    return windows


def _alike(context: CheckContext, span: BlockSpan, own: list[Worked], cue: str) -> list[Evidence]:
    """Return the words that sound most like a cue, where it may have been said."""
    words = context.transcript.words
    out = []
    for window in _windows(context, span, own):
        first, stop = (int(n) for n in np.searchsorted(words.start_s, window))
        found = sounds_within(words.norm[first:stop], cue, ALIKE)
        if found is not None:
            at = first + found[0]
            out.append(Evidence(float(words.start_s[at]), words.phrase(at, first + found[1])))
    return out


def _as_evidence(cue: CueSaid) -> Evidence:
    return Evidence(cue.at_s, cue.text)


def _finding(
    context: CheckContext, block: str, move: Move, missing: list[str], first: Worked, perhaps: list[Evidence]
) -> Finding:
    cues = ", ".join(f"\u201c{cue}\u201d" for cue in missing)
    tail = ""
    if first.unsure:
        tail = " It is open whether the move was worked here; a listen would settle it."
    elif perhaps:
        tail = f" \u201c{perhaps[0].text}\u201d may stand for it; a listen would settle it."
    return build(
        context,
        "cue-missing",
        Place(block, None, move.name),
        f"{move.name} ({block}): {cues} must be said and was not heard, in these or like words.{tail}",
        "Say it by voice-over, put it in a caption, or take it off the plan's must-says.",
        verdict="unclear" if tail else "fail",
        at_s=first.start_s,
        measured=float(len(move.cues) - len(missing)),
        expected=float(len(move.cues)),
        unit="cues",
        evidence=tuple(perhaps[:1]) or None,
        say=tuple(missing),
    )


CUE_MISSING = Check(
    id="cue-missing",
    title="A must-say cue was not said",
    means="Viewers lack the one hint the coach found too important to forget.",
    measured="Each must-say of the plan, in any like words, from the demo of its block to the block's end.",
    fix="Say it by voice-over or caption.",
    severity="medium",
    mend="record",
    function=missing_cues,
    needs="plan",
)
