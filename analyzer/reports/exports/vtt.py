"""Timed text written after the W3C's WebVTT (authoring rules) and as SubRip: one place for times and escapes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analyzer.reports.plain import safe_text


@dataclass(frozen=True, slots=True)
class TimedText:
    """Lines of text shown from ``start_ms`` to ``end_ms``, whole milliseconds. ``voice`` who says them, where known."""

    start_ms: int
    end_ms: int
    text: str
    voice: str | None = None


def in_order(start_s: float, end_s: float, not_before_ms: int = 0) -> tuple[int, int]:
    """Return a span in milliseconds that starts no sooner than another ended, and lasts at least one."""
    start = max(round(start_s * 1000), not_before_ms, 0)
    return start, max(round(end_s * 1000), start + 1)


def webvtt_bytes(cues: Iterable[TimedText], title: str = "", raw: bool = False) -> bytes:
    """Return a WebVTT file. ``title`` stands in its first line; ``raw`` text is metadata, written as it is.

    Sections of the standard: file structure, cue timings, cue text span, voice span.
    """
    head = f"WEBVTT {_line(title)}".rstrip()
    blocks = [f"{stamp(c.start_ms)} --> {stamp(c.end_ms)}\n{c.text if raw else _cue_text(c)}" for c in cues]
    return ("\n\n".join([head, *blocks]) + "\n").encode("utf-8")


def subrip_bytes(cues: Iterable[TimedText]) -> bytes:
    """Return a SubRip file; who speaks stands before the text. There is no standard for it: common practice."""
    blocks = []
    for number, cue in enumerate(cues, 1):
        text = "\n".join(_lines(cue.text)).replace("-->", "->")
        said = f"{_line(cue.voice)}: {text}" if cue.voice else text
        blocks.append(f"{number}\n{stamp(cue.start_ms, ',')} --> {stamp(cue.end_ms, ',')}\n{said}\n")
    return "\n".join(blocks).replace("\n", "\r\n").encode("utf-8")


def stamp(ms: int, point: str = ".") -> str:
    """Return a time as WebVTT writes it, or SubRip with a comma.

    >>> stamp(3_661_500), stamp(3_661_500, ",")
    ('01:01:01.500', '01:01:01,500')
    """
    seconds, rest = divmod(ms, 1000)
    return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{point}{rest:03d}"


def escaped(text: str) -> str:
    """Return text that a reader of WebVTT shows as it is."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _cue_text(cue: TimedText) -> str:
    text = "\n".join(escaped(line) for line in _lines(cue.text))
    return f"<v {escaped(_line(cue.voice))}>{text}" if cue.voice else text


def _lines(text: str) -> list[str]:
    return [line for line in (" ".join(part.split()) for part in safe_text(text).split("\n")) if line]


def _line(text: str) -> str:
    return " ".join(safe_text(text).replace("-->", "->").split())
