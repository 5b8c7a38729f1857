"""Writes a plan as YAML that a coach can edit and :func:`analyzer.plans.read_plan` reads back to the same plan.

What a field holds by default is left out. A text stays without quotes where every YAML reader takes it for that
text; else PyYAML's emitter quotes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

import yaml

from analyzer.model.plan import Block, Move, Plan
from analyzer.plans.durations import print_duration

NO_COMMENTS: Mapping[str, str] = MappingProxyType({})
_PLAIN = re.compile(r"[^\W\d_](?:[\w '()/.+&-]*[\w)'.])?")
Field = tuple[str, str]
"""Name of a field and its value as YAML."""


def to_yaml(plan: Plan, comments: Mapping[str, str] = NO_COMMENTS) -> str:
    """Return the plan as YAML text, ending in a line end; ``name`` and ``sha256`` are about a file and left out.

    Reading the text gives an equal plan for every plan that a file can hold.

    Parameters
    ----------
    comments : remarks by place, each written as ``# ...``, a line of its text a line. The place is a field as errors
        name it (``length``, ``blocks[0].demo``, ``blocks[0].moves[1].work``): the remark follows on its line, or, in
        several lines, stands above it. ``blocks[0]`` and ``blocks[0].moves[1]`` stand above that block or move, ""
        above the whole. A remark on a field that is not written (a default) is not written either.

    >>> print(to_yaml(Plan("Any", (Block("A", "main", moves=(Move("Squat", 45.0),)),)), {"title": "Mine"}))
    title: Any  # Mine
    blocks:
      - name: A
        kind: main
        moves:
          - name: Squat
            work: 45s
    <BLANKLINE>
    """
    lines = [*_above(comments, "", ""), *_fields(_plan_fields(plan), "", "", comments), "blocks:"]
    for number, block in enumerate(plan.blocks):
        place = f"blocks[{number}]"
        lines += _item(_block_fields(block), place, "  ", comments)
        if block.moves:
            lines.append("    moves:")
        for index, move in enumerate(block.moves):
            lines += _item(_move_fields(move), f"{place}.moves[{index}]", "      ", comments)
    return "\n".join(lines) + "\n"


def scalar(text: str) -> str:
    """Return one text as a YAML scalar on one line, quoted where it must be.

    >>> scalar("hold a chair"), scalar("no"), scalar("1:30"), scalar("knees: out")
    ('hold a chair', '"no"', '"1:30"', '"knees: out"')
    """
    if _PLAIN.fullmatch(text) and yaml.safe_load(text) == text:
        return text
    return yaml.safe_dump(text, default_style='"', allow_unicode=True, width=float("inf")).rstrip("\n")


def _plan_fields(plan: Plan) -> Iterator[Field]:
    yield "title", scalar(plan.title)
    yield from _text("coach", plan.coach)
    if plan.length_s is not None:
        yield "length", print_duration(plan.length_s)
    yield from _texts("equipment", plan.equipment)


def _block_fields(block: Block) -> Iterator[Field]:
    yield "name", scalar(block.name)
    yield "kind", block.kind
    if block.length_s is not None:
        yield "length", print_duration(block.length_s)
    yield from _seconds("demo", block.demo_s)
    if block.rounds != 1:
        yield "rounds", str(block.rounds)
    yield from _seconds("rest_between_rounds", block.rest_between_rounds_s)
    yield from _seconds("rest_after", block.rest_after_s)
    yield from _flag("quiet", block.quiet)


def _move_fields(move: Move) -> Iterator[Field]:
    yield "name", scalar(move.name)
    yield from _texts("also", move.also)
    yield "work", print_duration(move.work_s)
    yield from _seconds("rest", move.rest_s)
    if move.side != "both":
        yield "side", move.side
    if move.effort != "moderate":
        yield "effort", move.effort
    yield from _texts("easier", move.easier)
    yield from _texts("harder", move.harder)
    yield from _texts("cues", move.cues)
    yield from _flag("quiet", move.quiet)


def _text(name: str, value: str) -> Iterator[Field]:
    if value:
        yield name, scalar(value)


def _texts(name: str, values: tuple[str, ...]) -> Iterator[Field]:
    if values:
        yield name, f"[{', '.join(map(scalar, values))}]"


def _seconds(name: str, value: float) -> Iterator[Field]:
    if value:
        yield name, print_duration(value)


def _flag(name: str, value: bool) -> Iterator[Field]:
    if value:
        yield name, "true"


def _item(fields: Iterator[Field], place: str, indent: str, comments: Mapping[str, str]) -> list[str]:
    """Return one item of a list: its remark, then its fields, the first behind the dash that opens it."""
    lines = _fields(fields, f"{place}.", f"{indent}  ", comments)
    first = next(index for index, line in enumerate(lines) if not line.lstrip().startswith("#"))
    lines[first] = f"{indent}- {lines[first].lstrip()}"
    return [*_above(comments, place, indent), *lines]


def _fields(fields: Iterator[Field], place: str, indent: str, comments: Mapping[str, str]) -> list[str]:
    lines: list[str] = []
    for name, value in fields:
        line = f"{indent}{name}: {value}"
        remark = _remark(comments.get(place + name, ""))
        if len(remark) == 1:
            lines.append(f"{line}  {remark[0]}")
        else:
            lines += [*(indent + part for part in remark), line]
    return lines


def _above(comments: Mapping[str, str], place: str, indent: str) -> list[str]:
    return [indent + line for line in _remark(comments.get(place, ""))]


def _remark(text: str) -> list[str]:
    """Return a remark as lines that YAML takes for comments, whatever the text holds."""
    printable = ("".join(char for char in line if char.isprintable()).strip() for line in text.splitlines())
    return [f"# {line}" for line in printable if line]
