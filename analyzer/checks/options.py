"""Options placed on intervals, coverage of hard moves; easier-missing, easier-late and harder-missing."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build, settled_by
from analyzer.checks.hints import Hint, in_time, option_hints
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import Worked, at_time, block_spans, coming, near, span_at, worked_intervals
from analyzer.checks.verdict import REPORT_FROM, Judgement, doubt, judge, normal_cdf
from analyzer.model.audit import Coverage, Finding, PlacedOption
from analyzer.model.events import OptionOffer

Direction = Literal["easier", "harder"]
Spoken = OptionOffer | Hint
NEAR_S = 1.0  # an offer this little before a start belongs to the interval in progress or coming alike
SURE = 0.975  # as for U = 2u: one-sided


@dataclass(frozen=True, slots=True)
class Offer:
    """An offer with where it belongs: the interval it is for, its block, and its move's index (None: any)."""

    event: OptionOffer
    row: Worked | None
    block: int | None
    move: int | None
    named: bool


@dataclass(frozen=True, slots=True)
class HardRound:
    """One hard move in one round as worked (both sides of an ``each`` move together) and the offers that reach it.

    ``first_fraction`` of the earliest offer over the work of all sides; below 0 when it came before the start.
    """

    block: int
    round: int
    move: int
    rows: tuple[Worked, ...]
    offers: tuple[Offer, ...]
    first_fraction: float | None
    fraction_u: float

    @property
    def total_s(self) -> float:
        """Seconds worked, both sides together."""
        return sum(r.length_s for r in self.rows)


@lru_cache(maxsize=2)
def offers(context: CheckContext) -> tuple[Offer, ...]:
    """Return every offer with the interval it was made for, in order of time."""
    rows = tuple(w for w in worked_intervals(context) if w.plan is not None)
    return tuple(_place(context, rows, event) for event in context.events.options)


def _place(context: CheckContext, rows: tuple[Worked, ...], event: OptionOffer) -> Offer:
    if event.scope == "block":
        return _blanket(context, event)
    if event.moves and not _in_mid_work(rows, event):
        row = next((r for r in rows if r.end_s > event.at_s and _ref(r) in event.moves), None)
        block, move = _ref(row) if row else event.moves[0]
        return Offer(event, row, block, move, True)
    row = coming(rows, event.at_s)
    if row is None:
        return Offer(event, None, rows[-1].plan.block if rows and rows[-1].plan else None, None, False)
    named = _named_in_talk(context, rows, row, event) if row.start_s > event.at_s + NEAR_S else None
    row = named or row
    block, move = _ref(row)
    return Offer(event, row, block, move, named is not None)


def _in_mid_work(rows: tuple[Worked, ...], event: OptionOffer) -> bool:
    """True in work of a block that has none of the moves named in the offer: there a name is a word like another."""
    row = at_time(rows, event.at_s, 0.0)
    return row is not None and _ref(row)[0] not in {block for block, _ in event.moves}


def _blanket(context: CheckContext, event: OptionOffer) -> Offer:
    span = span_at(block_spans(context), event.at_s)
    block = event.moves[0][0] if event.moves else (span.block if span else None)
    members = span.members if span else ()
    row = next((m for m in members if m.end_s > event.at_s), None)
    return Offer(event, row, block, event.moves[0][1] if len(event.moves) == 1 else None, bool(event.moves))


def _ref(row: Worked) -> tuple[int, int]:
    assert row.plan is not None
    return row.plan.block, row.plan.move


def _named_in_talk(context: CheckContext, rows: tuple[Worked, ...], after: Worked, event: OptionOffer) -> Worked | None:
    """Return the next interval of the move last named in the talk before ``after``, up to the offer.

    A demo goes through the coming moves one by one: an option said there is for the move named just before it.
    """
    assert after.plan is not None
    opens = max((r.end_s for r in near(rows, event.at_s) if r.end_s <= event.at_s), default=0.0)
    mentions = context.events.mentions
    first, stop = (bisect_left(mentions, t, key=lambda m: m.at_s) for t in (opens - NEAR_S, event.at_s))
    heard = [m for m in mentions[first:stop] if m.context != "past"]
    for mention in reversed(heard):
        refs = {ref for ref in mention.moves if ref[0] == after.plan.block}
        row = next((r for r in rows if r.start_s >= after.start_s and _ref(r) in refs), None)
        if row is not None:
            return row
    return None


def placed_options(context: CheckContext) -> tuple[PlacedOption, ...]:
    """Return every option that is no doubtful one with its interval, block and move names."""
    out = []
    for offer in offers(context):
        event = offer.event
        if event.doubtful:
            continue
        block = None if offer.block is None else context.plan.blocks[offer.block]
        move = None if block is None or offer.move is None else block.moves[offer.move].name
        name = offer.row.interval.id if offer.row else None
        out.append(
            PlacedOption(
                event.direction, event.at_s, name, block.name if block else None, move, event.scope, event.text
            )
        )
    return tuple(out)


@lru_cache(maxsize=4)
def hard_rounds(context: CheckContext, direction: Direction = "easier") -> tuple[HardRound, ...]:
    """Return every hard move in every round in which it was worked, with the offers that reach it."""
    groups: dict[tuple[int, int, int], list[Worked]] = {}
    for row in worked_intervals(context):
        if row.plan is not None and context.plan.blocks[row.plan.block].moves[row.plan.move].effort == "hard":
            groups.setdefault((row.plan.block, row.plan.round, row.plan.move), []).append(row)
    own: dict[str, list[Offer]] = {}
    blanket: dict[int, list[Offer]] = {}
    for offer in offers(context):
        if offer.event.direction != direction:
            continue
        if offer.event.scope == "block" and offer.block is not None:
            blanket.setdefault(offer.block, []).append(offer)
        elif offer.row is not None:
            own.setdefault(offer.row.interval.id, []).append(offer)
    out = []
    for key, rows in groups.items():
        made = [o for r in rows for o in own.get(r.interval.id, [])]
        end = max(r.end_s for r in rows)
        over = [o for o in blanket.get(key[0], []) if o.move in (None, key[2]) and o.event.at_s <= end]
        out.append(_hard_round(key, tuple(rows), [*made, *over]))
    return tuple(out)


def _hard_round(key: tuple[int, int, int], rows: tuple[Worked, ...], reach: list[Offer]) -> HardRound:
    if not reach:
        return HardRound(*key, rows, (), None, 0.0)
    first = min(reach, key=lambda o: o.event.at_s)
    fraction, u = _fraction(rows, first.event)
    return HardRound(*key, rows, tuple(reach), fraction, u)


def _fraction(rows: tuple[Worked, ...], event: Spoken) -> tuple[float, float]:
    """Return how far into the work an offer came, as a fraction of it, and the standard uncertainty of that."""
    total = max(sum(r.length_s for r in rows), 1e-9)
    u = math.hypot(event.u_s, rows[0].start_u) / total
    if event.at_s < rows[0].start_s:
        return (event.at_s - rows[0].start_s) / total, u
    done = sum(min(max(event.at_s - r.start_s, 0.0), r.length_s) for r in rows)
    return done / total, u


def coverages(context: CheckContext) -> tuple[Coverage, ...]:
    """Return the table of easier options a hard move and round."""
    out = []
    for hard in hard_rounds(context):
        block = context.plan.blocks[hard.block]
        name = block.moves[hard.move].name
        out.append(Coverage(block.name, hard.round, name, len(hard.offers), hard.first_fraction))
    return tuple(out)


def missing_easier(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every hard move and round to which no easier option reaches."""
    return _missing(context, "easier-missing", "easier")


def missing_harder(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every hard move and round to which no harder option reaches."""
    return _missing(context, "harder-missing", "harder")


def _missing(context: CheckContext, check: str, direction: Direction) -> tuple[Finding, ...]:
    made = [o for o in offers(context) if o.event.direction == direction]
    reach = 6 * max((o.event.u_s for o in made), default=0.0) + 60.0
    out = []
    for hard in hard_rounds(context, direction):
        if hard.offers:
            continue
        edges = (hard.rows[0].start_s - reach, hard.rows[-1].end_s + reach)
        first, stop = (bisect_left(made, t, key=lambda o: o.event.at_s) for t in edges)
        inside = max((_may_be_inside(hard, o) for o in made[first:stop]), default=0.0)
        if 1 - inside < REPORT_FROM:
            continue
        sure = 1 - inside >= SURE and not any(r.unsure for r in hard.rows)
        hints = _hints(context, hard) if direction == "easier" else ()
        limit = context.rules.value("easier-late", "limit_share")
        if sure and hints and not any(in_time(h, hard.rows, limit) for h in hints):
            continue  # all that may be an offer comes late: that is the other check's
        out.append(_missing_finding(context, check, direction, hard, sure, hints))
    return tuple(out)


def _hints(context: CheckContext, hard: HardRound) -> tuple[Hint, ...]:
    found, key = _hints_found(context), (hard.block, hard.round, hard.move)
    if key not in found:
        found[key] = option_hints(context, context.plan.blocks[hard.block].moves[hard.move], hard.rows)
    return found[key]


@lru_cache(maxsize=2)  # two checks ask for the same
def _hints_found(context: CheckContext) -> dict[tuple[int, int, int], tuple[Hint, ...]]:
    """Return the hints found so far in a class, by block, round and move."""
    return {}


def _may_be_inside(hard: HardRound, offer: Offer) -> float:
    """Return the probability that an unnamed offer, placed elsewhere, really fell into this interval."""
    if offer.named or offer.event.scope == "block":
        return 0.0
    first, last = hard.rows[0], hard.rows[-1]
    at, u = offer.event.at_s, offer.event.u_s
    low_u, high_u = math.hypot(u, first.start_u), math.hypot(u, last.end_u)
    if min(low_u, high_u) <= 0:
        return 1.0 if first.start_s <= at <= last.end_s else 0.0
    return max(0.0, normal_cdf((last.end_s - at) / high_u) - normal_cdf((first.start_s - at) / low_u))


def _hard_place(context: CheckContext, hard: HardRound) -> Place:
    block = context.plan.blocks[hard.block]
    return Place(block.name, hard.round, block.moves[hard.move].name)


def _missing_finding(
    context: CheckContext, check: str, direction: Direction, hard: HardRound, sure: bool, hints: tuple[Hint, ...]
) -> Finding:
    place = _hard_place(context, hard)
    move = context.plan.blocks[hard.block].moves[hard.move]
    planned = move.easier if direction == "easier" else move.harder
    idea = f" (the plan has: {', '.join(planned)})" if planned else ""
    tail = "" if sure else " One said nearby may have been for it; finer times or a listen would settle it."
    if sure and hints:
        tail = f" \u201c{hints[0].text}\u201d may have been one; a listen would settle it."
    article = "an" if direction == "easier" else "a"
    return build(
        context,
        check,
        place,
        f"{place} is hard and gets no {direction} option in this round.{tail}",
        f"Add {article} {direction} option in its first half, by voice-over or caption{idea}.",
        verdict="unclear" if tail else "fail",
        at_s=hard.rows[0].start_s,
        until_s=hard.rows[-1].end_s,
        measured=0.0,
        expected=1.0,
        unit="options",
        say=planned[:1],
    )


def late_easier(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every hard move and round whose first easier option comes after its first half.

    Words that may have been an earlier offer make it unclear. Where nothing but late words may have been an offer,
    they are late: were they none, it would be missing, and either way it lacks in the first half.
    """
    limit = context.rules.value("easier-late", "limit_share")
    out = []
    for hard in hard_rounds(context):
        if hard.first_fraction is None:
            out += _perhaps_late(context, hard, limit)
            continue
        judged = judge(hard.first_fraction, hard.fraction_u, high=limit)
        first = min(hard.offers, key=lambda o: o.event.at_s)
        after = first.event.at_s > hard.rows[-1].end_s  # then it may be for what comes next
        judged = doubt(judged, after or any(r.unsure for r in hard.rows))
        hint = None
        if judged.verdict == "fail":
            hint = next((h for h in _hints(context, hard) if in_time(h, hard.rows, limit)), None)
            judged = doubt(judged, hint is not None)
        if judged.reported:
            out.append(_late(context, hard, judged, limit, first.event, hint))
    return tuple(out)


def _perhaps_late(context: CheckContext, hard: HardRound, limit: float) -> list[Finding]:
    hints = _hints(context, hard)
    if not hints or any(in_time(h, hard.rows, limit) for h in hints):
        return []
    fraction, u = _fraction(hard.rows, hints[0])
    after = hints[0].at_s > hard.rows[-1].end_s
    judged = doubt(judge(fraction, u, high=limit), after or any(r.unsure for r in hard.rows))
    return [_late(context, hard, judged, limit, hints[0], None)] if judged.reported else []


def _late(
    context: CheckContext, hard: HardRound, judged: Judgement, limit: float, first: Spoken, hint: Hint | None
) -> Finding:
    place = _hard_place(context, hard)
    into = judged.measured * hard.total_s
    message = f"{place}: the first easier option comes {into:.0f} s into {hard.total_s:.0f} s of work."
    if hint is not None:
        message += f" \u201c{hint.text}\u201d may have been one before; a listen would settle it."
    elif judged.verdict != "fail":
        in_seconds = replace(judged, measured=into, u=judged.u * hard.total_s)
        message += " " + settled_by(context, in_seconds, (judged.measured - limit) * hard.total_s)
    return build(
        context,
        "easier-late",
        place,
        message,
        "Offer it in the demo, in the rest before, or in the first half of the work.",
        verdict=judged.verdict,
        at_s=first.at_s,
        until_s=hard.rows[-1].end_s,
        measured=judged.measured,
        expected=0.0,
        limit=limit,
        u=judged.u,
        unit="share",
        say=context.plan.blocks[hard.block].moves[hard.move].easier[:1] or (first.text,),
    )


EASIER_MISSING = Check(
    id="easier-missing",
    title="A hard move has no easier option",
    means="Viewers who cannot do it have nothing to do, or do it badly.",
    measured="Easier options in the move's demo (first round), the talk before it, its work, or for the whole block.",
    fix="Add one by voice-over or caption in the first half.",
    severity="high",
    mend="record",
    function=missing_easier,
    needs="effort",
)
EASIER_LATE = Check(
    id="easier-late",
    title="The easier option comes late",
    means="By then those who need it have stopped or struggled.",
    measured="First easier option as a share of the work already done, both sides together.",
    fix="Offer it in the demo or in the first half.",
    severity="medium",
    mend="record",
    function=late_easier,
    needs="effort",
    parameters=(Parameter("limit_share", 0.5, "share", 0.0, 1.0, "share of the work done by when it must have come"),),
)
HARDER_MISSING = Check(
    id="harder-missing",
    title="A hard move has no harder option",
    means="Strong viewers have nowhere to go.",
    measured="Harder options, in the same places as easier ones.",
    fix="Add one by voice-over or caption.",
    severity="low",
    mend="record",
    function=missing_harder,
    needs="effort",
    on=False,
)
