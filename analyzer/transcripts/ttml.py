"""TTML and IMSC captions: a hardened XML read (no document type, no entities of the file's own).

Reads clock times, frames, ticks and offsets; nested and sequential containers; ``span`` times where a paragraph has
none. pysubs2 reads TTML too, but refuses a file with frames or ticks, which broadcast files use.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, field

from analyzer.model.clock import MAX_MS, parse_clock_ms
from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem
from analyzer.transcripts.reading import Block, Reading, skipped

_MAX_DEPTH = 40
_PIECE = 64 * 1024
_MAX_ELEMENTS = 500_000  # a caption takes a few
_CLOCK_FRAMES = re.compile(r"([0-9]{2,}:[0-9]{2}:[0-9]{2}):([0-9]{2,})(?:\.[0-9]+)?")
_OFFSET = re.compile(r"([0-9]{1,12}(?:\.[0-9]{1,9})?)(h|m|s|ms|f|t)")
_UNIT_MS = {"h": 3_600_000.0, "m": 60_000.0, "s": 1000.0, "ms": 1.0}


class _Capped(ET.TreeBuilder):
    """Builds the tree only as deep and as large as captions are: what goes beyond never gets into memory."""

    depth = elements = 0

    def start(self, tag: str, attrs: dict[str, str], /) -> ET.Element:
        self.depth += 1
        self.elements += 1
        if self.depth > _MAX_DEPTH:
            raise ValueError(f"nests beyond {_MAX_DEPTH} levels")
        if self.elements > _MAX_ELEMENTS:
            raise ValueError(f"holds more than {_MAX_ELEMENTS:,} elements")
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> ET.Element:
        self.depth -= 1
        return super().end(tag)


@dataclass(slots=True)
class _Walk:
    """What a walk through the document knows and has collected."""

    frame_ms: float
    tick_ms: float
    agents: dict[str, str]
    blocks: list[Block] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_ttml(text: str, name: str) -> Reading:
    """Return one block a timed paragraph (or timed span).

    Raises
    ------
    TranscriptError
        When it is not well-formed XML, declares a document type or entities, nests beyond 40 levels, or
        holds over 500,000 elements.
    """
    if re.search(r"<!(?:DOCTYPE|ENTITY)", text, re.IGNORECASE):
        raise TranscriptError(name, "", "declares a document type or entities", "remove the DOCTYPE; none is needed")
    text = re.sub(r"^\s*<\?xml[^>]*\?>", "", text)  # the text is decoded already, whatever the declaration says
    try:
        root = _parsed(text)
    except ET.ParseError as error:
        raise TranscriptError(name, f"line {error.position[0]}", "is not well-formed XML", "export it again") from error
    except ValueError as error:
        raise TranscriptError(name, "", f"cannot be read as XML: it {error}", "export it again") from error
    body = next((child for child in root if _local(child.tag) == "body"), None)
    walk = _Walk(*_rates(root), _agents(root))
    if body is not None:
        _visit(body, 0.0, None, None, walk)
    return Reading(tuple(walk.blocks), "ttml", "cue", tuple(walk.problems))


def _parsed(text: str) -> ET.Element:
    """Return the root of a document, read in pieces: the parser goes on to the end of the piece that goes too far."""
    parser = ET.XMLParser(target=_Capped())
    for at in range(0, len(text), _PIECE):
        parser.feed(text[at : at + _PIECE])
    root: ET.Element = parser.close()
    return root


def _local(tag: object) -> str:
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def _attribute(element: ET.Element, name: str) -> str | None:
    return next((value for key, value in element.attrib.items() if _local(key) == name), None)


def _rates(root: ET.Element) -> tuple[float, float]:
    """Return milliseconds a frame and a tick (TTML defaults: 30 frames a second; ticks as frames, else 1 a second)."""
    rate = _positive(_attribute(root, "frameRate")) or 30.0
    parts = (_attribute(root, "frameRateMultiplier") or "1 1").split()
    if len(parts) == 2:
        top, bottom = _positive(parts[0]), _positive(parts[1])
        rate = rate * top / bottom if top and bottom else rate
    tick = _positive(_attribute(root, "tickRate")) or (rate if _attribute(root, "frameRate") else 1.0)
    return 1000.0 / rate, 1000.0 / tick


def _positive(text: str | None) -> float | None:
    return float(text) if text and re.fullmatch(r"[0-9]{1,12}", text) and int(text) > 0 else None


def _agents(root: ET.Element) -> dict[str, str]:
    """Return the names of the agents declared in the head, by id."""
    agents: dict[str, str] = {}
    for element in root.iter():
        key = _attribute(element, "id")
        if _local(element.tag) == "agent" and key:
            names = [child.text for child in element if _local(child.tag) == "name" and child.text]
            agents[key] = " ".join(names[0].split()) if names else key
    return agents


def _time_ms(text: str, walk: _Walk) -> float:
    """Return a time expression in milliseconds; ValueError names what it can't be."""
    text = text.strip()
    offset = _OFFSET.fullmatch(text)
    if offset:
        unit = {"f": walk.frame_ms, "t": walk.tick_ms}.get(offset[2]) or _UNIT_MS[offset[2]]
        value = float(offset[1]) * unit
    elif frames := _CLOCK_FRAMES.fullmatch(text):
        value = parse_clock_ms(frames[1]) + int(frames[2][:6]) * walk.frame_ms
    else:
        value = float(parse_clock_ms(text))
    if value > MAX_MS:
        raise ValueError(f"'{text[:40]}' lies beyond 100 hours")
    return value


def _visit(element: ET.Element, base: float, until: float | None, speaker: str | None, walk: _Walk) -> float | None:
    """Collect the blocks of an element that starts in a container at ``base``; return its end, where it has one."""
    try:
        begin, end = _span(element, base, until, walk)
    except ValueError as error:
        walk.problems.append(skipped(f"paragraph {len(walk.blocks) + 1}", str(error)))
        return None
    agent = _attribute(element, "agent")
    speaker = walk.agents.get(agent.split()[0], agent) if agent and agent.split() else speaker
    timed = "begin" in element.attrib or "end" in element.attrib or "dur" in element.attrib
    if _local(element.tag) == "p" or (_local(element.tag) == "span" and timed):
        inner = [child for child in element.iter() if child is not element and "begin" in child.attrib]
        if not inner:
            words = "".join(_text(element))
            if words.strip():
                walk.blocks.append(Block(round(begin), None if end is None else round(end), words, 0, speaker))
            return end
    sequential = element.get("timeContainer") == "seq"
    at = begin
    for child in element:
        child_end = _visit(child, at, end, speaker, walk)
        if sequential and child_end is not None:
            at = child_end
    return end if end is not None else (at if sequential else None)


def _span(element: ET.Element, base: float, until: float | None, walk: _Walk) -> tuple[float, float | None]:
    begin = base + (_time_ms(element.attrib["begin"], walk) if "begin" in element.attrib else 0.0)
    end = base + _time_ms(element.attrib["end"], walk) if "end" in element.attrib else None
    if "dur" in element.attrib:
        by_length = begin + _time_ms(element.attrib["dur"], walk)
        end = by_length if end is None else min(end, by_length)
    if until is not None:
        end = until if end is None else min(end, until)
    return begin, end


def _text(element: ET.Element) -> Iterator[str]:
    """Yield the words of an element; a ``br`` is a line break, metadata is left out."""
    yield (element.text or "").replace("\n", " ")
    for child in element:
        kind = _local(child.tag)
        if kind == "br":
            yield "\n"
        elif kind in ("span", "p", "div"):
            yield from _text(child)
        yield (child.tail or "").replace("\n", " ")
