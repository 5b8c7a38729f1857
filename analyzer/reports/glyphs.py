"""The marks of the pages: one small shape a meaning, so that nothing is told by colour alone."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

_CALL = Markup('<path d="M-5 -4.5H5L0 5Z"/>')
_COUNT = Markup("").join(Markup('<circle cx="{}" cy="0" r="2"/>').format(x) for x in (-5, 0, 5))
_STRIKE = Markup('<path class="strike" d="M-7 7L7 -7"/>')
SHAPES: Mapping[str, Markup] = {
    "call": _CALL,
    "struck": _CALL + _STRIKE,
    "count": _COUNT,
    "count-struck": _COUNT + _STRIKE,
    "easier": Markup('<path d="M-5 -4L0 1L5 -4V0L0 5L-5 0Z"/>'),
    "harder": Markup('<path d="M-5 4L0 -1L5 4V0L0 -5L-5 0Z"/>'),
    "high": Markup('<path d="M-4.5 -4.5H4.5V4.5H-4.5Z"/>'),
    "medium": Markup('<path d="M0 -5.6L5.6 0L0 5.6L-5.6 0Z"/>'),
    "low": Markup('<path d="M-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0"/>'),
    "kept": Markup('<path class="tick-mark" d="M-5 0.5L-1.5 4.5L5.5 -4.5"/>'),
}  # fmt: skip
"""Coordinates run from -8 to 8 both ways. A meaning keeps its shape; the style class beside it gives the colour."""


def glyph(shape: str, css: str = "") -> Markup:
    """Return one mark as a small drawing; hidden from screen readers, so that words beside it must say the same."""
    return Markup('<svg class="glyph {}" viewBox="-8 -8 16 16" aria-hidden="true" focusable="false">{}</svg>').format(
        css, SHAPES[shape]
    )
