"""Coaching cues: breathing, water and safety by phrase; the plan's own must-say cues in paraphrase.

A must-say cue is reduced to its content words, each standing for all that mean or sound much the same. It was said
where enough of them stand close together, within two neighbouring sentences, in any order.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
import yaml
from rapidfuzz.distance import Levenshtein
from rapidfuzz.process import cdist

from analyzer.language import load_language
from analyzer.language.patterns import PhraseSet, compile_phrases, find
from analyzer.language.sound import sound_code
from analyzer.model.events import CueSaid, MoveRef
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import name_words, split_words, stem, usual

Kind = Literal["breath", "safety", "water"]
KINDS: tuple[Kind, ...] = ("breath", "safety", "water")
SPAN_WORDS = 14
"""A cue's words stand within this many words of each other."""
ENOUGH = 0.7
"""Least share of a cue's content words: all of two or three, three of four. Our judgement."""
ALIKE, MISHEARD_WORTH, SAME_WORTH = 0.82, 0.85, 0.9
"""Least likeness by sound of a misheard word; what it is worth, and a word of the same meaning, beside the right
one."""
APART_WORTH = 0.9
"""What a cue is worth that is spread over two sentences."""


@dataclass(frozen=True)
class CueWords:
    """A language's cue phrases, what stands for what (by stem), and the words a cue is compared without."""

    phrases: PhraseSet
    same: Mapping[str, str]
    small: frozenset[str]

    def concept(self, word: str) -> str:
        """Return what a word stands for."""
        root = stem(word)
        return self.same.get(word, self.same.get(root, root))


@cache
def cue_words(code: str) -> CueWords:
    """Read ``cues.yaml`` of a language; once a process."""
    language = load_language(code)
    data = yaml.load((language.folder / "cues.yaml").read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    same = {form: row[0] for row in data["same"] for word in row for form in (word, stem(word))}
    return CueWords(compile_phrases(data["phrases"], language.numbers), same, frozenset(data["small"]))


def spot_cues(context: SpotContext) -> tuple[CueSaid, ...]:
    """Return every cue that was said, by time; must-say cues only with a plan. Linear in the words."""
    if not len(context.words):
        return ()
    data = cue_words(context.language.code)
    found = [*_by_phrase(context, data), *_must_say(context, data)]
    return tuple(sorted(found, key=lambda cue: (cue.at_s, cue.first, cue.kind, cue.cue)))


def _by_phrase(context: SpotContext, data: CueWords) -> Iterator[CueSaid]:
    """One cue a sentence and kind, from its first phrase, unless a phrase shows that something else is meant."""
    starts = [first for first, _ in context.spoken.sentences]
    seen: dict[tuple[str, int], tuple[int, int]] = {}
    against: set[tuple[str, int]] = set()
    for match in find(data.phrases, context.spoken):
        sentence = bisect_left(starts, match.first + 1) - 1
        if match.group.startswith("not-"):
            against.add((match.group.removeprefix("not-"), sentence))
        else:
            seen.setdefault((match.group, sentence), (match.first, match.last))
    for (kind, sentence), (first, last) in seen.items():
        if (kind, sentence) not in against:
            yield _cue(kind, first, last, context)  # type: ignore[arg-type]


def _cue(kind: Kind, first: int, last: int, context: SpotContext) -> CueSaid:
    first, last, at_s, end_s, u_s, text = context.place(first, last)
    return CueSaid(first=first, last=last, at_s=at_s, end_s=end_s, u_s=u_s, text=text, kind=kind)


# --- the plan's own cues -------------------------------------------------------------------------------------------


def _must_say(context: SpotContext, data: CueWords) -> Iterator[CueSaid]:
    wanted = _wanted(context.plan, data)
    if not wanted:
        return
    concepts = {concept for parts in wanted for concept in parts}
    roots = {stem(word) for asked in wanted.values() for _, text in asked for word in split_words(text)}
    heard = _heard(concepts, roots, context, data)
    sentence = np.cumsum(context.words.opens, dtype=np.int64)
    for parts, asked in wanted.items():
        places = sorted((at, part, worth) for part in parts for at, worth in heard.get(part, ()))
        for first, last, score in _windows(places, parts, sentence.tolist()):
            for move, text in asked:
                first, last, at_s, end_s, u_s, said = context.place(first, last)
                yield CueSaid(first, last, at_s, end_s, u_s, said, "must-say", move, text, round(score, 4))


def _wanted(plan: Plan, data: CueWords) -> dict[tuple[str, ...], list[tuple[MoveRef, str]]]:
    """Return the plan's cues by what they come down to, each with the moves that ask for it."""
    wanted: dict[tuple[str, ...], list[tuple[MoveRef, str]]] = {}
    for block_index, block in enumerate(plan.blocks):
        for move_index, move in enumerate(block.moves):
            for text in move.cues:
                words = [word for word in split_words(text) if word not in data.small] or split_words(text)
                parts = tuple(dict.fromkeys(data.concept(word) for word in words))
                if parts:
                    wanted.setdefault(parts, []).append(((block_index, move_index), text))
    return wanted


def _heard(
    concepts: set[str], roots: set[str], context: SpotContext, data: CueWords
) -> dict[str, list[tuple[int, float]]]:
    """Return where each concept was said and what that is worth: 1 for a word of the plan, less for another."""
    where: dict[str, list[int]] = {}
    for index, norm in enumerate(context.words.norm):
        for part in norm.split("-") if "-" in norm else (norm,):
            where.setdefault(part, []).append(index)
    heard: dict[str, list[tuple[int, float]]] = {}
    odd: list[str] = []
    usual_words = name_words(context.language.code)
    for word, places in where.items():
        concept = data.concept(word)
        if concept in concepts:
            worth = 1.0 if stem(word) in roots else SAME_WORTH
            heard.setdefault(concept, []).extend((at, worth) for at in places)
        elif word.isalpha() and not usual(word, usual_words):
            odd.append(word)
    for word, concept in _sounds_like(odd, sorted(concepts)):
        heard.setdefault(concept, []).extend((at, MISHEARD_WORTH) for at in where[word])
    return heard


def _sounds_like(odd: list[str], concepts: list[str]) -> Iterator[tuple[str, str]]:
    forms = [(form, concept) for concept in concepts for form in (concept, f"{concept}s")]
    if not odd or not forms:
        return
    grid = cdist(
        [sound_code(word) for word in odd],
        [sound_code(form) for form, _ in forms],
        scorer=Levenshtein.normalized_similarity,
        score_cutoff=ALIKE,
        dtype=np.float32,
    )
    for row, best in enumerate(grid.argmax(axis=1).tolist()):
        if grid[row, best] > 0:
            yield odd[row], forms[best][1]


def _windows(
    places: list[tuple[int, str, float]], parts: Iterable[str], sentence: list[int]
) -> Iterator[tuple[int, int, float]]:
    """Return the runs of words (first, last, score) that hold enough of a cue's parts; they don't overlap."""
    total = len(tuple(parts))
    free = 0
    for start, (first, _, _) in enumerate(places):
        if first < free:
            continue
        best: dict[str, float] = {}
        last = first
        for at, part, worth in places[start:]:
            if at - first >= SPAN_WORDS or sentence[at] - sentence[first] > 1:
                break
            if worth > best.get(part, 0.0):
                best[part] = worth
                last = at
        score = sum(best.values()) / total * (APART_WORTH if sentence[last] != sentence[first] else 1.0)
        if score >= ENOUGH:
            free = last + 1
            yield first, last, min(1.0, score)
