"""Files of captions, stamped text and word times to one form.

Takes the path of a recording's transcript. Gives a :class:`~analyzer.model.transcript.Transcript`: captions, and words
with times, hard bounds and uncertainty. Never looks at the plan, and never trusts a file's extension.

To add a form: one reader module with ``read_<form>(text, name) -> Reading``, a rule in ``detect.py``, a line in
``_READERS``, and ``tests/transcripts/test_<form>.py``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from analyzer.model.transcript import Transcript
from analyzer.transcripts.assemble import to_transcript
from analyzer.transcripts.class_clock import with_class_start
from analyzer.transcripts.detect import detect_form
from analyzer.transcripts.encoding import plain_text, read_bytes
from analyzer.transcripts.reading import Reading
from analyzer.transcripts.sbv import read_sbv
from analyzer.transcripts.stamped import read_stamped
from analyzer.transcripts.subtitles import read_ass, read_subrip
from analyzer.transcripts.table import read_table
from analyzer.transcripts.timing import time_words
from analyzer.transcripts.ttml import read_ttml
from analyzer.transcripts.webvtt_reader import read_webvtt
from analyzer.transcripts.words_json import read_words_json

__all__ = ["parse_transcript", "plain_text", "read_bytes", "read_transcript", "time_words", "with_class_start"]

_READERS: dict[str, Callable[[str, str], Reading]] = {
    "webvtt": read_webvtt,
    "subrip": read_subrip,
    "sbv": read_sbv,
    "ass": read_ass,
    "ttml": read_ttml,
    "words-json": read_words_json,
    "table": read_table,
    "stamped": read_stamped,
}


def read_transcript(path: Path) -> Transcript:
    """Return the transcript in a file, its form told from its content.

    Damaged parts are left out and listed in ``problems``; ``name`` is the file's name alone.

    Raises
    ------
    TranscriptError
        When the file is missing, a folder, empty, not text, in no known form, without a usable caption, or larger than
        any class (32 MB, a million lines, 150,000 words).
    """
    return parse_transcript(read_bytes(path), path.name)


def parse_transcript(data: bytes, name: str) -> Transcript:
    """Return the transcript in a file's bytes; ``name`` is what errors call the file. Raises TranscriptError."""
    text, doubt = plain_text(data, name)
    reading = _READERS[detect_form(text, name)](text, name)
    return to_transcript(reading, name, hashlib.sha256(data).hexdigest(), () if doubt is None else (doubt,))
