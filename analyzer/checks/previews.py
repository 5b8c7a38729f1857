"""Preview-missing and preview-wrong: what was said of the next move before it started."""

from __future__ import annotations

from bisect import bisect_left
from itertools import pairwise

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import hears_clearly
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.names import BY_CHANCE, Stretch, chance_alike, is_named, unnamed_moves
from analyzer.checks.places import Worked, worked_intervals
from analyzer.model.audit import Evidence, Finding
from analyzer.model.events import Mention
from analyzer.spotting.names import split_words, stem

WHOLE = 0.95  # score of a mention from which the whole name was said, not its last word alone
AHEAD_S = 1.5  # common practice, no source: a name that comes later than this before the start announces nothing


def missing_previews(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every change to a move that nobody announced; none where names are often misheard.

    A move that is never named at all is the other check's, and so is one before which another move was announced.
    """
    if not hears_clearly(context):
        return ()
    told = {(f.block, f.move, f.round) for f in unnamed_moves(context)}
    out = []
    for before, after in _changes(context):
        if before.unsure or after.unsure:
            continue  # which move came next is open itself: then nobody can act on it
        stretch = _stretch(context, "preview-missing", before, after)
        if _announced(context, after, stretch) or _others(context, after, stretch):
            continue
        if (after.interval.block, after.interval.move, after.interval.round) not in told:
            out.append(_missing(context, before, after))
    return tuple(out)


def wrong_previews(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every change before which another move was announced and the coming one was not."""
    out = []
    for before, after in _changes(context):
        stretch = _stretch(context, "preview-wrong", before, after)
        others = _others(context, after, stretch)
        if others and not _announced(context, after, stretch):
            out.append(_wrong(context, before, after, others[-1]))
    return tuple(out)


def _changes(context: CheckContext) -> list[tuple[Worked, Worked]]:
    """Return the neighbours of which the second is another planned move than the first."""
    rows = worked_intervals(context)
    return [
        (a, b)
        for a, b in pairwise(rows)
        if b.plan is not None and (a.interval.block, a.interval.move) != (b.interval.block, b.interval.move)
    ]


def _stretch(context: CheckContext, check: str, before: Worked, after: Worked) -> Stretch:
    share = context.rules.value(check, "from_share")
    return Stretch((after,), before.start_s + share * before.length_s, after.start_s - AHEAD_S, after.start_u)


def _announced(context: CheckContext, after: Worked, stretch: Stretch) -> bool:
    assert after.plan is not None
    move = context.plan.blocks[after.plan.block].moves[after.plan.move]
    ref = (after.plan.block, after.plan.move)
    return is_named(context, ref, stretch) or chance_alike(context, move, stretch) < BY_CHANCE


def _others(context: CheckContext, after: Worked, stretch: Stretch) -> list[Mention]:
    """Return the previews of other moves by their whole names, letter by letter, that share no word with the next."""
    assert after.plan is not None
    mentions = context.events.mentions
    first, stop = (bisect_left(mentions, t, key=lambda m: m.at_s) for t in (stretch.opens_s, stretch.closes_s))
    move = context.plan.blocks[after.plan.block].moves[after.plan.move]
    own = {stem(word) for text in (move.name, *move.also) for word in split_words(text)}
    return [
        m
        for m in mentions[first:stop]
        if m.context == "preview"
        and m.exact
        and m.score >= WHOLE
        and own.isdisjoint(stem(word) for word in split_words(m.text))
    ]


def _missing(context: CheckContext, before: Worked, after: Worked) -> Finding:
    place = Place.of(after.interval)
    return build(
        context,
        "preview-missing",
        place,
        f"{place} comes unannounced after {before.interval.move}.",
        "Name it in the seconds before, by voice-over or caption.",
        at_s=after.start_s,
        say=(after.interval.move,),
    )


def _wrong(context: CheckContext, before: Worked, after: Worked, other: Mention) -> Finding:
    place = Place.of(after.interval)
    return build(
        context,
        "preview-wrong",
        place,
        f"{place} comes, but \u201c{other.text}\u201d was announced before it."
        + (
            " It is open which move was worked there; a listen would settle it."
            if before.unsure or after.unsure
            else ""
        ),
        "Cut the announcement, or put the right name over it.",
        verdict="unclear" if before.unsure or after.unsure else "fail",
        at_s=other.at_s,
        until_s=after.start_s,
        evidence=(Evidence(other.at_s, other.text),),
        say=(after.interval.move,),
    )


_FROM = Parameter("from_share", 0.3, "share", 0.0, 1.0, "share of the work before, from which a preview counts")

PREVIEW_MISSING = Check(
    id="preview-missing",
    title="The next move is not announced",
    means="Viewers are still getting into place when the work starts.",
    measured="Names of the next move, also misheard ones, late in the work before and in the rest.",
    fix="Name it by voice-over or caption before it starts.",
    severity="low",
    mend="record",
    function=missing_previews,
    parameters=(_FROM,),
)
PREVIEW_WRONG = Check(
    id="preview-wrong",
    title="Another move is announced than comes",
    means="Viewers get into place for the wrong move.",
    measured="Moves announced as next, letter by letter, with the one that comes not named before it starts.",
    fix="Cut the announcement, or show the right name.",
    severity="medium",
    mend="edit",
    function=wrong_previews,
    parameters=(_FROM,),
)
