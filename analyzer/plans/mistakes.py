"""Collects every mistake of one plan file, so that a coach can mend them all in one go."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from analyzer.model.errors import AnalyzerError, PlanError

_Kind = TypeVar("_Kind", bound=AnalyzerError)
_LONGEST_QUOTE = 60


class Places:
    """How places of a text file are told: by line and field path. A table tells them otherwise."""

    line_word = "line"

    def tell(self, line: int, place: str) -> str:
        """Return the place in words. ``line`` counts from 1 (0 = the file as a whole); ``place`` is a path or ""."""
        return ", ".join(part for part in (f"{self.line_word} {line}" if line else "", place) if part)


class Mistakes:
    """The mistakes found so far in ``file``, in the order they were noted."""

    def __init__(self, file: str, places: Places | None = None) -> None:
        self.file = file
        self.places = places or Places()
        self._found: list[tuple[int, AnalyzerError]] = []

    def add(self, line: int, place: str, found: str, allowed: str) -> None:
        """Note one mistake. ``line`` counts from 1 (0 = the file as a whole); ``place`` is a field path or ""."""
        self._found.append((line, AnalyzerError(self.file, self.places.tell(line, place), found, allowed)))

    def raise_if_any(self) -> None:
        """Raise one PlanError that holds all mistakes in file order, if there is at least one."""
        if not self._found:
            return
        raise all_as_one(PlanError, [error for _, error in sorted(self._found, key=lambda pair: pair[0])])


def refuse(file: str, line: int, found: str, allowed: str, places: Places | None = None) -> PlanError:
    """Return the error for a file that cannot be read any further, with this as its only mistake."""
    place = (places or Places()).tell(line, "")
    return all_as_one(PlanError, [AnalyzerError(file, place, found, allowed)])


def all_as_one(kind: type[_Kind], mistakes: Sequence[AnalyzerError]) -> _Kind:
    """Return an error of this kind that holds all the mistakes (at least one) and tells the first and a count."""
    first, more = mistakes[0], len(mistakes) - 1
    count = f" (and {more} more mistake{'s' if more > 1 else ''})" if more else ""
    return kind(first.file, first.place, first.found, first.allowed + count, tuple(mistakes))


def quote(text: str) -> str:
    """Return untrusted text fit for one line of a terminal: quoted, shortened, control characters replaced."""
    flat = " ".join(text.split())
    safe = "".join(char if char.isprintable() else "?" for char in flat)
    return f"'{safe}'" if len(safe) <= _LONGEST_QUOTE else f"'{safe[:_LONGEST_QUOTE]}...'"
