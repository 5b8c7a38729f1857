"""Spanish classes: which language a class is in, and two classes against their English twins."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from analyzer.audit import audit_recording
from analyzer.language import current_language, fold, speaking
from analyzer.language.detect import UNCLEAR, check_language, detect_language
from analyzer.model.errors import AnalyzerError
from analyzer.transcripts import read_transcript

FIXTURES = Path(__file__).parent.parent / "fixtures" / "es"
CLASSES = ("terraza", "mar-en-calma")


# --- which language ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("folder", CLASSES)
@pytest.mark.parametrize("code", ["en", "es"])
def test_a_class_tells_its_language(folder, code):
    assert detect_language(read_transcript(FIXTURES / folder / f"captions.{code}.vtt").words.norm) == code


@pytest.mark.parametrize(
    "said", [(), ("uno", "dos", "tres"), ("five", "four", "three") * 20, ("la", "the") * 30, ("de", "und", "zu") * 3]
)
def test_too_little_tells_no_language(said):
    assert detect_language(said) == UNCLEAR


def test_codes():
    assert [check_language(code) for code in ("auto", "EN", " es ")] == ["auto", "en", "es"]
    with pytest.raises(AnalyzerError, match="no language 'xx'; allowed: auto, en, es"):
        check_language("xx")


def test_the_option_of_the_command(tmp_path):
    from analyzer.cli.app import app

    folder = FIXTURES / "terraza"
    given = ["audit", str(folder / "captions.es.vtt"), "--plan", str(folder / "plan.es.yaml"), "--json", "-"]
    told, asked = (CliRunner().invoke(app, [*given, *more]) for more in ([], ["--language", "es"]))
    assert told.stdout == asked.stdout
    assert json.loads(told.stdout)["calls"]
    wrong = CliRunner().invoke(app, [*given, "--language", "xx"])
    assert wrong.exit_code != 0
    assert "allowed: auto, en, es" in wrong.output + str(wrong.exception)


def test_the_language_holds_inside_its_block_only():
    with speaking("es"):
        assert current_language() == "es"
    assert current_language() == "en"


# --- two classes and their twins -----------------------------------------------------------------------------------


def audited(folder, code, language="auto"):
    return audit_recording(
        FIXTURES / folder / f"captions.{code}.vtt", FIXTURES / folder / f"plan.{code}.yaml", language=language
    )


@pytest.fixture(scope="module")
def twins():
    return {folder: {code: audited(folder, code) for code in ("en", "es")} for folder in CLASSES}


def rows(audit):
    """Intervals and findings with blocks and moves by number, so that languages can be compared."""
    blocks = [block.name for block in audit.plan.blocks]
    moves = {move.name: at for block in audit.plan.blocks for at, move in enumerate(block.moves)}
    intervals = [
        (blocks.index(i.block), i.round, moves[i.move], i.side, i.start_s, i.end_s)
        for i in audit.alignment.intervals
        if i.status == "worked"
    ]
    findings = {
        (f.check, blocks.index(f.block) if f.block else None, f.round, moves.get(f.move), f.side)
        for f in audit.findings
    }
    return intervals, findings


@pytest.mark.parametrize("folder", CLASSES)
def test_twins_have_the_same_cue_times(folder):
    stamps = [
        [line for line in (FIXTURES / folder / f"captions.{code}.vtt").read_text("utf-8").splitlines() if "-->" in line]
        for code in ("en", "es")
    ]
    assert stamps[0] == stamps[1]


@pytest.mark.parametrize("folder", CLASSES)
def test_a_class_is_audited_as_well_as_its_twin(twins, folder):
    (english, in_english), (spanish, in_spanish) = (rows(twins[folder][code]) for code in ("en", "es"))
    assert [row[:4] for row in spanish] == [row[:4] for row in english]
    assert np.abs(np.array([row[4:] for row in spanish]) - np.array([row[4:] for row in english])).max() <= 1.0
    assert in_spanish == in_english


@pytest.mark.parametrize("folder", CLASSES)
@pytest.mark.parametrize("code", ["en", "es"])
def test_what_is_known_of_a_class_is_found_and_nothing_else(twins, folder, code):
    truth = json.loads((FIXTURES / folder / "truth.json").read_text("utf-8"))
    intervals, findings = rows(twins[folder][code])
    known = truth["intervals"]
    assert [row[:4] for row in intervals] == [(i["block"], i["round"], i["move"], i["side"]) for i in known]
    assert [row[4:] for row in intervals] == [pytest.approx((i["start"], i["end"]), abs=1.5) for i in known]
    assert findings == {(f["check"], f["block"], f["round"], f["move"], f["side"]) for f in truth["findings"]}


DIGITS = {"cinco": "5", "cuatro": "4", "tres": "3", "dos": "2", "uno": "1", "diez": "10", "quince": "15"}
FORMS = {
    "unpunctuated": lambda text: re.sub(r"[^\w\s]", "", text).lower(),
    "without-accents": lambda text: fold(text.lower()),
    "digits": lambda text: re.sub(r"\w+", lambda word: DIGITS.get(word[0].lower(), word[0]), text),
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("folder", CLASSES)
def test_the_findings_stay_however_the_words_are_written(twins, folder, form, tmp_path):
    lines = (FIXTURES / folder / "captions.es.vtt").read_text("utf-8").splitlines()
    written = [line if "-->" in line or line == "WEBVTT" else FORMS[form](line) for line in lines]
    (tmp_path / "captions.vtt").write_text("\n".join(written), "utf-8")
    again = audit_recording(tmp_path / "captions.vtt", FIXTURES / folder / "plan.es.yaml")
    assert rows(again)[1] == rows(twins[folder]["es"])[1]


def test_listening_in_the_wrong_language_finds_less(twins):
    """The language matters: English ears miss what a Spanish class says."""
    deaf = audited("terraza", "es", language="en")
    assert len(deaf.events.calls) < len(twins["terraza"]["es"].events.calls) / 2


def test_a_plan_is_drawn_from_a_spanish_class():
    plan = audit_recording(FIXTURES / "terraza" / "captions.es.vtt").plan
    rounds = next(block for block in plan.blocks if block.rounds > 1)
    assert (rounds.rounds, [move.name for move in rounds.moves]) == (2, ["sentadilla", "zancada lateral", "plancha"])
