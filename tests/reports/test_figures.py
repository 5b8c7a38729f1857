from xml.etree import ElementTree

import pytest

from analyzer.reports.figures import figure_files


@pytest.fixture(scope="module")
def files(audit):
    return figure_files(audit)


def test_files_and_their_kinds(files):
    assert sorted(files) == ["drift.png", "drift.svg", "timeline.png", "timeline.svg"]
    for name, content in files.items():
        if name.endswith(".png"):
            assert content.startswith(b"\x89PNG\r\n\x1a\n")  # source: PNG specification, 5.2
        else:
            assert ElementTree.fromstring(content).tag.endswith("svg")


def test_same_audit_same_bytes(files, build):
    assert figure_files(build()) == files


def test_no_clock_in_the_files(files):
    assert b"<dc:date>" not in files["timeline.svg"]
    assert b"tIME" not in files["timeline.png"]


def test_words_that_look_like_markup_or_formulas_are_drawn_as_they_are(build):
    assert len(figure_files(build("$x^2 <b>&amp; \\frac{1}{"))) == 4
