from __future__ import annotations

import pytest

from analyzer.model.transcript import Token
from analyzer.transcripts.clean import split_words, to_captions
from analyzer.transcripts.reading import Block

# text as it stands, words left, speaker
TEXTS = {
    "sound note": ("[music] and march [applause]", "and march", None),
    "sung": ("♪ la la la ♪ ready", "ready", None),
    "a line in brackets": ("(upbeat music)\nready", "ready", None),
    "spoken aside": ("march (or tap) along", "march (or tap) along", None),
    "shouted note": ("march (CHEERING) along", "march along", None),
    "tags": ("<i>and</i> <b>march</b>", "and march", None),
    "override tags": (r"{\an8}and march", "and march", None),
    "entities": ("left &amp; right&#33;", "left & right!", None),
    "chevrons": (">> and march", "and march", ">>"),
    "escaped chevrons": ("&gt;&gt; and march", "and march", ">>"),
    "chevrons and a name": (">> Coach A: and march", "and march", "Coach A"),
    "dialogue dash": ("- and march\n- and rest", "and march and rest", None),
    "role": ("Coach A: and march", "and march", "Coach A"),
    "capitals once": ("REMEMBER: knees", "REMEMBER: knees", None),
    "a word with weight": ("Remember: knees out", "Remember: knees out", None),
    "a time": ("We work 10:30 today", "We work 10:30 today", None),
    "zero width": ("\u200band\ufeff march\u00ad", "and march", None),
    "no-break space": ("and\u00a0march", "and march", None),
}


@pytest.mark.parametrize("case", TEXTS)
def test_texts(case):
    text, words, speaker = TEXTS[case]
    (caption,) = to_captions([Block(0, 1000, text)])
    assert (caption.text, caption.speaker) == (words, speaker)


def test_a_prefix_on_many_captions_is_a_name():
    captions = to_captions([Block(i, i + 1, f"{'Rowan' if i % 2 else 'Sky'}: word {i}") for i in range(6)])
    assert {caption.speaker for caption in captions} == {"Rowan", "Sky"}


def test_a_block_without_words_leaves_no_caption_and_numbers_stay_those_of_the_file():
    captions = to_captions([Block(0, 1, "[music]"), Block(1, 2, "go"), Block(2, 3, " ... ")])
    assert [(caption.number, caption.text) for caption in captions] == [(2, "go")]


PIECES = {
    "twenty -five": ["twenty-five"],
    "push -ups now": ["push-ups", "now"],
    "60 % of you": ["60%", "of", "you"],
    "down - and up": ["down", "and", "up"],
    "wait ... what": ["wait...", "what"],
    "Ready. -Yes": ["Ready.", "Yes"],
    "— and": ["and"],
}


@pytest.mark.parametrize("text", PIECES)
def test_parted_words_are_joined_and_lone_marks_dropped(text):
    assert split_words(text) == PIECES[text]


def test_timed_words_keep_their_times_through_cleaning():
    tokens = (
        Token("[upbeat", 0, 100), Token("music]", 100, 200), Token("twenty", 300, 500, 0.5), Token("-five", 500, 700),
        Token("%", 700, 800), Token("♪", 800, 900), Token("left.", 900, 1000),
    )  # fmt: skip
    (caption,) = to_captions([Block(0, 1000, "", tokens=tokens)])
    assert caption.tokens == (Token("twenty-five%", 300, 700, 0.5), Token("left.", 900, 1000))
