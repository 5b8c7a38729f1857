"""Promises against what was delivered, and the check promise-broken.

A promise is read kindly: where its words allow several meanings (rounds in all or rounds still to come, one side or
both) and one of them is kept, it is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hints import hint_words
from analyzer.checks.lengths import class_end_u
from analyzer.checks.metadata import Check, Parameter, limit_s
from analyzer.checks.places import SURE_FROM, BlockSpan, Worked, block_spans, coming, span_at, worked_intervals
from analyzer.checks.verdict import REPORT_FROM, Judgement, judge
from analyzer.language import current_language, load_language
from analyzer.model.audit import Evidence, Finding, JudgedPromise, Verdict
from analyzer.model.clock import clock
from analyzer.model.events import Promise
from analyzer.spotting.names import split_words

REPEAT_S = 30.0  # the same promise said again this soon is one promise
STATION_SHARE = 0.75  # our judgement: a side that lasts this share of another move may be counted as a move
CLOSING_SHARE = 0.5  # our judgement: what comes again is told from here on in the last move of a round
LONG_S = 120.0  # seconds from which a promise speaks of a block or class, not of an interval


@dataclass(frozen=True, slots=True)
class Delivery:
    """What one promise came to; ``chance`` that it is broken."""

    delivered: float | None
    block: str | None
    verdict: Verdict
    chance: float = 1.0


KEPT = 0.0
COUNTED = ("rounds", "moves", "options")
"""Kinds of promises that are held against blocks and rounds, and so against the plan."""


def judged_promises(context: CheckContext) -> tuple[JudgedPromise, ...]:
    """Return every promise that can be held against the recording, in order of time."""
    return tuple(
        JudgedPromise(p.kind, p.value, d.delivered, p.at_s, d.block, d.verdict, p.text) for p, d in _deliveries(context)
    )


def _deliveries(context: CheckContext) -> list[tuple[Promise, Delivery]]:
    rows = tuple(w for w in worked_intervals(context) if w.plan is not None)
    spans = block_spans(context)
    if not spans:
        return []
    found = [(promise, _deliver(context, spans, rows, promise)) for promise in context.events.promises]
    return [(p, _as_drawn(d) if context.plan.drawn and p.kind in COUNTED else d) for p, d in found]


def _as_drawn(delivery: Delivery) -> Delivery:
    """Return a delivery counted in a plan that was drawn from the recording: it may be the plan that is wrong."""
    return replace(delivery, verdict="unclear") if delivery.verdict == "fail" else delivery


def _deliver(
    context: CheckContext, spans: tuple[BlockSpan, ...], rows: tuple[Worked, ...], promise: Promise
) -> Delivery:
    if promise.kind == "options":
        return _options(context, spans, promise)
    if promise.value is None:
        return Delivery(None, None, "unclear", KEPT)
    if promise.kind == "rounds":
        return _rounds(context, spans, promise, promise.value)
    if promise.kind == "moves":
        return _moves(context, spans, promise, promise.value)
    return _seconds(context, spans, rows, promise, promise.value)


def _name(context: CheckContext, span: BlockSpan) -> str:
    return context.plan.blocks[span.block].name


def _candidates(context: CheckContext, spans: tuple[BlockSpan, ...], at_s: float) -> list[BlockSpan]:
    """Return the blocks a promise may speak of, the likeliest first.

    That is the block in progress or coming; in its last interval or later also the next one; and in a welcome,
    before anything is worked, every block.
    """
    own = span_at(spans, at_s)
    assert own is not None  # spans are never empty here
    place = next(n for n, span in enumerate(spans) if span is own)
    if place == 0 and at_s < own.start_s and context.plan.blocks[0].kind == "talk":
        return list(spans)
    last = max(own.members, key=lambda w: w.end_s)
    return list(spans[place : place + 2]) if at_s >= last.start_s else [own]


def _worked_rounds(span: BlockSpan) -> set[int]:
    return {w.plan.round for w in span.members if w.plan}


def _round_doubt(context: CheckContext, span: BlockSpan) -> bool:
    """Return True when it is open whether some round of the block was worked."""
    name = _name(context, span)
    best: dict[int, float] = {}
    for row in context.alignment.intervals:
        if row.block == name and row.planned is not None and row.status != "extra":
            best[row.round] = max(best.get(row.round, 0.0), row.confidence)
    return any(value < SURE_FROM for value in best.values())


def _rounds(context: CheckContext, spans: tuple[BlockSpan, ...], promise: Promise, said: float) -> Delivery:
    if promise.scope == "class":
        return _class_rounds(context, spans, said)
    before = _just_worked(context, spans, promise)
    if before is not None:
        return _again(context, before, promise, said)
    candidates = _candidates(context, spans, promise.at_s)
    if _says_again(promise):
        candidates += [s for s, after in pairwise(spans) if after is candidates[0] and promise.at_s < after.start_s]
    for span in candidates:
        # "two rounds" is all of them, "two more rounds" those that are still to start
        ahead = _ahead(span, promise.at_s)
        if said in (len(_worked_rounds(span)), len(ahead)):
            return Delivery(said, _name(context, span), "pass", KEPT)
        if said in _perhaps_ahead(span, promise):
            return Delivery(said, _name(context, span), "unclear", KEPT)
    own = next((s for s in candidates if context.plan.blocks[s.block].rounds == said), None)
    once = next((s for s in candidates if context.plan.blocks[s.block].rounds == 1 and said in _move_counts(s)), None)
    if own is None and once is not None:  # of moves that come once each may be called a round
        return Delivery(said, _name(context, once), "pass", KEPT)
    own = own or candidates[0]
    verdict: Verdict = "unclear" if _round_doubt(context, own) else "fail"
    return Delivery(float(len(_worked_rounds(own))), _name(context, own), verdict)


def _ahead(span: BlockSpan, at_s: float) -> set[int]:
    """Return the rounds of a block of which nothing has started at a time."""
    begun = {w.plan.round for w in span.members if w.plan and w.start_s <= at_s}
    return {w.plan.round for w in span.members if w.plan} - begun


def _perhaps_ahead(span: BlockSpan, promise: Promise) -> set[int]:
    """Return how many rounds may be still to start, where a round starts within the promise's U = 2u."""
    near = [w.start_s for w in span.members if abs(w.start_s - promise.at_s) <= 2 * math.hypot(promise.u_s, w.start_u)]
    edges = [promise.at_s + sign * (abs(start - promise.at_s) + 0.01) for start in near for sign in (-1, 1)]
    return {len(_ahead(span, at)) for at in edges}


def _says_again(promise: Promise) -> bool:
    return not hint_words("again").isdisjoint(split_words(promise.text))


def _just_worked(context: CheckContext, spans: tuple[BlockSpan, ...], promise: Promise) -> BlockSpan | None:
    """Return the block that a promise says comes again; None when its words or place do not say so.

    They do with words like "again" or "same", at the end of a round: in or after its last move, before the next
    interval is under way.
    """
    if not _says_again(promise):
        return None
    for span in spans:
        planned = len(context.plan.blocks[span.block].moves)
        for place, row in enumerate(span.members):
            following = span.members[place + 1].start_s if place + 1 < len(span.members) else span.closes_s
            closing = row.plan is not None and row.plan.move == planned - 1
            if closing and row.start_s + CLOSING_SHARE * row.length_s <= promise.at_s < max(following, row.end_s):
                return span
    return None


def _again(context: CheckContext, span: BlockSpan, promise: Promise, said: float) -> Delivery:
    """Hold "the same again" against the rounds of the block that still start."""
    name, rounds = _name(context, span), _worked_rounds(span)
    ahead = {w.plan.round for w in span.members if w.plan and w.start_s > promise.at_s}
    if ahead or said < context.plan.blocks[span.block].rounds:
        return Delivery(said, name, "pass", KEPT)
    if context.plan.blocks[span.block].rounds < said or len(rounds) >= said:
        return Delivery(float(len(rounds)), name, "unclear", KEPT)  # not planned so, or said after the last round
    return Delivery(float(len(rounds)), name, "unclear" if _round_doubt(context, span) else "fail")


def _class_rounds(context: CheckContext, spans: tuple[BlockSpan, ...], said: float) -> Delivery:
    """Hold "every block twice" against the main blocks that are planned in rounds; the worst one counts."""
    every = [s for s in spans if context.plan.blocks[s.block].kind == "main"]
    mains = [s for s in every if context.plan.blocks[s.block].rounds > 1] or every
    off = [s for s in mains if len(_worked_rounds(s)) != said]
    if not mains or not off:
        return Delivery(said if mains else None, None, "pass" if mains else "unclear", KEPT)
    if len(off) == len(mains) > 1 and all(context.plan.blocks[s.block].rounds != said for s in off):
        return Delivery(None, None, "unclear", KEPT)  # no block was planned so: the words mean something else
    worst = max(off, key=lambda s: abs(len(_worked_rounds(s)) - said))
    doubtful = any(_round_doubt(context, s) for s in off)
    return Delivery(float(len(_worked_rounds(worst))), _name(context, worst), "unclear" if doubtful else "fail")


def _move_counts(span: BlockSpan) -> set[int]:
    """Return the numbers of moves a listener may count in a block: its moves; also sides one by one where each side
    of a move lasts about as long as any other move, so that they are stations of their own."""
    sides: dict[int, list[Worked]] = {}
    singles: list[float] = []
    for row in span.members:
        if row.plan and row.interval.side is not None:
            sides.setdefault(row.plan.round, []).append(row)
        elif row.plan:
            singles.append(row.length_s)
    distinct = len({w.plan.move for w in span.members if w.plan})
    shortest = min((r.length_s for rows in sides.values() for r in rows), default=0.0)
    if singles and shortest < STATION_SHARE * median(singles):
        return {distinct}
    by_round: dict[int, int] = {}
    for row in span.members:
        if row.plan:
            by_round[row.plan.round] = by_round.get(row.plan.round, 0) + 1
    return {distinct, *by_round.values()}


def _totals(context: CheckContext, spans: tuple[BlockSpan, ...]) -> set[int]:
    """Return the numbers of moves of the main blocks together, and of all blocks."""
    counts = [(max(_move_counts(s)), context.plan.blocks[s.block].kind == "main") for s in spans]
    return {sum(count for count, main in counts if main), sum(count for count, _ in counts)}


def _moves(context: CheckContext, spans: tuple[BlockSpan, ...], promise: Promise, said: float) -> Delivery:
    if promise.scope == "class":
        fits = [said in _move_counts(s) for s in spans if context.plan.blocks[s.block].kind == "main"]
        if said in _totals(context, spans) or (fits and all(fits)):
            return Delivery(said, None, "pass", KEPT)
        chance = KEPT if any(fits) or not fits else 1.0
        return Delivery(None, None, "unclear", chance)
    candidates = _candidates(context, spans, promise.at_s)
    extras = {i.block for i in context.alignment.intervals if i.status == "extra"}
    for span in candidates:
        name = _name(context, span)
        if said in _move_counts(span) or (name in extras and said - 1 in _move_counts(span)):
            return Delivery(said, name, "pass", KEPT)
    if len(spans) > 1 and said in _totals(context, spans):
        return Delivery(said, None, "pass", KEPT)
    own = next((s for s in candidates if len(context.plan.blocks[s.block].moves) == said), candidates[0])
    name = _name(context, own)
    distinct = len({w.plan.move for w in own.members if w.plan})
    shaky = any(i.confidence < SURE_FROM for i in context.alignment.intervals if i.block == name)
    return Delivery(float(distinct), name, "unclear" if shaky else "fail")


def _move_lengths(rows: Iterable[Worked]) -> list[tuple[float, float]]:
    """Return (seconds, u) of every interval, and of every two-sided move as a whole."""
    rows = tuple(rows)
    out = [(r.length_s, r.length_u) for r in rows]
    whole: dict[tuple[str, int, str], list[Worked]] = {}
    for row in rows:
        if row.interval.side is not None:
            whole.setdefault((row.interval.block, row.interval.round, row.interval.move), []).append(row)
    out += [
        (sum(r.length_s for r in pair), math.hypot(*(r.length_u for r in pair)))
        for pair in whole.values()
        if len(pair) > 1
    ]
    return out


def _readings(
    context: CheckContext, spans: tuple[BlockSpan, ...], rows: tuple[Worked, ...], promise: Promise, said: float
) -> tuple[list[tuple[float, float]], str | None]:
    """Return the (seconds, u) that a promise of seconds may speak of, the likeliest first, and the block's name."""
    if promise.scope == "class":
        if said >= LONG_S:
            return [(context.transcript.class_s, class_end_u(context))], None
        mains = [r for r in rows if r.plan and context.plan.blocks[r.plan.block].kind == "main"]
        return [*_medians(mains), *_rests(rows)], None
    candidates = _candidates(context, spans, promise.at_s)
    name = _name(context, candidates[0])
    if said >= LONG_S:
        lengths = [(s.end_s - s.start_s, math.hypot(s.start_u, s.end_u)) for s in candidates]
        return [*lengths, *_move_lengths(m for s in candidates for m in s.members)], name
    if promise.scope == "interval":
        now = coming(rows, promise.at_s)
        first = [(now.length_s, now.length_u)] if now else []
        return [*first, *_move_lengths(m for s in candidates for m in s.members), *_rests(rows)], name
    return [*(length for s in candidates for length in _medians(s.members)), *_rests(candidates[0].members)], name


def _medians(rows: Iterable[Worked]) -> list[tuple[float, float]]:
    """Return the median length of the intervals, then of the moves with both sides together."""
    rows = tuple(rows)
    lengths = _move_lengths(rows)
    singles, wholes = lengths[: len(rows)], lengths[len(rows) :]
    sets = [singles]
    if wholes:
        sets.append([*(x for x, r in zip(singles, rows, strict=True) if r.interval.side is None), *wholes])
    return [(median(x for x, _ in group), median(u for _, u in group)) for group in sets if group]


def _rests(rows: tuple[Worked, ...]) -> list[tuple[float, float]]:
    gaps = [(b.start_s - a.end_s, math.hypot(a.end_u, b.start_u)) for a, b in pairwise(rows)]
    return [(median(g for g, _ in gaps), median(u for _, u in gaps))] if gaps else []


def seconds_limit(context: CheckContext, said: float) -> float:
    """Return the tolerated difference of a promise of ``said`` seconds.

    Up to two minutes it is an interval's; longer times are said in round numbers and get the larger of a fixed
    time and a share.
    """
    rules = context.rules
    if said < LONG_S:
        return rules.value("promise-broken", "limit_s")
    share = rules.value("promise-broken", "long_percent") / 100 * said
    return max(rules.value("promise-broken", "long_limit_s"), share)


def _seconds(
    context: CheckContext, spans: tuple[BlockSpan, ...], rows: tuple[Worked, ...], promise: Promise, said: float
) -> Delivery:
    readings, block = _readings(context, spans, rows, promise, said)
    if not readings:
        return Delivery(None, block, "unclear", KEPT)
    for heard in (said, *_misheard(said)):
        if any(abs(real - heard) <= seconds_limit(context, heard) for real, _ in readings):
            real = min((r for r, _ in readings), key=lambda r: abs(r - heard))
            return Delivery(real, block, "pass", KEPT)
    limit = seconds_limit(context, said)
    judged = [judge(real - said, u, -limit, limit) for real, u in readings]
    # where none fits, what is nearest in proportion is told: a rest is no short interval
    nearest: Judgement = min(judged, key=lambda j: (j.tail, abs(math.log(max(1.0, said + j.measured) / said))))
    return Delivery(said + nearest.measured, block, nearest.verdict, 1.0 if nearest.reported else KEPT)


def _misheard(said: float) -> list[float]:
    """Return what a promise may have been before it was misheard: its sound-alike, in minutes where it is whole
    minutes; with the hundred that was lost before it."""
    sound_alike = load_language(current_language()).numbers.sound_alike
    if said >= LONG_S and said % 60 == 0:
        minutes = sound_alike(said / 60)
        return [] if minutes is None else [minutes * 60]
    twin = sound_alike(said)
    return ([] if twin is None else [twin]) + ([said + 100] if said < 100 else [])


def _options(context: CheckContext, spans: tuple[BlockSpan, ...], promise: Promise) -> Delivery:
    """Hold a promise of options against the easier and harder ones offered afterwards, in its block or the class."""
    made = [o for o in context.events.options if o.first > promise.last]
    if promise.scope == "class":
        return Delivery(float(len(made)), None, "pass" if made else "fail", KEPT if made else 1.0)
    candidates = _candidates(context, spans, promise.at_s)
    own = candidates[-1]
    inside = [o for o in made if o.at_s <= own.end_s + 2 * math.hypot(o.u_s, own.end_u)]
    name = _name(context, candidates[0])
    return Delivery(float(len(inside)), name, "pass" if inside else "fail", KEPT if inside else 1.0)


def broken_promises(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every promise not kept; the same one said again within half a minute is told once."""
    out: list[Finding] = []
    told: dict[tuple[str, str | None, float | None], float] = {}
    for promise, delivery in _deliveries(context):
        if delivery.verdict == "pass" or (delivery.verdict == "unclear" and delivery.chance < REPORT_FROM):
            continue
        key = (promise.kind, delivery.block, promise.value)
        again = key in told and promise.at_s - told[key] <= REPEAT_S
        told[key] = promise.at_s
        if not again:
            out.append(_finding(context, promise, delivery))
    return tuple(out)


def _amount(kind: str, value: float | None) -> str:
    if value is None:
        return "nothing that fits"
    if kind == "seconds":
        return clock(value) if value >= LONG_S else f"{value:.0f} s"
    return f"{value:.0f} {kind[:-1] if value == 1 else kind}"


def _finding(context: CheckContext, promise: Promise, delivery: Delivery) -> Finding:
    said = "options" if promise.kind == "options" else _amount(promise.kind, promise.value)
    where = f" in {delivery.block}" if delivery.block else ""
    tail = "" if delivery.verdict == "fail" else " Times or words are not plain enough to be certain; listen there."
    if context.plan.drawn and promise.kind in COUNTED:
        tail = " Rounds and moves are only as heard: there is no plan."
    return build(
        context,
        "promise-broken",
        Place(None if promise.scope == "class" else delivery.block),
        f"Promised at {clock(promise.at_s)}: {said} (\u201c{promise.text}\u201d); delivered{where}: "
        f"{_amount(promise.kind, delivery.delivered)}.{tail}",
        "Cut the promise, correct it in a caption, or deliver it.",
        verdict=delivery.verdict,
        at_s=promise.at_s,
        measured=delivery.delivered,
        expected=promise.value,
        limit=seconds_limit(context, promise.value) if promise.kind == "seconds" and promise.value else None,
        unit="s" if promise.kind == "seconds" else promise.kind,
        evidence=(Evidence(promise.at_s, promise.text),),
    )


PROMISE_BROKEN = Check(
    id="promise-broken",
    title="A promise was not kept",
    means="Viewers plan their effort by what they are told; a lost round or move leaves them waiting.",
    measured="Rounds, moves, seconds and options promised, against what was worked or said; read kindly.",
    fix="Cut the promise, correct it in a caption, or deliver it.",
    severity="high",
    mend="edit",
    function=broken_promises,
    parameters=(
        limit_s(5.0, "difference tolerated for a promised interval"),
        limit_s(60.0, "difference tolerated for a promised block or class", "long_limit_s"),
        Parameter("long_percent", 10.0, "%", 0.0, 100.0, "the same as a share; the larger holds"),
    ),
)
