"""Signals: words that mark a change, and what only sounds like one."""

import pytest

from analyzer.language import load_language
from analyzer.model.plan import Block, Plan
from analyzer.spotting import SpotContext
from analyzer.spotting.signals import spot_signals
from tests.factory import transcript_from


def signals(sentence, kind=None):
    found = spot_signals(SpotContext.of(transcript_from([(0.0, sentence)]), Plan("", ()), load_language()))
    return [signal for signal in found if kind in (None, signal.kind)]


FOUND = [
    ("Go!", "start"),
    ("And begin.", "start"),
    ("Off you go.", "start"),
    ("Three two one go", "start"),
    ("Here we go, squats.", "start"),
    ("And up you go.", "start"),
    ("Rest.", "stop"),
    ("And stop.", "stop"),
    ("and rest, well done", "stop"),
    ("And relax.", "stop"),
    ("Finished.", "stop"),
    ("Put it down and take a breather.", "stop"),
    ("And release.", "stop"),
    ("Take a rest.", "stop"),
    ("Ready, steady, go!", "start"),
    ("Repeat on the other side.", "switch"),
    ("One more round.", "round"),
    ("Switch!", "switch"),
    ("Change sides.", "switch"),
    ("Other leg.", "switch"),
    ("Now the other side.", "switch"),
    ("Second side, same thing.", "switch"),
    ("Swap legs.", "switch"),
    ("Round two.", "round"),
    ("Second round, let's have it.", "round"),
    ("Again from the top.", "round"),
    ("From the top again, the very same.", "round"),
    ("Let me show you the first one.", "demo"),
    ("Move one is a squat.", "demo"),
    ("First exercise is the bridge.", "demo"),
    ("Watch me first.", "demo"),
    ("Shake it out.", "relief"),
    ("Well done everyone.", "relief"),
    ("Grab some water.", "water"),
    ("A sip of water if you need it.", "water"),
    ("Keep going, keep going.", "effort"),
    ("Don't stop now.", "effort"),
    ("And one more.", "closing"),
    ("Last two, slowly.", "closing"),
    ("See you next week.", "goodbye"),
    ("Thank you for moving with me.", "goodbye"),
]


@pytest.mark.parametrize(("sentence", "kind"), FOUND)
def test_found(sentence, kind):
    assert signals(sentence, kind)


TEMPTING = [
    ("Stop the elbows drifting out.", "stop"),
    ("Rest your hands on your hips.", "stop"),
    ("The rest of you can stay low.", "stop"),
    ("Don't stop now.", "stop"),
    ("Relax the jaw.", "stop"),
    ("You can stop whenever you like.", "stop"),
    ("Nearly done.", "stop"),
    ("Time to find your mat.", "stop"),
    ("Go deep on this one.", "start"),
    ("Go as low as you like.", "start"),
    ("Don't go yet.", "start"),
    ("Go ahead and grab your mat.", "start"),
    ("Begin on all fours.", "start"),
    ("Starting position.", "start"),
    ("The other side of the room.", "switch"),
    ("Opposite arm and leg.", "switch"),
    ("We'll do this circuit three times.", "round"),
    ("Ten seconds to go.", "start"),
    ("Before we begin, check the floor.", "start"),
    ("Switch it off if it rings.", "switch"),
    ("Before we switch, one more.", "switch"),
    ("Lean on the other leg.", "switch"),
    ("Press back to the top of the squat.", "round"),
    ("Round your back.", "round"),
    ("Round the shoulders down.", "round"),
]


@pytest.mark.parametrize(("sentence", "kind"), TEMPTING)
def test_tempting(sentence, kind):
    assert signals(sentence, kind) == []


def test_alone_is_stronger_than_inside_a_sentence():
    (alone,) = signals("Switch!", "switch")
    (inside,) = signals("and somewhere in there you switch to it slowly", "switch") or [None]
    assert inside is None or inside.strength < alone.strength
    (rest,) = signals("And rest.", "stop")
    (weak,) = signals("a bit more and then rest now my friends", "stop")
    assert weak.strength < rest.strength <= 1.0


def test_a_round_carries_its_number():
    (signal,) = signals("Round two.", "round")
    assert signal.number == 2


@pytest.mark.parametrize(
    ("sentence", "number", "done", "final"),
    [
        ("Round two, let's have it.", 2, False, False),
        ("Third lap now.", 3, False, False),
        ("Our second set now.", 2, False, False),
        ("And now the third time through.", 3, False, False),
        ("That was round one.", 1, True, False),
        ("One round down.", 1, True, False),
        ("One trip round.", 1, True, False),
        ("Two laps done.", 2, True, False),
        ("That's once through.", 1, True, False),
        ("That's the whole of it, once.", 1, True, False),
        ("So that's the first one.", 1, True, False),
        ("That's lap one of three, in the bank.", 1, True, False),
        ("Set two is behind us.", 2, True, False),
        ("One done, and two to go.", 1, True, False),
        ("Two in the bag, and don't they feel it.", 2, True, False),
        ("Last round, everyone.", None, False, True),
        ("Third and final lap of it.", 3, False, False),
        ("Back to the bench, three of three.", None, False, True),
        ("Okay, just one lap left.", None, False, True),
        ("This is the last time.", None, False, True),
        ("Final time through.", None, False, True),
        ("Again from the top.", None, False, False),
        ("Same again, please.", None, False, False),
        ("We go again.", None, False, False),
    ],
)
def test_which_round_starts_or_is_done(sentence, number, done, final):
    (signal,) = signals(sentence, "round")
    assert (signal.number, signal.done, signal.final) == (number, done, final)


def test_a_block_called_by_its_number_is_no_round():
    plan = Plan("", (Block("Circuit one", "main"), Block("Circuit 2", "main"), Block("Finisher", "main")))
    said = "Circuit one is done. Circuit two. Lap two. Circuit three. The finisher, round two."
    context = SpotContext.of(transcript_from([(0.0, said)]), plan, load_language())
    rounds = [signal.text for signal in spot_signals(context) if signal.kind == "round"]
    assert rounds == ["Lap two.", "Circuit three.", "round two."]


def test_one_place_gives_one_signal_a_kind():
    assert len(signals("And stop.", "stop")) == 1


@pytest.mark.parametrize("sentence", ["One more round.", "The last two moves.", "One more minute.", "One day more."])
def test_more_of_something_else_does_not_close_the_work(sentence):
    assert signals(sentence, "closing") == []
