"""Signals: words that mark a change of what is being done.

The phrase file names each group ``KIND STRENGTH``, of rounds also ``KIND STRENGTH NUMBER``, ``done NUMBER`` for one
that is over, or ``last``; a group ``not KIND`` takes back whatever overlaps it. Where several groups of one kind fit
the same words the strongest wins. What names a block of the plan ("circuit two") tells no round.
"""

from __future__ import annotations

from typing import Literal, get_args

from analyzer.language import Match, find
from analyzer.model.events import Signal
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import split_words

Kind = Literal["start", "stop", "switch", "demo", "round", "relief", "water", "effort", "closing", "goodbye"]
KINDS: tuple[Kind, ...] = get_args(Kind)
ALONE_BONUS = 0.15
"""A signal that is a whole clause weighs this much more, up to 1."""


def spot_signals(context: SpotContext) -> tuple[Signal, ...]:
    """Return every signal, by onset; linear in the words."""
    taken_back: dict[str, list[Match]] = {kind: [] for kind in KINDS}
    found: dict[str, list[tuple[float, Match]]] = {kind: [] for kind in KINDS}
    for match in find(context.language.phrases("signals"), context.spoken):
        head, _, tail = match.group.partition(" ")
        if head == "not":
            taken_back[tail].append(match)
        else:
            found[head].append((float(tail.partition(" ")[0]), match))
    blocks = _numbered_blocks(context)
    signals = [
        _signal(context, kind, strength, match)
        for kind in KINDS
        for strength, match in _strongest(found[kind], taken_back[kind])
        if kind != "round" or not _names_block(context, match, blocks)
    ]
    return tuple(sorted(signals, key=lambda signal: (signal.at_s, signal.first)))


def _strongest(found: list[tuple[float, Match]], taken_back: list[Match]) -> list[tuple[float, Match]]:
    """Drop what is taken back, then of overlapping places keep the strongest (the first of equals)."""
    kept: list[tuple[float, Match]] = []
    at = 0
    for strength, match in found:
        while at < len(taken_back) and taken_back[at].end <= match.start:
            at += 1
        if any(back.start < match.end and back.end > match.start for back in taken_back[at : at + 3]):
            continue
        if kept and match.start < kept[-1][1].end:
            if strength > kept[-1][0]:
                kept[-1] = (strength, match)
        else:
            kept.append((strength, match))
    return kept


def _numbered_blocks(context: SpotContext) -> list[list[str]]:
    """Return the names of the plan's blocks that end in a number, as words, numbers as digits."""
    values = context.language.numbers.values
    names = [split_words(block.name) for block in context.plan.blocks]
    plain = [[str(values.get(word, word)) for word in name] for name in names]
    return [name for name in plain if len(name) > 1 and name[-1].isdigit()]


def _names_block(context: SpotContext, match: Match, blocks: list[list[str]]) -> bool:
    values = context.language.numbers.values
    said = [str(values.get(norm, norm)) for norm in context.words.norm[match.first : match.last + 1]]
    return any(name == said[at : at + len(name)] for name in blocks for at in range(len(said) - len(name) + 1))


def _signal(context: SpotContext, kind: Kind, strength: float, match: Match) -> Signal:
    opens = match.first == 0 or context.breaks_after(match.first - 1)
    bonus = ALONE_BONUS if opens and context.breaks_after(match.last) else 0.0
    which = match.group.split()[2:]
    said = int(which[-1]) if which and which[-1].isdigit() else match.number
    number = int(said) if kind == "round" and said is not None else None
    return Signal(
        *context.place(match.first, match.last),
        kind=kind,
        strength=min(1.0, strength + bonus),
        number=number if number is not None and 0 < number < 100 else None,
        done="done" in which,
        final="last" in which,
    )
