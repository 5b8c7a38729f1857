"""Sides: which side was named as the working one.

Every sentence that names sides is read as a whole: each named limb is scored by what is said about it (it works,
it supports, it is done), and the side is called when one of them clearly leads. Two opposite limbs without such a
word ("right hand, left shoulder") or sides named in turns ("left, right, left") call no side. A side taken back in the
same breath is kept and marked ``corrected``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from analyzer.language import Match, find, starting_in
from analyzer.model.events import SideCall
from analyzer.spotting.context import SpotContext

Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")
LEAD = 1.0
"""How far one side's score must lead the other's in one sentence (our judgement)."""
TURNS_S = 3.0
"""Opposite sides named this close, in separate sentences, are a rhythm and not a working side."""
AFTER = 4
"""Words after a named limb that may say what it does."""


@dataclass(frozen=True, slots=True)
class _Named:
    side: Side
    match: Match
    score: float
    explicit: bool
    """A phrase that itself says that the side works ("left side first", "start on the right")."""


def spot_sides(context: SpotContext) -> tuple[SideCall, ...]:
    """Return every working side named, by onset; linear in the words."""
    groups: dict[str, list[Match]] = {name: [] for name in context.language.phrases("sides").groups}
    for match in find(context.language.phrases("sides"), context.spoken):
        groups[match.group].append(match)
    named = _named(groups, context)
    sentences = [first for first, _ in context.spoken.sentences]
    by_sentence: dict[int, list[_Named]] = {}
    for name in named:
        by_sentence.setdefault(bisect_right(sentences, name.match.first), []).append(name)
    called: list[tuple[_Named, bool]] = []
    for names in by_sentence.values():
        called.extend(_judge(names, groups["taken back"]))
    return tuple(
        SideCall(*context.place(name.match.first, name.match.last), side=name.side, corrected=corrected)
        for name, corrected in _without_turns(_correct_across(called, groups["taken back"]), context)
    )


def _named(groups: dict[str, list[Match]], context: SpotContext) -> list[_Named]:
    """Every side named, at most one a place, with its score."""
    candidates: list[tuple[Side, bool, Match]] = []
    for kind, explicit in (("start", True), ("limb", False)):
        for side in SIDES:
            candidates.extend((side, explicit, match) for match in groups[f"{kind} {side}"])
    candidates.sort(key=lambda c: (c[2].start, not c[1]))
    named: list[_Named] = []
    for place, (side, explicit, match) in enumerate(candidates):
        if named and match.start < named[-1].match.end and side == named[-1].side:
            continue
        if not explicit and _not_a_side(match, groups[f"word {side}"], groups["not a side"], context):
            continue
        if explicit and _overlapping(match, groups["not a side"]) and not match.first < match.last:
            continue
        following = candidates[place + 1 :]
        limit = next((m.first for s, _, m in following[:4] if s != side), match.last + AFTER + 1)
        named.append(_Named(side, match, _score(match, limit, explicit, groups, context), explicit))
    return named


def _not_a_side(match: Match, words: Sequence[Match], others: Sequence[Match], context: SpotContext) -> bool:
    """A printed comma after the side word ("right, knees up") or a phrase that overlaps the word itself."""
    inside = (found.start for found in _near(match, words) if match.start <= found.start < match.end)
    at = next(inside, match.start)  # the start for a word that only sounds like the side
    word = int(context.spoken.word_at[at])
    if word != match.last and context.words.text[word][-1:] in ",;:.":
        return True
    return any(other.start <= at < other.end for other in _near(match, others))


def _overlapping(match: Match, others: Sequence[Match]) -> bool:
    return any(other.start < match.end and other.end > match.start for other in _near(match, others))


def _near(match: Match, others: Sequence[Match], words: int = 8) -> Sequence[Match]:
    """Those of ``others`` (by first word) that start within some words of the match."""
    return starting_in(others, match.first - words, match.last + words)


def _score(match: Match, limit: int, explicit: bool, groups: dict[str, list[Match]], context: SpotContext) -> float:
    """Positive when the named limb works, negative when it supports, waits or is done."""
    end = min(limit, match.last + AFTER + 1)
    text = context.spoken.text
    until = text.find("|", match.end)
    works = any(m.first < end and match.end <= m.start < until for m in _near(match, groups["works"]))
    supports = any(m.first < end and match.end <= m.start < until for m in _near(match, groups["supports"]))
    done = any(m.first < end and match.end <= m.start < until for m in _near(match, groups["done"]))
    score = 2.0 if explicit else 1.0
    if done:
        return score - 3.0
    if supports:
        hand = _overlapping(match, groups["hand"])
        return score - (3.0 if hand else 1.0)
    return score + (2.0 if works else 0.0)


def _judge(names: list[_Named], backs: Sequence[Match]) -> list[tuple[_Named, bool]]:
    """Working sides of one sentence, each with whether it is taken back."""
    corrected: list[tuple[_Named, bool]] = []
    rest = names
    for old, new in pairwise(names):
        taken = old.side != new.side and any(
            old.match.last < b.first <= new.match.first for b in _near(old.match, backs)
        )
        if taken and new.match.first - old.match.last <= 6:
            corrected.append((old, True))
            rest = [name for name in rest if name is not old]
    best: dict[str, _Named] = {}
    for place, name in enumerate(rest):
        scored = _Named(name.side, name.match, name.score + (0.5 if place == 0 else 0.0), name.explicit)
        if name.side not in best or scored.score > best[name.side].score:
            best[name.side] = scored
    order = sorted(best.values(), key=lambda n: -n.score)
    if not order or order[0].score < (0.5 if len(order) == 1 else 1.0):
        return corrected
    if len(order) == 2 and order[0].score - max(0.0, order[1].score) < LEAD:
        return corrected
    return [*corrected, (order[0], False)]


def _correct_across(called: list[tuple[_Named, bool]], backs: Sequence[Match]) -> list[tuple[_Named, bool]]:
    """Mark a side that is taken back in the next sentence ("Left leg. Sorry, right leg.")."""
    called = sorted(called, key=lambda c: c[0].match.first)
    result = list(called)
    for place, ((old, taken), (new, _)) in enumerate(pairwise(called)):
        if taken or old.side == new.side or new.match.first - old.match.last > 6:
            continue
        if any(old.match.last < back.first <= new.match.first for back in _near(old.match, backs)):
            result[place] = (old, True)
    return result


def _without_turns(called: list[tuple[_Named, bool]], context: SpotContext) -> list[tuple[_Named, bool]]:
    """Drop sides that alternate faster than anybody changes sides."""
    start_s = context.words.start_s
    beats: set[int] = set()
    for place, ((old, taken), (new, _)) in enumerate(pairwise(called)):
        near = float(start_s[new.match.first] - start_s[old.match.last]) < TURNS_S
        if near and not taken and old.side != new.side and max(old.score, new.score) < 3.0:
            beats.update((place, place + 1))
    return [call for place, call in enumerate(called) if place not in beats]
