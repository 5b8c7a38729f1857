"""Phrases said like names around stretches of work."""

from dataclasses import replace

import pytest

from analyzer.alignment.discover import Stretch
from analyzer.alignment.phrases import WINDOW, Phrase, Tokens, key_of, leans, phrases_around, phrases_of
from analyzer.language import load_language, speaking
from analyzer.model.plan import Plan
from analyzer.spotting.context import SpotContext
from tests.factory import transcript_from

SAID = [
    (0.0, "Welcome, I burnt the toast this morning."),
    (20.0, "Next up, the wobbly heron."),
    (30.0, "Three. Two. One. Go!"),
    (40.0, "My neighbour has a wobbly table."),
    (60.0, "And rest."),
    (66.0, "Wobbly heron again."),
    (70.0, "And go."),
]
FOUND = (Stretch(33.5, 60.0, None, False), Stretch(70.0, 100.0, None, False))


def context_of(said, code="en"):
    return SpotContext.of(transcript_from(said), Plan("", ()), load_language(code))


def test_a_name_in_no_list_leans_most_where_it_is_announced():
    told, said = leans(context_of(SAID), FOUND)
    best = [max(row, key=row.__getitem__) for row in told]
    assert best == [key_of("wobbly herons", "en")] * 2
    assert said[best[0]] == "wobbly heron"
    assert told[0][best[0]] > told[0][key_of("wobbly table", "en")] + 1.0


@pytest.mark.parametrize(
    ("at_s", "around"),
    [(5.0, {0}), (31.0, {0}), (38.0, {0}), (55.0, {0, 1}), (62.0, {0, 1}), (67.0, {1}), (110.0, set())],
)
def test_which_stretches_words_may_speak_of(at_s, around):
    context = context_of([(at_s, "Wobbly heron.")])
    assert {phrase.stretch for phrase, _ in phrases_around(context, FOUND)} == around


def test_a_phrase_ends_with_its_clause_and_holds_more_than_small_words():
    said = phrases_of(context_of([(0.0, "And now we go to the low heron, knees soft.")]))
    assert key_of("low heron", "en") in said
    assert not {key_of("heron knees", "en"), key_of("we go", "en"), key_of("go to", "en")} & set(said)


def test_without_stretches_or_a_net_nothing_leans():
    assert leans(context_of(SAID), ()) == ([], {})
    with speaking("es"):
        told, said = leans(context_of(SAID, "es"), FOUND)
    assert (told, said) == ([{}, {}], {})
    assert leans(replace(context_of(SAID)), FOUND)[0][0]


def test_words_with_a_hyphen_are_several_tokens_and_clauses_have_edges():
    tokens = Tokens.of(context_of([(0.0, "Next up, the low-heron twist."), (9.0, "Go!")]))
    assert tokens.said == ("|", "next", "up", "|", "the", "low", "heron", "twist", "|", "go", "|")
    around = tokens.around([Phrase(0, "low heron", 3, 3)])
    assert around.shape == (1, sum(WINDOW))
    words, which = tokens.numbered(around)
    read = [words[at] if at < len(words) else None for at in which[0].tolist()]
    assert read == ["|", "next", "up", "|", "the", None, None, "low", "heron", "twist", "|", "go", "|", None]
