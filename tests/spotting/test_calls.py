"""Time calls: what is one, what only looks like one, what it is about."""

from dataclasses import replace

import pytest

from analyzer.language import load_language
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting import SpotContext
from analyzer.spotting.calls import spot_calls
from tests.factory import transcript_from

PLAN = Plan("Test", (Block("Main", "main", moves=(Move("Bridge", 45.0), Move("Crab walk", 60.0))),))


def calls(*sentences, plan=PLAN, gap_s=6.0):
    said = [(number * gap_s, sentence) for number, sentence in enumerate(sentences)]
    return spot_calls(SpotContext.of(transcript_from(said), plan, load_language()))


def kinds(*sentences):
    return [(call.kind, call.seconds) for call in calls(*sentences)]


LEFT = [
    ("Fifteen seconds left, keep the hips high.", 15),
    ("Ten more seconds.", 10),
    ("Ten more seconds of this, that's all.", 10),
    ("Ten to go, don't you dare.", 10),
    ("Last ten, everything you have.", 10),
    ("Half a minute to go.", 30),
    ("A minute to go and it's yours.", 60),
    ("Twenty seconds still.", 20),
    ("You've got fifteen seconds.", 15),
    ("You've got fifteen left.", 15),
    ("Eight seconds or so.", 8),
    ("Ten seconds.", 10),
    ("Okay, ten seconds, squeeze.", 10),
    ("I'll give you thirty more.", 30),
    ("Thirty seconds.", 30),
    ("Under twenty seconds now.", 20),
    ("Just 20 seconds, breathe.", 20),
    ("30s left", 30),
    ("0:30 left", 30),
    ("and we have another twenty seconds here", 20),
    ("The last thirty seconds, make them count.", 30),
    ("Five seconds!", 5),
    ("Final ten seconds, faster.", 10),
    ("One minute left on the clock.", 60),
    ("Forty-five seconds to go.", 45),
    ("Only fifteen to go.", 15),
    ("Twelve seconds left.", 12),
    ("Hang on for fifteen more seconds.", 15),
    ("Twenty two go, shoulders down.", 20),
    ("A quarter of a minute left.", 15),
    ("This is your ten second warning.", 10),
    ("Last minute, give it all.", 60),
    ("Ten seconds until rest.", 10),
    ("In five seconds we change.", 5),
    ("Hold here for another ten seconds.", 10),
    ("Last fifteen seconds of this block.", 15),
    ("twentyfive seconds left", 25),
]


@pytest.mark.parametrize(("sentence", "seconds"), LEFT)
def test_left(sentence, seconds):
    assert kinds(sentence) == [("left", seconds)]


GONE = [
    ("That's forty in.", 40),
    ("Thirty seconds in and you still smile.", 30),
    ("Twenty done.", 20),
    ("That's twenty gone.", 20),
    ("Thirty five down.", 35),
    ("That's half a minute gone.", 30),
    ("First twenty seconds done.", 20),
    ("You've done thirty seconds already.", 30),
    ("That's thirty seconds.", 30),
    ("That's one minute behind you.", 60),
]


@pytest.mark.parametrize(("sentence", "seconds"), GONE)
def test_gone(sentence, seconds):
    assert kinds(sentence) == [("gone", seconds)]


HALF = [
    "Half-way.",
    "Halfway there, lovely.",
    "And that's half way.",
    "We are in the middle, keep the rhythm.",
    "That's half.",
    "Half is done.",
    "Half!",
    "Over the hump.",
    "You're half way home.",
    "We're half weighed.",
    "Now we are half ways.",
    "Half of it is behind you.",
    "Midway, and breathe.",
    "More than half done.",
    "okay we're at the halfway mark",
]


@pytest.mark.parametrize("sentence", HALF)
def test_half(sentence):
    assert kinds(sentence) == [("half", None)]


NOT_CALLS = [
    "Forty seconds each.",
    "Forty seconds of work, twenty seconds rest.",
    "We do forty seconds of this.",
    "Thirty seconds on, fifteen seconds off.",
    "Two left each leg.",
    "Now the left side.",
    "Eight more squats.",
    "Last four.",
    "Last ten squats, all the way down.",
    "Two rounds left.",
    "Three moves to go.",
    "Take thirty seconds and have some water.",
    "Grab a quick thirty seconds.",
    "Twenty seconds rest.",
    "You have a ten kilo weight.",
    "That's half weight for you.",
    "You're half asleep.",
    "We are half what we were.",
    "I lifted ten kilos in ten weeks.",
    "Halfway up is enough.",
    "Stop halfway down and hold.",
    "Somewhere halfway between the two.",
    "Half a turn to the window.",
    "Lift it only half way.",
    "Put your foot in the middle of the mat.",
    "Middle. And turn.",
    "Same again. Sit to stand.",
    "Halfway down'll do.",
    "Half kneeling, if you like.",
    "Ten punches each side.",
    "Every thirty seconds we change.",
    "It starts in ten seconds.",
    "A fifteen minute class.",
    "This class is twenty minutes.",
    "Inhale for four, hold for four.",
    "Four down, four up.",
    "Twenty in a row.",
    "Half an hour from now you'll thank me.",
    "Bend the knee to ninety degrees.",
    "One left, then swap.",
    "Wait a second.",
    "Give me a second.",
    "When we get to halfway, we'll swap legs.",
    "We'll swap at halfway.",
    "Halfway through we change legs.",
    "Are we halfway yet?",
    "Who has thirty seconds in them?",
    "It's a one minute hold.",
    "You have ten seconds to get to the floor.",
    "Ten seconds to change over.",
    "At thirty seconds I'll tell you to switch.",
    "The second half is the hard half.",
    "It's half past.",
    "One second.",
]


@pytest.mark.parametrize("sentence", NOT_CALLS)
def test_not_a_call(sentence):
    assert kinds(sentence) == []


def test_a_length_that_may_announce_or_call_is_at_most_a_bare_call():
    assert all(call.bare and not call.certain for call in calls("Thirty seconds in child's pose."))


BARE = [
    ("Ten!", "left", 10),
    ("Fifteen more.", "left", 15),
    ("Twenty, and keep it tidy.", "left", 20),
    ("Ten seconds of wobbling.", "left", 10),
    ("You're at the half.", "half", None),
    ("Half of it in the bag.", "half", None),
    ("Half way over the wall.", "half", None),
    ("Still twenty.", "left", 20),
    ("Twenty seconds to the gate.", "left", 20),
    ("Ten seconds and then you're home.", "left", 10),
    ("We have thirty seconds.", "left", 30),
    ("About half to go.", "half", None),
    ("The second half now.", "half", None),
    ("That's the half way post.", "half", None),
    ("That's half, near enough.", "half", None),
]


@pytest.mark.parametrize(("sentence", "kind", "said"), BARE)
def test_words_that_may_be_a_call(sentence, kind, said):
    (call,) = calls(sentence)
    assert (call.kind, call.seconds, call.bare, call.certain) == (kind, said, True, False)


@pytest.mark.parametrize(
    "sentence",
    ["Ten. Nine. Eight.", "Twelve!", "Five.", "Ten, twenty, thirty.", "Ninety.", "Half a pint.", "Half the range."],
)
def test_numbers_and_halves_that_are_none(sentence):
    assert [call for call in calls(sentence) if call.bare] == []


TWO = [
    ("Twenty five down, twenty to go.", [("gone", 25), ("left", 20)]),
    ("Twenty seconds done, twenty five to come.", [("gone", 20), ("left", 25)]),
    ("That's thirty seconds gone, so we're halfway.", [("gone", 30), ("half", None)]),
    ("Halfway, thirty seconds to go.", [("half", None), ("left", 30)]),
    ("Half a minute left? No, twenty five seconds.", [("left", 25)]),
    ("Twenty seconds left, sorry, fifteen seconds.", [("left", 15)]),
    ("Ten seconds left. Actually make that fifteen.", [("left", 15)]),
    ("Ten seconds, ten!", [("left", 10)]),
    ("Ten, ten more seconds.", [("left", 10)]),
]


@pytest.mark.parametrize(("sentence", "expected"), TWO)
def test_several_in_one_breath(sentence, expected):
    assert kinds(sentence) == expected


def test_a_call_repeated_later_is_a_second_call():
    assert kinds("Ten seconds left.", "Ten seconds left.") == [("left", 10), ("left", 10)]


SCOPES = [
    ("Ten minutes of the class left.", "class"),
    ("Thirty seconds left in this round.", "round"),
    ("One minute left of this block.", "block"),
    ("Halfway through the class.", "class"),
    ("Five minutes to go.", "class"),
    ("Thirty seconds left.", "interval"),
]


@pytest.mark.parametrize(("sentence", "scope"), SCOPES)
def test_scope(sentence, scope):
    assert [call.scope for call in calls(sentence)] == [scope]


DOUBT = [
    ("Fifteen seconds left.", True),
    ("About fifteen seconds left.", False),
    ("Eight seconds or so.", False),
    ("Fifty seconds left.", False),
    ("Thirty seconds left.", True),
    ("Ninety seconds left.", False),
    ("Fourteen seconds left.", False),
    ("Next a plank, forty seconds.", False),
    ("Okay, forty seconds.", True),
    ("Come on now, ten seconds, squeeze.", True),
    ("Thirty five down.", True),
    ("Ten down.", False),
]


@pytest.mark.parametrize(("sentence", "certain"), DOUBT)
def test_certain_unless_loose_or_likely_misheard(sentence, certain):
    assert [call.certain for call in calls(sentence)] == [certain]


LOOSE = [("About fifteen seconds left.", True), ("Eight seconds or so.", True), ("Fifty seconds left.", False)]


@pytest.mark.parametrize(("sentence", "loose"), LOOSE)
def test_loose_where_the_wording_alone_makes_it_uncertain(sentence, loose):
    assert [call.loose for call in calls(sentence)] == [loose]


@pytest.mark.parametrize("sentence", ["Fifteen more seconds of sweetness.", "Ten seconds more of it, maybe."])
def test_more_of_it_is_no_length_of_work(sentence):
    assert [call.bare for call in calls(sentence)] == [False]


def test_a_call_carries_its_words_and_times():
    (call,) = calls("Keep breathing.", "And now ten seconds left, shoulders down.")
    assert (call.first, call.last, call.text) == (4, 6, "ten seconds left,")
    assert call.at_s == pytest.approx(6.7)
    assert call.end_s > call.at_s


def test_nothing_said():
    assert calls() == ()


def test_without_a_plan():
    assert [call.seconds for call in calls("Ten seconds left.", plan=Plan("", ()))] == [10]


def test_without_punctuation_a_sentence_that_opens_with_a_length_is_a_call():
    said = [(0.0, "keep the hips high and the chest proud"), (6.0, "ten seconds make them tidy"), (12.0, "and lower")]
    context = SpotContext.of(transcript_from(said), PLAN, load_language())
    words = context.words
    opens = words.opens.copy()
    opens[[8, 13]] = True
    closes = words.closes.copy()
    closes[[7, 12]] = True
    transcript = replace(transcript_from(said), words=replace(words, opens=opens, closes=closes))
    found = spot_calls(SpotContext.of(transcript, PLAN, load_language()))
    assert [(call.kind, call.seconds) for call in found] == [("left", 10.0)]
