"""Counts: runs of numbers to a change, repetitions, misheard and missing numbers."""

from dataclasses import replace

import pytest

from analyzer.language import load_language
from analyzer.model.plan import Plan
from analyzer.spotting import SpotContext
from analyzer.spotting.counts import spot_counts
from tests.factory import transcript_from, words_from


def counts(said, word_s=0.35):
    return spot_counts(SpotContext.of(transcript_from(said, word_s), Plan("", ()), load_language()))


def paced(words, pace_s=1.0, start_s=10.0):
    """One word a sentence, ``pace_s`` seconds apart."""
    return [(start_s + place * pace_s, word) for place, word in enumerate(words.split())]


SECONDS = [
    ("Five. Four. Three. Two. One.", (5, 4, 3, 2, 1), False),
    ("Three. Two. One. Go!", (3, 2, 1), False),
    ("Five, four, three, two, one, and rest.", (5, 4, 3, 2, 1), False),
    ("5 4 3 2 1", (5, 4, 3, 2, 1), False),
    ("3, 2, 1,", (3, 2, 1), False),
    ("Five. Four. Three. Two. And one.", (5, 4, 3, 2, 1), False),
    ("Ten. Nine. Eight. Seven. Six. Five. Four. Three. Two. One.", (10, 9, 8, 7, 6, 5, 4, 3, 2, 1), False),
    ("five four three two one", (5, 4, 3, 2, 1), False),
    ("Five. For. Three. Two. One.", (5, 4, 3, 2, 1), True),
    ("Five. Fore. Free. Too. Won.", (5, 4, 3, 2, 1), True),
    ("Three. To. One.", (3, 2, 1), True),
    ("Three. Two. Won.", (3, 2, 1), True),
    ("Fife. Four. Three. Two. One.", (5, 4, 3, 2, 1), True),
    ("Five. Four. Two. One.", (5, 4, 2, 1), False),
    ("Five. Four. Three. Two.", (5, 4, 3, 2), False),
    ("Three. Two. Two. One.", (3, 2, 2, 1), False),
    ("Two. One. Switch.", (2, 1), False),
    ("Two. Won. Switch.", (2, 1), True),
    ("Five. Bore. Tree. Uh. One.", (5, 4, 3, 1), True),
    ("Five. Bowl. Hm. Uh. One.", (5, 1), True),
]


@pytest.mark.parametrize(("said", "numbers", "repaired"), SECONDS)
def test_seconds(said, numbers, repaired):
    (count,) = counts(paced(said))
    assert (count.numbers, count.role, count.repaired) == (numbers, "seconds", repaired)


@pytest.mark.parametrize(("said", "lands_s"), [("Three. Two. One.", 13.0), ("Four. Three. Two.", 14.0)])
def test_lands_where_the_numbers_run_out(said, lands_s):
    (count,) = counts(paced(said))
    assert count.lands_s == pytest.approx(lands_s)


@pytest.mark.parametrize(("pace_s", "after_s"), [(0.5, 0.7), (0.9, 0.9), (1.3, 1.3), (1.8, 1.5)])
def test_lands_at_the_measured_pace_within_reason(pace_s, after_s):
    (count,) = counts(paced("Five. Four. Three. Two. One.", pace_s))
    assert count.lands_s - count.times_s[-1] == pytest.approx(after_s)


def test_a_number_dropped_in_a_hole_of_time_is_presumed():
    (count,) = counts([(0.0, "Five."), (1.0, "Four."), (2.0, "Three."), (4.0, "One.")])
    assert (count.numbers, count.repaired) == ((5, 4, 3, 1), True)


def test_talk_between_the_numbers():
    (count,) = counts(
        [(0.0, "Five."), (1.0, "Four."), (1.5, "Nearly there."), (2.6, "Three."), (3.6, "Two."), (4.6, "One.")]
    )
    assert (count.numbers, count.role) == ((5, 4, 3, 2, 1), "seconds")


def test_numbers_inside_one_token():
    (count,) = counts([(0.0, "And 5,4,3,2,1 rest")], word_s=4.0)
    assert count.numbers == (5, 4, 3, 2, 1)
    assert list(count.times_s) == sorted(set(count.times_s))


REPS = [
    paced("One. Two. Three. Four."),
    paced("Five. Six. Seven. Eight."),
    paced("Down. Two. Three. Up. Down. Two. Three. Up."),
    paced("Five. Four. Three. Two. One.", 2.6),
    [(0.0, "Five careful ones, I'm counting."), *paced("Five. Four. Three. Two. One.", 1.9, 4.0)],
    [(0.0, "Four more squats each side."), *paced("Four. Three. Two. One.", 1.7, 4.0)],
]


@pytest.mark.parametrize("said", REPS)
def test_repetitions_and_beats(said):
    found = counts(said)
    assert found
    assert {count.role for count in found} == {"reps"}


NOT_COUNTS = [
    "Three.",
    "Two rounds, one minute each.",
    "That one was hard, this one is easy.",
    "There are four moves and three of them are new.",
    "One more, and one more.",
    "Block two, move one.",
    "Round two. One minute each.",
    "We did three last week and two this week.",
    "Two of you asked for one of these.",
    "Five minutes in, four to go.",
    "For the two of us, one thing matters.",
    "Last three. Last two. Last one.",
]


@pytest.mark.parametrize("sentence", NOT_COUNTS)
def test_not_a_count(sentence):
    assert [count for count in counts([(0.0, sentence)]) if count.role == "seconds"] == []


def test_a_count_written_as_one_number():
    (count,) = counts([(0.0, "and 321 go")], word_s=3.0)
    assert (count.numbers, count.role) == ((3, 2, 1), "seconds")


def test_two_counts_stay_apart():
    found = counts([*paced("Three. Two. One.", 1.0, 0.0), *paced("Three. Two. One.", 1.0, 20.0)])
    assert [count.numbers for count in found] == [(3, 2, 1), (3, 2, 1)]


def test_a_count_straight_after_another():
    found = counts([*paced("Three. Two. One. Rest.", 1.0, 0.0), *paced("Three. Two. One. Go.", 1.0, 5.0)])
    assert [count.lands_s for count in found] == pytest.approx([3.0, 8.0])


def test_words_around_do_not_matter():
    (count,) = counts([(0.0, "and get ready for three two one go go go")], word_s=0.9)
    assert (count.numbers, count.positions, count.text) == ((3, 2, 1), (4, 5, 6), "three two one")


@pytest.mark.parametrize(("u_s", "pace_s", "role"), [(1.6, 1.0, "seconds"), (1.6, 2.6, "seconds"), (0.1, 2.6, "reps")])
def test_the_pace_of_estimated_times_says_nothing_of_the_role(u_s, pace_s, role):
    assert roles(words_from(paced("Five. Four. Three. Two. One.", pace_s), u_s=u_s)) == [role]


def roles(words):
    transcript = replace(transcript_from([(0.0, "x")]), words=words)
    return [count.role for count in spot_counts(SpotContext.of(transcript, Plan("", ()), load_language()))]


@pytest.mark.parametrize(
    ("after", "goes_on"),
    [
        ("And hold it, hold it there.", True),
        ("And gimme one more.", True),
        ("And now stay down there, stay.", True),
        ("But we're not done.", True),
        ("And rest.", False),
        ("And stand still.", False),
        ("Hold your ball!", False),
        ("And stay seated a moment.", False),
    ],
)
def test_work_may_go_on_after_a_count(after, goes_on):
    (count,) = counts([(10.0, "Three."), (11.0, "Two."), (12.0, "One."), (13.0, after)])
    assert (count.role, count.goes_on) == ("seconds", goes_on)
