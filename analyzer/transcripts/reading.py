"""What every reader hands on: blocks as they stand in the file, before cleaning and timing."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.model.transcript import Grain, Problem, Token


@dataclass(frozen=True, slots=True)
class Block:
    """One caption, stamped paragraph or segment as it stands in the file.

    ``end_ms`` None where the form gives none; ``text`` still holds markup (line breaks kept); ``line`` counts from 1,
    0 where unknown; ``tokens`` the words with times of their own, where the form gives them (then ``text`` is unused).
    """

    start_ms: int
    end_ms: int | None
    text: str
    line: int = 0
    speaker: str | None = None
    tokens: tuple[Token, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A whole file as read. ``printed_step_ms`` is the finest step the form can print (1000 for ``1:01``)."""

    blocks: tuple[Block, ...]
    form: str
    grain: Grain
    problems: tuple[Problem, ...] = ()
    printed_step_ms: int = 1


def skipped(place: str, found: str, at_ms: int | None = None) -> Problem:
    """Return the note that a part of the file was left out; ``found`` may quote the file, line breaks and all."""
    return Problem("skipped", place, " ".join(found.split()), None if at_ms is None else at_ms / 1000)
