"""Invented classes: the same for a seed, true to themselves, and readable in every form."""

from __future__ import annotations

import json
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from analyzer.model.transcript import Words
from analyzer.plans import make_schedule, read_plan
from analyzer.transcripts import read_transcript
from tests.generator import FORMS, SHAPES, STYLES, TIMINGS, GeneratedClass, generate, write_case
from tests.generator.classes import Word, exercises
from tests.generator.generate import Tape, call_findings
from tests.generator.noise import hear, near_words

SEEDS = range(24)
MATCHED = 0.99  # share of words that must lie inside the form's hard bounds


@cache
def made(seed: int) -> GeneratedClass:
    return generate(seed)


def as_spoken(text: str) -> str:
    return text.lower().strip(".,!?;:")


def onsets(words: Words, spoken: list[Word]) -> tuple[np.ndarray, np.ndarray]:
    """Return read and true word indexes that belong together: equal words in order, from a common subsequence."""
    from difflib import SequenceMatcher

    a, b = [as_spoken(w) for w in words.text], [as_spoken(w.text) for w in spoken]
    blocks = SequenceMatcher(None, a, b, autojunk=False).get_matching_blocks()
    pairs = [(m.a + k, m.b + k) for m in blocks for k in range(m.size)]
    found = np.array(pairs, dtype=np.int64)
    return found[:, 0], found[:, 1]


def test_a_seed_always_gives_the_same_files(tmp_path: Path) -> None:
    for name in ("once", "again"):
        write_case(generate(5), tmp_path / name)
    files = sorted(path.name for path in (tmp_path / "once").iterdir())
    assert files == sorted([*FORMS, "plan.yaml", "truth.json"])
    for name in files:
        assert (tmp_path / "once" / name).read_bytes() == (tmp_path / "again" / name).read_bytes(), name


def test_other_seeds_give_other_classes() -> None:
    assert len({" ".join(w.text for w in made(seed).words) for seed in SEEDS}) == len(SEEDS)


def test_every_style_shape_and_timing_is_drawn() -> None:
    many = [generate(seed) for seed in range(80)]
    assert {m.style for m in many} == set(STYLES)
    assert {m.shape for m in many} == set(SHAPES)
    assert {m.timing for m in many} == set(TIMINGS)
    assert any(m.lost_rounds for m in many)


def test_exercises_are_many_and_distinct() -> None:
    names = [e.name.lower() for e in exercises()]
    assert len(names) >= 80
    assert len(set(names)) == len(names)
    assert any(" " not in name for name in names)
    assert all(e.also and e.cue and e.easier for e in exercises())


@pytest.mark.parametrize("seed", SEEDS)
def test_truth_is_consistent(seed: int) -> None:
    one = made(seed)
    assert one.intervals
    for row in one.intervals:
        assert 0 <= row["start"] < row["end"] <= one.duration_s
    for before, after in pairwise(one.intervals):
        assert before["end"] <= after["start"] + 0.01
    for before, after in pairwise(one.words):
        assert before.start <= before.end + 1e-9
        assert before.end <= after.start + 0.02, f"{before} {after}"
    assert one.words[-1].end <= one.duration_s
    assert all(0.05 < w.end - w.start < 2.5 for w in one.words if w.end - w.start > 1e-6)
    lost = {(row["block"], row["round"]) for row in one.lost_rounds}
    assert not lost & {(row["block"], row["round"]) for row in one.intervals}


@pytest.mark.parametrize("seed", SEEDS)
def test_what_differs_from_the_plan_is_told(seed: int) -> None:
    one = made(seed)
    planned = {}
    for p in make_schedule(one.plan).intervals:
        block = one.plan.blocks[p.block]
        planned[block.name, p.round, block.moves[p.move].name, p.side] = p.work_s
    told = {(s["check"], s.get("block"), s.get("round"), s.get("move"), s.get("side")) for s in one.slips}
    worked = set()
    for row in one.intervals:
        place = (row["block"], row["round"], row["move"], row["side"])
        worked.add(place)
        if place not in planned:
            assert ("move-extra", *place[:3], None) in told
            continue
        off = row["end"] - row["start"] - planned[place]
        assert (("interval-long", *place) in told) == (off > 5.0), place
        assert (("interval-short", *place) in told) == (off < -5.0), place
        assert abs(off) <= 40
    for place in set(planned) - worked:
        lost = ("round-missing", place[0], place[1], None, None) in told
        assert lost or ("move-missing", *place[:3], None) in told, place


@pytest.mark.parametrize("seed", SEEDS)
def test_counts_and_calls_point_at_their_end(seed: int) -> None:
    one = made(seed)
    ends = np.array([row["end"] for row in one.intervals] + [row["start"] for row in one.intervals])
    counts = [line for line in one.lines if line.tags == ["count"]]
    # ends and starts are a second after "one"; a cut may have parted a few counts from theirs
    near = [float(np.abs(ends - (line.words[-1].start + 1.0)).min()) < 0.5 for line in counts]
    assert sum(near) >= len(near) - 2
    calls = [line for line in one.lines if line.tags and line.tags[0].startswith("left")]
    false = call_findings(Tape(one.lines, one.intervals, one.duration_s))
    assert len(false) <= 0.25 * max(8, len(calls))
    assert false == [f for f in one.findings if f["check"] == "time-call-off"]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_plan_reads_back(seed: int, tmp_path: Path) -> None:
    one = made(seed)
    write_case(one, tmp_path, forms=())
    plan = read_plan(tmp_path / "plan.yaml")
    assert (plan.title, plan.blocks, plan.length_s) == (one.plan.title, one.plan.blocks, one.plan.length_s)
    assert 8 * 60 <= make_schedule(plan).total_s <= 26 * 60
    truth = json.loads((tmp_path / "truth.json").read_text(encoding="utf-8"))
    assert truth["intervals"] == one.intervals
    assert truth["lost_rounds"] == one.lost_rounds


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("seed", [1, 4, 6])
def test_every_form_is_read_with_the_true_times(form: str, seed: int, tmp_path: Path) -> None:
    one = made(seed)
    write_case(one, tmp_path, forms=[form])
    transcript = read_transcript(tmp_path / form)
    grain = {"json": "word", "txt": "stamp"}.get(form.rsplit(".", 1)[1], "cue")
    assert transcript.grain == ("word" if form == "rollup.vtt" else grain)
    words, spoken = transcript.words, one.words
    read, true = onsets(words, spoken)
    assert len(read) > 0.75 * len(spoken), "too few words heard"
    if grain == "stamp":  # the last stamp has no end: how far its words reach is a guess
        ended = words.caption[read] < len(transcript.captions) - 1
        read, true = read[ended], true[ended]
    at = np.array([spoken[k].start for k in true])
    slack = 0.15 if transcript.grain == "word" else 0.05
    inside = (words.earliest_s[read] - slack <= at) & (at <= words.latest_s[read] + slack)
    assert inside.mean() >= MATCHED
    assert float(np.median(np.abs(words.start_s[read] - at))) < {"word": 0.1, "cue": 0.4, "stamp": 8.0}[grain]


def test_a_recogniser_mishears_by_sound_and_never_invents() -> None:
    one = made(4)
    clean = hear(one.lines, one.seed, share=0.0)
    assert [w.text for w in clean] == [w.text for w in one.words]
    heard = hear(one.lines, one.seed)
    same = sum(a.text == b.text for a, b in zip(clean, heard, strict=False))
    assert same < len(clean)
    assert 0.9 * len(clean) < len(heard) < 1.1 * len(clean)
    kept = {as_spoken(w.text) for w in heard} & {as_spoken(w.text) for w in clean}
    assert len(kept) > 0.6 * len({as_spoken(w.text) for w in clean})


def test_near_words_sound_alike() -> None:
    # pronunciations: Carnegie Mellon pronouncing dictionary, "four" and "for" are both F AO1 R
    assert "for" in near_words("four")
    assert "plank" in near_words("planks") or near_words("plank")
    assert near_words("xyzzy") == ()


def test_a_cut_moves_what_follows_and_takes_what_it_holds() -> None:
    one = generate(3)
    tape = Tape(one.lines, [dict(row) for row in one.intervals], one.duration_s)
    first, second, third = tape.intervals[:3]
    a, b = first["end"] + 0.1, third["start"] - 0.1
    tape.cut(a, b)
    assert [row["move"] for row in tape.intervals[:2]] == [first["move"], third["move"]]
    assert tape.intervals[1]["start"] == pytest.approx(third["start"] - (b - a))
    assert tape.duration == pytest.approx(one.duration_s - (b - a))
    assert second["move"] not in [row["move"] for row in tape.intervals[:2]]


def test_an_unknown_shape_is_refused() -> None:
    with pytest.raises(ValueError, match="spiral is no shape; allowed: circuit"):
        generate(1, shape="spiral")
