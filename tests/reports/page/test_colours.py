"""Contrast of the page's colours: WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (shapes, 3 to 1)."""

import re

import pytest

from analyzer.reports.html import part

TEXT = [
    ("ink", "paper"),
    ("ink", "card"),
    ("muted", "paper"),
    ("muted", "card"),
    ("bar-ink", "bar"),
    ("off-ink", "vermillion"),
    ("off-ink", "orange"),  # what is found in the transcript, and unplanned bars
]
SHAPES = [("bar", "paper"), ("green", "paper"), ("vermillion", "paper"), ("muted", "paper"), ("blue", "card")]
OUTLINED = ("medium", "low", "harder")  # too pale by themselves on white


def schemes():
    css = part("report.css")
    sets = [dict(re.findall(r"--([\w-]+): (#\w{6})", block)) for block in re.findall(r":root \{([^}]*)\}", css)]
    light = sets[0]
    assert len(sets) == 3
    return {"light": light, "dark": light | sets[1]}


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_by_its_ends():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)  # WCAG 2.2: ratios range from 1 to 21
    assert contrast("#777777", "#777777") == 1.0


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("pairs", "least"), [(TEXT, 4.5), (SHAPES, 3.0)])
def test_colours_keep_their_contrast(scheme, pairs, least):
    colours = schemes()[scheme]
    weak = {(a, b): round(contrast(colours[a], colours[b]), 2) for a, b in pairs}
    assert {pair: ratio for pair, ratio in weak.items() if ratio < least} == {}


@pytest.mark.parametrize("css", OUTLINED)
def test_pale_marks_have_an_outline(css):
    rule = next(line for line in part("report.css").splitlines() if re.search(rf"\.{css} \{{", line))
    assert "stroke: var(--ink)" in rule
