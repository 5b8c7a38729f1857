"""A class written by hand: a script of rows, read into lines with times, and the truth that follows from it.

A script holds one class, a line a row, fields parted by `` | ``: when, what is said, tags (parted by ``;``).

when
    ``0:01.0`` from the start of the recording; ``=40.6`` so that the line's first mark falls that many seconds after
    the mark before; ``-10.2`` that long before the next mark, ``+3`` after the last one; ``~`` somewhere between its
    fixed neighbours, which share the free time. The first and the last line need a time.
what is said
    ``[`` work begins at the next word, ``]`` work ends there; ``<three, two, one>`` a number a second,
    ``<2.1: ...>`` a word every 2.1 s; ``{squat>squad}`` said one way, heard another.
other rows
    ``@ tempo 0.98`` how slowly the coach talks (1 is about three words a second); ``= Block / 2`` block and round;
    ``> Move / left`` what the next ``[`` begins; ``! check key=value: note`` a finding and ``? check: note`` a trap,
    both about the line before (``key=`` leaves its block, round, move or side out); ``#`` a remark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

MIN_PAUSE_S = 0.3  # between two lines
COMMA_S, STOP_S = 0.12, 0.38  # pauses inside a line
SLACK_WEIGHTS = (1.0, 0.6, 1.5, 0.8, 1.2)  # how lines share free time, in turn: people are not even

_PIECE = re.compile(r"[\[\]]|<[^>]*>|\{[^}]*\}[^\s\[\]<{]*|[^\s\[\]<{]+")


@dataclass
class Word:
    """One word of a transcript: its text, onset and length in seconds from its line's start, then absolute."""

    text: str
    start_s: float
    length_s: float


@dataclass
class Line:
    """One row of the script, laid out from its own start."""

    when: str
    said: str
    tags: list[str]
    words: list[Word]
    """As the script says they are heard."""
    clean: list[Word]
    """As they were said."""
    marks: list[tuple[str, float]]
    length_s: float
    where: dict[str, object]
    start_s: float | None = None


class CrowdedError(ValueError):
    """More is said than there is time for: ``surplus_s`` too much before line ``index``."""

    def __init__(self, surplus_s: float, index: int, said: str) -> None:
        super().__init__(f"{surplus_s:.1f} s too much before: {said}")
        self.surplus_s, self.index = surplus_s, index


@dataclass
class Script:
    """A whole class: its lines, and the notes that hang on a line."""

    lines: list[Line] = field(default_factory=list)
    notes: list[tuple[str, str, dict[str, str], str, int]] = field(default_factory=list)


def word_length_s(word: str, tempo: float) -> float:
    """Return how long a word takes: about 3 words a second in running speech at tempo 1."""
    return (0.13 + 0.046 * len(re.sub(r"\W", "", word))) * tempo


def lay_out(text: str, tempo: float) -> tuple[list[Word], list[Word], list[tuple[str, float]], float]:
    """Return the words as heard and as said, the marks and the length of one line, in seconds from its start."""
    now, words, clean, marks = 0.0, [], [], []
    for piece in _PIECE.findall(text):
        if piece in "[]":
            marks.append((piece, now))
            continue
        if piece[0] == "<":
            step, _, run = piece[1:-1].rpartition(":")
            for number in run.split():
                words.append(Word(number, now, min(0.5, word_length_s(number, tempo))))
                clean.append(words[-1])
                now += float(step or 1)
            continue
        said = heard = piece
        if piece[0] == "{":
            inner, tail = piece[1:].split("}")
            said, heard = (side + tail for side in inner.split(">"))
        length = sum(word_length_s(part, tempo) for part in said.split())
        for text_of, into in ((heard, words), (said, clean)):
            shown = text_of.split()
            into += [Word(part, now + length * k / len(shown), length / len(shown)) for k, part in enumerate(shown)]
        now += length + (STOP_S if heard[-1] in ".!?" else COMMA_S if heard[-1] in ",:;" else 0.0) * tempo
    last = words[-1]
    return words, clean, marks, max(now if marks else 0.0, last.start_s + last.length_s)


def read_script(path: Path) -> Script:
    """Read a script; the row's number stands in every error."""
    script, where, tempo = Script(), {"block": "", "round": 1, "move": "", "side": None}, 1.0
    for number, row in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        row = row.strip()
        head, rest = row[:1], row[1:].strip()
        if not row or head == "#":
            continue
        if row.startswith("@ tempo "):
            tempo = float(row.split()[2])
            continue
        if row.startswith("= "):
            block, _, turn = rest.partition(" / ")
            where = {"block": block, "round": int(turn or 1), "move": "", "side": None}
        elif head == ">":
            move, _, side = rest.partition(" / ")
            where = {**where, "move": move, "side": side or None}
        elif head in "!?":
            what, _, note = rest.partition(": ")
            check, *keys = what.split()
            script.notes.append((head, check, dict(key.split("=") for key in keys), note, len(script.lines) - 1))
        else:
            when, said, *tags = (part.strip() for part in row.split("|"))
            if not said:
                raise ValueError(f"{path.name}:{number}: nothing said")
            labels = [tag.strip() for tag in tags[0].split(";") if tag.strip()] if tags else []
            script.lines.append(Line(when, said, labels, *lay_out(said, tempo), where))
    return script


def clock_s(text: str) -> float:
    """Return ``m:ss.s`` in seconds."""
    minutes, seconds = text.split(":")
    return 60 * int(minutes) + float(seconds)


def fix_marks(lines: list[Line]) -> None:
    """Place every line with an absolute time or a ``=`` time; the latter chain from mark to mark."""
    last = 0.0
    for line in lines:
        if line.when[0] == "=":
            line.start_s = last + float(line.when[1:]) - line.marks[0][1]
        elif ":" in line.when:
            line.start_s = clock_s(line.when)
        if line.marks:
            assert line.start_s is not None, f"a line with a mark needs a time: {line.said}"
            last = line.start_s + line.marks[-1][1]


def fix_offsets(lines: list[Line]) -> None:
    """Place lines that hang on the mark before (``+``) or after (``-``) them."""
    for index, line in enumerate(lines):
        if line.when[0] == "+":
            before = next(other for other in reversed(lines[:index]) if other.marks)
            line.start_s = (before.start_s or 0.0) + before.marks[-1][1] + float(line.when[1:])
        elif line.when[0] == "-":
            after = next(other for other in lines[index:] if other.marks)
            line.start_s = (after.start_s or 0.0) + after.marks[0][1] - float(line.when[1:])


def spread(lines: list[Line]) -> None:
    """Share the free time between two placed lines among the lines that float there."""
    placed = [index for index, line in enumerate(lines) if line.start_s is not None]
    for left, right in pairwise(placed):
        between = lines[left + 1 : right]
        begin = (lines[left].start_s or 0.0) + lines[left].length_s
        free = (lines[right].start_s or 0.0) - begin - sum(line.length_s for line in between)
        gaps = len(between) + 1
        if free < MIN_PAUSE_S * gaps - 1e-9:
            raise CrowdedError(MIN_PAUSE_S * gaps - free, right, lines[right].said)
        weights = [SLACK_WEIGHTS[(left + k) % len(SLACK_WEIGHTS)] for k in range(gaps)]
        spare, now = free - MIN_PAUSE_S * gaps, begin
        for line, weight in zip(between, weights, strict=False):
            now += MIN_PAUSE_S + spare * weight / sum(weights)
            line.start_s = now
            now += line.length_s
    assert all(line.start_s is not None for line in lines), "the first and the last line need a time"


def spoken(lines: list[Line]) -> list[Word]:
    """Return every word with its time from the start of the recording."""
    return [Word(w.text, (line.start_s or 0.0) + w.start_s, w.length_s) for line in lines for w in line.words]


def truth(script: Script) -> dict[str, list[dict[str, object]]]:
    """Return what was really worked and said, and what an auditor would and would not write."""
    intervals: list[dict[str, object]] = []
    for line in script.lines:
        for mark, offset in line.marks:
            at = round((line.start_s or 0.0) + offset, 1)
            if mark == "[":
                intervals.append({**line.where, "start": at})
            else:
                intervals[-1]["end"] = at
    tags = [
        {
            "at": round(line.start_s or 0.0, 2),
            "end": round((line.start_s or 0.0) + line.length_s, 2),
            "tag": tag,
            "text": " ".join(word.text for word in line.words),
        }
        for line in script.lines
        for tag in line.tags
    ]
    lists: dict[str, list[dict[str, object]]] = {"!": [], "?": []}
    for kind, check, keys, note, index in script.notes:
        line = script.lines[index]
        at = int(note_s(check, line, intervals))
        entry: dict[str, object] = {"check": check, **line.where, "at": f"{at // 60}:{at % 60:02d}"}
        for key, value in keys.items():
            entry[key] = int(value) if key == "round" and value else value
        for key in ("block", "round", "move", "side"):
            if not entry[key]:
                del entry[key]
        lists[kind].append({**entry, "note": note})
    return {"intervals": intervals, "tags": tags, "findings": lists["!"], "traps": lists["?"]}


def note_s(check: str, line: Line, intervals: list[dict[str, object]]) -> float:
    """Return the time of a note: its line's, or the start of the first interval that it speaks of as a whole."""
    whole = {"interval": ("block", "round", "move", "side"), "side": ("block", "round", "move"), "block": ("block",)}
    whole |= {"easier": ("block", "round", "move"), "cue": ("block", "move")}
    keys = whole.get(check.split("-")[0], ())
    same = [entry for entry in intervals if all(entry[key] == line.where[key] for key in keys)]
    return float(str(same[0]["start"])) if keys and same else line.start_s or 0.0


def place(lines: list[Line]) -> None:
    """Give every line its time.

    Raises
    ------
    CrowdedError
        When more is said between two fixed lines than there is time for.
    """
    fix_marks(lines)
    fix_offsets(lines)
    spread(lines)
