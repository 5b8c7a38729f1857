"""What every spotter is given: the words, the same words as one string, the plan, the language."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from analyzer.language import Language, SpokenText
from analyzer.model.plan import Plan
from analyzer.model.transcript import Transcript, Words
from analyzer.spotting.amounts import Amount, spot_amounts

PAUSE_S = 0.35
"""A silence from here on parts what was said (common practice, no source)."""
MARKS = frozenset(",.;:!?…")
FEWEST_MARKS = 0.02
"""Marks a word below which a transcript counts as unpunctuated (our judgement; running text has about 0.15)."""


@dataclass(frozen=True, eq=False)
class SpotContext:
    """One recording as the spotters see it. ``plan`` may have no blocks."""

    words: Words
    spoken: SpokenText
    plan: Plan
    language: Language
    punctuated: bool = True
    """False where the transcript has hardly any punctuation: then a sentence's end can't be told from its words."""

    @classmethod
    def of(cls, transcript: Transcript, plan: Plan, language: Language) -> SpotContext:
        """Prepare a transcript; linear in its words."""
        words = transcript.words
        marks = sum([text[-1:] in MARKS for text in words.text])
        return cls(words, SpokenText.of(words), plan, language, marks >= FEWEST_MARKS * len(words))

    def place(self, first: int, last: int) -> tuple[int, int, float, float, float, str]:
        """Return the fields every event starts with, for the words ``first`` to ``last`` (both included)."""
        start_s, end_s, u_s = self._times
        return first, last, start_s[first], end_s[last], u_s[first], self.words.phrase(first, last)

    @cached_property
    def _times(self) -> tuple[list[float], list[float], list[float]]:
        """Onset, offset and the onset's uncertainty of every word, as plain numbers: events hold those."""
        return self.words.start_s.tolist(), self.words.end_s.tolist(), self.words.u_s.tolist()

    def breaks_after(self, index: int) -> bool:
        """True where a sentence or a clause ends after this word, as far as punctuation shows it."""
        return bool(self.words.closes[index]) or self.words.text[index][-1:] in ",;:…—–-"

    def ends_clause(self, index: int) -> bool:
        """Like :meth:`breaks_after`, or because the next word starts a clause."""
        return self.breaks_after(index) or index + 1 == len(self.words) or self.breaks_before(index + 1)

    def breaks_before(self, index: int) -> bool:
        """True where a sentence or a clause starts with this word: by punctuation, a pause or a capital letter."""
        if index == 0 or self.breaks_after(index - 1):
            return True
        text = self.words.text[index]
        return bool(self.words.pause_s[index] > PAUSE_S) or (text[:1].isupper() and text[:2] not in ("I", "I'", "I’"))

    @cached_property
    def amounts(self) -> tuple[Amount, ...]:
        """Every number said, with what it counts, by onset."""
        return spot_amounts(self.spoken, self.language)

    @cached_property
    def longest_work_s(self) -> float:
        """Longest planned work of one move, seconds; 0 without a plan."""
        return max((move.work_s for block in self.plan.blocks for move in block.moves), default=0.0)
