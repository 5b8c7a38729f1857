"""Time calls and counts against the boundaries they speak of."""

from __future__ import annotations

import pytest

from analyzer.checks import CHECKS
from analyzer.checks.rules_reader import parse


def one_call(take):
    calls = take.facts().calls
    assert len(calls) == 1
    return calls[0]


@pytest.mark.parametrize(
    ("kind", "said", "real", "fails"),
    [
        ("left", 15.0, 24.0, True),
        ("left", 20.0, 13.0, True),
        ("gone", 20.0, 28.0, True),
        ("left", 10.0, 12.0, False),
        ("left", 10.0, 7.5, False),
        ("left", 20.0, 24.0, False),
        ("gone", 20.0, 18.0, False),
    ],
)
def test_calls_are_held_against_the_interval(take, say, kind, said, real, fails):
    at = take.end("Plank") - real if kind == "left" else take.start("Plank") + real
    take.add("calls", say.call(at, kind, said))
    found = take.findings("time-call-off")
    assert [f.verdict for f in found] == (["fail"] if fails else [])
    call = one_call(take)
    assert call.actual == pytest.approx(real)
    assert call.error_s == pytest.approx(real - said)
    assert call.interval == take.rows[take.find("Plank")].id


@pytest.mark.parametrize(("heard", "meant"), [(50.0, 15.0), (13.0, 30.0), (60.0, 16.0), (40.0, 14.0)])
def test_a_sound_alike_that_fits_is_taken(take, say, heard, meant):
    take.add("calls", say.call(take.end("Plank") - meant, "left", heard))
    assert take.findings("time-call-off") == []
    assert one_call(take).said == meant


def test_a_sound_alike_that_does_not_fit_excuses_nothing(take, say):
    take.add("calls", say.call(take.end("Plank") - 28, "left", 15.0))
    assert take.verdicts("time-call-off") == ["fail"]


def test_no_number_is_misheard_where_none_was_said(take, say):
    take.add("calls", say.call(take.end("Plank") - 13, "left", 30.0, text="half a minute still"))
    assert take.verdicts("time-call-off") == ["fail"]


@pytest.mark.parametrize(("real", "verdicts"), [(12.0, []), (15.0, []), (20.0, ["fail"])])
def test_a_loose_call_may_be_wrong_by_more(take, say, real, verdicts):
    take.add("calls", say.call(take.end("Plank") - real, "left", 10.0, certain=False, loose=True))
    assert take.verdicts("time-call-off") == verdicts


def test_the_whole_length_said_at_the_start_is_an_announcement(take, say):
    take.add("calls", say.call(take.start("Plank") + 11, "left", 40.0))
    assert take.findings("time-call-off") == []
    take.add("calls", say.call(take.start("Plank/2") + 18, "left", 40.0))
    assert take.verdicts("time-call-off") == ["fail"]


def test_a_call_may_speak_of_both_sides_together(take, say):
    take.add("calls", say.call(take.start("Side lunge") + 15, "left", 25.0))
    assert take.findings("time-call-off") == []


def test_an_unsure_number_is_at_best_unclear(take, say):
    take.add("calls", say.call(take.end("Plank") - 32, "left", 20.0, certain=False))
    assert take.verdicts("time-call-off") == ["unclear"]


def test_a_coarse_time_makes_a_call_unclear(take, say):
    take.add("calls", say.call(take.end("Plank") - 30, "left", 20.0, u=4.0))
    assert take.verdicts("time-call-off") == ["unclear"]


@pytest.mark.parametrize("scope", ["block", "class", "round"])
def test_calls_about_longer_spans_never_accuse(take, say, scope):
    take.add("calls", say.call(take.start("Plank") + 10, "left", 120.0, scope=scope))
    assert take.findings("time-call-off") == []
    assert one_call(take).actual is not None


def test_a_call_in_a_rest_is_recorded_and_not_judged(take, say):
    take.add("calls", say.call(take.start("Plank/2") - 8, "left", 8.0))
    assert take.findings("time-call-off") == []
    assert one_call(take).actual is None


def test_half_way_takes_the_span_that_fits(take, say):
    take.add("calls", say.call(take.start("Plank") + 21, "half", None))
    call = one_call(take)
    assert (call.verdict, call.said, round(call.error_s)) == ("pass", 20.0, 1)


def test_half_way_of_the_block_and_of_nothing(take, say):
    middle = (take.start("Plank") + take.end("Jump squat/2")) / 2
    take.add("calls", say.call(middle + 3, "half", None))
    assert one_call(take).verdict == "pass"
    take.events.clear()
    take.add("calls", say.call(take.start("Plank") + 2, "half", None))
    assert (one_call(take).verdict, one_call(take).actual) == ("unclear", None)
    assert take.findings("time-call-off") == []


# counts


def test_a_clean_count_is_recorded_and_passes(take, say):
    take.add("counts", say.count(take.end("Plank"), (5, 4, 3, 2, 1)))
    assert take.findings("count-broken", "count-pace", "count-late") == []
    call = one_call(take)
    assert (call.kind, call.verdict, call.said) == ("count", "pass", pytest.approx(1.0))


@pytest.mark.parametrize(
    ("numbers", "times", "words"),
    [
        ((5, 4, 2, 1), (0.0, 1.0, 2.0, 3.0), "goes from 4 to 2"),
        ((5, 4, 4, 3, 2, 1), (0.0, 1.0, 2.0, 3.0, 4.0, 5.0), "says 4 twice"),
    ],
)
def test_a_broken_count_is_told(take, say, numbers, times, words):
    end = take.end("Plank")
    take.add("counts", say.count(end, numbers, times=tuple(end - 1 - times[-1] + t for t in times)))
    found = take.findings("count-broken")
    assert [f.verdict for f in found] == ["fail"]
    assert words in found[0].message
    assert found[0].move == "Plank"


@pytest.mark.parametrize(
    ("numbers", "times", "extra"),
    [
        ((5, 4, 3, 1), (0.0, 1.0, 2.0, 4.0), {}),  # a hole of two seconds: lost by the recogniser
        ((5, 4, 2, 1), (0.0, 1.0, 2.0, 3.0), {"repaired": True}),
        ((5, 4, 2, 1), (0.0, 1.0, 2.0, 3.0), {"role": "reps"}),
        ((10, 8, 6, 4), (0.0, 2.0, 4.0, 6.0), {}),  # by twos, on purpose
        ((5, 4, 4, 3, 2, 1), (0.0, 1.0, 1.2, 2.0, 3.0, 4.0), {}),  # an echo
        ((3, 1), (0.0, 1.0), {}),
    ],
)
def test_tempting_counts_are_not_broken(take, say, numbers, times, extra):
    end = take.end("Plank")
    take.add("counts", say.count(end, numbers, times=tuple(end - 1 - times[-1] + t for t in times), **extra))
    assert take.findings("count-broken") == []


def test_a_break_seen_through_coarse_times_is_unclear_or_left_alone(make_take, say):
    for word_u, verdicts in ((0.3, ["unclear"]), (3.0, [])):
        take = make_take(grain="cue", word_u=word_u)
        take.add("counts", say.count(take.end("Plank"), (5, 4, 2, 1)))
        assert take.verdicts("count-broken") == verdicts


@pytest.mark.parametrize("pace", [1.8, 0.4])
def test_an_odd_pace_is_told(take, say, pace):
    take.add("counts", say.count(take.end("Plank"), (5, 4, 3, 2, 1), pace=pace))
    found = take.findings("count-pace")
    assert [f.verdict for f in found] == ["fail"]
    assert found[0].measured == pytest.approx(pace)


def test_slow_numbers_far_from_a_change_are_not_judged(take, say):
    take.add("counts", say.count(take.start("Plank") + 20, (3, 2, 1), pace=2.4))
    assert take.findings("count-pace", "count-late") == []
    assert one_call(take).actual is None


def test_pace_is_not_read_off_coarse_times(make_take, say):
    for grain, word_u in (("stamp", 0.1), ("cue", 2.0)):
        take = make_take(grain=grain, word_u=word_u)
        take.add("counts", say.count(take.end("Plank"), (5, 4, 3, 2, 1), pace=1.8))
        assert take.findings("count-pace") == []


@pytest.mark.parametrize("off", [4.0, -4.0])
def test_a_count_off_the_change_is_told(take, say, off):
    take.add("counts", say.count(take.end("Plank") - off))
    found = take.findings("count-late")
    assert [f.verdict for f in found] == ["fail"]
    assert ("before" if off > 0 else "after") in found[0].message


@pytest.mark.parametrize(("off", "u"), [(1.5, 0.1), (4.0, 6.0)])
def test_a_count_near_the_change_or_loosely_timed_does_not_fail(take, say, off, u):
    take.add("counts", say.count(take.end("Plank") - off, u=u))
    assert "fail" not in take.verdicts("count-late")


def test_of_two_counts_for_one_change_only_the_nearer_is_judged(take, say):
    take.add("counts", say.count(take.end("Plank") - 6), say.count(take.end("Plank")))
    assert take.findings("count-late") == []


def test_missing_counts_are_off_until_a_house_wants_them(take, say):
    take.add("counts", say.count(take.end("Plank")))
    assert take.findings("count-missing") == []
    take.rules = parse("checks: {count-missing: {on: true}}", CHECKS, "x")
    found = take.findings("count-missing")
    assert len(found) == len(take.rows) - 1
    assert ("Plank", 1) not in {(f.move, f.round) for f in found}


# A caption's words share out its time: a lost number leaves no hole, but the caption is as long as what was said.
WHOLE = ((5, 4, 3, 2, 1), 1.0)


def captioned(make_take, say, span_s, word_u=0.15, grain="cue"):
    """Return a take in caption grain with two whole counts, and "five, four, two, one" spread over ``span_s``."""
    take = make_take(grain=grain, word_u=word_u)
    for key in ("March", "Jump squat"):
        take.add("counts", say.count(take.end(key), WHOLE[0], pace=WHOLE[1], u=word_u))
    end = take.end("Plank")
    shares = (0.0, 0.36, 0.62, 1.0)
    times = tuple(end - 1 - span_s + span_s * share for share in shares)
    return take.add("counts", say.count(end, (5, 4, 2, 1), times=times, u=word_u))


@pytest.mark.parametrize(("span_s", "verdicts"), [(2.8, ["fail"]), (3.0, ["fail"]), (3.5, ["unclear"]), (4.0, [])])
def test_a_captions_span_tells_a_skip_from_a_lost_number(make_take, say, span_s, verdicts):
    assert captioned(make_take, say, span_s).verdicts("count-broken") == verdicts


@pytest.mark.parametrize(("grain", "verdict"), [("cue", "fail"), ("stamp", "unclear")])
def test_where_captions_hear_names_clearly_numbers_are_as_well(make_take, say, grain, verdict):
    take = captioned(make_take, say, 3.3, grain=grain)
    assert take.verdicts("count-broken") == ["unclear"]
    take.add("mentions", say.mention(take.start("Plank"), (2, 0), "Plank"))
    assert take.verdicts("count-broken") == [verdict]


@pytest.mark.parametrize("span_s", [2.6, 2.8, 3.2, 4.0])
def test_a_count_with_a_hole_is_not_called_fast_or_slow_for_it(make_take, say, span_s):
    assert captioned(make_take, say, span_s).findings("count-pace") == []


@pytest.mark.parametrize("span_s", [1.5, 7.5])
def test_it_still_is_when_neither_reading_is_in_pace(make_take, say, span_s):
    assert [f.move for f in captioned(make_take, say, span_s).findings("count-pace")] == ["Plank"]


@pytest.mark.parametrize(
    ("real", "said", "kept"),
    [(10.0, 10.0, True), (13.0, 10.0, True), (22.0, 10.0, False), (37.0, 40.0, False)],
)
def test_words_that_may_be_a_call_are_one_where_they_fit(take, say, real, said, kept):
    take.add("calls", say.call(take.end("Plank") - real, "left", said, certain=False, bare=True))
    assert [call.said for call in take.facts().calls] == ([said] if kept else [])
    assert take.findings("time-call-off") == []


def test_a_half_that_may_be_none_is_one_in_the_middle(take, say):
    middle = 0.5 * (take.start("Plank") + take.end("Plank"))
    take.add("calls", say.call(middle + 2, "half", None, certain=False, bare=True))
    assert [call.verdict for call in take.facts().calls] == ["pass"]
    take.add("calls", say.call(middle + 12, "half", None, certain=False, bare=True))
    assert len(take.facts().calls) == 1


def test_words_that_may_be_a_call_are_none_between_work(take, say):
    take.add("calls", say.call(take.end("Plank") + 3, "left", 10.0, certain=False, bare=True))
    assert len(take.facts().calls) == 0
