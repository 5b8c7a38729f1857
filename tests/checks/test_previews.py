"""What was said of the next move before it started."""

from __future__ import annotations

from dataclasses import replace

import pytest

REFS = {"Plank": (2, 0), "Side lunge": (2, 1), "Jump squat": (2, 2), "Quad stretch": (3, 0), "Cobra": (3, 1)}
KEYS = [*REFS, "Plank/2", "Side lunge/2", "Jump squat/2"]


def announce(take, say, *left_out, heard=None):
    """Let every change but some be announced four seconds before."""
    for key in KEYS:
        if key not in left_out:
            name = key.split("/")[0]
            take.add("mentions", say.mention(take.start(key) - 4, REFS[name], name, context="preview", heard=heard))
    return take.add("mentions", say.mention(take.start("March"), (1, 0), "March", context="plain"))


def told(take, check="preview-missing"):
    return [(f.move, f.round, f.verdict) for f in take.findings(check)]


def test_all_announced_is_fine(take, say):
    assert told(announce(take, say)) == told(take, "preview-wrong") == []


@pytest.mark.parametrize("key", ["Plank/2", "Side lunge/2", "Jump squat/2"])
def test_a_change_that_nobody_announced_is_told(take, say, key):
    name = key.split("/")[0]
    late = say.mention(take.start(key) + 2, REFS[name], name, context="plain")
    assert told(announce(take, say, key).add("mentions", late)) == [(name, 2, "fail")]


@pytest.mark.parametrize("after", [-0.5, 0, 4])
def test_a_name_said_as_work_starts_is_no_preview(take, say, after):
    announce(take, say, "Plank").add("mentions", say.mention(take.start("Plank") + after, (2, 0), "Plank"))
    assert told(take) == [("Plank", 1, "fail")]


def test_a_move_that_is_never_named_is_told_as_that_alone(take, say):
    announce(take, say, "Cobra")
    assert told(take) == []
    assert [f.move for f in take.findings("name-missing")] == ["Cobra"]


def test_where_names_are_misheard_nothing_is_claimed(take, say):
    assert told(announce(take, say, "Plank/2", heard="blonk")) == []


@pytest.mark.parametrize("before_s", [2, 9, 20])
def test_any_time_late_in_the_work_before_will_do(take, say, before_s):
    mention = say.mention(take.start("Side lunge/2") - before_s, (2, 1), "Side lunge", context="plain")
    assert told(announce(take, say, "Side lunge/2").add("mentions", mention)) == []


@pytest.mark.parametrize(
    ("key", "other"), [("Plank/2", "Cobra"), ("Side lunge/2", "Jump squat"), ("Jump squat/2", "Plank")]
)
def test_another_move_announced_is_told_in_its_place(take, say, key, other):
    announce(take, say, key)
    take.add("mentions", say.mention(take.start(key) - 4, REFS[other], other, context="preview"))
    assert told(take, "preview-wrong") == [(key.split("/")[0], 2, "fail")]
    assert told(take) == []


def test_a_doubtful_place_proves_nothing(take, say):
    take.change("Plank/2", confidence=0.4)
    announce(take, say, "Plank/2").add(
        "mentions", say.mention(take.start("Plank/2") - 4, REFS["Cobra"], "Cobra", context="preview")
    )
    assert told(take, "preview-wrong") == [("Plank", 2, "unclear")]


@pytest.mark.parametrize(
    ("context", "exact", "after"),
    [("plain", True, -4), ("past", True, -4), ("preview", False, -4), ("preview", True, 4)],
)
def test_a_tempting_other_name_is_let_be(take, say, context, exact, after):
    announce(take, say, "Plank/2")
    other = replace(say.mention(take.start("Plank/2") + after, REFS["Cobra"], "Cobra", context=context), exact=exact)
    assert told(take.add("mentions", other), "preview-wrong") == []


def test_a_preview_taken_back_is_fine(take, say):
    announce(take, say).add(
        "mentions", say.mention(take.start("Plank/2") - 6, REFS["Cobra"], "Cobra", context="preview")
    )
    assert told(take, "preview-wrong") == []


@pytest.mark.parametrize("key", ["Plank/2", "Side lunge/2/left"])
def test_a_missing_preview_is_not_told_where_the_move_itself_is_open(take, say, key):
    late = say.mention(take.start("Side lunge/2/left") + 2, REFS["Side lunge"], "Side lunge", context="plain")
    assert told(announce(take, say, "Side lunge/2").add("mentions", late)) == [("Side lunge", 2, "fail")]
    assert told(take.change(key, confidence=0.3)) == []
