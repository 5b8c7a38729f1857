from dataclasses import replace

import pytest

from analyzer.model.audit import Finding
from analyzer.model.events import CueSaid, Events
from analyzer.reports.page.moves import cards_by_block


def card(audit, name):
    return next(card for _, cards in cards_by_block(audit) for card in cards if card.name == name)


def test_every_interval_has_one_row_on_one_card(audit):
    groups = cards_by_block(audit)
    assert [name for name, _ in groups] == ["Main A", "Not in the plan"]
    ids = [row.id for _, cards in groups for c in cards for row in c.rows]
    assert sorted(ids) == sorted(f"iv-{n + 1}" for n in range(len(audit.alignment.intervals)))


def test_a_row_holds_both_lengths(audit):
    row = card(audit, "Bear hold").rows[0]
    assert (row.planned, row.worked, row.difference, row.expanded) == (30.0, 46.0, 16.0, 2.0)
    assert (row.worked_share, round(row.planned_share)) == (100.0, 65)
    assert row.slip.check == "interval-long"
    assert row.drift == pytest.approx(-14.0)  # started at 191 s; the plan's copy, moved by 5 s, at 205 s
    missing = card(audit, "Backpack row").rows[1]
    assert (missing.worked, missing.drift) == (None, None)


def test_what_the_plan_asks_is_said_in_words(audit):
    assert card(audit, "Split squat").rounds == "2 rounds of 1 min 20 s, half of it a side"
    assert card(audit, "Backpack row").rounds == "2 rounds of 40 s"


def test_options_are_those_of_the_move_and_of_its_whole_block(audit):
    assert [o.at_s for o in card(audit, "Bear hold").options] == [196.0, 34.0]
    assert [o.at_s for o in card(audit, "Backpack row").options] == [34.0]


def cue_said(at, score):
    return CueSaid(0, 1, at, at + 1, 0.3, "knee over", "must-say", (1, 0), "knee over the ankle", score)


@pytest.mark.parametrize(
    ("verdict", "state", "heard"), [(None, "said", (70.0,)), ("fail", "not said", ()), ("unclear", "not decided", ())]
)
def test_a_cue_is_as_the_check_found_it(audit, verdict, state, heard):
    told = Finding("f09", "cue-missing", "medium", verdict, "m", "a", 55.0, block="Main A", move="Split squat",
                   say=("knee over the ankle",))  # fmt: skip
    audit = replace(audit, findings=() if verdict is None else (told,))
    audit = replace(audit, events=Events(cues=(cue_said(70.0, 0.9), cue_said(90.0, 0.4))))
    cue = card(audit, "Split squat").cues[0]
    assert (cue.cue, cue.state, cue.heard_s) == ("knee over the ankle", state, heard)


def test_waived_findings_are_not_on_a_card(audit):
    waived = tuple(replace(f, waived="known") for f in audit.findings)
    assert card(audit, "Bear hold").findings
    assert not card(replace(audit, findings=waived), "Bear hold").findings
