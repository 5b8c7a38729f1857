"""A comparison as one self-contained page, in the report's dress and under its Content-Security-Policy."""

from __future__ import annotations

from itertools import groupby

from markupsafe import Markup

from analyzer import __version__
from analyzer.library.compare import RULE, SAME, Comparison
from analyzer.library.compare_text import better_words, drift_words
from analyzer.reports.digest import CAUTIONS
from analyzer.reports.html import content_policy, part, template


def comparison_html(comparison: Comparison) -> str:
    """Return the page; the same Comparison gives the same page. It runs no script."""
    style = part("report.css")
    return template("compare.html.j2", "analyzer.library").render(
        comparison=comparison,
        blocks=[(block, list(rows)) for block, rows in groupby(comparison.rows, key=lambda row: row.block)],
        policy=content_policy("", style),
        style=Markup(style),
        version=__version__,
        rule=RULE,
        same=SAME,
        better=better_words,
        drift=drift_words,
        cautions=CAUTIONS,
    )
