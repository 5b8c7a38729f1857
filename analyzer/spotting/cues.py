"""Coaching cues: breathing, water and safety by phrase; the plan's own must-say cues in paraphrase.

A must-say cue is reduced to its content words, each standing for all that mean or sound much the same. It was said
where enough of them stand close together, within two neighbouring sentences, in any order. Fewer may still be
the cue, misheard or in other words: then it is given with a score below ``ENOUGH``, in which a word that the coach
says all the time weighs little, so that "down" alone is no hint of "ribs down".
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Mapping
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
PERHAPS = 0.35
"""Least weighted share of the content words from which a cue may have been said. Our judgement."""
ALIKE, MISHEARD_WORTH, SAME_WORTH = 0.82, 0.85, 0.9
"""Least likeness by sound of a misheard word; what it is worth, and a word of the same meaning, beside the right
one."""
BESIDE_ALIKE, BESIDE_WORTH, BESIDE_WORDS = 0.6, 0.7, 3
"""The same for an odd word that stands this near to other words of the cue: there less likeness will do."""
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
    heard = _Heard.of(concepts, _roots(wanted), context, data)
    sentence = np.cumsum(context.words.opens, dtype=np.int64).tolist()
    for parts, asked in wanted.items():
        for first, last, score in _windows(heard, parts, sentence):
            for move, text in asked:
                first, last, at_s, end_s, u_s, said = context.place(first, last)
                yield CueSaid(first, last, at_s, end_s, u_s, said, "must-say", move, text, round(score, 4))


def _roots(wanted: Mapping[tuple[str, ...], list[tuple[MoveRef, str]]]) -> set[str]:
    return {stem(word) for asked in wanted.values() for _, text in asked for word in split_words(text)}


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


@dataclass(frozen=True, slots=True)
class _Heard:
    """Where each concept was said, as (word index, worth): 1 for a word of the plan, less for another; the sound of
    every odd word; the forms, by sound, in which the plan's own words may be said, by concept."""

    places: Mapping[str, list[tuple[int, float]]]
    odd: Mapping[int, str]
    forms: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, concepts: set[str], roots: set[str], context: SpotContext, data: CueWords) -> _Heard:
        where: dict[str, list[int]] = {}
        for index, norm in enumerate(context.words.norm):
            for part in norm.split("-") if "-" in norm else (norm,):
                where.setdefault(part, []).append(index)
        forms: dict[str, list[str]] = {concept: [] for concept in concepts}
        for root in sorted(roots):
            if (concept := data.concept(root)) in forms:
                forms[concept] += [sound_code(root), sound_code(f"{root}s")]
        spoken_as = {code: concept for concept, codes in forms.items() for code in codes if code}
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
            elif word.isalpha() and (alike := spoken_as.get(sound_code(word))) is not None:
                heard.setdefault(alike, []).extend((at, MISHEARD_WORTH) for at in places)
        for word, concept in _sounds_like(odd, sorted(concepts)):
            heard.setdefault(concept, []).extend((at, MISHEARD_WORTH) for at in where[word])
        sounds = {at: sound_code(word) for word in odd for at in where[word]}
        return cls(heard, sounds, {concept: tuple(codes) for concept, codes in forms.items()})

    def weight(self, concept: str) -> float:
        """Return how much a concept tells: 1 when it is never said, less the more often it is."""
        return 1.0 / math.log2(2 + len(self.places.get(concept, ())))

    def beside(self, concept: str, first: int, last: int) -> float:
        """Return what an odd word between or near the words ``first`` to ``last`` is worth as this concept."""
        for at in range(first - BESIDE_WORDS, last + BESIDE_WORDS + 1):
            code = self.odd.get(at)
            if code and any(
                form and Levenshtein.normalized_similarity(code, form) >= BESIDE_ALIKE for form in self.forms[concept]
            ):
                return BESIDE_WORTH
        return 0.0


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


def _windows(heard: _Heard, parts: tuple[str, ...], sentence: list[int]) -> list[tuple[int, int, float]]:
    """Return the runs of words (first, last, score) that may hold a cue, the best of those that overlap."""
    places = sorted((at, part, worth) for part in parts for at, worth in heard.places.get(part, ()))
    found = []
    for start, (first, _, _) in enumerate(places):
        best: dict[str, float] = {}
        last = first
        for at, part, worth in places[start:]:
            if at - first >= SPAN_WORDS or sentence[at] - sentence[first] > 1:
                break
            if worth > best.get(part, 0.0):
                best[part] = worth
                last = at
        score = _score(heard, parts, best, first, last) * (APART_WORTH if sentence[last] != sentence[first] else 1.0)
        if score >= PERHAPS:
            found.append((first, last, min(1.0, score)))
    taken: set[int] = set()
    kept = []
    for first, last, score in sorted(found, key=lambda window: (-window[2], window[0])):
        if taken.isdisjoint(range(first, last + 1)):
            taken.update(range(first, last + 1))
            kept.append((first, last, score))
    return sorted(kept)


def _score(heard: _Heard, parts: tuple[str, ...], best: Mapping[str, float], first: int, last: int) -> float:
    """Return the share of a cue that a run of words holds: plain when it is enough, else weighted and below that."""
    total = sum(best.values())
    for part in parts:
        if part not in best and len(parts) > 1 and total / len(parts) < ENOUGH:
            total += heard.beside(part, first, last)
    if total / len(parts) >= ENOUGH:
        return total / len(parts)
    weights = {part: heard.weight(part) for part in parts}
    share = sum(weights[part] * worth for part, worth in best.items()) / sum(weights.values())
    return min(share, ENOUGH - 0.01)
