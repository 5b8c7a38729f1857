"""Finds a house's phrases in what was said: as they stand, inflected, misspelt, or heard as what sounds alike.

A phrase and the words are compared by stems, so that "skinny legs" is found in "a skinny leg" and "burn" not in
"Burnley" or "sunburn". Words between that carry no meaning ("listen to *all of* your body") may stand in a must-say,
where the sense counts; in a banned phrase they may not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from rapidfuzz.distance import Levenshtein

from analyzer.checks.hearing import SOUND_PHONES
from analyzer.checks.hints import hint_words
from analyzer.language import current_language
from analyzer.language.sound import CODE_LENGTH, sequence_code, sound_code
from analyzer.model.transcript import Words
from analyzer.spotting.names import name_words, split_words, stem, usual

How = Literal["said", "misspelt", "sounds"]
MISSPELT_LETTERS = 5  # our judgement: shorter words have real words one letter away
SPELT_ALIKE = 0.8  # our judgement: one wrong letter in five, two in ten
SAME_SOUND = 0.9  # our judgement: an odd word spelt alike that also sounds alike is the word misspelt
LIKE_SOUND = 0.74  # our judgement: with one like this it may be
SOUNDS_ALIKE = 0.85  # our judgement: so much alike must a run of words sound
BETWEEN = 2  # words without meaning that may stand between two words of a must-say


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase heard: word indexes, both included, and how: ``sounds`` is a guess, the others are not."""

    first: int
    last: int
    how: How


@dataclass(frozen=True, slots=True)
class Stream:
    """The words of a recording, parted at hyphens: each with its stem and the index it comes from."""

    word: tuple[str, ...]
    stem: tuple[str, ...]
    index: tuple[int, ...]
    opens: tuple[bool, ...]


def stream_of(words: Words) -> Stream:
    """Return the recording's words, in order, without those that hold no letter or digit."""
    opens = np.asarray(words.opens).tolist()
    rows: list[tuple[str, str, int, bool]] = []
    pending = False
    for at, norm in enumerate(words.norm):
        pending = pending or opens[at]
        for part in split_words(norm):
            rows.append((part, stem(part), at, pending))
            pending = False
    columns = tuple(zip(*rows, strict=True)) or ((), (), (), ())
    return Stream(*columns)


def find_phrase(stream: Stream, phrase: str, loose: bool = False, code: str | None = None) -> tuple[Found, ...]:
    """Return every place where a phrase is heard, in order, none overlapping; what is certain comes before guesses.

    ``loose`` lets words without meaning stand between the phrase's own, and leaves the phrase's own out.
    """
    code = code or current_language()
    wanted = split_words(phrase)
    small = hint_words("small", code)
    if loose:
        wanted = [word for word in wanted if word not in small] or wanted
    if not wanted:
        return ()
    found = list(_spelt(stream, tuple(wanted), small if loose else frozenset(), code))
    taken = {at for hit in found for at in range(hit.first, hit.last + 1)}
    for hit in _sounding(stream, tuple(split_words(phrase)), code):
        if taken.isdisjoint(range(hit.first, hit.last + 1)):
            taken.update(range(hit.first, hit.last + 1))
            found.append(hit)
    return tuple(sorted(found, key=lambda hit: hit.first))


def _spelt(stream: Stream, wanted: tuple[str, ...], between: frozenset[str], code: str) -> Iterator[Found]:
    stems = [stem(word) for word in wanted]
    free = 0
    for start in range(len(stream.word)):
        if start < free:
            continue
        at: int = start
        how: How = "said"
        for n, word in enumerate(wanted):
            if n:
                at = _next(stream, at + 1, between)
            if at >= len(stream.word) or (n and stream.opens[at]):
                break
            if stream.stem[at] != stems[n]:
                slip = misspelt(stream.word[at], word, code)
                if slip is None:
                    break
                how = "sounds" if "sounds" in (how, slip) else slip
        else:
            free = at + 1
            yield Found(stream.index[start], stream.index[at], how)


def _next(stream: Stream, at: int, between: frozenset[str]) -> int:
    for skipped in range(BETWEEN):
        if at + skipped >= len(stream.word) or stream.word[at + skipped] not in between:
            return at + skipped
    return at + BETWEEN


@cache
def misspelt(word: str, wanted: str, code: str | None = None) -> How | None:
    """Return how an odd word may stand for another one: spelt nearly so and said just so, it is that word misspelt;
    said a little otherwise, it may be ("sounds"); else None.

    >>> misspelt("celulite", "cellulite"), misspelt("garanteed", "guaranteed"), misspelt("breath", "breadth")
    ('misspelt', 'sounds', None)
    """
    code = code or current_language()
    if min(len(word), len(wanted)) < MISSPELT_LETTERS or usual(word, name_words(code)):
        return None
    if Levenshtein.normalized_similarity(word, wanted) < SPELT_ALIKE:
        return None
    alike = Levenshtein.normalized_similarity(sound_code(word, code), sound_code(wanted, code))
    return "misspelt" if alike >= SAME_SOUND else "sounds" if alike >= LIKE_SOUND else None


def _sounding(stream: Stream, wanted: tuple[str, ...], code: str) -> Iterator[Found]:
    """Give the runs of words, one more or fewer than the phrase, that sound like all of it; best first."""
    target = sequence_code(wanted, code)
    if len(target) < SOUND_PHONES * CODE_LENGTH:
        return
    codes = [sound_code(word, code) for word in stream.word]
    hits: list[tuple[float, int, int]] = []
    for size in range(max(1, len(wanted) - 1), len(wanted) + 2):
        for start in range(len(codes) - size + 1):
            if any(stream.opens[start + 1 : start + size]):
                continue
            run = "".join(codes[start : start + size])
            score = Levenshtein.normalized_similarity(run, target, score_cutoff=SOUNDS_ALIKE)
            if score >= SOUNDS_ALIKE and _may_be_misheard(stream.word[start : start + size], wanted):
                hits.append((-score, start, start + size - 1))
    for _, start, stop in sorted(hits):
        yield Found(stream.index[start], stream.index[stop], "sounds")


def _may_be_misheard(said: tuple[str, ...], wanted: tuple[str, ...]) -> bool:
    """Return False where nothing but a small word differs and little else is said: "in your core" is no mishearing
    of "on your core", while "burn of that cake" is one."""
    if len(said) != len(wanted):
        return True
    long = [(a, b) for a, b in zip(said, wanted, strict=True) if max(len(a), len(b)) > 3]
    return len(long) > 2 or any(stem(a) != stem(b) for a, b in long)
