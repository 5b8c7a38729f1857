"""The tuple of checks against the files on disk and against itself."""

from __future__ import annotations

import importlib
import pkgutil

import pytest

import analyzer.checks as room
from analyzer.checks import CHECKS, Check
from analyzer.checks.metadata import COMMON_PRACTICE

EXPECTED = {
    "interval-long", "interval-short", "rest-long", "rest-short", "block-long", "block-short", "class-long",
    "class-short", "start-drift", "move-missing", "round-missing", "move-extra", "order-changed", "count-broken",
    "count-pace", "count-late", "count-missing", "time-call-off", "promise-broken", "cue-missing", "side-missing",
    "side-uneven", "side-wrong", "easier-missing", "easier-late", "harder-missing", "silence-long", "caption-order",
    "caption-overlap", "caption-fast", "pace-fast", "name-missing", "breath-missing", "water-missing",
    "safety-missing", "preview-missing", "preview-wrong", "phrase-overused", "phrase-banned",
    "phrase-required", "caption-misheard",
}  # fmt: skip


def test_every_check_on_disk_is_in_the_tuple_once():
    on_disk = set()
    for info in pkgutil.iter_modules(room.__path__):
        module = importlib.import_module(f"analyzer.checks.{info.name}")
        on_disk |= {value.id for value in vars(module).values() if isinstance(value, Check)}
    assert on_disk == {check.id for check in CHECKS}
    assert len(CHECKS) == len({check.id for check in CHECKS})


def test_the_promised_checks_are_there():
    assert {check.id for check in CHECKS} >= EXPECTED


@pytest.mark.parametrize("check", CHECKS, ids=lambda c: c.id)
def test_metadata_is_complete(check):
    for text in (check.title, check.means, check.measured, check.fix):
        assert text
        assert "\n" not in text
    assert not check.title.endswith(".")
    assert check.means.endswith(".")
    for parameter in check.parameters:
        assert parameter.low <= parameter.default <= parameter.high
        assert parameter.source == COMMON_PRACTICE or "Ofcom" in parameter.source
        assert parameter.meaning
        assert parameter.unit
    assert check.source == COMMON_PRACTICE
    assert not check.varies or check.parameters or check.phrases


def test_only_two_checks_are_off_by_default():
    assert {check.id for check in CHECKS if not check.on} == {"count-missing", "harder-missing"}
