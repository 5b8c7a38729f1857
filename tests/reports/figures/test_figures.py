import io
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from PIL import Image

from analyzer.model.audit import Alignment, Coverage, Facts, SideBalance
from analyzer.reports.figures import FIGURES, calls, drift, figure_files, options, sides, timeline
from analyzer.reports.figures.canvas import BLUE, GREY, INK, ORANGE, PALE, VERMILLION, canvas, listed

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def files(audit):
    return figure_files(audit)


@pytest.fixture
def bare(audit):
    """A class of which nothing was found."""
    return replace(audit, alignment=Alignment(()), facts=Facts(), findings=(), limits={})


def test_files_and_their_kinds(files):
    assert sorted(files) == sorted([f"{name}.{form}" for name in FIGURES for form in ("png", "svg")] + ["figures.txt"])
    for name in FIGURES:
        picture = Image.open(io.BytesIO(files[f"{name}.png"]))
        picture.load()
        assert (picture.format, picture.width) == ("PNG", 1584)
        assert ElementTree.fromstring(files[f"{name}.svg"]).tag == f"{SVG}svg"


def test_every_figure_carries_its_words(files, audit):
    told = files["figures.txt"].decode().split("\n\n")
    for (name, (_, tell)), line in zip(FIGURES.items(), told, strict=True):
        words = tell(audit)
        assert line.strip() == f"{name}: {words}"
        assert Image.open(io.BytesIO(files[f"{name}.png"])).text["Description"] == words
        root = ElementTree.fromstring(files[f"{name}.svg"])
        assert root.get("role") == "img"
        assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]  # SVG 2, section 5.7: first child
        assert (root[0].text, root[1].text) == (name, words)


def test_what_they_tell(audit):
    assert timeline.told(audit) == (
        "7 of 8 planned intervals were worked in 6:52. Missing: Backpack row. Unplanned: keep the chest proud at 6:23. "
        "Length off: Bear hold at 3:11. 2 easier and 1 harder options were offered."
    )
    assert (
        drift.told(audit)
        == "The last interval started 52 s early on the plan's clock; the most was 52 s early, at 5:43."
    )
    assert sides.told(audit) == (
        "Moves worked on each side, counted by round: 2. Uneven: Split squat, Main A, round 1, left 40 s, right 28 s."
    )
    assert options.told(audit) == (
        "1 of 2 hard moves, round by round, got an easier option. Without: Bear hold, Main A, round 2 (no option)."
    )
    assert calls.told(audit) == (
        "Of 4 time calls and counts 2 were right, 1 off and 1 could not be decided. Off: 3:27, said 15 s, real 24 s."
    )


def test_same_audit_same_bytes(files, build):
    assert figure_files(build()) == files


def test_no_clock_in_the_files(files):
    assert all(b"<dc:date>" not in content for name, content in files.items() if name.endswith("svg"))
    assert all(b"tIME" not in content for name, content in files.items() if name.endswith("png"))


def test_nothing_found_is_said_in_words(bare):
    assert len(figure_files(bare)) == 11
    assert [tell(bare) for _, tell in FIGURES.values()] == [
        "0 of 8 planned intervals were worked in 6:52. 0 easier and 0 harder options were offered.",
        "No interval was worked, so there is no drift.",
        "No move was worked on each side.",
        "The plan has no hard move, so none needs an easier option.",
        "No time call and no count was heard.",
    ]


@pytest.mark.parametrize(
    "text", ["$x^2 <b>&amp; \\frac{1}{", "]]> --> <!-- \x1b[31m \u202e\u0645\u0631\U0001f938 \x00"]
)
def test_words_that_look_like_markup_or_formulas_are_drawn_as_they_are(build, text):
    audit = build(text)
    audit = replace(audit, plan=replace(audit.plan, title=text))
    for name, content in figure_files(audit).items():
        if name.endswith(".svg"):
            assert ElementTree.fromstring(content).get("role") == "img"


def test_the_gravest_rows_are_kept_when_there_are_too_many(audit):
    row = SideBalance("Main A", 1, "Lunge", 30.0, 30.0, 0.0, 1.0, "pass")
    many = [replace(row, round=n) for n in range(1, 60)] + [replace(row, round=99, verdict="fail")]
    hard = [Coverage("Main A", n, "Lunge", 2, 0.1) for n in range(1, 60)] + [Coverage("Main A", 99, "Lunge", 0, None)]
    full = replace(audit, facts=replace(audit.facts, sides=tuple(many), coverage=tuple(hard)))
    for module in (sides, options):
        axes = module.draw(full).axes[0]
        labels = [label.get_text() for label in axes.get_yticklabels()]
        assert len(labels) == 30
        assert labels[-1] == "Lunge, Main A, round 99"


def test_the_timeline_names_moves_and_how_much_they_are_off(audit):
    figure = timeline.draw(audit)
    words = {text.get_text() for text in figure.axes[0].texts}
    assert {"L Split squat", "R Split squat", "Bear hold +16 s", "Main A"} <= words
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert legend[:5] == ["planned", "planned, missing", "worked", "worked, length off", "unplanned"]
    assert len(legend) == len(set(legend))


def test_the_axis_holds_a_plan_that_runs_longer(audit):
    short = replace(audit, transcript=replace(audit.transcript, duration_s=10.0))
    last = max(row.end_s for row in audit.schedule.intervals)
    assert timeline.draw(short).axes[0].get_xlim()[1] >= last


def _without_colour(look):
    return tuple(look[key] if key == "hatch" else "" for key in ("hatch",) if key in look), look["facecolor"] == "white"


def test_no_meaning_by_colour_alone():
    shapes = [(shape, face == "white") for shape, face, _ in timeline._SHAPES.values()]
    assert len(set(shapes)) == len(shapes)
    bars = [_without_colour(look) for word, look in timeline._KINDS.items() if word != "worked, length off"]
    assert len(set(bars)) == len(bars)  # a length that is off is told in its bar's words
    faces = [face for face, _, _ in calls._LOOKS.values()]
    assert faces.count("white") == 1  # the wrong ones are larger, with words beside them


def luminance(colour):
    """Relative luminance after WCAG 2.2, from the standard's definition."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize(
    ("first", "second", "least"),
    [("#ffffff", "#000000", 21.0), (INK, "#ffffff", 7.0), (GREY, "#ffffff", 4.5), (BLUE, "#ffffff", 4.5),
     (INK, ORANGE, 4.5),
     ("#ffffff", VERMILLION, 3.0), (INK, PALE, 7.0), (BLUE, ORANGE, 2.0)],
)  # fmt: skip
def test_contrast(first, second, least):
    """WCAG 2.2, 1.4.3 (text 4.5) and 1.4.11 (graphics 3); the sides' two colours keep apart in grey too."""
    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    assert (light + 0.05) / (dark + 0.05) >= least - 1e-9


def test_titles_and_lists_are_cut(audit):
    figure, _ = canvas(replace(audit, plan=replace(audit.plan, title="x" * 300)), "Drift", "word " * 100, 3.0)
    assert [len(text.get_text()) for text in figure.texts] == [len("Drift: ") + 60, 150]
    assert listed(list("abcdefg")) == "a; b; c; d; e; and 2 more"
    assert listed(["a"]) == "a"
