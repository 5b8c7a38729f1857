"""Which words of a transcript give way to the right name of a move: a report's misheard names, found again in its file.

Times play no part in what is changed: a change is a run of words and what stands in their place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from analyzer.model.errors import ReportError
from analyzer.model.transcript import Transcript
from analyzer.reports.plain import safe_text
from analyzer.reports.report_json import Json

_OUTER = re.compile(r"^([^\w]*)(.*?)([^\w]*)$", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Change:
    """Words ``first`` to ``last`` of the transcript, both included, and one text for each of them; "" takes it out.

    ``at_s`` when the first is said; ``heard`` and ``right`` the words before and after.
    """

    first: int
    last: int
    new: tuple[str, ...]
    at_s: float
    heard: str

    @property
    def right(self) -> str:
        """The words after the change."""
        return " ".join(text for text in self.new if text)


def changes(report: Json, transcript: Transcript) -> tuple[Change, ...]:
    """Return the changes that a report's standing findings ask for, in the order of the recording.

    Waived findings ask for none. Where two claim the same word, the first keeps it.

    Raises
    ------
    ReportError
        When the transcript is not the one the report was made from.
    """
    if report["recording"]["sha256"] != transcript.sha256:
        found = f"is not the file the report was made from, {report['recording']['file']}"
        raise ReportError(transcript.name, "", found, "give that one, or audit this one first")
    finder = _Finder(transcript)
    made: list[Change] = []
    for finding in _asking(report):
        for piece in finding["evidence"]:
            made += finder.change(piece["text"], piece["at"], finding["instead"])
    return tuple(sorted(made, key=lambda change: change.first))


def _asking(report: Json) -> Iterable[dict[str, Any]]:
    return (f for f in report["findings"] if f.get("instead") and f["verdict"] == "fail" and f["waived"] is None)


class _Finder:
    """Finds words by their text and about their time; words found once are taken."""

    def __init__(self, transcript: Transcript) -> None:
        self.words = transcript.words
        self.text = tuple(safe_text(text) for text in self.words.text)
        self.taken: set[int] = set()

    def change(self, heard: str, at_s: float, name: str) -> list[Change]:
        said = tuple(heard.split())
        starts = [n for n in range(len(self.text) - len(said) + 1) if self.text[n : n + len(said)] == said]
        free = [n for n in starts if self.taken.isdisjoint(range(n, n + len(said)))]
        if not said or not free:
            return []
        first = min(free, key=lambda n: abs(float(self.words.start_s[n]) - at_s))
        run = self._with_rest_of_name(range(first, first + len(said)), name)
        self.taken.update(run)
        said = self.text[run.start : run.stop]
        new = renamed(said, name)
        if new == said:
            return []
        return [Change(run.start, run.stop - 1, new, float(self.words.start_s[run.start]), " ".join(said))]

    def _with_rest_of_name(self, run: range, name: str) -> range:
        """Return the run widened by what is said right of the name: its end behind the run, or its start before it."""
        wanted = tuple(name.lower().split())
        for size in range(len(wanted) - len(run), 0, -1):
            behind, ahead = range(run.stop, run.stop + size), range(max(0, run.start - size), run.start)
            if self._is(behind, wanted[-size:]):
                return range(run.start, behind.stop)
            if self._is(ahead, wanted[:size]):
                return range(ahead.start, run.stop)
        return run

    def _is(self, run: range, said: tuple[str, ...]) -> bool:
        return self.words.norm[run.start : run.stop] == said and self.taken.isdisjoint(run)


def renamed(said: Sequence[str], name: str) -> tuple[str, ...]:
    """Return a text for each word said, so that together they read ``name``: in the same case, the same marks around.

    >>> renamed(["(spit", "squat,"], "Split squat"), renamed(["Bend", "over", "road."], "Bent-over row")
    (('(split', 'squat,'), ('Bent-over', 'row.', ''))
    """
    before, after = _OUTER.sub(r"\1", said[0]), _OUTER.sub(r"\3", said[-1])
    words = _cased(name, " ".join(said)[len(before) :]).split()
    size = max(1, -(-len(words) // len(said)))
    dealt = [" ".join(words[n : n + size]) for n in range(0, len(said) * size, size)]
    dealt[0] = before + dealt[0]
    dealt[max(n for n, text in enumerate(dealt) if text)] += after
    return tuple(dealt)


def _cased(name: str, said: str) -> str:
    """Return a name begun as what was said begins; a capital that no small letter follows is its own (V-sit)."""
    letters = [letter for letter in said if letter.isalpha()]
    if len(letters) > 1 and all(letter.isupper() for letter in letters):
        return name.upper()
    if said[:1].isupper():
        return name[:1].upper() + name[1:]
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
