"""Plans as files: what reads, and what is said about what does not."""

from __future__ import annotations

import hashlib
import pickle
from itertools import pairwise
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analyzer.model.errors import PlanError
from analyzer.model.plan import Block, Move, Plan
from analyzer.plans import make_schedule, read_plan
from analyzer.plans.mistakes import Mistakes
from analyzer.plans.validate import build_plan
from analyzer.plans.yaml_reader import MAX_BYTES, read_tree

FULL = """\
title: Harbour Strength 20
coach: Coach A
length: "20:00"
equipment: [mat, chair]
blocks:
  - name: Welcome
    kind: talk
    length: 40s
  - name: Main A
    kind: main
    demo: 60s
    rounds: 2
    rest_between_rounds: 15s
    rest_after: 1:20
    quiet: no
    moves:
      - name: Split squat
        also: [lunge hold, no]
        work: 1:30
        rest: 10
        side: each
        effort: hard
        easier: hold a chair
        harder: [add a pulse]
        cues: [knee over the ankle]
      - name: Stillness
        work: 0:45
        quiet: true
"""

SMALL = "title: T\nblocks:\n  - name: A\n    kind: main\n    moves:\n      - name: Squat\n        work: 45s\n"


def _write(folder: Path, content: str | bytes, name: str = "plan.yaml") -> Path:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def _mistakes(folder: Path, content: str | bytes) -> list[str]:
    path = _write(folder, content)
    with pytest.raises(PlanError, match=r"plan\.yaml") as caught:
        read_plan(path)
    lines = [str(mistake) for mistake in caught.value.mistakes]
    assert lines
    assert all("\n" not in line and line.startswith(str(path)) for line in lines)
    return [line.removeprefix(str(path)) for line in lines]


def _with_move(extra: str) -> str:
    return SMALL + "".join(f"        {line}\n" for line in extra.splitlines())


def _with_block(extra: str) -> str:
    return SMALL.replace("    moves:", "".join(f"    {line}\n" for line in extra.splitlines()) + "    moves:")


def test_a_full_plan_reads(tmp_path: Path) -> None:
    path = _write(tmp_path, FULL)
    squat = Move(
        name="Split squat",
        work_s=90.0,
        also=("lunge hold", "no"),
        rest_s=10.0,
        side="each",
        effort="hard",
        easier=("hold a chair",),
        harder=("add a pulse",),
        cues=("knee over the ankle",),
    )
    main = Block(
        name="Main A",
        kind="main",
        demo_s=60.0,
        rounds=2,
        rest_between_rounds_s=15.0,
        rest_after_s=80.0,
        moves=(squat, Move(name="Stillness", work_s=45.0, quiet=True)),
    )
    assert read_plan(path) == Plan(
        title="Harbour Strength 20",
        coach="Coach A",
        length_s=1200.0,
        equipment=("mat", "chair"),
        blocks=(Block("Welcome", "talk", length_s=40.0), main),
        name="plan.yaml",
        sha256=hashlib.sha256(FULL.encode()).hexdigest(),
    )


@pytest.mark.parametrize(
    ("written", "seconds"),
    [("1:30", 90.0), ("0:45", 45.0), ("010", 10.0), ("45", 45.0), ("45.5", 45.5), ('"1:30"', 90.0), ("12:30", 750.0)],
)
def test_yaml_1_1_number_traps_are_read_as_written(tmp_path: Path, written: str, seconds: float) -> None:
    plan = read_plan(_write(tmp_path, SMALL.replace("45s", written)))
    assert plan.blocks[0].moves[0].work_s == seconds


@pytest.mark.parametrize("written", ["no", "on", "2024-01-01", "1_000", "010", "0x1F", "1:30", "'null'"])
def test_names_are_read_as_written(tmp_path: Path, written: str) -> None:
    plan = read_plan(_write(tmp_path, SMALL.replace("Squat", written)))
    assert plan.blocks[0].moves[0].name == written.strip("'")


@pytest.mark.parametrize(
    "data",
    [
        SMALL.encode("utf-8-sig"),
        SMALL.encode("utf-16"),
        SMALL.replace("\n", "\r\n").encode(),
        b"# a note first\n---\n" + SMALL.encode(),
        b'{"title": "T", "blocks": [{"name": "A", "kind": "main", "moves": [{"name": "Squat", "work": "45s"}]}]}',
    ],
    ids=["utf-8 mark", "utf-16", "crlf", "document mark", "json"],
)
def test_other_spellings_of_the_same_plan(tmp_path: Path, data: bytes) -> None:
    plan = read_plan(_write(tmp_path, data))
    assert plan.blocks == (Block("A", "main", moves=(Move("Squat", 45.0),)),)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "is empty"),
        ("\n  \n", "is empty"),
        ("# nothing yet\n", "only comments"),
        ("- a\n- b\n", "line 1: a list stands where fields are expected"),
        ("Just a note\n", "line 1: the text 'Just a note' stands where fields are expected"),
        ("title: T\nblocks:\n\t- name: A\n", "line 3: a tab character; indent with spaces"),
        ("title: T\nblocks:\n  - name: A\n\tkind: main\n", "line 4: a tab character"),
        ("title: a: b\n", "line 1: not valid YAML ('title: a: b')"),
        ("title: T\ncoach: 'abc\nblocks:\n", "line 2: not valid YAML"),
        ("title: T\n---\ntitle: U\n", "line 2: a second YAML document"),
        ("title: &a T\ncoach: *a\n", "line 1: the anchor '&a'"),
        ("title: *a\n", "line 1: the alias '*a'; write it out"),
        ("title: !!python/name:os.system x\n", "the tag 'tag:yaml.org,2002:python/name:os.system'"),
        ("? [a]\n: b\n", "a field name that is no word"),
        ("[" * 40 + "]" * 40, "nested more than 12 deep"),
        ("a: [" + "1," * 60_000 + "]", "more than 50,000 values"),
        (b"title: caf\xe9\n", "line 1: byte 0xE9 is not UTF-8 text; save the plan as UTF-8"),
        (b"title: T\x00\n", "the control character U+0000"),
        (b"title: T\ncoach: \x1b[31m\n", "line 2: holds the control character U+001B"),
        (b"PK\x03\x04....", "is a damaged workbook; save the plan as .xlsx, CSV or YAML"),
        (b"\xd0\xcf\x11\xe0....", "is an old workbook or one with a password"),
        (b"\x00\x00\x00\x20ftypisom", "the control character U+0000, so it is binary"),
        (b"#" * (MAX_BYTES + 1), "larger than 1,000,000 bytes"),
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nHello\n", "a transcript (WebVTT captions), not a class plan"),
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nblocks: three\n", "a transcript (WebVTT captions)"),
        ("1\n00:00:01,000 --> 00:00:02,000\nHello\n", "a transcript (SubRip captions)"),
        ("0:00:01.000,0:00:02.000\nHello\n", "a transcript (SBV captions)"),
        ("[Script Info]\nTitle: x\n", "a transcript (ASS captions)"),
        ("<?xml version='1.0'?><tt></tt>", "a transcript (TTML captions)"),
        ("<!doctype html><p>Plan</p>", "an XML or HTML file"),
        ("start,end,text\n0.0,1.5,Hello\n", "a transcript (a table of words or captions)"),
        ("[0:00] Hello\n[0:20] Welcome\n", "a transcript (text with time stamps)"),
        ("My class\n\n[0:00] Hello\n[0:20] Welcome\n", "a transcript (text with time stamps)"),
        ("(00:00:01) Hello\n", "a transcript (text with time stamps)"),
        ("0:00 Hello\n0:20 Welcome\n", "a transcript (text with time stamps)"),
        ("0:00 - 0:20 Hello\n", "a transcript (text with time stamps)"),
        ('{"segments": [{"start": 0.0, "words": []}]}', "a transcript (a speech recogniser's JSON)"),
        ("member,fee,since\nA,10,2020\n", "looks like a table"),
    ],
)
def test_a_file_that_is_no_plan_is_named_in_one_line(tmp_path: Path, content: str | bytes, told: str) -> None:
    (line,) = _mistakes(tmp_path, content)
    assert told in line


def test_an_alias_bomb_is_refused_before_it_grows(tmp_path: Path) -> None:
    levels = "".join(f"{name}: &{name} [{', '.join(['*' + below] * 9)}]\n" for below, name in pairwise("abcdefghij"))
    (line,) = _mistakes(tmp_path, "a: &a [x]\n" + levels)
    assert "line 1: the anchor '&a'; remove it: anchors are not allowed" in line


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (SMALL.replace("title: T\n", ""), ", line 1, title: missing"),
        (SMALL.replace("title: T", "title:"), ", line 1, title: missing"),
        ("title: T\n", ", line 1, blocks: missing; a list of blocks is needed"),
        ("title: T\nblocks:\n", ", line 2, blocks: missing"),
        ("title: T\nblocks: []\n", ", line 2, blocks: missing"),
        ("title: T\nblocks: many\n", ", line 2, blocks: the text 'many' stands where a list is expected"),
        ("title: T\nblocks:\n  name: A\n", "blocks: a group of fields stands where a list is expected"),
        ("title: T\nblocks:\n  - Plank\n", "blocks[0]: the text 'Plank' stands where fields are expected"),
        (SMALL + "colour: red\n", ", line 8, colour: unknown field; allowed: title, coach, length, equipment, blocks"),
        (SMALL + "equipement: mat\n", "unknown field, did you mean 'equipment'?"),
        (SMALL + "title: U\n", ", line 8, title: written twice, first in line 1"),
        (SMALL + "title: [a]\n", "title: written twice"),
        (SMALL.replace("title: T", "title: [a, b]"), "title: a list where a text is expected"),
        (SMALL.replace("title: T", 'title: "\\e[31m"'), "title: '?[31m' holds a control character"),
        (SMALL.replace("title: T", "title: " + "x" * 301), "title: 301 characters; at most 300 are allowed"),
        (SMALL + "length: 25h\n", "length: '25h' is longer than makes sense; 1s to 24h is allowed"),
        (SMALL.replace("    kind: main\n", ""), ", line 3, blocks[0].kind: missing; allowed: talk, warm-up"),
        (SMALL.replace("main", "warmup"), "blocks[0].kind: 'warmup' is no kind, did you mean 'warm-up'?"),
        (SMALL.replace("- name: A\n    kind", "- kind"), "blocks[0].name: missing"),
        (_with_block("length: 3m"), "blocks[0].length: only a talk block has a length"),
        (_with_block("rounds: 0"), "blocks[0].rounds: '0' is no number of rounds; 1 to 50 is allowed"),
        (_with_block("rounds: 51"), "'51' is no number of rounds"),
        (_with_block("rounds: two"), "'two' is no number of rounds"),
        (_with_block("rounds: 2.5"), "'2.5' is no number of rounds"),
        (_with_block("rest-after: 20s"), "did you mean 'rest_after'?"),
        (_with_block("quiet: maybe"), "quiet: 'maybe'; true or false is allowed"),
        (_with_block("demo: -5s"), "demo: '-5s' is negative"),
        (_with_block("demo: 5h"), "demo: '5h' is longer than makes sense; 0s to 4h is allowed"),
        (SMALL.replace("        work: 45s\n", ""), ", line 6, blocks[0].moves[0].work: missing; a duration"),
        (SMALL.replace("work: 45s", "wrok: 45s"), "7, blocks[0].moves[0].wrok: unknown field, did you mean 'work'?"),
        (SMALL.replace("name: Squat", "name: ''"), "blocks[0].moves[0].name: missing"),
        (SMALL.replace("45s", "0s"), "work: '0s' is shorter than makes sense; 1s to 4h is allowed"),
        (SMALL.replace("45s", "5h"), "work: '5h' is longer than makes sense"),
        (SMALL.replace("45s", "a while"), "work: 'a while' is not a duration; a duration such as 45s"),
        (SMALL.replace("45s", "1:75"), "75 seconds; 0 to 59 are allowed; a duration such as"),
        (SMALL.replace("45s", "[45s]"), "work: a list where a duration is expected"),
        (_with_move("side: lefft"), "side: 'lefft' is no side, did you mean 'left'?; allowed: both, left, right"),
        (_with_move("effort: 3"), "effort: '3' is no effort; allowed: easy, moderate, hard"),
        (_with_move("cues: [knee: out]"), "cues[0]: a group of fields where a text is expected; put"),
        (_with_move("also: [~]"), "also[0]: nothing where a text is expected"),
        (SMALL + "      - name: squat\n        work: 5s\n", "line 8, blocks[0].moves[1].name: this block already has"),
        (SMALL.replace("moves:\n", "moves: []\n").split("      -")[0], "moves: missing; a list of moves is needed"),
    ],
)
def test_one_mistake_gives_one_line_with_its_place(tmp_path: Path, content: str, told: str) -> None:
    (line,) = _mistakes(tmp_path, content)
    assert told in line


@pytest.mark.parametrize(
    ("extra", "told"),
    [
        ("length: 20s\nmoves: [{name: B, work: 5s}]", "a talk block has no moves; remove it, or give the block"),
        ("length: 20s\nrounds: 2", "a talk block has no rounds"),
        ("length: 20s\ndemo: 5s", "a talk block has no demo"),
        ("rest_after: 5s", "length: missing; a duration such as 45s"),
        ("length: 0s", "length: '0s' is shorter than makes sense"),
    ],
)
def test_a_talk_block_has_a_length_and_nothing_to_work(tmp_path: Path, extra: str, told: str) -> None:
    talk = "  - name: Hello\n    kind: talk\n" + "".join(f"    {line}\n" for line in extra.splitlines())
    (line,) = _mistakes(tmp_path, SMALL + talk)
    assert told in line


def test_a_class_of_talk_alone_is_no_plan(tmp_path: Path) -> None:
    (line,) = _mistakes(tmp_path, "title: T\nblocks:\n  - {name: Hi, kind: talk, length: 5s}\n")
    assert "blocks: no block has moves" in line


def test_two_blocks_of_one_name(tmp_path: Path) -> None:
    again = SMALL.split("blocks:\n")[1].replace("name: A", "name: a")
    (line,) = _mistakes(tmp_path, SMALL + again)
    assert ", line 8, blocks[1].name: the plan already has a block 'a', in line 3" in line


def test_the_number_of_intervals_is_capped(tmp_path: Path) -> None:
    moves = "".join(f"      - {{name: m{number}, work: 5s, side: each}}\n" for number in range(60))
    (line,) = _mistakes(tmp_path, _with_block("rounds: 50") + moves)
    assert "6050 intervals are planned; at most 5000 are allowed" in line


def test_all_mistakes_come_at_once_in_file_order(tmp_path: Path) -> None:
    content = SMALL.replace("45s", "soon").replace("kind: main", "kind: mane") + "lenght: 5m\n"
    lines = _mistakes(tmp_path, content)
    assert [line.split(",")[1].strip() for line in lines] == ["line 4", "line 7", "line 8"]
    with pytest.raises(PlanError, match=r"line 4, blocks\[0\]\.kind: .* \(and 2 more mistakes\)$") as caught:
        read_plan(tmp_path / "plan.yaml")
    copied = pickle.loads(pickle.dumps(caught.value))
    assert [str(mistake) for mistake in copied.mistakes] == [str(mistake) for mistake in caught.value.mistakes]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("missing.yaml", "missing.yaml: no such file"),
        ("", "is a folder; give the plan's file"),
        ("plan.yaml/deeper", "cannot be read"),
        ("a\0b", "cannot be read"),
    ],
)
def test_a_path_that_holds_no_file(tmp_path: Path, name: str, told: str) -> None:
    _write(tmp_path, SMALL)
    with pytest.raises(PlanError, match=told):
        read_plan(tmp_path / name)


def test_the_slow_parser_gives_the_same_tree_and_places(monkeypatch: pytest.MonkeyPatch) -> None:
    fast = read_tree(FULL.encode(), "plan.yaml")
    monkeypatch.setattr("analyzer.plans.yaml_reader._FAST_LOADER", yaml.SafeLoader)
    assert read_tree(FULL.encode(), "plan.yaml") == fast
    with pytest.raises(PlanError, match="line 2: a tab character"):
        read_tree(b"title: T\n\tblocks: 1\n", "plan.yaml")
    with pytest.raises(PlanError, match="line 2: not valid YAML"):
        read_tree(b"title: T\ncoach: 'abc\nblocks:\n", "plan.yaml")


_TEXT = st.text(st.characters(min_codepoint=33, max_codepoint=0x2FF, exclude_categories=("C", "Z")), min_size=1)
_MOVES = st.lists(
    st.fixed_dictionaries(
        {"name": _TEXT, "work": st.integers(1, 14_400).map(str)},
        optional={"rest": st.integers(0, 600).map(lambda s: f"{s}s"), "side": st.sampled_from(["each", "left"])},
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda move: " ".join(move["name"].casefold().replace("-", " ").split()) or move["name"],
)


@given(_MOVES, st.integers(1, 50))
def test_what_the_yaml_library_writes_reads_back(moves: list[dict[str, str]], rounds: int) -> None:
    """PyYAML as an outside judge: whatever a plan holds, its dump is read to the same values."""
    block = {"name": "A", "kind": "main", "rounds": rounds, "moves": moves}
    text = yaml.safe_dump({"title": "T", "blocks": [block]}, allow_unicode=True)
    plan = build_plan(read_tree(text.encode(), "plan.yaml"), Mistakes("plan.yaml"))
    assert [(m.name, m.work_s) for m in plan.blocks[0].moves] == [(m["name"], float(m["work"])) for m in moves]
    assert plan.blocks[0].rounds == rounds
    assert len(make_schedule(plan).intervals) >= rounds * len(moves)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace"))))
def test_any_bytes_read_or_are_refused_in_one_line(data: bytes) -> None:
    try:
        plan = build_plan(read_tree(data, "plan.yaml"), Mistakes("plan.yaml"))
    except PlanError as error:
        told = [str(error), *map(str, error.mistakes)]
    else:
        told = [f"a plan with {len(plan.blocks)} blocks"] * 2
    assert len(told) >= 2
    assert all(line.isprintable() for line in told)
