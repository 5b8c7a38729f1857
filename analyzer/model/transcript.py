"""What was said and when: captions as read, words as timed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import numpy.typing as npt

Grain = Literal["word", "cue", "stamp"]
Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Token:
    """One word as read, with its own time where the form gives one."""

    text: str
    start_ms: int | None = None
    end_ms: int | None = None
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Caption:
    """One caption block, stamped paragraph or recogniser segment, cleaned of markup and speaker prefix.

    ``end_ms`` is None where the form gives none (a stamp): then it ends no later than the next one starts.
    ``number`` counts from 1 in file order; ``line`` is the line in the file where known, else 0.
    """

    number: int
    start_ms: int
    end_ms: int | None
    tokens: tuple[Token, ...]
    speaker: str | None = None
    line: int = 0

    @property
    def text(self) -> str:
        """The caption's words joined by single spaces."""
        return " ".join(token.text for token in self.tokens)


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in the transcript that was skipped or doubtful. ``kind``: skipped, order, overlap, encoding."""

    kind: str
    place: str
    found: str
    at_s: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """Every word of the recording as parallel arrays of length n (axis 0 = word, in spoken order).

    ``start_s``/``end_s`` best estimate of the word's onset and offset, seconds, non-decreasing onsets;
    ``earliest_s``/``latest_s`` hard bounds of the onset (earliest <= start <= latest);
    ``u_s`` standard uncertainty of the onset (>= 0);
    ``opens`` True where a sentence starts; ``closes`` True where one ends (sentence, not caption);
    ``pause_s`` estimated silence before the word (0 where unknown);
    ``caption`` index into ``Transcript.captions``;
    ``text`` as printed; ``norm`` lower case, straight apostrophes, outer punctuation removed ("" if nothing left);
    ``speaker`` None where unknown.
    """

    text: tuple[str, ...]
    norm: tuple[str, ...]
    speaker: tuple[str | None, ...]
    start_s: Floats
    end_s: Floats
    earliest_s: Floats
    latest_s: Floats
    u_s: Floats
    pause_s: Floats
    opens: Bools
    closes: Bools
    caption: Ints

    def __len__(self) -> int:
        return len(self.text)

    def phrase(self, first: int, last: int) -> str:
        """Return the printed words ``first`` to ``last``, both included."""
        return " ".join(self.text[first : last + 1])


@dataclass(frozen=True, slots=True, eq=False)
class Transcript:
    """One recording's words. ``form``: webvtt, rollup, subrip, sbv, ass, ttml, stamped, words-json, table."""

    name: str
    sha256: str
    form: str
    grain: Grain
    captions: tuple[Caption, ...]
    words: Words
    duration_s: float
    problems: tuple[Problem, ...] = field(default=())
    stamp_step_ms: int = 1
    """Rounding step of the stamps in milliseconds (1 for captions, 1000 for whole seconds)."""
    class_start_s: float = 0.0
    """Where the class begins on the recording's clock, seconds."""

    @property
    def class_s(self) -> float:
        """Length of the class to its last words, seconds."""
        return self.duration_s - self.class_start_s
