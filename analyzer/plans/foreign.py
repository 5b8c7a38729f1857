"""Tells when a file handed over as a plan is something else, most often the recording's transcript."""

from __future__ import annotations

import re

_LINES_READ = 40

_MAGIC = (
    (b"PK\x03\x04", "a spreadsheet workbook or another zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old office document"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"ID3", "a sound file"),
    (b"RIFF", "a sound or video file"),
    (b"\x1aE\xdf\xa3", "a video file"),
)

_TIME = r"(?:[0-9]{1,3}:)?[0-9]{1,3}:[0-9]{2}(?:[.,][0-9]{1,3})?"
_ARROW = re.compile(rf"\s*{_TIME}\s*-->\s*{_TIME}", re.ASCII)
_PAIR = re.compile(r"[0-9]+:[0-9]{2}:[0-9]{2}\.[0-9]{3},[0-9]+:[0-9]{2}:[0-9]{2}\.[0-9]{3}\s*", re.ASCII)
_BRACKETED = re.compile(rf"\s*[\[(]{_TIME}[\])]", re.ASCII)
_BARE = re.compile(rf"{_TIME}(?:\s+-?\s*\S|\s*$)", re.ASCII)
_JSON_WORDS = re.compile(r'[{,]\s*"(?:segments|words|word|start|end)"\s*:', re.ASCII)


def name_foreign_bytes(data: bytes) -> str | None:
    """Return what a binary file is by its first bytes, or None."""
    if data[4:8] == b"ftyp":
        return "a video file"
    return next((name for magic, name in _MAGIC if data.startswith(magic)), None)


def name_foreign_text(text: str) -> str | None:
    """Return what a text that is no plan looks like, or None when nothing speaks against a plan."""
    head = [line for line in text.lstrip("\ufeff").splitlines()[:_LINES_READ] if line.strip()]
    if not head:
        return None
    first = head[0].lstrip()
    if first.startswith("WEBVTT"):
        return "a transcript (WebVTT captions)"
    if first.lower().startswith("[script info]"):
        return "a transcript (ASS captions)"
    if first.startswith("<"):
        return "an XML or HTML file (TTML captions are a transcript)"
    if any(_ARROW.match(line) for line in head):
        return "a transcript (SubRip captions)"
    if any(_PAIR.fullmatch(line) for line in head):
        return "a transcript (SBV captions)"
    if _BRACKETED.match(first) or sum(_BRACKETED.match(line) is not None for line in head) > 1:
        return "a transcript (text with time stamps)"
    if _BARE.match(first):
        return "a transcript (text with time stamps)"
    if first.startswith(("{", "[")) and _JSON_WORDS.search(text[:4000]):
        return "a transcript (a speech recogniser's JSON)"
    if ":" not in first and first.count(",") + first.count("\t") + first.count(";") > 1:
        return "a table"
    return None
