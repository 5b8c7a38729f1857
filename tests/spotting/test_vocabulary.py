"""Names heard without a plan: usual ones however they were said, others by how they are announced."""

import pytest

from analyzer.language import load_language, speaking
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import stem
from analyzer.spotting.vocabulary import heard_moves, listen, vocabulary
from tests.factory import transcript_from


def names(*sentences):
    transcript = transcript_from([(6.0 * at, text) for at, text in enumerate(sentences)])
    with speaking("en"):
        return {move.name for move in heard_moves(SpotContext.of(transcript, Plan("", ()), load_language("en")))}


@pytest.mark.parametrize(
    ("sentences", "found"),
    [
        (["Next up, mountain climbers."], {"mountain climber"}),
        (["Push up.", "Chest down, and push."], {"push up"}),
        (["Next is the drunken sailor.", "Drunken sailor, go."], {"drunken sailor"}),
        (["Coming up, teapot.", "Teapot."], {"teapot"}),
        (["Squats.", "First block is legs.", "Pause squat."], {"squat", "pause squat"}),
        ([], set()),
    ],
)
def test_names_that_are_meant(sentences, found):
    assert found <= names(*sentences)


@pytest.mark.parametrize(
    "sentences",
    [
        ["My aunt has a garden and a robin."],
        ["Next week we go on holiday."],
        ["Good job everybody.", "Good job everybody."],
        ["Keep going until you hear me.", "I will call every second."],
        ["Soft hands.", "Work hard.", "Soft hands."],
    ],
)
def test_talk_that_names_nothing(sentences):
    assert names(*sentences) == set()


def test_mentions_weigh_by_how_they_stand():
    transcript = transcript_from(
        [(0.0, "Next up, burpees."), (20.0, "I once saw my neighbour do burpees in the rain.")]
    )
    with speaking("en"):
        moves, events = listen(transcript, load_language("en"))
    assert [move.name for move in moves] == ["burpee"]
    announced, told = (mention.score for mention in events.mentions)
    assert announced == 1.0 > told


@pytest.mark.parametrize(("code", "least"), [("en", 200), ("es", 50)])
def test_every_usual_name_stands_once(code, least):
    with speaking(code):
        known = vocabulary(code)
        spelt = [name for move in known.moves for name in (move.name, *move.also)]
        assert len(known.moves) >= least
        assert len(spelt) == len(set(spelt))
        assert not known.never & {stem(name) for name in spelt if " " not in name}


def test_a_language_without_the_file_has_no_usual_names(monkeypatch, tmp_path):
    from analyzer.spotting import vocabulary as module

    class Bare:
        folder = tmp_path

    monkeypatch.setattr(module, "load_language", lambda code: Bare())
    assert module.vocabulary.__wrapped__("xx").moves == ()
