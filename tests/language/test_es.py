"""Spanish: a language added by data alone. Numbers against num2words, phrases by hand, two classes against twins."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from num2words import num2words
from typer.testing import CliRunner

from analyzer.audit import audit_recording
from analyzer.language import current_language, fold, languages, load_language, speaking
from analyzer.language.detect import UNCLEAR, check_language, detect_language
from analyzer.language.sound import sound_similarity, spell_out
from analyzer.language.stems import stem
from analyzer.model.errors import AnalyzerError
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting import spot
from analyzer.spotting.cues import cue_words
from analyzer.spotting.names import name_words
from analyzer.spotting.options import offer_grammar
from analyzer.transcripts import read_transcript
from analyzer.transcripts.speech import syllables_of
from tests.factory import transcript_from

ES = load_language("es")
FIXTURES = Path(__file__).parent.parent / "fixtures" / "es"
CLASSES = ("terraza", "mar-en-calma")
PLAN = Plan(
    "Prueba",
    (
        Block(
            "Principal",
            "main",
            moves=(
                Move("Puente", 45.0, easier=("apoya las rodillas",), cues=("costillas abajo",)),
                Move("Zancada lateral", 45.0, also=("zancadas de lado",)),
                Move("Plancha", 45.0),
            ),
        ),
    ),
)


def events(*sentences, plan=PLAN, gap_s=4.0):
    return spot(transcript_from([(at * gap_s, text) for at, text in enumerate(sentences)]), plan, ES)


# --- the data is whole ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", ["calls", "counts", "promises", "sides", "signals"])
def test_every_language_has_the_groups_that_code_asks_for(file):
    wanted = {group for group in load_language("en").phrases(file).groups if not group.startswith("half alike")}
    for code in languages():
        assert wanted <= set(load_language(code).phrases(file).groups), code


@pytest.mark.parametrize("reader", [name_words, cue_words, offer_grammar])
def test_every_language_has_the_groups_of_names_cues_and_options(reader):
    for code in languages():
        with speaking(code):
            assert set(reader("en").phrases.groups) == set(reader(code).phrases.groups), code


def test_single_words_of_every_language_have_the_same_groups():
    wanted = set(load_language("en").read("hints"))
    for code in languages():
        assert wanted <= set(load_language(code).read("hints")), code


# --- numbers -------------------------------------------------------------------------------------------------------


def test_numbers_mean_what_num2words_spells():
    """Outside reference: num2words (PyPI), Spanish."""
    values = [*range(3000), *range(3000, 1_000_000, 997)]
    wrong = [value for value in values if ES.numbers.number(fold(num2words(value, lang="es"))) != value]
    assert wrong == []


LENGTHS = [
    ("diez segundos", 10),
    ("treinta y cinco segundos", 35),
    ("veintiun segundos", 21),
    ("medio minuto", 30),
    ("un minuto", 60),
    ("otro minuto", 60),
    ("minuto y medio", 90),
    ("un minuto y medio", 90),
    ("un minuto treinta", 90),
    ("un minuto y veinte segundos", 80),
    ("dos minutos y medio", 150),
    ("un cuarto de minuto", 15),
    ("tres cuartos de minuto", 45),
    ("1:30", 90),
    ("un segundo", None),
    ("segundo", None),
    ("minuto", None),
]


@pytest.mark.parametrize(("text", "seconds"), LENGTHS)
def test_lengths(text, seconds):
    assert ES.numbers.length_s(text) == seconds


# --- words ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("zancada", "zancadas"),
        ("elevación", "elevaciones"),
        ("talón", "talones"),
        ("puente", "puentes"),
        ("luz", "luces"),
        ("aprieta", "aprietan"),
        ("empuja", "empujando"),
        ("derecho", "derecha"),
    ],
)
def test_forms_of_a_word_share_a_stem(one, other):
    with speaking("es"):
        assert stem(one) == stem(other)


def test_different_words_keep_different_stems():
    with speaking("es"):
        words = ("plancha", "puente", "zancada", "marcha", "sentadilla", "escarabajo", "gato", "pliegue", "círculo")
        assert len({stem(word) for word in words}) == len(words)


@pytest.mark.parametrize(
    ("word", "syllables"),
    [
        ("diez", 1),
        ("segundos", 3),
        ("cuidado", 3),
        ("día", 2),
        ("respiración", 4),
        ("que", 1),
        ("muy", 1),
        ("oímos", 3),
        ("veintiuno", 3),
        ("45", 5),
        ("200", 3),
    ],
)
def test_syllables(word, syllables):
    with speaking("es"):
        assert syllables_of(word) == syllables


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        ("zancada", "S AA N K AA D AA"),
        ("gesto", "HH EY S T OW"),
        ("guía", "G IY AA"),
        ("muñeca", "M UW N Y EY K AA"),
        ("silla", "S IY Y AA"),
        ("quince", "K IY N S EY"),
        ("hombro", "OW M B R OW"),
        ("vaca", "B AA K AA"),
    ],
)
def test_letters_give_sounds(word, phones):
    assert spell_out(word, "es") == phones


def test_words_that_sound_alike_do():
    assert sound_similarity(("votar",), ("botar",), "es") == 1.0
    assert sound_similarity(("plancha",), ("blanca",), "es") > 0.7
    assert sound_similarity(("puente",), ("silla",), "es") < 0.5


# --- what is heard -------------------------------------------------------------------------------------------------

CALLS = [
    ("Quedan quince segundos, sigan fuertes.", [("left", 15)]),
    ("Diez segundos más.", [("left", 10)]),
    ("Diez mas, no paren.", [("left", 10)]),
    ("Quedan diez.", [("left", 10)]),
    ("Nos faltan solo veinte segundos.", [("left", 20)]),
    ("Últimos diez segundos, denlo todo.", [("left", 10)]),
    ("Treinta segundos.", [("left", 30)]),
    ("En cinco segundos cambiamos.", [("left", 5)]),
    ("Último minuto, con todo.", [("left", 60)]),
    ("Medio minuto más.", [("left", 30)]),
    ("Estamos a la mitad.", [("half", None)]),
    ("Mitad de camino, muy bien.", [("half", None)]),
    ("Ya llevamos la mitad.", [("half", None)]),
    ("Llevamos veinte segundos.", [("gone", 20)]),
    ("Ya van treinta.", [("gone", 30)]),
    ("A la mitad cambiamos de lado.", []),
    ("Quedan dos rondas.", []),
    ("Descansamos quince segundos.", []),
    ("Cuarenta y cinco segundos cada ejercicio.", []),
    ("Baja solo hasta la mitad.", []),
    ("Diez repeticiones más.", []),
    ("Aguantad diez segundos más, que vosotros podéis.", [("left", 10)]),
    ("Nos quedan veinte segunditos.", [("left", 20)]),
    ("Trabajamos cuarenta segundos y descansamos veinte.", []),
    ("Tenemos diez segundos para respirar.", []),
    ("Hazlo a medio camino.", []),
    ("Esta silla tiene cuarenta años.", []),
]


@pytest.mark.parametrize(("sentence", "said"), CALLS)
def test_calls(sentence, said):
    assert [(call.kind, call.seconds) for call in events(sentence).calls] == said


def test_counts():
    heard = events("Cinco, cuatro, tres, dos, uno.", "Descansa.").counts
    assert [(count.numbers, count.role) for count in heard] == [((5, 4, 3, 2, 1), "seconds")]
    assert [count.role for count in events("Uno, dos, tres, cuatro, despacio.").counts] == ["reps"]
    assert events("Son dos rondas de tres ejercicios.").counts == ()


SIGNALS = [
    ("¡Vamos!", "start"),
    ("Tres, dos, uno, ¡ya!", "start"),
    ("Y descansa.", "stop"),
    ("Y paren.", "stop"),
    ("Cambio de lado.", "switch"),
    ("Ahora la otra pierna.", "switch"),
    ("Segunda ronda.", "round"),
    ("Una vuelta más y terminamos.", "round"),
    ("Les muestro los ejercicios.", "demo"),
    ("Toma un sorbo de agua.", "water"),
    ("Muchas gracias a todos, nos vemos en la próxima.", "goodbye"),
]


@pytest.mark.parametrize(("sentence", "kind"), SIGNALS)
def test_signals(sentence, kind):
    assert kind in {signal.kind for signal in events(sentence).signals}


@pytest.mark.parametrize(
    "sentence",
    ["Esto va bien para la espalda y para todo.", "No pares ahora.", "Si algo duele, para."],
)
def test_no_stop(sentence):
    assert not [signal for signal in events(sentence).signals if signal.kind == "stop" and signal.strength >= 1.0]


MENTIONS = [
    ("Lo siguiente son las zancadas laterales.", "Zancada lateral", "preview"),
    ("Ahora viene el puente.", "Puente", "preview"),
    ("Después de esto, la plancha.", "Plancha", "preview"),
    ("Puentes, arriba esas caderas.", "Puente", "plain"),
    ("Se acabaron los puentes.", "Puente", "past"),
    ("Zancada, otra vez.", "Zancada lateral", "plain"),
    ("Ese tren llega hasta la costa.", None, None),
    ("Si sientes que es demasiado, camina en el sitio.", None, None),
    ("Siguen las sancadas laterales.", "Zancada lateral", "preview"),
]


@pytest.mark.parametrize(("sentence", "name", "context"), MENTIONS)
def test_mentions(sentence, name, context):
    found = [(mention.name, mention.context) for mention in events(sentence).mentions]
    assert found == ([(name, context)] if name else [])


OFFERS = [
    ("Si te duele la muñeca, apoya las rodillas en el suelo.", ["easier"]),
    ("También puedes sujetarte de una silla.", ["easier"]),
    ("La versión más fácil es sin salto.", ["easier"]),
    ("Si no llegas, baja menos, está bien.", ["easier"]),
    ("Si quieres más reto, añade un salto.", ["harder"]),
    ("La versión avanzada es con una pierna.", ["harder"]),
    ("Podés bajar las rodillas si lo necesitás.", ["easier"]),
    ("Si lo necesitáis, podéis hacerlo con las rodillas apoyadas.", ["easier"]),
    ("La alternativa es quedarte sentado en la silla.", ["easier"]),
    ("Para los que quieran más intensidad, suban el ritmo.", ["harder"]),
    ("Ayer me dolía la rodilla y mi vecina me prestó una silla.", []),
    ("Mantén la espalda recta y respira.", []),
    ("Esto se pone más difícil cada ronda.", []),
    ("Toma un sorbo de agua, buen trabajo.", []),
]


@pytest.mark.parametrize(("sentence", "directions"), OFFERS)
def test_options(sentence, directions):
    assert [offer.direction for offer in events(sentence).options] == directions


SIDES = [
    ("Empezamos con la pierna izquierda.", [("left", False)]),
    ("Ahora la pierna derecha.", [("right", False)]),
    ("Lado izquierdo primero.", [("left", False)]),
    ("Pierna izquierda, perdón, pierna derecha.", [("left", True), ("right", False)]),
    ("Mantén la espalda derecha.", []),
    ("Paso a la izquierda y a la derecha.", []),
]


@pytest.mark.parametrize(("sentence", "sides"), SIDES)
def test_sides(sentence, sides):
    assert [(call.side, call.corrected) for call in events(sentence).sides] == sides


PROMISES = [
    ("Hacemos dos rondas.", [("rounds", 2, "block")]),
    ("Dos rondas de cada bloque.", [("rounds", 2, "class")]),
    ("Son cuatro ejercicios.", [("moves", 4, "block")]),
    ("Cuarenta segundos cada ejercicio.", [("seconds", 40, "interval")]),
    ("Hoy tenemos veinte minutos de clase.", [("seconds", 1200, "class")]),
    ("Daré opciones para todos.", [("options", None, "class")]),
    ("Lo vamos a repetir tres veces.", [("rounds", 3, "block")]),
    ("Quedan dos rondas.", []),
    ("Llevamos diez minutos de clase.", []),
]


@pytest.mark.parametrize(("sentence", "promises"), PROMISES)
def test_promises(sentence, promises):
    assert [(promise.kind, promise.value, promise.scope) for promise in events(sentence).promises] == promises


@pytest.mark.parametrize(
    ("sentence", "kind"),
    [
        ("Respira por la nariz.", "breath"),
        ("Exhala al subir.", "breath"),
        ("Toma un trago de agua.", "water"),
        ("Si algo duele, para.", "safety"),
        ("Cuida las rodillas.", "safety"),
        ("Las costillas bien abajo.", "must-say"),
        ("Baja las costillas.", "must-say"),
    ],
)
def test_cues(sentence, kind):
    assert kind in {cue.kind for cue in events(sentence).cues if cue.score >= 0.7}


def test_accents_may_be_left_out():
    said = ("Últimos diez segundos.", "Después de esto, la plancha.", "También puedes apoyar las rodillas.")
    with_accents, without = events(*said), events(*map(fold, (text.lower() for text in said)))
    assert [call.seconds for call in without.calls] == [call.seconds for call in with_accents.calls] == [10]
    assert [m.context for m in without.mentions] == [m.context for m in with_accents.mentions] == ["preview"]
    assert [o.direction for o in without.options] == [o.direction for o in with_accents.options] == ["easier"]


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
