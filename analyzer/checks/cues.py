"""Cue-missing: a must-say cue of the plan that is never said."""

from __future__ import annotations

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.metadata import Check
from analyzer.checks.places import BlockSpan, block_spans
from analyzer.model.audit import Finding
from analyzer.model.events import CueSaid, MoveRef
from analyzer.model.plan import Move


def missing_cues(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every worked move of which some must-say cue falls nowhere in its block.

    The block counts from the end of the one before it, so that its demo is part of it. A move counts once, not by
    round: said once, a cue is said.
    """
    said: dict[tuple[MoveRef | None, str], list[CueSaid]] = {}
    for event in context.events.cues:
        if event.kind == "must-say":
            said.setdefault((event.move, event.cue), []).append(event)
    out = []
    for span in block_spans(context):
        block = context.plan.blocks[span.block]
        for number, move in enumerate(block.moves):
            own = [w for w in span.members if w.plan is not None and w.plan.move == number]
            missing = [cue for cue in move.cues if not _inside(span, said.get(((span.block, number), cue), []))]
            if own and missing:
                out.append(_finding(context, block.name, move, missing, own[0].start_s, own[0].unsure))
    return tuple(out)


def _inside(span: BlockSpan, said: list[CueSaid]) -> bool:
    return any(span.opens_s - 2 * c.u_s - 1.0 <= c.at_s <= span.closes_s + 2 * c.u_s for c in said)


def _finding(context: CheckContext, block: str, move: Move, missing: list[str], at_s: float, unsure: bool) -> Finding:
    cues = ", ".join(f"\u201c{cue}\u201d" for cue in missing)
    tail = " It is open whether the move was worked here; a listen would settle it." if unsure else ""
    return build(
        context,
        "cue-missing",
        Place(block, None, move.name),
        f"{move.name} ({block}): {cues} must be said and was not heard, in these or like words.{tail}",
        "Say it by voice-over, put it in a caption, or take it off the plan's must-says.",
        verdict="unclear" if unsure else "fail",
        at_s=at_s,
        measured=float(len(move.cues) - len(missing)),
        expected=float(len(move.cues)),
        unit="cues",
    )


CUE_MISSING = Check(
    id="cue-missing",
    title="A must-say cue was not said",
    means="Viewers lack the one hint the coach found too important to forget.",
    measured="Each must-say of the plan, in any like words, from the demo of its block to the block's end.",
    fix="Say it by voice-over or caption.",
    severity="medium",
    function=missing_cues,
)
