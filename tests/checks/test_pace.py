"""Talk and captions that are too fast."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import run_checks
from analyzer.model.transcript import Caption, Token
from tests.factory import words_from


def spoken(take, *bursts, u=0.05):
    """Return the pace findings of a class in which each burst (start, seconds, words a minute) is spoken."""
    context = take.context()
    lines = [(start + 60.0 * n / wpm, "word") for start, length, wpm in bursts for n in range(int(length * wpm / 60))]
    words = words_from(lines, u_s=u)
    context = replace(context, transcript=replace(context.transcript, words=words))
    return [f for f in run_checks(context) if f.check == "pace-fast"]


@pytest.mark.parametrize("wpm", [210, 230, 300])
def test_fast_talk_is_told_once(take, wpm):
    found = spoken(take, (10.0, 90.0, wpm))
    assert found[0].verdict == "fail"
    assert found[0].measured == pytest.approx(wpm, abs=2)
    assert len(spoken(take, (10.0, 70.0, wpm))) == 1


def test_two_fast_stretches_are_told_twice(take):
    assert len(spoken(take, (10.0, 60.0, 230), (200.0, 60.0, 230))) == 2


@pytest.mark.parametrize("bursts", [[(10.0, 300.0, 150)], [(10.0, 300.0, 195)], [(10.0, 30.0, 300)], [(0.0, 9.0, 60)]])
def test_ordinary_talk_or_a_short_burst_is_fine(take, bursts):
    assert spoken(take, *bursts) == []


def test_coarse_times_make_it_unclear(take):
    assert [f.verdict for f in spoken(take, (10.0, 60.0, 210), u=3.0)] == ["unclear"]


def shown(take, *captions, form="webvtt"):
    """Return the caption-fast findings of captions given as (start ms, end ms, words)."""
    rows = tuple(Caption(n + 1, a, b, (Token("word"),) * size) for n, (a, b, size) in enumerate(captions))
    context = take.context()
    context = replace(context, transcript=replace(context.transcript, captions=rows, form=form))
    return [f for f in run_checks(context) if f.check == "caption-fast"]


# 11 words in 3.3 s are 200 words a minute; the captions stand close together
SLOW, FAST = (
    [(5000 * n, 5000 * n + 5000, 8) for n in range(8)],
    [(50_000 + 2000 * n, 52_000 + 2000 * n, 9) for n in range(4)],
)


def test_fast_captions_are_one_finding(take):
    found = shown(take, *SLOW, *FAST)
    assert [(f.measured, f.limit, f.at_s) for f in found] == [(pytest.approx(270.0), 200.0, 50.0)]
    assert found[0].message.startswith("3 of 12")  # nothing follows the last one, it can stay


@pytest.mark.parametrize("form", ["subrip", "sbv", "ass", "ttml"])
def test_every_form_of_captions_is_looked_at(take, form):
    assert len(shown(take, *SLOW, *FAST, form=form)) == 1


@pytest.mark.parametrize("form", ["rollup", "stamped", "words-json", "table"])
def test_forms_that_nobody_reads_on_screen_are_not(take, form):
    assert shown(take, *SLOW, *FAST, form=form) == []


def test_a_few_fast_ones_short_ones_and_brief_ones_before_a_gap_are_fine(take):
    assert shown(take, *SLOW) == []
    assert shown(take, *SLOW, *SLOW, *FAST[:1]) == []
    assert shown(take, *((3000 * n, 3000 * n + 500, 3) for n in range(9))) == []
    assert shown(take, *((5000 * n, 5000 * n + 1500, 9) for n in range(9))) == []  # 9 words in 3.5 s


def test_the_limit_itself_is_fine(take):
    assert shown(take, *((3300 * n, 3300 * n + 3300, 11) for n in range(9))) == []
    assert len(shown(take, *((3300 * n, 3300 * n + 3300, 12) for n in range(9)))) == 1
