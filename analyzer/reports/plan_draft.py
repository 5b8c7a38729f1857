"""A plan drawn from a recording, as YAML for a coach to correct: what was heard where, and what is only a guess."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from analyzer.model.audit import Audit, PlacedOption
from analyzer.model.clock import clock
from analyzer.model.plan import Move
from analyzer.plans import to_yaml
from analyzer.plans.draft import UNNAMED
from analyzer.reports.plain import cut, file_name, seconds_words

HEAD = """\
Drawn from {recording}: nobody planned this, it is what was heard.
Check names, lengths (rounded to 5 s), sides and rounds; every effort is a guess.
Then hold the recording, or the next take, against it with --plan."""
MOST_OFFERS = 2
"""Offers written for one move."""
OFFER_WIDTH = 80
Span = tuple[float, float]
"""Start and end of work, seconds."""
CUES = {"breath": "breathing", "safety": "safety", "water": "water", "must-say": "cue"}


def draft_text(audit: Audit) -> str:
    """Return the plan of an audit without a plan as YAML, with remarks; reading it gives the plan and its offers."""
    heard: dict[tuple[str, str], list[Span]] = defaultdict(list)
    for interval in audit.alignment.intervals:
        if interval.start_s is not None and interval.end_s is not None:
            heard[interval.block, interval.move].append((interval.start_s, interval.end_s))
    comments = {"": HEAD.format(recording=file_name(audit.transcript.name))}
    blocks = []
    for at, block in enumerate(audit.plan.blocks):
        moves = []
        for place, move in enumerate(block.moves):
            found = heard[block.name, move.name]
            offers = [o for o in audit.facts.options if o.move == move.name and o.block == block.name]
            moves.append(_with_offers(move, offers))
            comments[f"blocks[{at}].moves[{place}]"] = "\n".join(_remarks(audit, move, found, offers))
        blocks.append(replace(block, moves=tuple(moves)))
    return to_yaml(replace(audit.plan, blocks=tuple(blocks)), comments)


def _with_offers(move: Move, offers: list[PlacedOption]) -> Move:
    easier, harder = (
        tuple(dict.fromkeys(_words(o) for o in offers if o.direction == direction))[:MOST_OFFERS]
        for direction in ("easier", "harder")
    )
    return replace(move, easier=easier, harder=harder)


def _words(offer: PlacedOption) -> str:
    return cut(" ".join(offer.text.split()), OFFER_WIDTH)


def _remarks(audit: Audit, move: Move, found: list[Span], offers: list[PlacedOption]) -> Iterator[str]:
    """Yield what is to know of a move, a line each."""
    if move.name.startswith(f"{UNNAMED} "):
        yield "Nobody names this move: give it its name."
    if not found:
        yield "Not heard where it is planned: take it out if it was not worked."
    else:
        spans = ", ".join(f"{clock(start_s)} to {clock(end_s)}" for start_s, end_s in found)
        lengths = ", ".join(seconds_words(end_s - start_s) for start_s, end_s in found)
        yield f"Worked {spans} ({lengths}). Effort {move.effort}: a guess."
    if offers:
        yield "Offers at " + ", ".join(clock(offer.at_s) for offer in offers) + "."
    cues = [
        f"{CUES[cue.kind]} at {clock(cue.at_s)}"
        for cue in audit.events.cues
        if any(start_s <= cue.at_s < end_s for start_s, end_s in found)
    ]
    if cues:
        yield "Cues: " + ", ".join(cues) + "."
