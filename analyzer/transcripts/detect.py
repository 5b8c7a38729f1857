"""The form of a transcript, from its content. Never looks at the file's extension."""

from __future__ import annotations

import re

from analyzer.model.errors import TranscriptError
from analyzer.transcripts.sbv import TIMES_LINE
from analyzer.transcripts.stamped import stamped_share
from analyzer.transcripts.table import find_header

_SAMPLE = 200_000
_WEBVTT = re.compile(r"WEBVTT(?:[ \t\n\r]|\Z)")
_JSON = re.compile(r"\s*(?:\{|\[\s*[\[{\]])")
_ASS = re.compile(r"^(?:\[Script Info\]|\[V4\+? Styles\]|Dialogue:[^,\n]*,\d+:\d+:\d+)", re.MULTILINE | re.IGNORECASE)
_ARROW = re.compile(r"^[^\n]*[0-9][ \t]*-->", re.MULTILINE)
_SBV = re.compile(TIMES_LINE, re.MULTILINE)
_PLAN = re.compile(r"^[ \t-]*(?:blocks|moves|rounds|work|rest_after|rest_between_rounds)[ \t]*:", re.MULTILINE)
_ALLOWED = (
    "give WebVTT, SubRip, SBV, ASS, TTML, text with stamps such as [1:01], word times in JSON, "
    "or a table with start and text columns"
)


def detect_form(text: str, name: str) -> str:
    """Return ``webvtt``, ``subrip``, ``sbv``, ``ass``, ``ttml``, ``words-json``, ``table`` or ``stamped``.

    ``text`` is the whole file, decoded, its byte order mark removed.

    Raises
    ------
    TranscriptError
        When the content is in none of these forms; a class plan is named as such.
    """
    if _WEBVTT.match(text):
        return "webvtt"
    start = text[:_SAMPLE].lstrip()
    if start[:6].upper() == "WEBVTT":
        found = f"the first line is '{start.splitlines()[0][:30]}' or comes after a blank one"
        raise TranscriptError(name, "line 1", found, "a WebVTT file starts with WEBVTT alone on its first line")
    if _JSON.match(start):
        return "words-json"
    if start.startswith("<"):
        if re.search(r"<(?:[A-Za-z][\w-]*:)?tt[\s>/]", start):
            return "ttml"
        raise TranscriptError(name, "", "is XML or HTML, but not timed text (no tt element)", _ALLOWED)
    if _ASS.search(start):
        return "ass"
    if _ARROW.search(text):
        return "subrip"
    if _SBV.search(text):
        return "sbv"
    if find_header(start) is not None:
        return "table"
    if stamped_share(text) > 0:
        return "stamped"
    if len(_PLAN.findall(start)) >= 2:
        raise TranscriptError(name, "", "is a class plan, not a transcript", "give the plan with --plan")
    raise TranscriptError(name, "", "no times were found in the text", _ALLOWED)
