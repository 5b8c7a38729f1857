"""Errors that a user can act on: one line that says file, place, what was found and what is allowed."""

from __future__ import annotations


class AnalyzerError(Exception):
    """Root of every error this package raises on purpose.

    Attributes
    ----------
    file : name of the file as the user gave it, or "" when no file is involved.
    place : where in the file ("line 12", "cue 3", "blocks[2].moves[0].work"), or "".
    found : what was there.
    allowed : what would have been accepted, or what to do.
    mistakes : all of them where a file has several; the error's own line is then the first and a count.
    """

    def __init__(
        self,
        file: str = "",
        place: str = "",
        found: str = "",
        allowed: str = "",
        mistakes: tuple[AnalyzerError, ...] = (),
    ) -> None:
        super().__init__(file, place, found, allowed, mistakes)  # positional args only: survives pickling
        self.file, self.place, self.found, self.allowed, self.mistakes = file, place, found, allowed, mistakes

    def __str__(self) -> str:
        where = ", ".join(part for part in (self.file, self.place) if part)
        line = f"{where}: {self.found}" if where else self.found
        line = f"{line}; {self.allowed}" if self.allowed else line
        return " ".join(line.split())


class TranscriptError(AnalyzerError):
    """The recording's transcript cannot be used."""


class PlanError(AnalyzerError):
    """The class plan cannot be used."""


class RulesError(AnalyzerError):
    """The house rules cannot be used."""


class WaiverError(AnalyzerError):
    """The waivers kept beside a plan cannot be used or changed."""


class MismatchError(AnalyzerError):
    """The plan and the recording do not belong together."""


class ReportError(AnalyzerError):
    """A stored report cannot be used."""


class OutputError(AnalyzerError):
    """A result cannot be written."""
