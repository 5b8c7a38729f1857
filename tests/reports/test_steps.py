import json

import numpy as np
import pytest

from analyzer.reports.outputs import KINDS, render_files
from analyzer.reports.steps import step_bytes


def test_dataclasses_arrays_and_odd_numbers(audit):
    step = json.loads(step_bytes(audit.transcript))
    assert step["words"]["u_s"][0] == 0.31
    assert step["words"]["opens"][0] is False
    assert step["captions"][0]["start_ms"] == 1000
    assert json.loads(step_bytes({"a": np.float64("nan"), "b": {3, 1}, "c": np.int64(4)})) == {
        "a": None,
        "b": [1, 3],
        "c": 4,
    }


def test_every_kind_renders_its_files(audit):
    assert KINDS == ("json", "csv", "html", "fixes", "figures")
    assert sorted(render_files(audit, ["json", "html"])) == ["report.html", "report.json"]
    assert render_files(audit, []) == {}
    with pytest.raises(KeyError, match="pdf"):
        render_files(audit, ["pdf"])
