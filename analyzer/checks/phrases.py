"""Phrase-banned and phrase-required: a house's own lists of what must never, and what must be said."""

from __future__ import annotations

from functools import lru_cache

from analyzer.checks.care import LOST
from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import mishears
from analyzer.checks.metadata import Check
from analyzer.checks.phrase_search import Found, Stream, find_phrase, stream_of
from analyzer.checks.places import BlockSpan, at_time, block_spans, worked_intervals
from analyzer.model.audit import Evidence, Finding
from analyzer.model.clock import clock

TIMES_TOLD = 6  # our judgement: so many times fit into a message; all of them are in the evidence
MOST_EVIDENCE = 50


@lru_cache(maxsize=2)
def _stream(context: CheckContext) -> Stream:
    return stream_of(context.transcript.words)


def times(seconds: list[float]) -> str:
    """Return times as a player shows them, the first few of many.

    >>> times([61.0, 75.4])
    '1:01, 1:15'
    """
    told = ", ".join(clock(at) for at in seconds[:TIMES_TOLD])
    return told if len(seconds) <= TIMES_TOLD else f"{told} and {len(seconds) - TIMES_TOLD} more times"


def banned_phrases(context: CheckContext) -> tuple[Finding, ...]:
    """Return one finding for every phrase of the house's list that is said, with all its places.

    What only sounds like it is unclear, and told only where the phrase is nowhere said outright.
    """
    out = []
    for phrase in context.rules.checks["phrase-banned"].phrases:
        found = find_phrase(_stream(context), phrase)
        sure = [hit for hit in found if hit.how != "sounds"]
        if found:
            out.append(_banned(context, phrase, sure or list(found), bool(sure)))
    return tuple(out)


def _banned(context: CheckContext, phrase: str, found: list[Found], sure: bool) -> Finding:
    words = context.transcript.words
    starts = [float(words.start_s[hit.first]) for hit in found]
    heard = words.phrase(found[0].first, found[0].last)
    row = at_time(worked_intervals(context), starts[0])
    place = Place.of(row.interval) if row is not None and len(found) == 1 else Place()
    message = f"\u201c{phrase}\u201d is on the house's list of what is not said, and is said at {times(starts)}."
    if not sure:
        message = (
            f"\u201c{heard}\u201d at {times(starts)} sounds like \u201c{phrase}\u201d, which the house does not say; "
            "a listen would settle it."
        )
    return build(
        context,
        "phrase-banned",
        place,
        message,
        "Cut it, or say something else over it.",
        verdict="fail" if sure else "unclear",
        at_s=starts[0],
        until_s=float(words.end_s[found[0].last]),
        measured=float(len(found)),
        expected=0.0,
        unit="times",
        evidence=tuple(
            Evidence(at, words.phrase(hit.first, hit.last))
            for at, hit in list(zip(starts, found, strict=True))[:MOST_EVIDENCE]
        ),
    )


def required_phrases(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every phrase that the house must hear, once a class or once in each block of a kind."""
    settings = context.rules.checks["phrase-required"]
    if not len(context.transcript.words):
        return ()
    out = [_absent(context, phrase, None) for phrase in settings.phrases]
    for span in block_spans(context):
        kind = context.plan.blocks[span.block].kind
        out += [_absent(context, phrase, span) for phrase in settings.phrases_by_kind.get(kind, ())]
    out += _talk(context, settings.phrases_by_kind.get("talk", ()))
    return tuple(finding for finding in out if finding is not None)


def _talk(context: CheckContext, phrases: tuple[str, ...]) -> list[Finding | None]:
    """Return what is missing from the talk blocks: these are not placed, so once outside of all work will do."""
    if not any(block.kind == "talk" for block in context.plan.blocks):
        return []
    rows = worked_intervals(context)
    words = context.transcript.words
    out: list[Finding | None] = []
    for phrase in phrases:
        found = find_phrase(_stream(context), phrase, loose=True)
        if not any(
            at_time(rows, float(words.start_s[hit.first]) - 2 * float(words.u_s[hit.first])) is None
            or at_time(rows, float(words.start_s[hit.first]) + 2 * float(words.u_s[hit.first])) is None
            for hit in found
        ):
            out.append(_required(context, phrase, None, [h for h in found if h.how == "sounds"], "in the talk"))
    return out


def _absent(context: CheckContext, phrase: str, span: BlockSpan | None) -> Finding | None:
    found = [hit for hit in find_phrase(_stream(context), phrase, loose=True) if _inside(context, hit, span, 2.0)]
    if any(hit.how != "sounds" and _inside(context, hit, span, 0.0) for hit in found):
        return None
    return _required(context, phrase, span, found, "" if span is None else "in this block")


def _inside(context: CheckContext, hit: Found, span: BlockSpan | None, times_u: float) -> bool:
    words = context.transcript.words
    at, slack = float(words.start_s[hit.first]), times_u * float(words.u_s[hit.first])
    return span is None or span.opens_s - slack <= at <= span.closes_s + slack


def _required(context: CheckContext, phrase: str, span: BlockSpan | None, perhaps: list[Found], where: str) -> Finding:
    words = context.transcript.words
    place = Place() if span is None else Place(context.plan.blocks[span.block].name)
    tail = ""
    if perhaps:
        heard = words.phrase(perhaps[0].first, perhaps[0].last)
        tail = f" \u201c{heard}\u201d at {clock(float(words.start_s[perhaps[0].first]))} may be it; listen there."
    elif mishears(context):
        tail = LOST
    elif span is not None and any(member.unsure for member in span.members):
        tail = " It is open where this block was worked; a listen would settle it."
    return build(
        context,
        "phrase-required",
        place,
        f"{place}: \u201c{phrase}\u201d must be said{f' {where}' if where else ''} and was not heard.{tail}",
        "Say it by voice-over or show it as a caption.",
        verdict="unclear" if tail else "fail",
        at_s=0.0 if span is None else span.start_s,
        until_s=context.transcript.duration_s if span is None else span.end_s,
        measured=0.0,
        expected=1.0,
        unit="times",
        evidence=tuple(
            Evidence(float(words.start_s[hit.first]), words.phrase(hit.first, hit.last)) for hit in perhaps[:3]
        ),
        say=(phrase,),
    )


PHRASE_BANNED = Check(
    id="phrase-banned",
    title="A phrase that the house does not use is said",
    means="Viewers hear words that the studio has decided against, for their tone, their claims or their law.",
    measured="Whole words, in any inflection or misspelt; what only sounds like the phrase is unclear.",
    fix="Cut it, or say something else over it.",
    severity="low",
    mend="edit",
    function=banned_phrases,
    phrases="none of these may be said",
)
PHRASE_REQUIRED = Check(
    id="phrase-required",
    title="A phrase that the house requires is not said",
    means="Viewers miss what every class of the studio says, such as when to stop.",
    measured="The phrase in any inflection, small words aside; once a class, or once in each block of a kind.",
    fix="Say it by voice-over or show it as a caption.",
    severity="low",
    mend="record",
    function=required_phrases,
    varies=("kind",),
    phrases="each must be said once in the class",
)
