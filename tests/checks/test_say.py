"""What would mend a finding when said: the plan's words, the house's, or the coach's own."""

import pytest

from analyzer.checks import CHECKS
from analyzer.checks.rules_reader import parse
from analyzer.language import languages, load_language, speaking
from analyzer.model.plan import Plan
from analyzer.spotting import spot
from tests.factory import transcript_from


def said(take, check):
    return [f.say for f in take.findings(check)]


def test_the_plan_s_words(take):
    assert ("long neck",) in said(take, "cue-missing")
    assert ("knees down",) in said(take, "easier-missing")
    assert ("March",) in said(take, "name-missing")


def test_the_name_of_the_move_that_comes(take, say):
    for key, before_s in (("Plank", 4.0), ("Plank/2", -2.0)):
        take.add("mentions", say.mention(take.start(key) - before_s, (2, 0), "Plank", context="preview"))
    assert said(take, "preview-missing") == [("Plank",)]  # of round 2


def test_an_option_that_came_late_is_the_plan_s_or_the_coach_s(take, say):
    take.add("options", say.option(take.end("Plank") - 1.0, moves=((2, 0),)))
    assert said(take, "easier-late") == [("knees down",)]


def test_the_house_s_words(make_take):
    rules = parse("checks: {phrase-required: {phrases: [drink when you like]}}", CHECKS, "house.yaml")
    assert said(make_take(rules=rules), "phrase-required") == [("drink when you like",)]


@pytest.mark.parametrize(
    ("kind", "at", "seconds", "right"),
    [("left", 10.0, 15.0, 25.0), ("gone", 30.0, 10.0, 10.0)],
)
def test_a_time_call_is_said_again_where_it_is_true(take, say, kind, at, seconds, right):
    start = take.start("Plank")
    take.add("calls", say.call(start + at, kind, seconds))
    (found,) = take.findings("time-call-off")
    assert found.say == (f"{seconds:g} {kind}",)
    minutes, rest = divmod(round(start + right), 60)
    assert f"Say it again at {minutes}:{rest:02d}" in found.advice


def test_a_time_call_that_is_true_nowhere_is_only_cut(take, say):
    take.add("calls", say.call(take.start("Plank") + 20.0, "gone", 45.0))
    (found,) = take.findings("time-call-off")
    assert (found.say, found.advice) == ((), "Cut it, or show a timer there.")


def test_a_count_is_said_whole(take, say):
    take.add("counts", say.count(take.end("Plank"), (5, 4, 2, 1)))
    assert said(take, "count-broken") == [("5, 4, 3, 2, 1",)]


@pytest.mark.parametrize("code", languages())
@pytest.mark.parametrize("kind", ["breath", "water", "safety"])
def test_the_sentence_offered_is_one_that_is_heard(code, kind):
    with speaking(code):
        language = load_language(code)
        events = spot(transcript_from([(0.0, language.read("say")[kind])]), Plan("none", ()), language)
    assert kind in {event.kind for event in (*events.cues, *events.signals)}


def test_it_is_offered_in_the_language_of_the_class(take):
    with speaking("es"):
        offered = said(take, "breath-missing")
    assert offered
    assert set(offered) == {(load_language("es").read("say")["breath"],)}
