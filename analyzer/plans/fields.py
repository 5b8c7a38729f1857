"""Reads the fields of one mapping of a plan, each as the kind of value its meaning needs, noting every mistake."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from analyzer.plans.durations import DURATION_HELP, parse_duration_s, print_duration
from analyzer.plans.mistakes import Mistakes, quote
from analyzer.plans.yaml_reader import Listing, Mapping, Node, Scalar

LONGEST_TEXT = 300
_CLOSE_ENOUGH = 65.0  # of 100: "wrok" and "rest-after" find their field, "tempo" finds none (our judgement)
_NO_CHARACTERS = "\ufffe\uffff"  # no XML file can hold them, so no workbook
_WHOLE = re.compile(r"[0-9]{1,6}", re.ASCII)
_FLAGS = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}


def fold(text: str) -> str:
    """Return a name for comparison: case, spaces and hyphens do not tell two names apart."""
    return " ".join(text.casefold().replace("-", " ").split()) or text


def as_section(node: Node, place: str, known: tuple[str, ...], notes: Mistakes, hint: str) -> Section | None:
    """Return a mapping node as a section, or note what stands there instead and return None."""
    if not isinstance(node, Mapping):
        notes.add(node.line, place, f"{_describe(node)} stands where fields are expected", hint)
        return None
    return Section(node, place, known, notes)


class Section:
    """One mapping with its place in the plan. Getters return the value, or a default after noting the mistake."""

    def __init__(self, node: Mapping, place: str, known: tuple[str, ...], notes: Mistakes) -> None:
        self.line = node.line
        self.place = place
        self._notes = notes
        self._values: dict[str, tuple[int, Node]] = {}
        self._misspelt: set[str] = set()
        for key, line, value in node.entries:
            if key not in known:
                self._note_unknown(key, line, known)
            elif key in self._values:
                first = self._values[key][0]
                self._note(line, key, f"written twice, first in line {first}", "a field is written once")
            else:
                self._values[key] = (line, value)

    def path(self, field: str) -> str:
        """Return a field's full path, such as ``blocks[2].moves[0].work``."""
        return f"{self.place}.{field}" if self.place else field

    def line_of(self, field: str) -> int:
        """Return the line of a field, or of the section when the field is not there."""
        return self._values[field][0] if field in self._values else self.line

    def text(self, field: str, *, required: bool = False) -> str:
        """Return one line of text; "" when absent."""
        value = self._scalar(field, "text", "some text is needed" if required else None)
        return "" if value is None else self._clean(value, self.line_of(field), field)

    def texts(self, field: str) -> tuple[str, ...]:
        """Return a list of texts; a single text counts as a list of one."""
        line, node = self._values.get(field, (0, None))
        if node is None or (isinstance(node, Scalar) and node.text is None):
            return ()
        items = node.items if isinstance(node, Listing) else (node,)
        cleaned: list[str] = []
        for number, item in enumerate(items):
            place = f"{field}[{number}]" if isinstance(node, Listing) else field
            if isinstance(item, Scalar) and item.text is not None:
                cleaned.append(self._clean(item.text, max(line, item.line), place))
            else:
                self._note(item.line, place, f"{_describe(item)} where a text is expected", "put the text in quotes")
        return tuple(text for text in cleaned if text)

    def duration(self, field: str, low_s: float, high_s: float, *, required: bool = False) -> float | None:
        """Return a duration in seconds within ``low_s`` to ``high_s``; None when absent or wrong."""
        value = self._scalar(field, "duration", DURATION_HELP if required else None)
        if value is None:
            return None
        line = self.line_of(field)
        try:
            seconds = parse_duration_s(value)
        except ValueError as error:
            self._note(line, field, _one_line(str(error)), DURATION_HELP)
            return None
        if not low_s <= seconds <= high_s:
            side = "shorter" if seconds < low_s else "longer"
            bounds = f"{print_duration(low_s)} to {print_duration(high_s)} is allowed"
            self._note(line, field, f"{quote(value)} is {side} than makes sense", bounds)
            return None
        return seconds

    def whole(self, field: str, low: int, high: int, *, default: int) -> int:
        """Return a whole number within ``low`` to ``high``."""
        value = self._scalar(field, "whole number", None)
        if value is None:
            return default
        if not _WHOLE.fullmatch(value.strip()) or not low <= int(value) <= high:
            self._note(
                self.line_of(field), field, f"{quote(value)} is no number of {field}", f"{low} to {high} is allowed"
            )
            return default
        return int(value)

    def choice(self, field: str, allowed: Sequence[str], *, default: str | None = None) -> str | None:
        """Return one of the allowed words; None when it is wrong, or absent without a default."""
        listed = "allowed: " + ", ".join(allowed)
        value = self._scalar(field, "word", None if default else listed)
        if value is None:
            return default
        word = value.strip()
        if word in allowed:
            return word
        found = f"{quote(value)} is no {field}" + _did_you_mean(closest(word, allowed))
        self._note(self.line_of(field), field, found, listed)
        return None

    def flag(self, field: str) -> bool:
        """Return true or false; false when absent."""
        value = self._scalar(field, "true or false", None)
        if value is None:
            return False
        if value.strip().lower() not in _FLAGS:
            self._note(self.line_of(field), field, quote(value), "true or false is allowed")
            return False
        return _FLAGS[value.strip().lower()]

    def sections(self, field: str, known: tuple[str, ...], hint: str, *, required: bool = True) -> tuple[Section, ...]:
        """Return every mapping of a list, which must hold one if ``required``; items that are no mapping are noted."""
        node = self._values.get(field, (0, Scalar(self.line, None)))[1]
        if node in (Scalar(node.line, None), Listing(node.line, ())):
            if required:
                self._note_missing(field, f"{hint} is needed")
            return ()
        if not isinstance(node, Listing):
            found = f"{_describe(node)} stands where a list is expected"
            self._note(self.line_of(field), field, found, f"{hint} is needed, each opened by '- '")
            return ()
        fields = "fields: " + ", ".join(known)
        found_sections = (
            as_section(item, f"{self.path(field)}[{number}]", known, self._notes, fields)
            for number, item in enumerate(node.items)
        )
        return tuple(section for section in found_sections if section is not None)

    def refuse(self, field: str, found: str, allowed: str) -> None:
        """Note a mistake when the field is there at all."""
        if field in self._values:
            self._note(self.line_of(field), field, found, allowed)

    def has(self, field: str) -> bool:
        """Tell whether the field is written, even when its value is empty."""
        return field in self._values

    def _note(self, line: int, field: str, found: str, allowed: str) -> None:
        self._notes.add(line, self.path(field), found, allowed)

    def _note_unknown(self, key: str, line: int, known: tuple[str, ...]) -> None:
        meant = closest(key, known)
        if meant:
            self._misspelt.add(meant)
        self._note(line, _one_line(key), "unknown field" + _did_you_mean(meant), "allowed: " + ", ".join(known))

    def _note_missing(self, field: str, allowed: str) -> None:
        """Note an absent field, unless a misspelt one already told of it."""
        if field not in self._misspelt:
            self._note(self.line_of(field), field, "missing", allowed)

    def _scalar(self, field: str, wanted: str, needed: str | None) -> str | None:
        """Return the field's text as written; note a list or mapping, and an absent value when it is ``needed``."""
        line, node = self._values.get(field, (self.line, Scalar(self.line, None)))
        if isinstance(node, Scalar):
            if (node.text is None or not node.text.strip()) and needed:
                self._note_missing(field, needed)
            return node.text if node.text and node.text.strip() else None
        self._note(line, field, f"{_describe(node)} where a {wanted} is expected", needed or f"write '{field}: value'")
        return None

    def _clean(self, text: str, line: int, field: str) -> str:
        flat = " ".join(text.split())
        if any(unicodedata.category(char) in ("Cc", "Cs") or char in _NO_CHARACTERS for char in flat):
            self._note(line, field, f"{quote(flat)} holds a control character", "printable text is allowed")
        elif len(flat) > LONGEST_TEXT:
            self._note(line, field, f"{len(flat)} characters", f"at most {LONGEST_TEXT} are allowed")
        else:
            return flat
        return ""


def _describe(node: Node) -> str:
    if isinstance(node, Scalar):
        return "nothing" if node.text is None else f"the text {quote(node.text)}"
    return "a list" if isinstance(node, Listing) else "a group of fields"


def closest(word: str, known: Sequence[str]) -> str | None:
    """Return the known word that was most likely meant, or None when none comes close."""
    from rapidfuzz import fuzz, process  # only needed once there is a mistake

    best = process.extractOne(word, known, scorer=fuzz.ratio, processor=_as_field, score_cutoff=_CLOSE_ENOUGH)
    return None if best is None else str(best[0])


def _did_you_mean(word: str | None) -> str:
    return f", did you mean '{word}'?" if word else ""


def _as_field(text: str) -> str:
    return fold(text).replace(" ", "_")


def _one_line(text: str) -> str:
    return quote(text)[1:-1]
