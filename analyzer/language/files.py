"""Reads the shipped files of a language; knows nothing of what they mean."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).parent


def read_yaml(path: Path, kind: str = "SafeLoader") -> Any:
    """Content of a shipped file; with ``BaseLoader`` every scalar stays text ("no", "on" and "5" are words)."""
    loader = getattr(yaml, f"C{kind}", None) or getattr(yaml, kind)
    return yaml.load(path.read_text(encoding="utf-8"), Loader=loader)
