from __future__ import annotations

import pickle

import pytest

from analyzer.model.errors import (
    AnalyzerError,
    MismatchError,
    OutputError,
    PlanError,
    RulesError,
    TranscriptError,
)

LINES = {
    ("take.vtt", "line 12", "found", "allowed"): "take.vtt, line 12: found; allowed",
    ("take.vtt", "", "found", ""): "take.vtt: found",
    ("", "", "found", "allowed"): "found; allowed",
    ("take.vtt", "", "two\nlines  here", ""): "take.vtt: two lines here",
}


@pytest.mark.parametrize("parts", LINES)
def test_one_line_says_file_place_found_and_allowed(parts):
    assert str(TranscriptError(*parts)) == LINES[parts]


@pytest.mark.parametrize("kind", [TranscriptError, PlanError, RulesError, MismatchError, OutputError])
def test_every_error_is_one_of_ours_and_survives_another_process(kind):
    error = kind("take.vtt", "line 1", "found", "allowed")
    copy = pickle.loads(pickle.dumps(error))
    assert isinstance(copy, AnalyzerError)
    assert type(copy) is kind
    assert (copy.file, copy.place, copy.found, copy.allowed) == ("take.vtt", "line 1", "found", "allowed")


def test_a_plan_error_keeps_all_its_mistakes():
    first, second = AnalyzerError("p.yaml", "a", "x"), AnalyzerError("p.yaml", "b", "y")
    copy = pickle.loads(pickle.dumps(PlanError("p.yaml", "a", "x", mistakes=(first, second))))
    assert [mistake.place for mistake in copy.mistakes] == ["a", "b"]
