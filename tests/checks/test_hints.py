"""Words of a planned option that no phrase gives away, and what they keep a check from claiming."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.checks import run_checks
from analyzer.model.transcript import Words
from tests.factory import words_from


def findings(take, *lines: tuple[float, str]) -> list[tuple[str, str]]:
    """Return (check, verdict) of the option checks for the first plank, with these lines as all that is said."""
    context = take.context()
    words: Words = words_from(lines)
    context = replace(context, transcript=replace(context.transcript, words=words))
    found = (f for f in run_checks(context) if f.check in ("easier-missing", "easier-late"))
    return [(f.check, f.verdict) for f in found if (f.move, f.round) == ("Plank", 1)]


@pytest.mark.parametrize(
    ("after", "line"),
    [
        (-8.0, "You can have the knees on the mat."),
        (5.0, "Or on your knees."),
        (12.0, "Knees go down, there."),
        (12.0, "Down with the knee."),
        (6.0, "Option. Lean on the wall."),
        (6.0, "Need less? Stay there."),
    ],
)
def test_words_of_the_planned_option_make_a_missing_one_unclear(take, after, line):
    assert findings(take, (take.start("Plank") + after, line)) == [("easier-missing", "unclear")]


@pytest.mark.parametrize(
    ("after", "line"),
    [
        (5.0, "Push the floor away."),
        (5.0, "Knees straight, please."),
        (5.0, "Or look at the horizon."),
        (-60.0, "You can have the knees on the mat."),
        (60.0, "You can have the knees on the mat."),
    ],
)
def test_other_words_or_the_same_elsewhere_are_no_hint(take, after, line):
    assert findings(take, (take.start("Plank") + after, line)) == [("easier-missing", "fail")]


def test_a_hint_that_comes_late_is_a_late_option_at_best(take):
    assert findings(take, (take.start("Plank") + 30.0, "Or drop the knees down.")) == [("easier-late", "fail")]


def test_an_earlier_hint_puts_a_late_offer_in_doubt(take, say):
    take.add("options", say.option(take.start("Plank") + 30.0))
    assert findings(take, (take.start("Plank") + 1.0, "Look ahead.")) == [("easier-late", "fail")]
    assert findings(take, (take.start("Plank") + 5.0, "Or on your knees.")) == [("easier-late", "unclear")]


def test_an_offer_in_time_needs_no_hint(take, say):
    take.add("options", say.option(take.start("Plank") + 3.0))
    assert findings(take, (take.start("Plank") + 30.0, "Or drop the knees down.")) == []
