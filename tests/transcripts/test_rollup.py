from __future__ import annotations

import pytest

from analyzer.transcripts.reading import Block
from analyzer.transcripts.rollup import drop_repeated_lines, new_lines

ROLLUP = """WEBVTT
Kind: captions

00:00:01.000 --> 00:00:02.400 align:start position:0%
{blank}
and<00:00:01.300><c> sit</c><00:00:01.700><c> back</c>

00:00:02.400 --> 00:00:02.410 align:start position:0%
and sit back
{blank}

00:00:02.410 --> 00:00:04.000 align:start position:0%
and sit back
three<00:00:03.200><c> two</c>

00:00:04.000 --> 00:00:04.010 align:start position:0%
three two
{blank}

00:00:04.200 --> 00:00:05.000 align:start position:0%
three two
rest

00:00:05.000 --> 00:00:05.010 align:start position:0%
rest
{blank}

00:00:08.000 --> 00:00:09.000 align:start position:0%
rest
rest

00:00:09.000 --> 00:00:09.010 align:start position:0%
rest
{blank}
""".replace("{blank}", " ")

NEW = {
    "first caption": ([], ["a"], ["a"]),
    "scrolled by one": (["a", "b"], ["b", "c"], ["c"]),
    "held line": (["a", "b"], ["b", " "], []),
    "same word said again": (["go"], ["go", "go"], ["go"]),
    "blank line above: all is new": (["go"], [" ", "go"], ["go"]),
    "nothing in common": (["a", "b"], ["c", "d"], ["c", "d"]),
    "whole caption repeated": (["a", "b"], ["a", "b"], []),
}


@pytest.mark.parametrize("case", NEW)
def test_new_lines(case):
    previous, lines, fresh = NEW[case]
    assert new_lines(previous, lines) == fresh


def test_each_word_once_at_its_inline_time(read):
    transcript = read(ROLLUP)
    assert (transcript.form, transcript.grain) == ("rollup", "word")
    assert transcript.words.norm == ("and", "sit", "back", "three", "two", "rest", "rest")
    assert transcript.words.start_s.tolist() == [1.0, 1.3, 1.7, 2.41, 3.2, 4.2, 8.0]


def test_sentences_come_from_silence_where_nothing_is_punctuated(read):
    words = read(ROLLUP).words
    assert words.closes.tolist() == [False, False, False, False, True, True, True]
    assert words.opens.tolist() == [True, False, False, False, False, True, True]
    assert words.pause_s[6] > 2.0


def test_repeated_lines_without_inline_times_are_dropped():
    lines = ["one", "two", "three", "four", "five"]
    pairs = [Block(0, 900, "one")] + [
        Block(1000 * i, 1000 * i + 900, f"{lines[i - 1]}\n{lines[i]}") for i in range(1, len(lines))
    ]
    assert [block.text for block in drop_repeated_lines(tuple(pairs))] == lines


def test_a_refrain_does_not_make_a_rollup():
    blocks = tuple(
        Block(1000 * i, 1000 * i + 900, text)
        for i, text in enumerate(("go\nup", "up\ndown", "left", "right", "in", "out"))
    )
    assert drop_repeated_lines(blocks) == blocks
