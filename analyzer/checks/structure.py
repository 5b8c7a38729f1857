"""Move-missing, round-missing, move-extra, order-changed: what was worked against what was planned."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import SURE_FROM, worked_intervals
from analyzer.checks.verdict import REPORT_FROM, judge
from analyzer.model.audit import Finding, Interval, Verdict
from analyzer.model.clock import clock

MoveKey = tuple[str, int, str]


def lost_rounds(context: CheckContext) -> tuple[tuple[str, int], ...]:
    """Return (block, round) of every round of which nothing was worked, in planned order."""
    seen: dict[tuple[str, int], bool] = {}
    for row in _planned_order(context):
        key = (row.block, row.round)
        seen[key] = seen.get(key, False) or row.status == "worked"
    return tuple(key for key, worked in seen.items() if not worked or key in context.alignment.lost_rounds)


def _planned_order(context: CheckContext) -> list[Interval]:
    rows = [i for i in context.alignment.intervals if i.planned is not None and i.status != "extra"]
    return sorted(rows, key=lambda i: i.planned if i.planned is not None else -1)


def missing_moves(context: CheckContext) -> dict[MoveKey, list[Interval]]:
    """Return the moves of which neither side was worked in a round that was not lost as a whole."""
    lost = set(lost_rounds(context))
    groups: dict[MoveKey, list[Interval]] = {}
    for row in _planned_order(context):
        if (row.block, row.round) not in lost:
            groups.setdefault((row.block, row.round, row.move), []).append(row)
    return {key: rows for key, rows in groups.items() if all(r.status == "missing" for r in rows)}


def _seam(context: CheckContext, planned: int) -> float | None:
    """Return where a missing interval should have been: the end of what was worked before it by the plan."""
    rows = [w for w in worked_intervals(context) if w.slot is not None]
    before = [w.end_s for w in rows if w.slot is not None and w.slot < planned]
    return max(before) if before else min((w.start_s for w in rows), default=None)


def _no_room(context: CheckContext, missing: Sequence[Interval]) -> bool:
    """Return True when the gap where they should be is, even allowing for U, under half of their planned work."""
    slots = [r.planned for r in missing if r.planned is not None]
    rows = [w for w in worked_intervals(context) if w.slot is not None and not w.unsure]
    before = max((w for w in rows if w.slot is not None and w.slot < slots[0]), key=lambda w: w.end_s, default=None)
    after = min((w for w in rows if w.slot is not None and w.slot > slots[-1]), key=lambda w: w.start_s, default=None)
    if before is None or after is None:
        return False
    work = sum(context.schedule.intervals[slot].work_s for slot in slots)
    gap = after.start_s - before.end_s
    return judge(gap, math.hypot(before.end_u, after.start_u), low=work / 2).verdict == "fail"


def _verdict(context: CheckContext, check: str, sure: float, no_room: bool = False) -> Verdict:
    if sure >= context.rules.value(check, "sure_from") or (no_room and sure >= SURE_FROM):
        return "fail"
    return "unclear" if sure >= REPORT_FROM else "pass"


def _sureness(rows: Sequence[Interval]) -> float:
    return sum(r.confidence for r in rows) / len(rows)


_UNSURE = " The words there are not plain enough to be certain; word times or a listen would settle it."


def missing_rounds(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every round that is not on the recording."""
    out = []
    for block, number in lost_rounds(context):
        rows = [r for r in _planned_order(context) if (r.block, r.round) == (block, number)]
        verdict = _verdict(context, "round-missing", max(r.confidence for r in rows), _no_room(context, rows))
        if verdict == "pass":
            continue
        at = _seam(context, rows[0].planned or 0)
        total = next(b.rounds for b in context.plan.blocks if b.name == block)
        what = f"Round {number} of {block} is not on the recording" if total > 1 else f"{block} is not on the recording"
        out.append(
            build(
                context,
                "round-missing",
                Place(block, number),
                what
                + (f"; it should follow {clock(at)}." if at is not None else ".")
                + ("" if verdict == "fail" else _UNSURE),
                "Look for it in the raw take and restore it, or record it again; else change plan and promises.",
                verdict=verdict,
                at_s=at,
                measured=float(_rounds_worked(context, block)),
                expected=float(total),
                unit="rounds",
            )
        )
    return tuple(out)


def _rounds_worked(context: CheckContext, block: str) -> int:
    return len({r.round for r in _planned_order(context) if r.block == block and r.status == "worked"})


def absent_moves(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every move, in a round, that was not worked on any side."""
    out = []
    for (block, number, move), rows in missing_moves(context).items():
        verdict = _verdict(context, "move-missing", _sureness(rows), _no_room(context, rows))
        if verdict == "pass":
            continue
        place = Place(block, number, move, rows[0].side if len(rows) == 1 else None)
        out.append(
            build(
                context,
                "move-missing",
                place,
                f"{place} is planned and was not found in the recording." + ("" if verdict == "fail" else _UNSURE),
                "Restore it from the raw take or record it again; or take it out of the plan.",
                verdict=verdict,
                at_s=_seam(context, rows[0].planned or 0),
            )
        )
    return tuple(out)


def extra_moves(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every stretch of work that the plan does not have."""
    names = {(b.name, m.name) for b in context.plan.blocks for m in b.moves}
    out = []
    for row in worked_intervals(context):
        if row.interval.status != "extra":
            continue
        verdict = _verdict(context, "move-extra", row.interval.confidence)
        if verdict == "pass":
            continue
        place = Place.of(row.interval)
        known = (row.interval.block, row.interval.move) in names
        what = "is worked once more than planned" if known else "is worked and not in the plan"
        out.append(
            build(
                context,
                "move-extra",
                place,
                f"{place} {what}, {clock(row.start_s)} to {clock(row.end_s)}." + ("" if verdict == "fail" else _UNSURE),
                "Cut it, or add it to the plan.",
                verdict=verdict,
                at_s=row.start_s,
                until_s=row.end_s,
                measured=row.length_s,
                expected=0.0,
                unit="s",
            )
        )
    return tuple(out)


def changed_order(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every round in which moves were worked out of the planned order.

    The two sides of an ``each`` move have no planned order and never count.
    """
    ids = set(context.alignment.reordered)
    groups: dict[tuple[str, int], list[Interval]] = {}
    rows = [w.interval for w in worked_intervals(context)]
    for row in rows:
        if row.id in ids and not _side_swap(context, row, ids, rows):
            groups.setdefault((row.block, row.round), []).append(row)
    out = []
    for (block, number), members in groups.items():
        sure = all(r.confidence >= SURE_FROM for r in members)
        moves = list(dict.fromkeys(r.move for r in members))
        out.append(
            build(
                context,
                "order-changed",
                Place(block, number, moves[0] if len(moves) == 1 else None),
                f"{block}, round {number}: {', '.join(moves)} came out of the planned order."
                + ("" if sure else _UNSURE),
                "Change the plan to the order filmed, or re-cut; check that previews name the move that follows.",
                verdict="fail" if sure else "unclear",
                at_s=members[0].start_s,
                until_s=members[-1].end_s,
            )
        )
    return tuple(out)


def _side_swap(context: CheckContext, row: Interval, ids: set[str], rows: list[Interval]) -> bool:
    """Return True when only the order of the two sides of one move changed."""
    if row.planned is None or not context.schedule.intervals[row.planned].order_free:
        return False
    place = rows.index(row)
    near = rows[max(0, place - 1) : place] + rows[place + 1 : place + 2]
    key = (row.block, row.round, row.move)
    return any((n.block, n.round, n.move) == key for n in near)


_SURE = Parameter(
    "sure_from",
    0.75,
    "share",
    0.0,
    1.0,
    "confidence from which it is stated; half is enough where there is no room",
)

MOVE_MISSING = Check(
    id="move-missing",
    title="A planned move was not worked",
    means="Viewers miss a move that the plan, and often the coach, announced.",
    measured="No stretch of the recording fits the planned interval better than its absence.",
    fix="Restore it from the raw take or record it again; or take it out of the plan.",
    severity="high",
    mend="record",
    function=absent_moves,
    needs="plan",
    parameters=(_SURE,),
)
ROUND_MISSING = Check(
    id="round-missing",
    title="A whole round is not on the recording",
    means="Half a block can be gone, mostly through an edit; promises of rounds no longer hold.",
    measured="None of the round's planned intervals was found.",
    fix="Look for it in the raw take and restore it, or record it again.",
    severity="high",
    mend="record",
    function=missing_rounds,
    needs="plan",
    parameters=(_SURE,),
)
MOVE_EXTRA = Check(
    id="move-extra",
    title="Something unplanned was worked",
    means="The class holds work that no plan, listing or timer knows of.",
    measured="A stretch of work that fits no planned interval.",
    fix="Cut it, or add it to the plan.",
    severity="high",
    mend="cut",
    function=extra_moves,
    needs="plan",
    parameters=(_SURE,),
)
ORDER_CHANGED = Check(
    id="order-changed",
    title="Moves came in another order",
    means="Previews, timers and captions laid by the plan name the wrong move.",
    measured="The order of the intervals found, against the plan's; sides of an each-side move may swap.",
    fix="Change the plan to the order filmed, or re-cut.",
    severity="high",
    mend="plan",
    function=changed_order,
    needs="plan",
)
