"""One card a move: its rounds with lengths and sides, the options offered for it, its must-say cues."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analyzer.checks.cues import SAID_FROM
from analyzer.model.audit import Audit, Coverage, Finding, Interval, PlacedOption
from analyzer.model.plan import Move
from analyzer.reports.digest import by_time, standing
from analyzer.reports.page.timeline import slip_of
from analyzer.reports.plain import seconds_words
from analyzer.reports.report_json import plan_shift_s


@dataclass(frozen=True, slots=True)
class Row:
    """One interval as a row of its move's card. Seconds; None where unknown; shares in percent of the longest."""

    id: str
    interval: Interval
    planned: float | None
    worked: float | None
    difference: float | None
    expanded: float | None
    drift: float | None
    planned_share: float
    worked_share: float
    slip: Finding | None


@dataclass(frozen=True, slots=True)
class CueRow:
    """A must-say cue of the plan: what is known of it, and when it was heard (seconds)."""

    cue: str
    state: str
    heard_s: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class MoveCard:
    """All that the page tells about one move of one block; ``move`` None for what was not planned."""

    id: str
    block: str
    name: str
    move: Move | None
    rounds: str
    rows: tuple[Row, ...]
    options: tuple[PlacedOption, ...]
    coverage: tuple[Coverage, ...]
    cues: tuple[CueRow, ...]
    findings: tuple[Finding, ...]


def cards_by_block(audit: Audit) -> tuple[tuple[str, tuple[MoveCard, ...]], ...]:
    """Return a card for every planned move under its block's name, in the plan's order; then the unplanned ones."""
    rows = _rows(audit)
    groups = []
    for b, block in enumerate(audit.plan.blocks):
        cards = []
        for m, move in enumerate(block.moves):
            own = [row for key, row in rows if key == (b, m)]
            cards.append(_card(audit, f"m-{b + 1}-{m + 1}", block.name, move.name, own, move, block.rounds, (b, m)))
        groups.append((block.name, tuple(cards)))
    groups.append(("Not in the plan", tuple(_unplanned(audit, [row for key, row in rows if key is None]))))
    return tuple((name, cards) for name, cards in groups if cards)


def _unplanned(audit: Audit, rows: Iterable[Row]) -> Iterator[MoveCard]:
    groups: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        groups.setdefault((row.interval.block, row.interval.move), []).append(row)
    for number, ((block, move), own) in enumerate(groups.items()):
        yield _card(audit, f"m-x{number + 1}", block, move, own)


def _card(
    audit: Audit,
    id_: str,
    block: str,
    name: str,
    rows: Iterable[Row],
    move: Move | None = None,
    rounds: int = 0,
    ref: tuple[int, int] | None = None,
) -> MoveCard:
    own = [f for f in audit.findings if f.waived is None and (f.block, f.move) == (block, name)]
    return MoveCard(
        id_,
        block,
        name,
        move,
        _rounds_words(move, rounds) if move else f"worked in {block}",
        tuple(rows),
        tuple(o for o in audit.facts.options if o.block == block and (o.move == name or o.scope == "block")),
        tuple(c for c in audit.facts.coverage if (c.block, c.move) == (block, name)),
        tuple(_cue(audit, cue, ref, own) for cue in move.cues) if move else (),
        by_time(own),
    )


def _rounds_words(move: Move, rounds: int) -> str:
    """Return what the plan asks of a move: ``2 rounds of 40 s, each side half``."""
    side = {"both": "", "each": ", half of it a side", "alternating": ", sides alternating"}
    rounds_word = "1 round" if rounds == 1 else f"{rounds} rounds"
    return f"{rounds_word} of {seconds_words(move.work_s)}{side.get(move.side, f', {move.side} side')}"


def _cue(audit: Audit, cue: str, ref: tuple[int, int] | None, findings: Iterable[Finding]) -> CueRow:
    """Return a cue as the check judged it: said unless a finding names it; heard times as spotted."""
    told = [f for f in findings if f.check == "cue-missing" and cue in f.say]
    state = "said" if not told else "not said" if told[0].verdict == "fail" else "not decided"
    own = [c for c in audit.events.cues if c.kind == "must-say" and (c.move, c.cue) == (ref, cue)]
    return CueRow(cue, state, tuple(c.at_s for c in own if c.score >= SAID_FROM) if state == "said" else ())


def _rows(audit: Audit) -> list[tuple[tuple[int, int] | None, Row]]:
    slips, shift = standing(audit.findings), plan_shift_s(audit)
    out = []
    for number, interval in enumerate(audit.alignment.intervals):
        slot = None if interval.planned is None else audit.schedule.intervals[interval.planned]
        key = None if slot is None else (slot.block, slot.move)
        start = interval.start_s
        drift = None if slot is None or start is None else start - slot.start_s - shift
        out.append((key, _row(number, interval, None if slot is None else slot.work_s, drift, slips)))
    return out


def _row(number: int, interval: Interval, planned: float | None, drift: float | None, slips: Iterable[Finding]) -> Row:
    worked = None
    if interval.start_s is not None and interval.end_s is not None:
        worked = interval.end_s - interval.start_s
    u = interval.length_u
    if u is None and interval.start_u is not None and interval.end_u is not None:
        u = (interval.start_u**2 + interval.end_u**2) ** 0.5
    longest = max(planned or 0.0, worked or 0.0, 1.0)
    return Row(
        id=f"iv-{number + 1}",
        interval=interval,
        planned=planned,
        worked=worked,
        difference=None if planned is None or worked is None else worked - planned,
        expanded=None if u is None else 2 * u,
        drift=drift,
        planned_share=100 * (planned or 0.0) / longest,
        worked_share=100 * (worked or 0.0) / longest,
        slip=slip_of(interval, slips),
    )
