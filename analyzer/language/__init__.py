"""What a coach's words mean: phrase data, one folder a language, and what reads it.

Takes a language code. Gives a :class:`Language`: compiled phrases, number words. Never looks at a recording or a
plan, and holds no phrase in code: those live in ``<code>/*.yaml``. README.md here tells how to add a language.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from analyzer.language.current import DEFAULT, current_language, speaking
from analyzer.language.files import FOLDER, read_yaml
from analyzer.language.numbers import NumberWords
from analyzer.language.patterns import Match, PhraseSet, SpokenText, compile_phrases, find, starting_in
from analyzer.language.spoken import fold
from analyzer.model.errors import AnalyzerError

__all__ = [
    "DEFAULT",
    "Language",
    "Match",
    "PhraseSet",
    "SpokenText",
    "current_language",
    "find",
    "fold",
    "languages",
    "load_language",
    "speaking",
    "starting_in",
]


@dataclass(frozen=True)
class Language:
    """One language's data. ``folder`` holds its files; ``numbers`` its number words."""

    code: str
    folder: Path
    numbers: NumberWords

    def read(self, file: str) -> Any:
        """Return the content of ``<file>.yaml`` with every scalar as text ("no", "on" and "5" are words)."""
        return read_yaml(self.folder / f"{file}.yaml", "BaseLoader")

    def phrases(self, file: str) -> PhraseSet:
        """Return the compiled phrases of ``<file>.yaml``; compiled once a process.

        Raises
        ------
        AnalyzerError
            When the file is missing or a phrase in it can't be read.
        """
        return _phrases(self.code, file)


@cache
def languages() -> tuple[str, ...]:
    """Codes of the languages shipped, in order."""
    return tuple(sorted(path.parent.name for path in FOLDER.glob("*/numbers.yaml")))


@cache
def load_language(code: str = "en") -> Language:
    """Return the language of this code; loaded once a process.

    Raises
    ------
    AnalyzerError
        When there is no such language; the message lists those there are.
    """
    if code not in languages():
        raise AnalyzerError(found=f"no language '{code}'", allowed=f"there is: {', '.join(languages())}")
    folder = FOLDER / code
    return Language(code, folder, NumberWords.of(read_yaml(folder / "numbers.yaml")))


@cache
def _phrases(code: str, file: str) -> PhraseSet:
    language = load_language(code)
    path = language.folder / f"{file}.yaml"
    if not path.is_file():
        there = ", ".join(sorted(p.stem for p in language.folder.glob("*.yaml") if p.stem != "numbers"))
        raise AnalyzerError(file=f"{code}/{file}.yaml", found="no such phrase file", allowed=f"there is: {there}")
    try:
        return compile_phrases(read_yaml(path, "BaseLoader"), language.numbers)
    except ValueError as error:
        raise AnalyzerError(file=f"{code}/{file}.yaml", found=str(error)) from error
