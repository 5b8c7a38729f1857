import pytest

from analyzer.model.errors import OutputError
from analyzer.reports.exports.in_place import edited, new_words
from analyzer.transcripts import parse_transcript

VTT = (
    "WEBVTT - take 1\n\nNOTE spit squat stays here\n\nc1\n00:01.000 --> 00:04.000 line:80%\n{}\n\n"
    "00:05.000 --> 00:08.000\nAnd rest.\n"
)
SRT = "1\n00:00:01,000 --> 00:00:04,000\n{}\n\n2\n00:00:05,000 --> 00:00:08,000\nAnd rest.\n"
SBV = "0:00:01.000,0:00:04.000\n{}\n\n0:00:05.000,0:00:08.000\nAnd rest.\n"
STAMPED = "[0:01] {}\n[0:05] And rest.\n"
ASS = (
    "[Script Info]\nScriptType: v4.00+\n\n[Events]\n"
    "Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text\n"
    "Dialogue: 0,0:00:01.00,0:00:04.00,Default,,0,0,0,,{}\n"
    "Dialogue: 0,0:00:05.00,0:00:08.00,Default,,0,0,0,,And rest.\n"
)
ROW = {1: "bent-over", 2: "row", 3: ""}  # of "The bend over road now"


def change(data, *edits):
    """Edits are (caption, word, text)."""
    asked = {}
    for caption, word, text in edits:
        asked.setdefault(caption, {})[word] = text
    return edited(data, parse_transcript(data, "take"), asked)


@pytest.mark.parametrize("form", [VTT, SRT, SBV, STAMPED, ASS])
def test_only_the_words_change(form):
    before, after = form.format("The spit squat, now."), form.format("The split squat, now.")
    assert change(before.encode(), (0, 1, "split")).decode() == after


@pytest.mark.parametrize(
    ("form", "said", "right"),
    [
        (VTT, "The bend over road now", "The bent-over row now"),
        (VTT, "The bend over\nroad now", "The bent-over row\nnow"),
        (VTT, "The bend\nover road\nnow", "The bent-over\nrow\nnow"),
        (VTT, "The <i>bend over</i> road now", "The <i>bent-over row</i> now"),
        (VTT, "The bend over\n<b>road</b> now", "The bent-over row\n<b></b> now"),
        (SRT, "The bend over\nroad\nnow", "The bent-over row\nnow"),
        (SRT, "The bend over road\nnow", "The bent-over row\nnow"),
        (ASS, r"The bend over\Nroad now", r"The bent-over row\Nnow"),
        (ASS, r"The{\i1} bend{\i0} over road now", r"The{\i1} bent-over{\i0} row now"),
        (STAMPED, "The bend over\nroad now", "The bent-over row\nnow"),
    ],
)
def test_a_word_taken_out_leaves_no_hole(form, said, right):
    edits = [(0, word, text) for word, text in ROW.items()]
    assert change(form.format(said).encode(), *edits).decode() == form.format(right)


def test_the_last_word_of_a_caption_taken_out():
    for form in (VTT, SRT, SBV, STAMPED, ASS):
        data = form.format("The bend over road").encode()
        assert change(data, *((0, n, text) for n, text in ROW.items())).decode() == form.format("The bent-over row")
    data = VTT.format("The bend over\nroad").encode()
    assert change(data, *((0, n, text) for n, text in ROW.items())).decode() == VTT.format("The bent-over row")


def test_a_name_over_two_captions():
    data = SRT.format("Now the bend over").replace("And rest.", "road, and\nrest.").encode()
    made = change(data, (0, 2, "bent-over"), (0, 3, "row,"), (1, 0, ""))
    assert made.decode() == SRT.format("Now the bent-over row,").replace("And rest.", "and\nrest.")


def test_the_same_words_twice_in_a_caption():
    data = VTT.format("blank, and blank, and blank time").encode()
    assert change(data, (0, 2, "plank,"), (0, 4, "plank")).decode() == VTT.format("blank, and plank, and plank time")


def test_two_stamps_on_one_line():
    data = b"[0:01] the blank [0:05] the blank again\n[0:09] blank\n"
    assert change(data, (1, 1, "plank"), (2, 0, "plank")) == b"[0:01] the blank [0:05] the plank again\n[0:09] plank\n"


def test_references_in_webvtt():
    data = VTT.format("Clean &amp; jerky, now").encode()
    assert (
        change(data, (0, 1, "&"), (0, 2, "press <slow>,")) == VTT.format("Clean &amp; press &lt;slow&gt;, now").encode()
    )


def test_line_ends_stay_and_the_rest_becomes_utf_8():
    data = SRT.format("Caf\xe9 blank").replace("\n", "\r\n").encode("cp1252")
    assert change(data, (0, 1, "plank")) == SRT.format("Caf\xe9 plank").replace("\n", "\r\n").encode()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (VTT.format("The blank [the blank bell] now"), "line 6: 'blank' cannot be told apart in the file; take --form"),
        (VTT.format("The bla<b>nk</b> now"), "line 6: 'blank' cannot be told apart"),
        ("WEBVTT\n\n00:01.000 --> 00:02.000\nThe<00:01.500><c> blank</c>\n", "of the form rollup are not edited"),
    ],
)
def test_what_cannot_be_told_apart_is_not_guessed(data, told):
    with pytest.raises(OutputError, match=told):
        change(data.encode(), (0, 1, "plank"))


def test_an_edit_that_would_read_otherwise_is_refused():
    with pytest.raises(OutputError, match=r"^take: cannot be corrected in place without changing more"):
        change(SRT.format("The blank").encode(), (0, 1, "{\\an8}plank"))


def test_new_words():
    (caption, _) = parse_transcript(SRT.format("The bend over road").encode(), "take").captions
    assert new_words(caption, {1: "bent-over bar", 2: "row", 3: ""}) == ("The", "bent-over", "bar", "row")
