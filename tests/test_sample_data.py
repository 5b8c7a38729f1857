"""The shipped samples: built from their scripts, true to their plans, readable. And the README: its examples hold."""

from __future__ import annotations

import importlib.util
import json
import re
import sys
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "sample_data"
CLASSES = {"harbour-strength": "captions.vtt", "attic-mobility": "transcript.txt"}


def load_generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_samples", ROOT / "tests" / "tools" / "make_samples.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["make_samples"] = module
    spec.loader.exec_module(module)
    return module


GENERATOR = load_generator()


def truth_of(name: str) -> dict[str, list[dict[str, Any]]]:
    loaded: dict[str, list[dict[str, Any]]] = json.loads((SAMPLES / name / "truth.json").read_text(encoding="utf-8"))
    return loaded


def planned_of(name: str) -> dict[tuple[str, str], tuple[dict[str, Any], dict[str, Any]]]:
    plan = yaml.safe_load((SAMPLES / name / "plan.yaml").read_text(encoding="utf-8"))
    return {(block["name"], move["name"]): (block, move) for block in plan["blocks"] for move in block.get("moves", [])}


@pytest.mark.parametrize("path", sorted(GENERATOR.files()))
def test_generator_reproduces_the_committed_file(path: str) -> None:
    assert (SAMPLES / path).read_bytes() == GENERATOR.files()[path].encode("utf-8")


@pytest.mark.parametrize("name", CLASSES)
def test_truth_intervals_are_in_order_and_inside_the_recording(name: str) -> None:
    script, words = GENERATOR.build(name)
    end_s = words[-1].start_s + words[-1].length_s
    spans = [(entry["start"], entry["end"]) for entry in truth_of(name)["intervals"]]
    assert all(start < end for start, end in spans)
    assert all(left[1] <= right[0] for left, right in pairwise(spans))
    assert spans[0][0] > 0
    assert spans[-1][1] <= end_s
    assert 12 * 60 <= end_s <= 20 * 60
    assert len(script.lines) > 150


@pytest.mark.parametrize("name", CLASSES)
def test_truth_intervals_map_to_planned_moves(name: str) -> None:
    planned = planned_of(name)
    seen: set[tuple[object, ...]] = set()
    for entry in truth_of(name)["intervals"]:
        block, move = planned[entry["block"], entry["move"]]
        assert 1 <= entry["round"] <= block.get("rounds", 1)
        assert (entry["side"] in ("left", "right")) == (move.get("side") == "each")
        place = (entry["block"], entry["round"], entry["move"], entry["side"])
        assert place not in seen
        seen.add(place)
    every = {
        (block["name"], turn, move["name"], side)
        for block, move in planned.values()
        for turn in range(1, block.get("rounds", 1) + 1)
        for side in (("left", "right") if move.get("side") == "each" else (None,))
    }
    lost = {place for place in every if place[:2] == ("Rafters", 2)}
    assert seen == every - lost
    assert len(lost) == (3 if name == "attic-mobility" else 0)


@pytest.mark.parametrize("name", CLASSES)
def test_lengths_follow_the_plan_but_for_the_planted_slips(name: str) -> None:
    planned = planned_of(name)
    slips = set()
    for entry in truth_of(name)["intervals"]:
        _, move = planned[entry["block"], entry["move"]]
        work = int(move["work"].removesuffix("s")) / (2 if move.get("side") == "each" else 1)
        off = entry["end"] - entry["start"] - work
        if abs(off) > 5:
            slips.add(("interval-long" if off > 0 else "interval-short", entry["block"], entry["round"], entry["move"]))
    noted = {
        (found["check"], found["block"], found["round"], found["move"])
        for found in truth_of(name)["findings"]
        if found["check"].startswith("interval-")
    }
    assert slips == noted
    assert len(slips) == 1


@pytest.mark.parametrize("name", CLASSES)
def test_time_calls_are_true_but_for_the_planted_one(name: str) -> None:
    truth = truth_of(name)
    wrong = []
    for tag in truth["tags"]:
        match = re.fullmatch(r"left (\d+)", tag["tag"])
        if match:
            inside = [entry for entry in truth["intervals"] if entry["start"] <= tag["at"] <= entry["end"]]
            assert len(inside) == 1, tag
            if abs(inside[0]["end"] - tag["at"] - int(match[1])) > 3:
                wrong.append(inside[0]["move"])
    assert wrong == [found["move"] for found in truth["findings"] if found["check"] == "time-call-off"]
    assert len(wrong) == 1


def test_every_planted_check_is_listed_in_the_readme() -> None:
    readme = (SAMPLES / "README.md").read_text(encoding="utf-8")
    for name in CLASSES:
        part = readme.split(f"## Planted in {name}")[1].split("\n## ")[0]
        assert {found["check"] for found in truth_of(name)["findings"]} <= set(re.findall(r"`([a-z-]+)`", part))


def test_captions_are_short_and_do_not_overlap() -> None:
    text = (SAMPLES / "harbour-strength" / "captions.vtt").read_text(encoding="utf-8")
    clock = r"(\d\d):(\d\d):(\d\d)\.(\d\d\d)"
    spans = [
        (ms(found[:4]), ms(found[4:])) for found in re.findall(rf"^{clock} --> {clock}$", text, flags=re.MULTILINE)
    ]
    assert len(spans) > 200
    assert all(0 < end - start <= 6000 for start, end in spans)
    assert all(left[1] <= right[0] for left, right in pairwise(spans))


def ms(parts: tuple[str, ...]) -> int:
    hours, minutes, seconds, milliseconds = map(int, parts)
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + milliseconds


@pytest.mark.parametrize("name", CLASSES)
def test_our_readers_read_the_sample(name: str) -> None:
    transcripts = pytest.importorskip("analyzer.transcripts")
    plans = pytest.importorskip("analyzer.plans")
    transcript = transcripts.read_transcript(SAMPLES / name / CLASSES[name])
    plan = plans.read_plan(SAMPLES / name / "plan.yaml")
    truth = truth_of(name)
    _, words = GENERATOR.build(name)
    assert [word.text for word in words] == list(transcript.words.text)
    assert transcript.problems == ()
    assert transcript.duration_s >= truth["intervals"][-1]["end"]
    names = {(block.name, move.name) for block in plan.blocks for move in block.moves}
    assert {(entry["block"], entry["move"]) for entry in truth["intervals"]} <= names


def test_readme_lists_every_check_and_no_other() -> None:
    registry = pytest.importorskip("analyzer.checks")
    part = (ROOT / "README.md").read_text(encoding="utf-8").split("<!-- checks: begin -->")[1]
    rows = [row.split("|")[1] for row in part.split("<!-- checks: end -->")[0].splitlines() if row.startswith("| `")]
    listed = [check for row in rows for check in re.findall(r"`([a-z-]+)`", row)]
    assert sorted(listed) == sorted(check.id for check in registry.CHECKS)


def readme_yaml(number: int, folder: Path) -> Path:
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("```yaml\n")[number].split("```")[0]
    file = folder / "example.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_readme_plan_adds_up_to_the_length_it_announces(tmp_path: Path) -> None:
    plans = pytest.importorskip("analyzer.plans")
    plan = plans.read_plan(readme_yaml(1, tmp_path))
    assert [block.name for block in plan.blocks] == ["Hello", "Climb the stairs"]
    assert plans.make_schedule(plan).total_s == plan.length_s


def test_readme_house_rules_change_what_they_say(tmp_path: Path) -> None:
    registry = pytest.importorskip("analyzer.checks")
    rules = registry.read_rules(readme_yaml(2, tmp_path))
    defaults = registry.read_rules(None)
    assert rules.name == "Our studio"
    assert rules.checks["interval-long"].values["limit_s"] < defaults.checks["interval-long"].values["limit_s"]
    assert rules.checks["interval-long"].severity == "high"
    assert rules.checks["harder-missing"].on
    assert not defaults.checks["harder-missing"].on
