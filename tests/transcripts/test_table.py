from __future__ import annotations

import pytest

from analyzer.model.errors import TranscriptError

EXPECTED = [(1500, 3000, "march on, and on"), (62345, 64000, "rest")]
TABLES = {
    "seconds": 'start,end,text\n1.5,3,"march on, and on"\n62.345,64,rest\n',
    "stamps": 'Start,End,Text\n0:01.5,0:03,"march on, and on"\n00:01:02.345,1:04,rest\n',
    "tabs": "start\tend\ttext\n1.5\t3\tmarch on, and on\n62.345\t64\trest\n",
    "semicolons, decimal commas": "Begin;Stop;Caption\n1,5;3,0;march on, and on\n62,345;64;rest\n",
    "units in the names": 'start (s),end (s),transcript\n1.5,3.0,"march on, and on"\n62.345,64,rest\n',
    "milliseconds": 'start_ms,end_ms,text\n1500,3000,"march on, and on"\n62345,64000,rest\n',
    "other order, more columns": 'id,text,end time,start time\n1,"march on, and on",3,1.5\n2,rest,64,62.345\n',
    "blank rows and CRLF": 'start,end,text\r\n\r\n1.5,3,"march on, and on"\r\n\r\n62.345,64,rest\r\n',
}


@pytest.mark.parametrize("case", TABLES)
def test_tables(read, case):
    transcript = read(TABLES[case])
    assert (transcript.form, transcript.grain) == ("table", "cue")
    assert [(c.start_ms, c.end_ms, c.text) for c in transcript.captions] == EXPECTED


def test_without_ends_a_row_is_a_stamp(read):
    transcript = read("time,text\n0:01,march on\n0:21,rest\n")
    assert (transcript.grain, transcript.stamp_step_ms) == ("stamp", 1000)


def test_speakers(read):
    assert read("start,end,speaker,text\n1,2,Coach A,march\n3,4,,rest\n").captions[0].speaker == "Coach A"


def test_a_row_a_word_gives_word_times(read):
    transcript = read("start,end,word\n" + "".join(f"{i}.1,{i}.4,word{i}\n" for i in range(30)))
    assert transcript.grain == "word"
    assert transcript.words.start_s[7] == pytest.approx(7.1)


BAD_ROWS = {"no time": "soon", "NaN": "nan", "infinite": "inf", "negative": "-1", "range": "1:75", "huge": "9999999999"}


@pytest.mark.parametrize("case", BAD_ROWS)
def test_a_bad_row_is_skipped_and_reported(read, case):
    transcript = read(f"start,end,text\n1,2,march\n{BAD_ROWS[case]},4,lost\n5,6,rest\n")
    assert [c.text for c in transcript.captions] == ["march", "rest"]
    assert [(p.kind, p.place) for p in transcript.problems] == [("skipped", "row 3")]


def test_nothing_left(read):
    with pytest.raises(TranscriptError, match=r"take\.txt, row 2: no usable caption.*not a time"):
        read("start,end,text\nsoon,later,lost\n")


def test_a_cell_beyond_all_measure(read):
    with pytest.raises(TranscriptError, match=r"row 2: broken table"):
        read("start,end,text\n1,2," + "x" * 200_000 + "\n")
