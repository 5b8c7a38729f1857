"""What left each room as JSON, so that a wrong result can be traced to the seam where it first went wrong."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from analyzer.reports.plain import rounded, safe_text
from analyzer.reports.report_json import json_bytes


def step_bytes(value: Any) -> bytes:
    """Return any value of the model as JSON bytes: dataclasses by field, arrays as lists, floats to 0.001."""
    return json_bytes(_plain(value))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, dict):
        return {safe_text(str(key)): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, set | frozenset):
        return sorted((_plain(item) for item in value), key=str)
    if isinstance(value, float):
        return rounded(value, 3)
    return value if value is None or isinstance(value, bool | int) else safe_text(str(value))
