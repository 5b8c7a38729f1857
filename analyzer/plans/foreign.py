"""Tells when a file handed over as a plan is something else, most often the recording's transcript."""

from __future__ import annotations

import re

from analyzer.model.errors import TranscriptError

ZIPPED = b"PK\x03\x04"
"""How a zipped file starts: a workbook, or another office document."""
OLD_OFFICE = b"\xd0\xcf\x11\xe0"
"""How an old office document starts, and a new one with a password."""
_PLAN_FIELD = re.compile(r"""(?:^|[{,])[ \t]*["']?(?:title|blocks)["']?[ \t]*:""", re.MULTILINE)
_TIMED_JSON = re.compile(r'[{,]\s*"(?:segments|words|word|start|end)"\s*:')
_FORMS = {
    "webvtt": "WebVTT captions",
    "subrip": "SubRip captions",
    "sbv": "SBV captions",
    "ass": "ASS captions",
    "ttml": "TTML captions",
    "words-json": "a speech recogniser's JSON",
    "table": "a table of words or captions",
    "stamped": "text with time stamps",
}


def is_workbook(data: bytes) -> bool:
    """Tell whether the bytes are those of a spreadsheet workbook or another office document."""
    return data.startswith((ZIPPED, OLD_OFFICE))


def opens_plan(line: str) -> bool:
    """Tell whether a line opens a plan in YAML, even where its title reads like a row of headers."""
    return _PLAN_FIELD.match(line) is not None


def name_foreign(text: str) -> str | None:
    """Return what a text that is no plan looks like, or None when it may be a plan, be it a faulty one.

    A text with a ``title`` or ``blocks`` field counts as a plan, whatever else it holds, unless it opens as WebVTT.
    """
    if _PLAN_FIELD.search(text) and not text.startswith("WEBVTT"):
        return None
    from analyzer.transcripts.detect import detect_form  # the readers of transcripts are only paid for when in doubt

    try:
        form = detect_form(text, "")
    except TranscriptError:
        return _other_table_or_markup(text)
    if form == "words-json" and not _TIMED_JSON.search(text):
        return None
    return f"a transcript ({_FORMS.get(form, form)})"


def _other_table_or_markup(text: str) -> str | None:
    first = text.lstrip().partition("\n")[0]
    if first.startswith("<"):
        return "an XML or HTML file"
    if ":" not in first and sum(first.count(mark) for mark in ",;\t") > 1:
        return "a table"
    return None
