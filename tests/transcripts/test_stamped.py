from __future__ import annotations

import pytest

from analyzer.model.errors import TranscriptError

EXPECTED = [(1000, "good morning all"), (21000, "feet apart and march"), (61000, "rest")]
LAYOUTS = {
    "square brackets": "[0:01] good morning all\n\n[0:21] feet apart\nand march\n\n[1:01] rest\n",
    "round brackets, hours": "(00:00:01) good morning all\n(00:00:21) feet apart and march\n(00:01:01) rest\n",
    "bare": "0:01 good morning all\n0:21 feet apart and march\n1:01 rest\n",
    "bare, with a dash": "0:01 - good morning all\n0:21 - feet apart and march\n1:01 - rest\n",
    "stamp on its own line": "0:01\ngood morning all\n0:21\nfeet apart\n\nand march\n1:01\nrest\n",
    "brackets on their own line": "[00:01]\ngood morning all\n\n[00:21]\nfeet apart and march\n\n[01:01]\nrest",
    "all in one paragraph": "[0:01] good morning all [0:21] feet apart and march [1:01] rest",
    "a title first": "My morning class\n\n[0:01] good morning all\n[0:21] feet apart and march\n[1:01] rest\n",
    "a bare time inside the text": "[0:01] good morning all\n[0:21] feet apart\nand march\n[1:01] rest\n",
    "CRLF": "[0:01] good morning all\r\n\r\n[0:21] feet apart\r\nand march\r\n[1:01] rest\r\n",
}


@pytest.mark.parametrize("case", LAYOUTS)
def test_layouts(read, case):
    transcript = read(LAYOUTS[case])
    assert (transcript.form, transcript.grain, transcript.stamp_step_ms) == ("stamped", "stamp", 1000)
    assert [(c.start_ms, c.text) for c in transcript.captions] == EXPECTED
    assert all(c.end_ms is None for c in transcript.captions)


def test_ranges_give_an_end(read):
    captions = read(
        "0:01 - 0:20 good morning all\n0:21 – 0:40 feet apart\n1:01 --> 1:20 rest\n".replace("-->", "to")
    ).captions
    assert [(c.start_ms, c.end_ms, c.text) for c in captions] == [
        (1000, 20000, "good morning all"),
        (21000, 40000, "feet apart"),
        (61000, 80000, "rest"),
    ]


SPEAKERS = {
    "prefix after the stamp": "[0:01] Coach A: march on\n[0:21] Guest: why\n",
    "name, then stamp, on one line": "Coach A 0:01\nmarch on\n\nGuest 0:21\nwhy\n",
    "name before brackets": "Coach A [0:01]: march on\nGuest [0:21]: why\n",
}


@pytest.mark.parametrize("case", SPEAKERS)
def test_speakers(read, case):
    captions = read(SPEAKERS[case]).captions
    assert [(c.start_ms, c.speaker, c.text) for c in captions] == [
        (1000, "Coach A", "march on"),
        (21000, "Guest", "why"),
    ]


def test_a_time_in_the_text_of_a_bracketed_file_is_spoken(read):
    captions = read("[0:01] we hold for\n1:30 today\n[0:21] ready\n[0:41] and down\n").captions
    assert [c.text for c in captions] == ["we hold for 1:30 today", "ready", "and down"]


def test_fractions_make_a_finer_step(read):
    assert read("[0:01.5] march on\n[0:21.2] rest\n").stamp_step_ms == 100


def test_stamps_on_a_coarse_grid_are_that_coarse(read):
    text = "".join(f"[{minute}:{second:02d}] march on.\n" for minute in range(5) for second in (0, 30))
    transcript = read(text)
    assert transcript.stamp_step_ms == 30_000
    # a value rounded to a step has a standard uncertainty of the step / sqrt(12) at least (GUM 4.3.7)
    assert transcript.words.u_s.min() >= 30 / 12**0.5


def test_a_stamp_out_of_range_is_skipped_up_to_the_next_stamp(read):
    transcript = read("[0:01] good morning\n[1:75] lost\nand lost\n[2:01] rest\n")
    assert [c.text for c in transcript.captions] == ["good morning", "rest"]
    assert [(p.kind, p.place, "75 seconds" in p.found) for p in transcript.problems] == [("skipped", "line 2", True)]


def test_text_before_the_first_stamp_is_reported(read):
    assert [p.found for p in read("A title\n[0:01] march on\n[0:05] rest\n").problems] == [
        "text before the first stamp"
    ]


def test_only_a_broken_stamp_is_an_error_that_names_the_line(read):
    with pytest.raises(TranscriptError, match=r"take\.txt, line 1: no usable caption.*1:75.*75 seconds"):
        read("[1:75] lost\n")


def test_all_stamps_at_zero(read):
    with pytest.raises(TranscriptError, match="all 3 captions start at 0:00"):
        read("[0:00] one\n[0:00] two\n[0:00] three\n")
