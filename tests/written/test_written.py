"""The written classes are sound: they can be laid out, on time and loose, and their truth fits their plans."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from analyzer.plans import read_plan
from tests.written.cases import WRITERS, planned_s, write_case, written
from tests.written.loosen import loosened
from tests.written.script import CrowdedError, place, read_script, truth

CLASSES = [path for folder in ("classes", "heldout") for _, path in written(folder)]
TAGS = {
    "easier", "harder", "left", "gone", "half", "count", "reps", "next", "promise", "side", "breath", "form", "safety",
    "water",
}  # fmt: skip
SLIP_S = 5.0


@pytest.mark.parametrize("path", CLASSES, ids=lambda path: path.stem)
def test_a_class_fits_its_plan_and_its_truth(path):
    script = read_script(path)
    place(script.lines)
    plan, known = read_plan(path.with_suffix(".yaml")), truth(script)
    assert len(known["intervals"]) >= 15
    assert all(float(str(a["end"])) <= float(str(b["start"])) for a, b in pairwise(known["intervals"]))
    assert {tag.split()[0] for line in script.lines for tag in line.tags} <= TAGS
    told = {(f["check"], f.get("move"), f.get("round")) for f in known["findings"]}
    for iv in known["intervals"]:
        wanted = planned_s(plan, str(iv["block"]), str(iv["move"]))
        off = 0.0 if wanted is None else float(str(iv["end"])) - float(str(iv["start"])) - wanted
        check = "interval-long" if off > 0 else "interval-short"
        if wanted is None:
            assert any(f["check"] == "move-extra" for f in known["findings"])
        elif abs(off) > SLIP_S:
            assert (check, iv["move"], iv["round"]) in told


@pytest.mark.parametrize("path", CLASSES[:4], ids=lambda path: path.stem)
def test_a_loose_recording_says_the_same_at_other_times(path):
    script = read_script(path)
    place(script.lines)
    loose = loosened(script, path.stem)
    assert [line.said for line in loose.lines] == [line.said for line in script.lines]
    starts = [line.start_s or 0.0 for line in loose.lines]
    assert starts == sorted(starts)
    assert starts != [line.start_s for line in script.lines]
    again = loosened(script, path.stem)
    assert [line.start_s for line in again.lines] == starts
    for line, other in zip(script.lines, loose.lines, strict=True):
        if line.when[0] == "-":  # a call keeps its distance from the mark that it speaks of
            assert line.when == other.when


def test_a_case_holds_every_form(tmp_path):
    script = read_script(CLASSES[0])
    place(script.lines)
    write_case(tmp_path / "case", CLASSES[0].with_suffix(".yaml"), script, truth(script))
    assert {p.name for p in (tmp_path / "case").iterdir()} == {*WRITERS, "plan.yaml", "truth.json"}
    said = "".join(line.clean[0].text for line in script.lines[:3])
    assert said
    assert script.lines[0].clean[0].text in (tmp_path / "case" / "clean.vtt").read_text(encoding="utf-8")


def test_more_words_than_time_is_told(tmp_path):
    path = Path(tmp_path / "crowded.script")
    path.write_text("0:01.0 | Hello there. |\n~ | A line of far too many words for two seconds. |\n0:03.0 | Bye. |\n")
    script = read_script(path)
    with pytest.raises(CrowdedError, match=r"^\d\.\d s too much before: Bye\.$"):
        place(script.lines)
