from __future__ import annotations

import json

import pytest

from analyzer.model.errors import TranscriptError

WORDS = [
    {"word": " And", "start": 1.0, "end": 1.2, "probability": 0.9},
    {"word": " push", "start": 1.3, "end": 1.6, "probability": 0.4},
    {"word": "-ups.", "start": 1.6, "end": 2.0, "probability": 0.5},
    {"word": " Rest.", "start": 4.0, "end": 4.4, "probability": 0.9},
]
SHAPES = {
    "segments": {
        "language": "en",
        "segments": [{"start": 1.0, "end": 4.4, "text": " And push-ups. Rest.", "words": WORDS}],
    },
    "flat list": WORDS,
    "words object": {"words": WORDS},
}


@pytest.mark.parametrize("case", SHAPES)
def test_shapes(read, case):
    transcript = read(json.dumps(SHAPES[case]))
    words = transcript.words
    assert (transcript.form, transcript.grain) == ("words-json", "word")
    assert words.norm == ("and", "push-ups", "rest")
    assert words.start_s.tolist() == [1.0, 1.3, 4.0]
    assert words.end_s.tolist() == [1.2, 2.0, 4.4]
    assert words.closes.tolist() == [False, True, True]
    assert transcript.duration_s == 4.4


def test_text_instead_of_word_and_stamps_instead_of_seconds(read):
    words = read(
        json.dumps([{"text": "and", "start": "0:01.5", "end": "0:02"}, {"text": "go", "start": "3", "end": 3.5}])
    ).words
    assert words.start_s.tolist() == [1.5, 3.0]


def test_probabilities_are_kept(read):
    tokens = read(json.dumps(SHAPES["segments"])).captions[0].tokens
    assert [token.probability for token in tokens] == [0.9, 0.4, 0.9]


def test_segments_without_words_are_captions(read):
    segments = [{"start": 1.0, "end": 3.0, "text": " March on."}, {"start": 4.0, "end": 5.0, "text": " Rest."}]
    transcript = read(json.dumps({"segments": segments}))
    assert transcript.grain == "cue"
    assert [(c.start_ms, c.end_ms, c.text) for c in transcript.captions] == [
        (1000, 3000, "March on."),
        (4000, 5000, "Rest."),
    ]


def test_words_without_a_time_lie_between_their_neighbours(read):
    words = read(json.dumps([{"word": "one", "start": 1.0}, {"word": "two"}, {"word": "three", "start": 2.0}])).words
    assert 1.0 < words.start_s[1] < 2.0
    assert words.u_s[1] > words.u_s[0]
    assert words.earliest_s[1] <= 1.0


BAD_TIMES = {
    "NaN": "NaN",
    "Infinity": "Infinity",
    "negative": "-3.0",
    "huge": "1e300",
    "a list": "[1]",
    "a word": '"soon"',
}


@pytest.mark.parametrize("case", BAD_TIMES)
def test_a_bad_time_is_skipped_and_reported(read, case):
    bad = f'{{"word": "lost", "start": {BAD_TIMES[case]}, "end": 2.0}}'
    transcript = read(
        f'[{{"word": "one", "start": 1.0, "end": 1.5}}, {bad}, {{"word": "two", "start": 3.0, "end": 3.5}}]'
    )
    assert transcript.words.norm == ("one", "two")
    assert [(p.kind, p.place) for p in transcript.problems] == [("skipped", "item 2")]


REFUSED = {
    "no words": ('{"title": "x"}', "holds neither segments nor words"),
    "empty list": ("[]", "holds neither segments nor words"),
    "a list of numbers": ("[{}, {}]", "item 1: is not a word"),
    "broken": ('{"segments": [', "line 1: is not JSON"),
    "deep": ("[" * 100_000, "nested too deeply"),
    "a number of 5000 digits": ('{"segments": [{"start": ' + "9" * 5000 + "}]}", "too long"),
    "all bad": ('[{"word": "one", "start": NaN}]', "item 1: no usable caption.*no time in a recording"),
    "all at zero": (
        json.dumps({"segments": [{"start": 0, "end": 0, "text": "one"}, {"start": 0, "end": 0, "text": "two"}]}),
        "all 2 captions start at 0:00",
    ),
    "no length": (json.dumps({"segments": [{"start": 5, "end": 5, "text": "one"}]}), "span no time"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_one_clear_line(read, case):
    text, message = REFUSED[case]
    with pytest.raises(TranscriptError, match=message):
        read(text)


@pytest.mark.parametrize("piece", ["<br/> Side", "- Side", "&nbsp;Side", "\u200b Side"])
def test_a_word_keeps_no_space_of_what_stood_before_it(read, piece):
    words = [{"word": piece, "start": 1.0, "end": 1.4}, {"word": "plank", "start": 2.0, "end": 2.4}]
    assert read(json.dumps(words)).words.text == ("Side", "plank")
