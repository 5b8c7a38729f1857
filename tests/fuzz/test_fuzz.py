"""A short run of what ``tests.fuzz.run`` does at length, and everything that once broke the program, again."""

from __future__ import annotations

import time
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.mutate import mutated
from tests.fuzz.run import PATIENCE_S, REGRESS, fuzz, inputs
from tests.fuzz.targets import TARGETS, attempt

SHORT = {"audit": 30, "report": 60, "plan-xlsx": 40}
ONCE = sorted(path.relative_to(REGRESS) for path in REGRESS.rglob("*") if path.is_file())
LETTERS = st.sampled_from(
    [*"0123456789:.,->[]{}<>\"'&#|;=\n\t -", "WEBVTT", "-->", "start,text", "title:", "squat", "é", "\0"]
)


@pytest.mark.parametrize("name", TARGETS)
def test_good_files_are_used(name):
    for data in TARGETS[name].seeds():
        assert attempt(TARGETS[name], data), data[:200]


@pytest.mark.parametrize("path", ONCE, ids=str)
def test_what_once_broke_the_program(path):
    began = time.process_time()
    attempt(TARGETS[path.parts[0]], (REGRESS / path).read_bytes())
    assert time.process_time() - began < PATIENCE_S


@pytest.mark.parametrize("name", TARGETS)
def test_broken_files_are_used_or_refused(name, tmp_path, monkeypatch):
    monkeypatch.setattr("tests.fuzz.run.KEPT", tmp_path)
    runs = SHORT.get(name, 250)
    seen = fuzz(name, runs, seed=0)
    used, refused = seen.pop("used", 0), seen.pop("refused", 0)
    assert not seen
    assert used + refused == runs
    assert used
    assert refused


@pytest.mark.parametrize("name", [name for name in TARGETS if name != "audit"])
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    data=st.one_of(st.binary(max_size=300), st.lists(LETTERS, max_size=80).map(lambda parts: "".join(parts).encode()))
)
def test_any_bytes_are_used_or_refused(name, data):
    assert attempt(TARGETS[name], data) in (True, False)


def test_a_seed_always_breaks_files_the_same_way():
    good = inputs("webvtt")
    once, again = (mutated(good[0], Random(7), good) for _ in range(2))
    assert once == again != good[0]
    assert mutated(good[0], Random(8), good) != once


def test_what_breaks_the_program_is_kept(tmp_path, monkeypatch, capsys):
    def broken(data):
        raise KeyError("oh")

    monkeypatch.setattr("tests.fuzz.run.KEPT", tmp_path)
    monkeypatch.setitem(TARGETS, "sbv", type(TARGETS["sbv"])(broken, TARGETS["sbv"].seeds))
    seen = fuzz("sbv", 3, seed=1)
    assert list(seen.values()) == [3]
    assert "KeyError" in capsys.readouterr().out
    assert len(list((tmp_path / "sbv").iterdir())) == 1
