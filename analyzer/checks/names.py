"""Name-missing: a move that is worked without its name."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.checks.context import CheckContext
from analyzer.checks.finding import Place, build
from analyzer.checks.hearing import hears_clearly
from analyzer.checks.hints import hint_words
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.places import BlockSpan, Worked, block_spans, worked_intervals
from analyzer.language import current_language
from analyzer.language.sound import sequence_code, sound_code
from analyzer.model.audit import Finding
from analyzer.model.events import MoveRef
from analyzer.model.plan import Move
from analyzer.model.transcript import Floats
from analyzer.spotting.names import name_words, split_words, stem, stems_of, usual

ALIKE = 0.6  # our judgement: words this much like a name, or an odd word like one of its words, may be it, misheard
SURELY_ALIKE = 0.75  # the same for words that are usual in a class
CLEARER = 0.12  # our judgement: so much more where the transcript hears names clearly
SHORTEST = 4  # letters of an odd word that can stand for a word of a name
SLACK_U, FARTHEST_S = 2.0, 60.0  # as for U = 2u; no slack is wider than this


@dataclass(frozen=True, slots=True)
class Stretch:
    """The time in which a move should be named, seconds: all of it, and where it surely has ended."""

    rows: tuple[Worked, ...]
    opens_s: float
    closes_s: float
    u: float


@lru_cache(maxsize=2)
def unnamed_moves(context: CheckContext) -> tuple[Finding, ...]:
    """Return a finding for every move that, when first worked, is not named from its preview to a share of its work.

    The preview may come as early as in the block's demo or in the interval before. Nicknames of the plan count as
    names, a name may be misheard or in other order, and where many are, the missing one may be lost: then unclear.
    """
    share = context.rules.value("name-missing", "limit_share")
    clear = hears_clearly(context.events)
    out = []
    for span in block_spans(context):
        moves = context.plan.blocks[span.block].moves
        for stretch in _stretches(context, span, share):
            plan = stretch.rows[0].plan
            if plan is None or is_named(context, (plan.block, plan.move), stretch):
                continue
            if not perhaps_named(context, moves[plan.move], stretch, clear):
                out.append(_finding(context, stretch, clear and not stretch.rows[0].unsure))
    return tuple(out)


def _stretches(context: CheckContext, span: BlockSpan, share: float) -> list[Stretch]:
    """Return the stretch of every move's first worked round."""
    groups: dict[int, list[Worked]] = {}
    for row in span.members:
        if row.plan is not None:
            own = groups.setdefault(row.plan.move, [])
            if not own or own[0].interval.round == row.interval.round:
                own.append(row)
    rows = worked_intervals(context)
    out = []
    for own in groups.values():
        before = bisect_left(rows, own[0].start_s, key=lambda r: r.start_s) - 1
        opens = min(rows[before].start_s if before >= 0 else 0.0, span.opens_s)
        out.append(Stretch(tuple(own), opens, own[0].start_s + share * own[0].length_s, own[0].start_u))
    return out


def is_named(context: CheckContext, ref: MoveRef, stretch: Stretch) -> bool:
    """Return True when a name of the move, as the spotter of names has it, falls into the stretch."""
    mentions = context.events.mentions
    edges = (stretch.opens_s - FARTHEST_S, stretch.closes_s + FARTHEST_S)
    first, stop = (bisect_left(mentions, t, key=lambda m: m.at_s) for t in edges)
    for mention in mentions[first:stop]:
        slack = SLACK_U * (mention.u_s + stretch.u)
        if ref in mention.moves and stretch.opens_s - slack <= mention.at_s <= stretch.closes_s + slack:
            return True
    return False


def perhaps_named(
    context: CheckContext, move: Move, stretch: Stretch, clear: bool = False, code: str | None = None
) -> bool:
    """Return True when something in the stretch sounds like a name of the move or holds all of its words; where
    names are heard ``clear``, it has to sound a good deal more like it."""
    code = code or current_language()
    words = context.transcript.words
    first, stop = (int(n) for n in np.searchsorted(words.start_s, [stretch.opens_s, stretch.closes_s]))
    heard = [norm for norm in words.norm[first:stop] if norm]
    names = [split_words(text) for text in (move.name, *move.also)]
    return _sounds_like(heard, names, code, CLEARER if clear else 0.0) or _all_words(context, first, stop, names)


def _sounds_like(heard: list[str], names: list[list[str]], code: str, more: float) -> bool:
    wholes = [sequence_code(tuple(name)) for name in names]
    parts = [sound_code(word) for name in names for word in name if len(word) >= SHORTEST]
    data = name_words(code)
    odd = [not usual(word, data) for word in heard]
    codes = [sound_code(word) for word in heard]
    runs: list[str] = []
    least: list[float] = []
    for size in (1, 2, 3):
        runs += map("".join, zip(*(codes[at:] for at in range(size)), strict=False))
        least += [ALIKE if any(some) else SURELY_ALIKE for some in zip(*(odd[at:] for at in range(size)), strict=False)]
    if (_alike(runs, wholes) >= more + np.array(least)[:, None]).any():
        return True
    long_odd = [codes[at] for at, word in enumerate(heard) if odd[at] and len(word) >= SHORTEST]
    return bool((_alike(long_odd, parts) >= ALIKE + more).any())


def _alike(heard: list[str], wanted: list[str]) -> Floats:
    """Return how much alike sounds are, 0 to 1, shape (heard, wanted)."""
    if not heard or not wanted:
        return np.zeros((len(heard), len(wanted)))
    return cdist(heard, wanted, scorer=Levenshtein.normalized_similarity, dtype=np.float64)


def _all_words(context: CheckContext, first: int, stop: int, names: list[list[str]]) -> bool:
    words, small = context.transcript.words, hint_words("small")
    wanted = [{stem(word) for word in name if word not in small} for name in names]
    said: set[str] = set()
    for norm, opens in zip(words.norm[first:stop], words.opens[first:stop].tolist(), strict=True):
        if opens:
            said = set()
        said.update(stems_of(norm))
        if any(stems and stems <= said for stems in wanted):
            return True
    return False


def _finding(context: CheckContext, stretch: Stretch, sure: bool) -> Finding:
    row = stretch.rows[0]
    place = Place.of(row.interval)
    tail = "" if sure else " The transcript mishears many names, so it may be lost in it; a listen would settle it."
    return build(
        context,
        "name-missing",
        Place(place.block, place.round, place.move),
        f"{row.interval.move} ({row.interval.block}) is not named before it starts or early in it.{tail}",
        "Name it by voice-over or show its name as a caption.",
        verdict="fail" if sure else "unclear",
        at_s=row.start_s,
        until_s=stretch.closes_s,
        say=(row.interval.move,),
    )


NAME_MISSING = Check(
    id="name-missing",
    title="A move is never named",
    means="Viewers who do not see the screen do not know what to do; nobody can look the move up.",
    measured="Names and nicknames of the plan, also misheard ones, from the block's demo to a part of the first work.",
    fix="Name it by voice-over or caption, or add the nickname that was used to the plan.",
    severity="medium",
    mend="record",
    function=unnamed_moves,
    parameters=(Parameter("limit_share", 1 / 3, "share", 0.0, 1.0, "share of the work by which the name must come"),),
)
