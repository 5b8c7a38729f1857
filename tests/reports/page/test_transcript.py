from dataclasses import replace

import pytest

from analyzer.model.audit import JudgedCall
from analyzer.model.events import Count, CueSaid, Events, Mention, OptionOffer, SideCall, Signal, TimeCall
from analyzer.reports.page.transcript import KINDS, passages


@pytest.fixture
def spoken(audit, build):
    """An audit whose one caption has ten words, with the events given."""

    def make(**events):
        made = build("a b c d e f g h i j".replace(" ", "\t"))
        words = made.transcript.words
        assert len(words) == 28
        return replace(made, events=Events(**events), findings=())

    return make


def at(first, last, kind=TimeCall, *more):
    return kind(first, last, 0.0, 1.0, 0.3, "words", *more)


def runs(audit):
    return [(run.text.count(" ") + 1, run.kinds, run.tags) for passage in passages(audit) for run in passage.runs]


def test_words_without_an_event_are_one_run(spoken):
    assert [(n, kinds) for n, kinds, _ in runs(spoken())] == [(28, ())]


def test_all_words_are_there_in_order_whatever_is_marked(spoken):
    audit = spoken(calls=(at(2, 4, TimeCall, "left", 10.0), at(5, 5, TimeCall, "half", None)),
                   sides=(at(3, 8, SideCall, "left"),))  # fmt: skip
    text = " ".join(run.text for passage in passages(audit) for run in passage.runs)
    assert text.split() == list(audit.transcript.words.text)


def test_marks_that_overlap_are_cut_where_one_begins_or_ends(spoken):
    audit = spoken(calls=(at(2, 5, TimeCall, "left", 10.0),), sides=(at(4, 8, SideCall, "left", True),))
    assert runs(audit) == [
        (2, (), ()),
        (2, ("call",), ()),
        (2, ("call", "side"), (("call", "time left"),)),
        (3, ("side",), (("side", "left, taken back"),)),
        (19, (), ()),
    ]


def test_neighbours_of_one_kind_stay_two(spoken):
    audit = spoken(calls=(at(0, 1, TimeCall, "gone", 10.0), at(2, 3, TimeCall, "half", None)))
    assert [tags for _, _, tags in runs(audit)][:2] == [(("call", "time gone"),), (("call", "half-way"),)]


@pytest.mark.parametrize(
    ("events", "kind", "tag"),
    [
        ({"counts": (at(0, 0, Count, (1,), (0,), (1.0,), "reps", 2.0),)}, "count", "repetitions"),
        ({"options": (at(0, 0, OptionOffer, "easier", (), "block"),)}, "option", "easier option, whole block"),
        ({"cues": (at(0, 0, CueSaid, "safety"),)}, "cue", "caution"),
        ({"mentions": (at(0, 0, Mention, (), "Squat", 1.0, True, "preview"),)}, "name", "Squat, announced"),
        ({"signals": (at(0, 0, Signal, "round", 1.0, 2),)}, "signal", "round 2"),
    ],
)
def test_a_tag_says_what_was_spotted(spoken, events, kind, tag):
    assert runs(spoken(**events))[0] == (1, (kind,), ((kind, tag),))
    assert kind in {known for known, _, _ in KINDS}


def test_an_unsure_must_say_is_not_marked(spoken):
    assert len(runs(spoken(cues=(at(0, 1, CueSaid, "must-say", (0, 0), "cue", 0.5),)))) == 1


def test_words_that_were_found_to_be_no_call_are_not_marked(spoken):
    bare = TimeCall(2, 2, 7.0, 8.0, 0.3, "Ten!", "left", 10.0, certain=False, bare=True)
    made = spoken(calls=(bare,))
    assert [kinds for _, kinds, _ in runs(made)] == [()]
    kept = JudgedCall("left", 7.0, 0.3, 10.0, 10.5, 0.5, "pass", None, "Ten!")
    told = replace(made, facts=replace(made.facts, calls=(kept,)))
    assert ("call",) in [kinds for _, kinds, _ in runs(told)]


def test_findings_stand_with_the_words_they_begin_in(audit):
    found = [f.id for passage in passages(audit) for f in passage.findings]
    assert found == [f.id for f in audit.findings if f.at_s is not None and f.waived is None]
