"""The transcript as the page shows it: caption by caption, with what was spotted marked in place."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from analyzer.checks.cues import SAID_FROM
from analyzer.model.audit import Audit, Finding
from analyzer.model.events import CueSaid, Event, Events, Mention, OptionOffer, Signal, TimeCall

KINDS: tuple[tuple[str, str, bool], ...] = (
    ("call", "Time calls", True),
    ("count", "Counts", True),
    ("option", "Options", True),
    ("promise", "Promises", True),
    ("cue", "Cues", True),
    ("side", "Sides", True),
    ("name", "Move names", False),
    ("signal", "Starts and stops", False),
)
"""What can be marked: style class, name, and whether it is marked before the reader asks."""


Marked = tuple[str, str, bool]
"""A mark over a word: its kind, the word or two that name it, whether it ends with this word."""


@dataclass(frozen=True, slots=True)
class Run:
    """Words in a row under the same marks: ``kinds`` of :data:`KINDS`; ``tags`` (kind, word) of marks ending here."""

    text: str
    kinds: tuple[str, ...]
    tags: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Passage:
    """One caption: when it begins, who speaks where that changes, its runs, and the findings that begin in it."""

    at_s: float
    speaker: str | None
    runs: tuple[Run, ...]
    findings: tuple[Finding, ...]


def passages(audit: Audit) -> tuple[Passage, ...]:
    """Return the words of the recording in captions, in spoken order; captions without a word are left out."""
    words = audit.transcript.words
    marks = _marks(_told(audit), len(words))
    starts = words.start_s.tolist()
    spans = [list(group) for _, group in groupby(range(len(words)), key=words.caption.tolist().__getitem__)]
    flags = _flags(audit, [starts[span[0]] for span in spans])
    out: list[Passage] = []
    before: str | None = None
    for number, span in enumerate(spans):
        speaker = words.speaker[span[0]]
        told = speaker if speaker != before else None
        before = speaker
        runs = tuple(_runs(words.text, span, marks))
        out.append(Passage(starts[span[0]], told, runs, tuple(flags.get(number, ()))))
    return tuple(out)


def _told(audit: Audit) -> Events:
    """Return the events without words that might have been a time call and were found to be none."""
    judged = {(call.kind, call.at_s) for call in audit.facts.calls}
    calls = tuple(c for c in audit.events.calls if not c.bare or (c.kind, c.at_s) in judged)
    return replace(audit.events, calls=calls)


def _marks(events: Events, size: int) -> list[list[Marked]]:
    """Return for every word the marks over it."""
    marks: list[list[Marked]] = [[] for _ in range(size)]
    for kind, tag, event in _tagged(events):
        for index in range(max(event.first, 0), min(event.last + 1, size)):
            marks[index].append((kind, tag, index == event.last))
    return marks


def _tagged(events: Events) -> Iterator[tuple[str, str, Event]]:
    """Yield every event with its kind and the word or two that name it."""
    yield from (("count", "count" if c.role == "seconds" else "repetitions", c) for c in events.counts)
    yield from (("call", _call_tag(c), c) for c in events.calls)
    yield from (("option", _option_tag(o), o) for o in events.options if not o.doubtful)
    yield from (("promise", "promise", p) for p in events.promises)
    yield from (("cue", _cue_tag(c), c) for c in events.cues if c.kind != "must-say" or c.score >= SAID_FROM)
    yield from (("side", f"{s.side}{', taken back' if s.corrected else ''}", s) for s in events.sides)
    yield from (("name", _name_tag(m), m) for m in events.mentions)
    yield from (("signal", _signal_tag(s), s) for s in events.signals)


def _call_tag(call: TimeCall) -> str:
    return {"left": "time left", "gone": "time gone", "half": "half-way"}[call.kind]


def _option_tag(option: OptionOffer) -> str:
    return f"{option.direction} option{', whole block' if option.scope == 'block' else ''}"


def _cue_tag(cue: CueSaid) -> str:
    return {"breath": "breathing", "safety": "caution", "water": "water", "must-say": "must-say"}[cue.kind]


def _name_tag(mention: Mention) -> str:
    names = {"preview": "announced", "demo": "demo", "past": "over", "plain": ""}
    about = names[mention.context]
    return f"{mention.name}, {about}" if about else mention.name


def _signal_tag(signal: Signal) -> str:
    return f"round {signal.number}" if signal.kind == "round" and signal.number else signal.kind


def _runs(text: tuple[str, ...], span: list[int], marks: list[list[Marked]]) -> Iterator[Run]:
    """Yield a caption's words, cut wherever a mark begins or ends."""
    first = span[0]
    for index in span:
        own = marks[index]
        ends = any(end for _, _, end in own)
        if index == span[-1] or ends or _kinds(marks[index + 1]) != _kinds(own):
            tags = tuple((kind, tag) for kind, tag, end in own if end)
            yield Run(" ".join(text[first : index + 1]), _kinds(own), tags)
            first = index + 1


def _kinds(marks: list[Marked]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(kind for kind, _, _ in marks))


def _flags(audit: Audit, starts: list[float]) -> dict[int, list[Finding]]:
    """Return the standing findings by the number of the caption in which they begin."""
    out: dict[int, list[Finding]] = {}
    for finding in audit.findings:
        if finding.at_s is not None and finding.waived is None and starts:
            out.setdefault(max(bisect_right(starts, finding.at_s + 0.05) - 1, 0), []).append(finding)
    return out
