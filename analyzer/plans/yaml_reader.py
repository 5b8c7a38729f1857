"""Reads YAML into a plain tree that keeps each line number and leaves every scalar as it was written.

Scalars are never resolved: YAML 1.1 would turn ``1:30`` into 90, ``no`` into False and ``010`` into 8, so the text
itself goes to the fields, which know what they expect. Works on parser events, so that no object is ever built from
a tag; anchors, aliases and tags are refused, and bytes, depth and nodes are capped (an alias bomb or a deep nest
ends at the first line that goes too far).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

from analyzer.plans.foreign import is_workbook, name_foreign
from analyzer.plans.mistakes import quote, refuse

MAX_BYTES = 1_000_000
MAX_DEPTH = 12  # a plan needs 6: plan, blocks, block, moves, move, list of cues
MAX_NODES = 50_000

_FAST_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # libyaml's parser where the wheel ships it
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")
_NULLS = frozenset({"", "~", "null", "Null", "NULL"})
_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))


@dataclass(frozen=True, slots=True)
class Scalar:
    """A single value as written; ``text`` is None for an empty value, ``~`` or ``null``."""

    line: int
    text: str | None


@dataclass(frozen=True, slots=True)
class Listing:
    """A list of nodes."""

    line: int
    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Mapping:
    """Key-value pairs in file order, doubles kept: ``(key, line of the key, value)``."""

    line: int
    entries: tuple[tuple[str, int, Node], ...]


Node = Scalar | Listing | Mapping


def read_bytes(path: Path, file: str) -> bytes:
    """Return a plan file's bytes, at most :data:`MAX_BYTES`.

    Raises
    ------
    PlanError
        When the path is missing, a folder, unreadable, empty or too large.
    """
    try:
        if path.is_dir():
            raise refuse(file, 0, "is a folder", "give the plan's file")
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise refuse(file, 0, "no such file", "give the path of a plan") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise refuse(file, 0, f"cannot be read ({reason})", "give the path of a plan") from None
    if len(data) > MAX_BYTES:
        raise refuse(file, 0, f"is larger than {MAX_BYTES:,} bytes", f"a plan has at most {MAX_BYTES:,} bytes")
    if not data.strip():
        raise refuse(file, 0, "is empty", "a plan has at least a title and one block with moves")
    return data


def read_tree(data: bytes, file: str) -> Node:
    """Return the tree of one YAML document.

    Raises
    ------
    PlanError
        When the bytes are no text, no YAML, another kind of file, or YAML of a kind that no plan needs.
    """
    return read_text(decode(data, file), file)


def read_text(text: str, file: str) -> Node:
    """Return the tree of one YAML document that is decoded already. Raises PlanError as :func:`read_tree` does."""
    foreign = name_foreign(text)
    if foreign:
        raise refuse(file, 0, f"looks like {foreign}, not a class plan", "give the class plan here")
    try:
        return _document(yaml.parse(text, Loader=_FAST_LOADER), file)
    except yaml.YAMLError as error:
        line, found, allowed = _explain(error, text)
        raise refuse(file, line, found, allowed) from None


def decode(data: bytes, file: str) -> str:
    """Return a file's bytes as text with single line feeds. Raises PlanError when they are none, or a control stands
    in them.
    """
    if is_workbook(data):
        raise refuse(file, 0, "is a spreadsheet workbook or an office document", "give the class plan as YAML text")
    encoding = next((name for bom, name in _BOMS if data.startswith(bom)), "utf-8")
    try:
        text = data.decode(encoding).replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"byte 0x{data[error.start]:02X} is not {encoding.removesuffix('-sig').upper()} text"
        raise refuse(file, line, found, "save the plan as UTF-8") from None
    control = _CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        found = f"holds the control character U+{ord(control[0]):04X}, so it is binary or damaged"
        raise refuse(file, line, found, "save the plan as plain UTF-8 text")
    return text


def _document(events: Iterator[yaml.Event], file: str) -> Node:
    builder = _Builder(events, file)
    root: Node | None = None
    for event in events:
        if isinstance(event, yaml.DocumentStartEvent):
            if root is not None:
                raise refuse(file, _line(event), "a second YAML document starts here", "one plan a file is allowed")
            root = builder.node(next(events), 1)
    if root is None:
        raise refuse(file, 0, "holds no plan, only comments", "a plan has at least a title and one block with moves")
    return root


class _Builder:
    """Turns parser events into nodes; depth and number of nodes are capped while it goes."""

    def __init__(self, events: Iterator[yaml.Event], file: str) -> None:
        self._events = events
        self._file = file
        self._nodes = 0

    def node(self, event: yaml.Event, depth: int) -> Node:
        line = _line(event)
        self._check(event, line, depth)
        if isinstance(event, yaml.ScalarEvent):
            empty = not event.style and event.value in _NULLS
            return Scalar(line, None if empty else event.value)
        if isinstance(event, yaml.SequenceStartEvent):
            return Listing(line, self._items(depth))
        return Mapping(line, self._entries(depth))

    def _check(self, event: yaml.Event, line: int, depth: int) -> None:
        self._nodes += 1
        anchor, tag = getattr(event, "anchor", None), getattr(event, "tag", None)
        if isinstance(event, yaml.AliasEvent):
            raise refuse(self._file, line, f"the alias {quote(f'*{anchor}')}", "write it out: aliases are not allowed")
        if anchor:
            raise refuse(self._file, line, f"the anchor {quote(f'&{anchor}')}", "remove it: anchors are not allowed")
        if tag:
            raise refuse(self._file, line, f"the tag {quote(tag)}", "remove it: YAML tags are not allowed")
        if depth > MAX_DEPTH:
            raise refuse(self._file, line, f"nested more than {MAX_DEPTH} deep", "a plan nests at most 6 deep")
        if self._nodes > MAX_NODES:
            raise refuse(self._file, line, f"more than {MAX_NODES:,} values", f"at most {MAX_NODES:,} are allowed")

    def _items(self, depth: int) -> tuple[Node, ...]:
        items: list[Node] = []
        while not isinstance(event := next(self._events), yaml.SequenceEndEvent):
            items.append(self.node(event, depth + 1))
        return tuple(items)

    def _entries(self, depth: int) -> tuple[tuple[str, int, Node], ...]:
        entries: list[tuple[str, int, Node]] = []
        while not isinstance(event := next(self._events), yaml.MappingEndEvent):
            key = self.node(event, depth + 1)
            if not isinstance(key, Scalar) or key.text is None:
                raise refuse(self._file, key.line, "a field name that is no word", "write 'name: value'")
            entries.append((key.text, key.line, self.node(next(self._events), depth + 1)))
        return tuple(entries)


def _line(event: yaml.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 0


def _explain(error: yaml.YAMLError, text: str) -> tuple[int, str, str]:
    """Return line, found and allowed for the YAML library's own error; a tab is by far the most common one."""
    problem = getattr(error, "problem", None) or getattr(error, "reason", None) or "it cannot be parsed"
    mark = getattr(error, "problem_mark", None)
    if mark is None or "end of stream" in problem:  # then what was left open tells more than the file's last line
        mark = getattr(error, "context_mark", None) or mark
    line = mark.line + 1 if mark else 0
    lines = text.splitlines()
    for number, content in enumerate(lines[: line or None], start=1):
        if "\t" in content[: len(content) - len(content.lstrip())] or (number == line and "\t" in content):
            return number, "a tab character", "indent with spaces: YAML does not allow tabs"
    line = min(line, len(lines))
    shown = f" ({quote(lines[line - 1])})" if line and lines[line - 1].strip() else ""
    return line, f"not valid YAML{shown}: {problem}", "check the indentation, quotes and colons here and just above"
