"""Spanish: a language added by data alone. Numbers against num2words, phrases by hand."""

import pytest
from num2words import num2words

from analyzer.language import fold, languages, load_language, speaking
from analyzer.language.sound import spell_out
from analyzer.language.stems import stem
from analyzer.model.plan import Block, Move, Plan
from analyzer.spotting import spot
from analyzer.spotting.cues import cue_words
from analyzer.spotting.names import name_words
from analyzer.spotting.option_grammar import offer_grammar
from analyzer.transcripts.speech import syllables_of
from tests.factory import transcript_from
from tests.language.distances import sound_similarity

ES = load_language("es")
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


@pytest.mark.parametrize(("after", "goes_on"), [("Y aguanta, aguanta ahí.", True), ("Y descansa.", False)])
def test_work_may_go_on_after_a_count(after, goes_on):
    (count,) = events("Tres, dos, uno.", after).counts
    assert (count.role, count.goes_on) == ("seconds", goes_on)


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
