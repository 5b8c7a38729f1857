"""Which move a stretch of work is: every name heard in and around it, weighed against where else it was said.

What is said there in the manner of a name (:mod:`analyzer.alignment.phrases`) is weighed too, in the list or not. A
name that is said around many stretches tells little about any of them (inverse document frequency, K. Spärck Jones,
"A statistical interpretation of term specificity", Journal of Documentation 28, 1972).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.alignment.choosing import UNLISTED_FROM, choose_from, clue_weights
from analyzer.alignment.discover import Stretch
from analyzer.alignment.phrases import key_of, leans
from analyzer.model.events import Events, Mention, Promise, Signal
from analyzer.model.plan import Move
from analyzer.model.transcript import Floats
from analyzer.plans.rounds import Promised, Row
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import stem
from analyzer.spotting.vocabulary import unlisted_move, vocabulary


@dataclass(frozen=True, slots=True)
class NamingWeights:
    """Worth of a name by where it stands (common practice, no source)."""

    opening: float = 1.5
    """In the first seconds of work, or straight before it."""
    led: float = 1.0
    """In the gap before it, or announced towards the end of the work before."""
    inside: float = 0.5
    listed: float = 0.25
    """One of several in a list that explains what comes."""
    late: float = 0.3
    """In the last seconds of the work before, not announced."""
    past: float = 0.4
    """Right after it, or spoken of as over."""
    fades_s: float = 25.0
    """A name this long before a start is worth a third."""


LIST = 3
LATE_S = 12.0
OPENING_S, JUST_BEFORE_S, JUST_AFTER_S, ANNOUNCED_S = 9.0, 4.0, 4.0, 30.0
MOST = 2.5
"""What all mentions of one name around one stretch add up to at most."""
NATS = 2.0
"""Nats of a name said once at the opening, and said nowhere else in the class of e stretches."""
HEAD_SHARE = 0.9
"""Of a name that may stand for a longer one."""
CLEAR = 0.5
SAID_S = 3.0
"""A new round may be announced this long before the work before it ends, or after the next begins."""
LEAST_TOLD = 0.3
SURER, WORTH = 1.5, 1.5
"""Nats of a name in the description of a round, by what it is worth over none."""
WEIGHTS = NamingWeights()


def rows_of(
    found: Sequence[Stretch], events: Events, moves: Sequence[Move], context: SpotContext
) -> tuple[list[Row], tuple[Move, ...]]:
    """Return stretches of work as rows that a plan can be drawn from, with what was said of each, and the moves that
    ``Row.named`` counts through: ``moves`` and others that were told by how they were said."""
    named, every = _told(found, name_scores(found, events.mentions, moves), moves, context)
    within = _named_within(found, events.mentions)
    listed = _listed_before(found, events.mentions)
    odds = _work_odds(found, within, named)
    befores_s = [0.0, *(stretch.end_s for stretch in found)]
    rows = [
        Row(
            stretch.start_s,
            stretch.end_s,
            tuple(named[at].tolist()),
            odds[at],
            stretch.side,
            stretch.second,
            _turns(stretch, events.signals),
            listed[at],
            within[at],
            any(
                signal.kind == "round" and befores_s[at] - SAID_S <= signal.at_s < stretch.start_s + SAID_S
                for signal in events.signals
            ),
            _promised(events.promises, befores_s[at] - SAID_S, stretch.end_s),
        )
        for at, stretch in enumerate(found)
    ]
    return rows, every


def _told(
    found: Sequence[Stretch], heard: Floats, moves: Sequence[Move], context: SpotContext
) -> tuple[Floats, tuple[Move, ...]]:
    """Return the nats of every name (stretches, names), of ``moves`` and of phrases said like names, and these moves.

    ``heard`` the nats of ``moves`` before how they are said is weighed; a language without weights keeps to them.
    """
    code = context.language.code
    weights = clue_weights(code)
    if not len(found) or weights is None:
        return heard, tuple(moves)
    told, said = leans(context, found)
    names = [frozenset(key_of(text, code) for text in (move.name, *move.also)) for move in moves]
    listed = frozenset[str]().union(*names)
    others = sorted({key for row in told for key, lean in row.items() if lean > UNLISTED_FROM} - listed)
    every = choose_from(told, heard, [*names, *(frozenset({key}) for key in others)]).nats(weights)
    every = SURER * np.maximum(every + WORTH, 0.0)
    kept = np.flatnonzero((np.arange(every.shape[1]) < len(moves)) | (every.max(axis=0) > 0.0))
    known = vocabulary(code)
    return every[:, kept], (*moves, *(unlisted_move(said[others[at - len(moves)]], known) for at in kept[len(moves) :]))


def _promised(promises: Sequence[Promise], after_s: float, until_s: float) -> Promised:
    """Return the moves and rounds announced between two times, the last of each."""
    told: dict[str, int | None] = {"moves": None, "rounds": None}
    for promise in promises:
        if promise.kind in told and promise.scope == "block" and after_s <= promise.at_s < until_s and promise.value:
            told[promise.kind] = int(promise.value)
    return told["moves"], told["rounds"]


def _turns(stretch: Stretch, signals: Sequence[Signal]) -> bool:
    """Tell whether sides are changed about half-way through."""
    third_s = (stretch.end_s - stretch.start_s) / 3.0
    return any(
        signal.kind == "switch" and stretch.start_s + third_s < signal.at_s < stretch.end_s - third_s
        for signal in signals
    )


def name_scores(found: Sequence[Stretch], mentions: Sequence[Mention], moves: Sequence[Move]) -> Floats:
    """Return nats for each stretch (rows) being each move (columns), over a move nobody named; shape (n, moves)."""
    said = np.zeros((len(found), len(moves)))
    starts, ends = np.array([s.start_s for s in found]), np.array([s.end_s for s in found])
    listed = {mention.first for gap in _gaps(mentions, starts, ends).values() for mention in gap}
    for mention in mentions:
        for stretch, worth in _places(mention, starts, ends, mention.first in listed, WEIGHTS):
            for _, move in mention.moves:
                said[stretch, move] += worth * mention.score
    for move, head in _heads(moves):
        said[:, move] += HEAD_SHARE * said[:, head]
    said = MOST * (1.0 - np.exp(-said / MOST))
    spread = np.minimum(said, 1.0).sum(axis=0)
    telling = np.maximum(np.log((len(found) + 1.0) / (1.0 + spread)), LEAST_TOLD)
    scores: Floats = NATS * said * telling
    return scores


def _listed_before(found: Sequence[Stretch], mentions: Sequence[Mention]) -> list[tuple[int, ...]]:
    """Return, for each stretch, the moves listed in the gap before it in the order they were first named."""
    starts, ends = np.array([s.start_s for s in found]), np.array([s.end_s for s in found])
    gaps = _gaps(mentions, starts, ends)
    return [tuple(dict.fromkeys(mention.moves[0][1] for mention in gaps.get(at, ()))) for at in range(len(found))]


def _named_within(found: Sequence[Stretch], mentions: Sequence[Mention]) -> list[tuple[int, ...]]:
    """Return the moves named inside each stretch, previews left out: work names one or two, a demo more."""
    starts, ends = [s.start_s for s in found], [s.end_s for s in found]
    named: list[list[int]] = [[] for _ in found]
    for mention in mentions:
        at = int(np.searchsorted(starts, mention.at_s, side="right")) - 1
        if at >= 0 and mention.at_s < ends[at] and mention.context in ("plain", "demo") and mention.score >= CLEAR:
            named[at].append(mention.moves[0][1])
    return [tuple(dict.fromkeys(moves)) for moves in named]


def _work_odds(found: Sequence[Stretch], within: Sequence[tuple[int, ...]], named: Floats) -> list[float]:
    """Return the log odds that each stretch is work, nats.

    A logistic regression (scikit-learn) over stretches found in invented classes, 2026-11: from 60 classes, rounded.
    """
    return [
        0.55 * stretch.sure_nats
        + 0.5 * float(np.log(stretch.end_s - stretch.start_s))
        - 0.6 * max(0, len(moves) - 2)
        + 0.5 * (not moves)
        + 0.2 * float(nats.max(initial=0.0))
        + 0.9 * stretch.second
        - 3.5
        for stretch, moves, nats in zip(found, within, named, strict=True)
    ]


def _heads(moves: Sequence[Move]) -> list[tuple[int, int]]:
    """Return pairs of a move and one that its last words name ("reverse lunge", "lunge")."""
    names = [[stem(word) for word in move.name.split()] for move in moves]
    return [
        (move, head)
        for move, words in enumerate(names)
        for head, ending in enumerate(names)
        if len(ending) < len(words) and words[-len(ending) :] == ending
    ]


def _gaps(mentions: Sequence[Mention], starts: Floats, ends: Floats) -> dict[int, list[Mention]]:
    """Return stretch -> the names in the gap before it, where they are a list: several, not straight before work."""
    gaps: dict[int, list[Mention]] = {}
    for mention in mentions:
        after = int(np.searchsorted(starts, mention.at_s, side="right"))
        within = after > 0 and mention.at_s < ends[after - 1]
        if not within and after < len(starts) and starts[after] - mention.at_s > JUST_BEFORE_S:
            gaps.setdefault(after, []).append(mention)
    return {
        after: names
        for after, names in gaps.items()
        if len({move for mention in names for move in mention.moves}) >= LIST
    }


def _places(mention: Mention, starts: Floats, ends: Floats, listed: bool, w: NamingWeights) -> list[tuple[int, float]]:
    """Return the stretches a mention speaks of, with its worth for each."""
    after = int(np.searchsorted(starts, mention.at_s, side="right"))
    now = after - 1
    within = now >= 0 and mention.at_s < ends[now]
    ahead = float(starts[after] - mention.at_s) if after < len(starts) else np.inf
    if mention.context == "past":
        return [(now, w.past)] if now >= 0 else []
    fade = float(np.exp(-ahead / w.fades_s))
    if within and mention.context == "preview" and mention.at_s > starts[now] + JUST_BEFORE_S:
        return [(after, w.led)] if ahead < ANNOUNCED_S else []
    if within:
        late = mention.at_s > ends[now] - LATE_S and ahead < ANNOUNCED_S
        here = [(now, w.opening if mention.at_s < starts[now] + OPENING_S else w.inside)]
        return [*here, (after, w.late)] if late else here
    if ahead == np.inf:
        return [(now, w.past)] if now >= 0 and mention.at_s < ends[now] + JUST_AFTER_S else []
    if listed:
        return [(after, w.listed * fade)]
    if now >= 0 and mention.context == "plain" and mention.at_s < ends[now] + JUST_AFTER_S:
        return [(now, w.past), (after, w.led * fade)]
    return [(after, w.opening if ahead < JUST_BEFORE_S else w.led * fade)]
