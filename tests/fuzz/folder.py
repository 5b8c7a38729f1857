"""A folder of this process alone, in memory where there is such a disk, for readers that take a path."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path


@cache
def folder() -> Path:
    """Return the folder; it goes when the process ends."""
    memory = Path("/dev/shm")
    made = Path(tempfile.mkdtemp(prefix="fuzz-", dir=memory if os.access(memory, os.W_OK) else None))
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return made


def scratch(name: str, content: bytes) -> Path:
    """Return the path of a file that holds ``content``, written over what was there."""
    path = folder() / name
    path.write_bytes(content)
    return path
