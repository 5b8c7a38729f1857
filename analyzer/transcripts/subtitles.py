"""SubRip and ASS/SSA captions, parsed by pysubs2.

Notes on the library, and what is done here about them:
it takes a number that ends a caption for the next caption's index, so that a spoken "3" on the last line of an
unindexed or last caption is lost (an index is put where one is missing); it leaves out an arrow line that it cannot
read, with no word about it (such lines are counted and reported). In ASS it refuses the whole file for one time, style
or colour that it cannot read, so it gets the good dialogue lines alone, without what is no words or time.
"""

from __future__ import annotations

import re
from typing import Any

from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem
from analyzer.transcripts.reading import Block, Reading, skipped
from analyzer.transcripts.rollup import drop_repeated_lines

_TIME = r"[0-9]{1,4}:[0-9]{1,2}:[0-9]{1,2}[.,][0-9]{1,3}"
_READABLE = re.compile(rf"[^0-9]*{_TIME}[ \t]*-->[ \t]*{_TIME}(?![0-9])")
_OVERRIDES = re.compile(r"\{[^{}]*\}")
_DRAWING = re.compile(r"\{[^{}]*\\p[1-9]")
_ASS_TIME = re.compile(r"\s*[0-9]{1,2}:([0-9]{1,2}):([0-9]{1,2})(?:[.,][0-9]{1,3})?\s*")
_ASS_FIELDS = 10  # layer, start, end, style, name, three margins, effect, text
_FIELDS = re.compile(r":([0-9]{1,2}):([0-9]{1,2})[.,]")


def read_subrip(text: str, name: str) -> Reading:
    """Return the captions of a SubRip file.

    Raises
    ------
    TranscriptError
        When the library cannot make sense of the file.
    """
    lines = text.split("\n")
    kept: list[str] = []
    numbers: list[int] = []
    problems: list[Problem] = []
    for index, line in enumerate(lines):
        if "-->" not in line:
            if line.strip() or (kept and kept[-1]):  # runs of blanks say nothing, and cost the library dear
                kept.append(" ".join(line.split()))
            continue
        fault = _fault(line)
        if fault:
            problems.append(skipped(f"line {index + 1}", fault))
        else:
            numbers.append(index + 1)
        if not (index and lines[index - 1].strip().isdecimal()):
            kept.extend(("", "0"))
        # a faulty time is kept in place as an empty caption, so that its text is not added to the one before
        kept.append(line if not fault else "00:00:00,000 --> 00:00:00,000")
        if fault:
            numbers.append(-1)
    events = _parse("\n".join([*kept, "", "0", ""]), "srt", name, keep_html_tags=True)
    blocks = tuple(
        Block(event.start, event.end, event.text.replace(r"\N", "\n"), line)
        for event, line in zip(events, numbers, strict=False)
        if line > 0
    )
    return Reading(drop_repeated_lines(blocks), "subrip", "cue", tuple(problems))


def _fault(line: str) -> str:
    """Return what is wrong with an arrow line, or ""."""
    if _READABLE.match(line) is None:
        return f"'{line.strip()[:60]}' is not a pair of times like 00:00:01,000 --> 00:00:02,000"
    if any(int(minutes) > 59 or int(seconds) > 59 for minutes, seconds in _FIELDS.findall(line)):
        return f"'{line.strip()[:60]}' has over 59 minutes or seconds"
    return ""


def read_ass(text: str, name: str) -> Reading:
    """Return the dialogue lines of an ASS or SSA file; comments and drawings are left out, damaged lines reported.

    Raises
    ------
    TranscriptError
        When the library cannot make sense of the file.
    """
    kept = ["[Events]"]
    places: list[int] = []
    problems: list[Problem] = []
    for number, line in enumerate(text.split("\n"), 1):
        kind, _, rest = line.strip().partition(":")
        if kind != "Dialogue":
            continue
        fields = rest.split(",", _ASS_FIELDS - 1)
        fault = _ass_fault(fields)
        if fault:
            problems.append(skipped(f"line {number}", f"'{line.strip()[:60]}' {fault}"))
            continue
        _, start, end, _, speaker, *_, words = fields
        kept.append(f"Dialogue: 0,{start},{end},,{speaker},0,0,0,,{words}")
        places.append(number)
    events = _parse("\n".join(kept), "ass", name)
    blocks = tuple(
        Block(event.start, event.end, _plain(event.text), line, event.name.strip() or None)
        for event, line in zip(events, places, strict=True)
        if not _DRAWING.search(event.text)
    )
    return Reading(blocks, "ass", "cue", tuple(problems))


def _ass_fault(fields: list[str]) -> str:
    """Return what is wrong with a dialogue line's fields, or ""."""
    if len(fields) < _ASS_FIELDS:
        return f"has {len(fields)} of {_ASS_FIELDS} fields"
    times = [_ASS_TIME.fullmatch(field) for field in fields[1:3]]
    if any(time is None or int(time[1]) > 59 or int(time[2]) > 59 for time in times):
        return "does not start with two times like 0:00:01.00"
    return ""


def _plain(text: str) -> str:
    """Return the text of a dialogue line without override blocks, its line breaks real."""
    return _OVERRIDES.sub("", text).replace(r"\N", "\n").replace(r"\n", "\n").replace(r"\h", " ")


def _parse(text: str, form: str, name: str, **options: bool) -> list[Any]:
    import pysubs2  # 20 ms to import; the other forms do without

    try:
        return list(pysubs2.SSAFile.from_string(text, format_=form, **options))
    except Exception as error:  # the library raises whatever its own parsing hits
        allowed = "repair the file, or export it again"
        raise TranscriptError(name, "", f"cannot be read as {form.upper()} ({str(error)[:80]})", allowed) from error
