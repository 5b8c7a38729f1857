"""Words that may be what a check misses: then it claims nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import run_checks
from analyzer.checks.finding import seconds
from analyzer.checks.hearing import sounds_within
from tests.factory import words_from

FILLER = [(4.0 * n, "word word word.") for n in range(100)]


def verdicts(take, check, *lines):
    """Return place and verdict of one check's findings for what was said, given as (seconds, sentence)."""
    context = take.context()
    said = sorted([*lines, *(row for row in FILLER if all(abs(row[0] - at) > 3 for at, _ in lines))])
    context = replace(context, transcript=replace(context.transcript, words=words_from(said)))
    return [(f.block, f.verdict) for f in run_checks(context) if f.check == check]


@pytest.mark.parametrize(
    "sentence",
    [
        "If your wrists hurt, you know what to do.",
        "Be careful with that knee.",
        "Any pain, you come out.",
        "Safety first.",
    ],
)
def test_words_of_caution_in_no_known_phrase_make_it_unclear(take, sentence):
    assert verdicts(take, "safety-missing", (40.0, sentence)) == [("Circuit", "unclear")]


@pytest.mark.parametrize(
    "sentence", ["Welcome, everybody.", "Today is Tuesday.", "Painting is next.", "Carefree arms."]
)
def test_other_words_do_not(take, sentence):
    assert verdicts(take, "safety-missing", (40.0, sentence)) == [("Circuit", "fail")]
    assert verdicts(take, "safety-missing", (200.0, "Any pain, you come out.")) == [("Circuit", "fail")]  # too late


@pytest.mark.parametrize(("sentence", "verdict"), [("Let the air out.", "unclear"), ("Fair is fair.", "fail")])
def test_words_of_breath_in_no_known_phrase_make_it_unclear(take, sentence, verdict):
    assert ("Circuit", verdict) in verdicts(take, "breath-missing", (take.start("Plank") + 4, sentence))


@pytest.mark.parametrize(("sentence", "verdict"), [("Bottle up.", "unclear"), ("Waterfall arms.", "fail")])
def test_words_of_a_drink_in_no_known_phrase_make_it_unclear(make_take, sentence, verdict):
    assert verdicts(make_take(duration_s=1300.0), "water-missing", (90.0, sentence)) == [(None, verdict)]


def test_a_cue_misheard_is_unclear_where_the_transcript_mishears(take, say):
    at = take.start("Plank") + 5
    heard = (at, "Lung deck, friends.")
    assert ("Circuit", "fail") in verdicts(take, "cue-missing", heard)
    take.add("mentions", *(say.mention(at + n, (2, 0), "Plank", heard="blank") for n in range(4)))
    assert verdicts(take, "cue-missing", heard) == [("Circuit", "unclear")]
    assert verdicts(take, "cue-missing", (at, "Green apples, friends.")) == [("Circuit", "fail")]


def test_the_run_that_sounds_most_alike_is_found():
    said = ["please", "put", "your", "ease", "down", "over", "there"]
    assert sounds_within(said, "knees down", 0.75) == (3, 4)
    assert sounds_within(said, "small jumps", 0.75) is None
    assert sounds_within(said, "up", 0.1) is None  # too short to tell
    assert sounds_within([], "knees down", 0.75) is None


def test_an_unnamed_offer_after_the_work_may_be_for_the_next_move(take, say):
    after = take.end("Jump squat/2") + 1.0
    found = take.add("options", say.option(after)).findings("easier-late")
    assert [f.verdict for f in found if (f.move, f.round) == ("Jump squat", 2)] in ([], ["unclear"])


@pytest.mark.parametrize(("u", "verdict"), [(0.1, "fail"), (6.0, "unclear")])
def test_rounds_to_come_are_counted_with_the_promise_s_uncertainty(take, say, u, verdict):
    at = take.start("Plank/2") + 4.0  # one round was still to come 5 s earlier
    take.add("promises", say.promise(at, "rounds", 1, u=u))
    assert [p.verdict for p in take.facts().promises] == [verdict]
    assert [f.verdict for f in take.findings("promise-broken")] == (["fail"] if verdict == "fail" else [])


@pytest.mark.parametrize(("value", "text"), [(0.0, "0 s"), (-0.3, "0 s"), (0.6, "1 s"), (12.4, "12 s")])
def test_seconds_are_printed_without_a_sign_on_nothing(value, text):
    assert seconds(value) == text


@pytest.mark.parametrize(("by_s", "u", "told"), [(6, 3.0, False), (7, 3.0, True), (9, 3.0, True), (-6, 3.0, False)])
def test_a_rest_that_hardly_leans_is_not_listed(take, by_s, u, told):
    take.delay("Side lunge/1/left", by_s).change("Plank", end_u=u)
    found = [f for f in take.findings("rest-long", "rest-short") if f.move == "Plank"]
    assert [f.verdict for f in found] == ["unclear"] * told


@pytest.mark.parametrize(
    ("sentence", "clear", "misheard"),
    [
        ("Put the ease down now.", "fail", "unclear"),  # "knees down", misheard
        ("Knees down.", "unclear", "unclear"),  # word for word, in no phrase of an offer
        ("Kneel on a cushion now.", "fail", "fail"),
        ("Chin down.", "fail", "fail"),
        ("Down we go.", "fail", "fail"),
    ],
)
def test_the_plans_own_option_misheard_or_in_no_phrase_is_no_proof_of_its_absence(
    make_take, say, sentence, clear, misheard
):
    for exact, verdict in ((True, clear), (False, misheard)):
        take = make_take()
        at = take.start("Plank") + 5
        heard = None if exact else "blank"
        take.add("mentions", *(say.mention(at + n, (2, 0), "Plank", heard=heard) for n in range(4)))
        context = take.context()
        said = sorted([(at, sentence), *(row for row in FILLER if abs(row[0] - at) > 3)])
        context = replace(context, transcript=replace(context.transcript, words=words_from(said)))
        found = [f for f in run_checks(context) if (f.check, f.move, f.round) == ("easier-missing", "Plank", 1)]
        assert [f.verdict for f in found] == [verdict]


@pytest.mark.parametrize(("confidence", "told"), [(0.2, []), (0.6, []), (0.95, ["fail"])])
def test_what_is_perhaps_missing_makes_no_drift(take, confidence, told):
    """The class runs to time although a move is (perhaps) missing: if it is, all after it is late."""
    at = take.find("Jump squat")
    take.change("Jump squat", status="missing", start_s=None, end_s=None, confidence=confidence)
    assert take.rows[at + 1].start_s == take.schedule.intervals[at + 1].start_s
    assert [f.verdict for f in take.findings("start-drift")] == told


@pytest.mark.parametrize(("confidence", "verdict"), [(0.6, "unclear"), (0.95, "fail")])
def test_sides_fail_only_where_both_are_surely_placed(take, confidence, verdict):
    take.stretch("Side lunge/1/left", -12).change("Side lunge/1/right", confidence=confidence)
    assert take.verdicts("side-uneven") == [verdict]
