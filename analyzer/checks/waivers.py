"""Waivers: findings that someone accepts as they are, kept in a YAML file beside the plan and honoured by every audit.

Form: ``waivers: [{finding: ID, reason: TEXT}, ...]``. Adding and removing work on the file's text, so that comments
and layout of whoever wrote it stay; the result is read again before it is handed on.
"""

from __future__ import annotations

import errno
import json
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from analyzer.checks.finding import FINDING_ID
from analyzer.checks.house_files import is_blank, read_house_file, told_as
from analyzer.model.audit import Finding, Waiver
from analyzer.model.errors import WaiverError
from analyzer.plans.fields import Section, as_section
from analyzer.plans.mistakes import Mistakes, quote
from analyzer.plans.yaml_reader import Mapping, Scalar, read_tree

_FIELDS = ("finding", "reason")
_FORM = "plain YAML that starts with 'waivers:' is allowed"
_HEAD = "# Findings accepted as they are. 'class-analyzer waive' adds and removes entries; so may you.\n"


def waivers_path(plan: Path) -> Path:
    """Return where the waivers of a plan are kept: ``class.waivers.yaml`` beside ``class.yaml``."""
    return plan.with_name(f"{plan.stem}.waivers.yaml")


def read_waivers(plan: Path) -> tuple[Waiver, ...]:
    """Return the waivers kept beside a plan; none when there is no such file.

    Raises
    ------
    WaiverError
        When the file cannot be read, or with all of its mistakes.
    """
    path = waivers_path(plan)
    return parse_waivers(_bytes(path), str(path))


def parse_waivers(raw: bytes, file: str) -> tuple[Waiver, ...]:
    """Return the waivers in a file's bytes; ``file`` is what errors call it. Raises WaiverError."""
    return tuple(waiver for _, waiver in _entries(raw, file))


def make_waiver(finding: str, reason: str) -> Waiver:
    """Return a waiver after the rules of the file. Raises WaiverError when the id or the reason cannot be used."""
    notes = Mistakes("waive")
    node = Mapping(
        0, tuple((field, 0, Scalar(0, text)) for field, text in zip(_FIELDS, (finding, reason), strict=True))
    )
    with told_as(WaiverError, "waivers", _FORM):
        waiver = _waiver(Section(node, "", _FIELDS, notes), notes)
        notes.raise_if_any()
    return waiver


def apply_waivers(
    findings: Iterable[Finding], waivers: Iterable[Waiver]
) -> tuple[tuple[Finding, ...], tuple[Waiver, ...]]:
    """Return the findings, those waived with their reason, and the stale waivers: those whose finding is not there."""
    findings = tuple(findings)
    reasons = {waiver.finding: waiver for waiver in waivers}
    marked = tuple(replace(f, waived=reasons[f.id].reason) if f.id in reasons else f for f in findings)
    found = {f.id for f in findings}
    return marked, tuple(waiver for waiver in reasons.values() if waiver.finding not in found)


def with_waiver(plan: Path, waiver: Waiver) -> bytes:
    """Return the plan's waivers file with one more at its end, in place of an earlier one for the same finding.

    Raises
    ------
    WaiverError
        When the file has mistakes, or is laid out so that nothing can be added to it line by line.
    """
    path = waivers_path(plan)
    raw = _bytes(path)
    if any(known.finding == waiver.finding for known in parse_waivers(raw, str(path))):
        raw = without_waiver(plan, waiver.finding)
    entries = _entries(raw, str(path))
    lines = _lines(raw, str(path)) or [_HEAD]
    if is_blank(raw):
        lines.append("waivers:\n")
    first = lines[entries[0][0] - 1] if entries else "  - "
    indent = first[: len(first) - len(first.lstrip())]
    if not lines[-1].endswith("\n"):
        lines[-1] += "\n"
    lines += [
        f"{indent}- finding: {json.dumps(waiver.finding)}\n",
        f"{indent}  reason: {json.dumps(waiver.reason, ensure_ascii=False)}\n",
    ]
    return _checked(lines, [*(known for _, known in entries), waiver], str(path))


def without_waiver(plan: Path, finding: str) -> bytes:
    """Return the plan's waivers file without the entry of one finding.

    Raises
    ------
    WaiverError
        When the finding is not waived, or its lines cannot be told from the others.
    """
    path = waivers_path(plan)
    raw = _bytes(path)
    entries = _entries(raw, str(path))
    at = next((n for n, (_, known) in enumerate(entries) if known.finding == finding), None)
    if at is None:
        listed = "'class-analyzer waive --plan PLAN' lists what is waived"
        raise WaiverError(str(path), "", f"finding {quote(finding)} is not waived", listed)
    lines = _lines(raw, str(path))
    first = entries[at][0] - 1
    stop = entries[at + 1][0] - 1 if at + 1 < len(entries) else len(lines)
    while stop > first + 1 and lines[stop - 1].strip()[:1] in ("", "#"):  # these belong to what follows
        stop -= 1
    del lines[first:stop]
    return _checked(lines, [known for n, (_, known) in enumerate(entries) if n != at], str(path))


def _bytes(path: Path) -> bytes:
    try:
        there = path.exists()
    except OSError as error:  # a plan's name may be too long for the longer one of its waivers
        there = error.errno != errno.ENAMETOOLONG
    return read_house_file(path, WaiverError, str(path)) if there else b""


def _entries(raw: bytes, file: str) -> list[tuple[int, Waiver]]:
    """Return each waiver with the line of its first field."""
    if is_blank(raw):
        return []
    notes = Mistakes(file)
    out: list[tuple[int, Waiver]] = []
    seen: dict[str, int] = {}
    with told_as(WaiverError, "waivers", _FORM):
        root = as_section(read_tree(raw, file), "", ("waivers",), notes, _FORM)
        for entry in root.sections("waivers", _FIELDS, "a list of waivers", required=False) if root else ():
            waiver = _waiver(entry, notes)
            if waiver.finding in seen:
                found = f"finding {waiver.finding} is waived twice, first in line {seen[waiver.finding]}"
                notes.add(entry.line, entry.place, found, "waive it once")
            seen.setdefault(waiver.finding, entry.line)
            out.append((entry.line, waiver))
        notes.raise_if_any()
    return out


def _waiver(entry: Section, notes: Mistakes) -> Waiver:
    finding, reason = entry.text("finding", required=True), entry.text("reason", required=True)
    if finding and not FINDING_ID.fullmatch(finding):
        allowed = "12 of the signs 0-9 and a-f are allowed, as the report shows them with each finding"
        notes.add(entry.line_of("finding"), entry.path("finding"), f"{quote(finding)} is no finding's id", allowed)
    return Waiver(finding, reason)


def _lines(raw: bytes, file: str) -> list[str]:
    try:
        return raw.decode("utf-8").splitlines(keepends=True)
    except UnicodeDecodeError:
        raise WaiverError(file, "", "is not UTF-8 text", "save it as UTF-8") from None


def _checked(lines: list[str], meant: list[Waiver], file: str) -> bytes:
    """Return the lines as bytes once they read as what is meant."""
    raw = "".join(lines).encode("utf-8")
    try:
        right = list(parse_waivers(raw, file)) == meant
    except WaiverError:
        right = False
    if not right:
        found = "is laid out so that its entries cannot be changed line by line"
        raise WaiverError(file, "", found, "change it by hand: one '- finding: ID' a line, its 'reason: TEXT' below")
    return raw
