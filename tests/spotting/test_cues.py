"""Cues of breath, water and safety, and the plan's must-say cues in paraphrase."""

import pytest

from analyzer.language import SpokenText, load_language
from analyzer.model.events import CueSaid
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.cues import ENOUGH, spot_cues
from tests.factory import words_from

PLAN = Plan(
    "Invented",
    (
        Block(
            "Floor",
            "main",
            moves=(
                Move("Table top", 40.0, cues=("ribs down",)),
                Move("Goblet squat", 40.0, cues=("knees over the toes", "weight in the heels")),
                Move("Pallof press", 40.0, cues=("ribs down",)),
            ),
        ),
    ),
)


def cues(*said: tuple[float, str], plan: Plan = PLAN) -> tuple[CueSaid, ...]:
    words = words_from(said)
    return spot_cues(SpotContext(words, SpokenText.of(words), plan, load_language("en")))


@pytest.mark.parametrize(
    ("sentence", "kinds"),
    [
        ("Exhale as you press.", {"breath"}),
        ("In through the nose, out through the mouth.", {"breath"}),
        ("Blow out the candles.", {"breath"}),
        ("One long breath here.", {"breath"}),
        ("Have a quick sip of water.", {"water"}),
        ("Water break, everybody.", {"water"}),
        ("If you feel dizzy, sit down and stop.", {"safety"}),
        ("Check that the chair cannot slide.", {"safety"}),
        ("Listen to your body.", {"safety"}),
        ("Never force the neck.", {"safety"}),
        ("Come up slowly.", {"safety"}),
        ("You will need a bottle of water by the mat.", set()),
        ("Like treading water with your arms.", set()),
        ("Take a breather.", set()),
        ("Push through the whole foot.", set()),
        ("Two more, and hold.", set()),
    ],
)
def test_kinds_by_phrase(sentence: str, kinds: set[str]) -> None:
    assert {cue.kind for cue in cues((0.0, sentence), plan=Plan("none", ()))} == kinds


def test_a_sentence_counts_once_a_kind() -> None:
    assert len(cues((0.0, "Breathe in, breathe out, keep breathing."), plan=Plan("none", ()))) == 1


@pytest.mark.parametrize(
    ("sentence", "cue"),
    [
        ("Ribs down, please.", "ribs down"),
        ("Keep those ribs nice and low.", "ribs down"),
        ("Drop the ribs.", "ribs down"),
        ("Send the knees out over your toes.", "knees over the toes"),
        ("Niece past the toes is fine here.", "knees over the toes"),
        ("Heels heavy as anchors.", "weight in the heels"),
        ("Shoulders down.", None),
        ("Knees wide.", None),
        ("Squeeze the ribs.", None),
    ],
)
def test_must_say_in_paraphrase(sentence: str, cue: str | None) -> None:
    assert {said.cue for said in cues((0.0, sentence)) if said.score >= ENOUGH} == ({cue} if cue else set())


@pytest.mark.parametrize(
    ("asked", "sentence", "said", "perhaps"),
    [
        ("hips level", "Hips leval, please.", True, True),
        ("weight in the heels", "Wait in the heels.", True, True),
        ("push off sideways", "Shove off to the side.", True, True),
        ("tuck the tailbone", "Tuck your tail under you.", True, True),
        ("push the floor away", "Press the for away.", False, True),
        ("land softly", "I can hear you landing.", False, True),
        ("elbows close to the ribs", "Elbows close, good.", False, True),
        ("elbows close to the ribs", "Elbows up.", False, False),
        ("push the floor away", "Look away.", False, False),
        ("front heel down", "Sit down.", False, False),
        ("shoulders over the wrists", "Sweet as a nut.", False, False),
    ],
)
def test_part_of_a_cue_may_be_the_cue(asked: str, sentence: str, said: bool, perhaps: bool) -> None:
    plan = Plan("Invented", (Block("Floor", "main", moves=(Move("Table top", 40.0, cues=(asked,)),)),))
    found = [cue.score for cue in cues((0.0, sentence), plan=plan) if cue.kind == "must-say"]
    assert (any(score >= ENOUGH for score in found), bool(found)) == (said, perhaps)


def test_a_word_said_all_the_time_is_no_hint_of_a_cue() -> None:
    lines = [(4.0 * n, "And down we go.") for n in range(12)]
    assert [cue for cue in cues(*lines) if cue.kind == "must-say"] == []


def test_a_cue_may_spread_over_two_sentences_but_not_more() -> None:
    near = [cue for cue in cues((0.0, "Feel your ribs."), (1.5, "They go down.")) if cue.score >= ENOUGH]
    apart = ((0.0, "Feel your ribs."), (1.5, "Good."), (2.0, "Go down."))
    far = [cue for cue in cues(*apart) if cue.score >= ENOUGH]
    assert [cue.text for cue in near] == ["ribs. They go down."] * 2
    assert near[0].score < 1.0
    assert far == []


def test_every_move_that_asks_for_a_cue_gets_it() -> None:
    assert [cue.move for cue in cues((0.0, "Ribs down.")) if cue.score >= ENOUGH] == [(0, 0), (0, 2)]


def test_nothing_said_is_no_cue() -> None:
    assert cues() == ()
