import csv
import hashlib
import io
import json

import pysubs2
import pytest
import srt
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from analyzer.model.errors import OutputError
from analyzer.reports.exports.captions import changes_table, corrected_captions

HEARD, RIGHT = "bend over road", "bent-over row"


def report(data, *evidence):
    pieces = [{"at": at, "text": text} for at, text in evidence]
    finding = {"instead": "Bent-over row", "verdict": "fail", "waived": None, "evidence": pieces}
    return {"recording": {"file": "take", "sha256": hashlib.sha256(data).hexdigest()}, "findings": [finding]}


def corrected(data, *evidence, form=None):
    return corrected_captions(report(data, *evidence), data, "take", form)


FILLER = st.lists(st.sampled_from(["and", "then", "hold", "it", "nice", "now"]), max_size=4)
CAPTIONS = st.lists(st.tuples(FILLER, st.booleans(), FILLER, st.integers(500, 4000)), min_size=1, max_size=6).filter(
    lambda rows: any(heard for _, heard, _, _ in rows)
)
BREAKS = st.lists(st.sampled_from([" ", " ", "\n"]), min_size=13, max_size=13)


def laid_out(rows, breaks):
    """The captions as (start, end, text), each told with what it should say; and when each heard name is said."""
    made, wanted, evidence, at = [], [], [], 1000
    for n, (before, heard, after, length) in enumerate(rows):
        before = [f"n{n}", *before]  # no caption begins as the one before ends, as those that roll up do
        words = [*before, *(HEARD.split() if heard else ["go"]), *after]
        text = "".join(word + space for word, space in zip(words, breaks, strict=False)).rstrip()
        made.append((at, at + length, text))
        wanted.append((at, at + length, " ".join([*before, RIGHT if heard else "go", *after])))
        if heard:
            evidence.append((at / 1000, HEARD))
        at += length + 100
    return made, wanted, evidence


@given(CAPTIONS, BREAKS)
def test_subrip_read_by_another_library(rows, breaks):
    made, wanted, evidence = laid_out(rows, breaks)
    subtitles = [pysubs2.SSAEvent(start, end, text.replace("\n", r"\N")) for start, end, text in made]
    file = pysubs2.SSAFile()
    file.events = subtitles
    data = file.to_string("srt").encode()
    result = corrected(data, *evidence)
    assert (result.form, len(result.made), result.left) == ("subrip", len(evidence), ())
    read = [
        (round(s.start.total_seconds() * 1000), round(s.end.total_seconds() * 1000), " ".join(s.content.split()))
        for s in srt.parse(result.content.decode())
    ]
    assert read == wanted


@given(CAPTIONS, BREAKS)
def test_webvtt_read_by_another_library(rows, breaks):
    made, wanted, evidence = laid_out(rows, breaks)
    file = webvtt.WebVTT()
    for start, end, text in made:
        stamps = (f"00:{t // 60000:02d}:{t // 1000 % 60:02d}.{t % 1000:03d}" for t in (start, end))
        file.captions.append(webvtt.Caption(*stamps, text))
    result = corrected(file.content.encode(), *evidence)
    assert result.form == "webvtt"
    events = pysubs2.SSAFile.from_string(result.content.decode(), format_="vtt")
    assert [(e.start, e.end, " ".join(e.plaintext.split())) for e in events] == wanted


SAID = {1.0: [("Now", 1.0), ("bend", 1.3), ("over", 1.6), ("road.", 1.9)], 4.0: [("Hold", 4.0), ("it.", 4.3)]}
SEGMENTS = [
    {"start": at, "end": end, "words": [{"word": word, "start": onset, "end": onset + 0.2} for word, onset in SAID[at]]}
    for at, end in ((1.0, 2.4), (4.0, 4.6))
]
OTHERS = {
    "words-json": json.dumps({"segments": SEGMENTS}),
    "table": "start,end,text\n1.0,2.4,Now bend over road.\n4.0,4.6,Hold it.\n",
    "ttml": '<tt xmlns="http://www.w3.org/ns/ttml"><body><div><p begin="1.0s" end="2.4s">Now bend over road.</p>'
    '<p begin="4.0s" end="4.6s">Hold it.</p></div></body></tt>',
}  # fmt: skip


@pytest.mark.parametrize("data", OTHERS.values(), ids=OTHERS)
@pytest.mark.parametrize("form", [None, "webvtt", "subrip"])
def test_other_forms_are_written_anew(data, form):
    result = corrected(data.encode(), (1.3, "bend over road."), form=form)
    text = result.content.decode().replace("\r\n", "\n")
    events = list(pysubs2.SSAFile.from_string(text, format_="srt" if form == "subrip" else "vtt"))
    assert [(e.start, e.end, e.plaintext) for e in events] == [
        (1000, 2400, "Now bent-over row."),
        (4000, 4600, "Hold it."),
    ]
    with pytest.raises(OutputError, match="are not edited in place"):
        corrected(data.encode(), (1.3, "bend over road."), form="given")


def test_stamped_text_as_captions_lasts_to_the_next_stamp():
    data = b"[0:01] Coach A: Now bend over road.\n[0:05] Coach A: Hold it.\n"
    assert corrected(data, (1.3, "bend over road.")).content == data.replace(b"bend over road.", b"bent-over row.")
    first, second = webvtt.from_string(corrected(data, (1.3, "bend over road."), form="webvtt").content.decode())
    assert (first.start, first.end, first.text, first.voice) == (
        "00:00:01.000", "00:00:05.000", "Now bent-over row.", "Coach A"
    )  # fmt: skip
    assert second.start == "00:00:05.000"


def test_a_file_that_cannot_be_edited_safely_is_written_anew():
    data = b"WEBVTT\n\n00:01.000 --> 00:03.000 line:80%\nNow bend over ro<i>ad</i>\n"
    result = corrected(data, (1.3, "bend over road"))
    assert result.content == b"WEBVTT\n\n00:00:01.000 --> 00:00:03.000\nNow bent-over row\n"
    with pytest.raises(OutputError, match="line 3: 'bend over road' cannot be told apart"):
        corrected(data, (1.3, "bend over road"), form="given")


def test_a_caption_never_loses_its_last_word():
    data = b"WEBVTT\n\n00:01.000 --> 00:02.000\nNow bend over\n\n00:02.000 --> 00:03.000\nroad.\n"
    result = corrected(data, (1.3, "bend over road."))
    assert (result.content, result.made) == (data, ())
    rows = list(csv.DictReader(io.StringIO(changes_table(result).decode(), newline="")))
    assert [(r["heard"], r["right"], r["changed"]) for r in rows] == [("bend over road.", "bent-over row.", "no")]


def test_nothing_to_change_leaves_the_file_as_it_is():
    data = b"\xef\xbb\xbf1\r\n00:00:01,000 --> 00:00:02,000\r\nGo.\r\n"
    result = corrected(data)
    assert result.content == data.removeprefix(b"\xef\xbb\xbf")
    assert changes_table(result) == b'"at","heard","right","changed"\r\n'
