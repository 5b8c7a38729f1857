"""Shared by the tests of this room: write a text to a file, read it, list what came out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from analyzer.model.transcript import Transcript
from analyzer.transcripts import read_transcript

Read = Callable[..., Transcript]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    def write_and_read(content: str | bytes, name: str = "take.txt") -> Transcript:
        path = tmp_path / name
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return read_transcript(path)

    return write_and_read
