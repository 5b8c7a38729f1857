"""Reads a house rules file: YAML, every mistake named with its line and field.

Form: ``checks: {interval-long: {limit_s: 6, by_kind: {cool-down: 10}, severity: low, on: false}}`` and optionally
``name``. Scalars stay the text they are until a field reads them; aliases, anchors, tags and repeated keys are refused.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import cast, get_args

from analyzer.checks.house_files import is_blank, read_house_file, told_as
from analyzer.checks.metadata import Check, Parameter
from analyzer.checks.rules import HouseRules, Settings, defaults
from analyzer.model.audit import Severity
from analyzer.model.errors import RulesError
from analyzer.model.plan import BlockKind, Effort
from analyzer.plans.mistakes import Mistakes, quote
from analyzer.plans.yaml_reader import Listing, Mapping, Node, Scalar, read_tree

LONGEST_PHRASE = 100
MOST_PHRASES = 200
SWITCHES = {"true": True, "yes": True, "on": True, "false": False, "no": False, "off": False}
SEVERITIES: tuple[str, ...] = get_args(Severity)
KINDS: tuple[str, ...] = get_args(BlockKind)
EFFORTS: tuple[str, ...] = get_args(Effort)
PLAIN = "plain YAML that starts with 'checks:' is allowed"


def load(path: Path, checks: tuple[Check, ...]) -> HouseRules:
    """Read a house rules file over the defaults.

    Raises
    ------
    RulesError
        When the file cannot be read, is no such YAML, or has mistakes (``mistakes`` lists all of them).
    """
    return parse_bytes(read_house_file(path, RulesError, path.name), checks, path.name)


def parse(text: str, checks: tuple[Check, ...], name: str) -> HouseRules:
    """Read house rules from text; ``name`` is what errors call the file. Raises RulesError like :func:`load`."""
    return parse_bytes(text.encode("utf-8"), checks, name)


def parse_bytes(raw: bytes, checks: tuple[Check, ...], name: str) -> HouseRules:
    """Read house rules from a file's bytes; ``name`` is what errors call it. Raises RulesError like :func:`load`."""
    if is_blank(raw):
        return HouseRules(defaults(checks).checks, name)
    notes = Mistakes(name)
    with told_as(RulesError, "house rules", PLAIN):
        rules = _rules(read_tree(raw, name), checks, notes)
        notes.raise_if_any()
    return rules


def _rules(root: Node, checks: tuple[Check, ...], notes: Mistakes) -> HouseRules:
    settings = dict(defaults(checks).checks)
    by_id = {check.id: check for check in checks}
    name = notes.file
    for key, line, node in _fields(root, "", ("name", "checks"), notes):
        if key == "name":
            name = (_text(node, line, "name", notes) or name) if not _empty(node) else name
        elif not _empty(node):
            for check_id, _, entry in _fields(node, "checks", tuple(by_id), notes, "checks"):
                settings[check_id] = _settings(by_id[check_id], settings[check_id], entry, notes)
    return HouseRules(settings, name)


def _fields(
    node: Node, place: str, known: tuple[str, ...], notes: Mistakes, noun: str = "fields"
) -> Iterator[tuple[str, int, Node]]:
    """Give the known fields of a mapping with their lines; everything else is noted."""
    if not isinstance(node, Mapping):
        if not _empty(node):
            notes.add(node.line, place, f"{_describe(node)} stands where {noun} are expected", _known(known))
        return
    seen: dict[str, int] = {}
    for key, line, value in node.entries:
        path = f"{place}.{key}" if place else key
        if key in seen:
            notes.add(line, path, f"written twice, first in line {seen[key]}", "write it once")
        elif key not in known:
            near = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
            what = f"no check is called {quote(key)}" if noun == "checks" else f"{quote(key)} is unknown"
            notes.add(line, path[:120], what, f"did you mean '{near[0]}'?" if near else _known(known))
        else:
            yield key, line, value
        seen.setdefault(key, line)


def _known(known: Sequence[str]) -> str:
    return "allowed: " + (", ".join(known) if len(known) < 12 else "what 'class-analyzer checks' lists")


def _empty(node: Node) -> bool:
    return isinstance(node, Scalar) and (node.text is None or not node.text.strip())


def _describe(node: Node) -> str:
    if isinstance(node, Scalar):
        return "nothing" if node.text is None else quote(node.text)
    return "a list" if isinstance(node, Listing) else "a group of fields"


def _text(node: Node, line: int, place: str, notes: Mistakes) -> str:
    """Return one line of text, "" after noting what else stands there."""
    if not isinstance(node, Scalar) or node.text is None or not node.text.strip():
        notes.add(node.line or line, place, f"{_describe(node)} where a text is expected", "put the text in quotes")
        return ""
    flat = " ".join(node.text.split())
    if len(flat) > LONGEST_PHRASE or not flat.isprintable():
        notes.add(node.line, place, quote(flat), f"at most {LONGEST_PHRASE} printable characters are allowed")
        return ""
    return flat


def _settings(check: Check, base: Settings, entry: Node, notes: Mistakes) -> Settings:
    parameters = {p.name: p for p in check.parameters}
    extra = (*(("phrases",) if check.phrases else ()), *(f"by_{what}" for what in check.varies))
    known = ("on", "severity", *parameters, *extra)
    values, out = dict(base.values), base
    for key, line, node in _fields(entry, f"checks.{check.id}", known, notes, "limits"):
        place = f"checks.{check.id}.{key}"
        if key in parameters:
            number = _number(parameters[key], node, line, place, notes)
            values[key] = values[key] if number is None else number
        elif key in ("on", "severity"):
            out = _switched(out, key, node, line, place, notes)
        elif key == "phrases":
            out = replace(out, phrases=_phrases(node, line, place, notes))
        else:
            out = _varied(check, out, key, node, place, notes)
    if values.get("low_s", -math.inf) > values.get("high_s", math.inf):
        found = f"low_s {values['low_s']:g} is over high_s {values['high_s']:g}"
        notes.add(entry.line, f"checks.{check.id}", found, "low_s must be the smaller one")
    return replace(out, values=values)


def _switched(base: Settings, key: str, node: Node, line: int, place: str, notes: Mistakes) -> Settings:
    word = node.text.strip().lower() if isinstance(node, Scalar) and node.text else ""
    if key == "on" and word in SWITCHES:
        return replace(base, on=SWITCHES[word])
    if key == "severity" and word in SEVERITIES:
        return replace(base, severity=cast(Severity, word), severity_set=True)
    allowed = "true or false is allowed" if key == "on" else f"allowed: {', '.join(SEVERITIES)}"
    notes.add(line, place, _describe(node), allowed)
    return base


def _varied(check: Check, base: Settings, key: str, node: Node, place: str, notes: Mistakes) -> Settings:
    """Return the settings with limits, or phrases, by kind of block or by effort."""
    words = KINDS if key == "by_kind" else EFFORTS
    rows = list(_fields(node, place, words, notes, "kinds of block" if key == "by_kind" else "efforts"))
    if check.phrases:
        lists = {word: _phrases(value, line, f"{place}.{word}", notes) for word, line, value in rows}
        return replace(base, phrases_by_kind=lists)
    numbers = {word: _number(check.parameters[0], value, line, f"{place}.{word}", notes) for word, line, value in rows}
    kept = {word: number for word, number in numbers.items() if number is not None}
    return replace(base, by_kind=kept) if key == "by_kind" else replace(base, by_effort=kept)


def _phrases(node: Node, line: int, place: str, notes: Mistakes) -> tuple[str, ...]:
    """Return a list of phrases; a single one counts as a list of one."""
    items = node.items if isinstance(node, Listing) else (node,)
    if len(items) > MOST_PHRASES:
        notes.add(line, place, f"{len(items)} phrases", f"at most {MOST_PHRASES} are allowed")
        return ()
    texts = [_text(item, line, place, notes) for item in items]
    for text in texts:
        if text and not any(letter.isalpha() for letter in text):
            notes.add(line, place, quote(text), "a phrase needs a word")
    return tuple(dict.fromkeys(text for text in texts if text))


def _number(parameter: Parameter, node: Node, line: int, place: str, notes: Mistakes) -> float | None:
    try:
        number = float(node.text or "") if isinstance(node, Scalar) else math.nan
    except ValueError:
        number = math.nan
    if math.isfinite(number) and parameter.low <= number <= parameter.high:
        return number
    allowed = f"a number from {parameter.low:g} to {parameter.high:g} {parameter.unit} is allowed"
    notes.add(line, place, _describe(node), allowed)
    return None
