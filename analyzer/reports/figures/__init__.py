"""Five figures as PNG and SVG, for slides, mail and print, each with its words for those who do not see it.

The same Audit gives the same bytes with the same matplotlib: no date, fixed identifiers, its own bundled font. Each
figure is a module with ``draw`` and ``told``; nothing in it is told by colour alone, and it may be printed in grey.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING

from analyzer.model.audit import Audit
from analyzer.reports.figures import calls, drift, options, sides, timeline
from analyzer.reports.figures.canvas import STYLE, png_bytes, svg_bytes

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FIGURES: dict[str, tuple[Callable[[Audit], Figure], Callable[[Audit], str]]] = {
    "timeline": (timeline.draw, timeline.told),
    "drift": (drift.draw, drift.told),
    "sides": (sides.draw, sides.told),
    "options": (options.draw, options.told),
    "calls": (calls.draw, calls.told),
}


def figure_files(audit: Audit) -> dict[str, bytes]:
    """Return every figure as ``.png`` and ``.svg``, and ``figures.txt`` with what each of them shows, by file name.

    The words are inside each file too: title and description of the SVG, description of the PNG.
    """
    import matplotlib

    matplotlib.use("Agg")
    files: dict[str, bytes] = {}
    texts: list[str] = []
    with matplotlib.rc_context(STYLE), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")  # a box is drawn for it
        for name, (draw, told) in FIGURES.items():
            figure, text = draw(audit), told(audit)
            files[f"{name}.png"] = png_bytes(figure, name, text)
            files[f"{name}.svg"] = svg_bytes(figure, name, text)
            texts.append(f"{name}: {text}\n")
    files["figures.txt"] = "\n".join(texts).encode("utf-8")
    return files
