"""What the figures share: size, colours, the clock axis, the legend, and how they become bytes."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from analyzer.model.audit import Audit
from analyzer.model.clock import clock
from analyzer.reports.plain import cut, terminal_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BLUE, VERMILLION, ORANGE, GREEN, SKY = "#0072B2", "#D55E00", "#E69F00", "#009E73", "#56B4E9"
"""Okabe and Ito, Color Universal Design (2008)."""
INK, GREY, PALE = "#222222", "#5f5f5f", "#d9d9d9"

WIDTH_IN, DPI = 11.0, 144
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN = 1.05, 0.25, 0.75, 0.8
_COLUMNS = 8  # words of a legend beside one another
SUBTITLE = 150  # letters of what is told that stand under the title

STYLE: Any = {
    "svg.hashsalt": "class-analyzer",
    "svg.fonttype": "path",
    "font.family": "DejaVu Sans",
    "font.size": 9,
    "text.color": INK,
    "axes.edgecolor": GREY,
    "axes.labelcolor": INK,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.8,
    "text.parse_math": False,
}


def canvas(audit: Audit, title: str, told: str, height_in: float, left_in: float = LEFT_IN) -> tuple[Figure, Axes]:
    """Return a figure of fixed margins with one pair of axes; over them what it shows, of which class, and in words."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH_IN, height_in), dpi=DPI)
    wide, high = WIDTH_IN - left_in - RIGHT_IN, height_in - TOP_IN - BOTTOM_IN
    axes = figure.add_axes((left_in / WIDTH_IN, BOTTOM_IN / height_in, wide / WIDTH_IN, high / height_in))
    name = cut(terminal_text(audit.plan.title) or "Untitled class", 60)
    figure.text(0.12 / WIDTH_IN, 1 - 0.3 / height_in, f"{title}: {name}", fontsize=11, weight="bold")
    figure.text(0.12 / WIDTH_IN, 1 - 0.52 / height_in, cut(told, SUBTITLE), fontsize=9, color=GREY)
    return figure, axes


def last_s(audit: Audit) -> float:
    """Return where the clock axis ends, seconds: with the recording or its last interval."""
    return max([float(audit.transcript.duration_s), *(i.end_s or 0.0 for i in audit.alignment.intervals), 1.0])


def clock_axis(axes: Axes, last: float) -> None:
    """Lay the recording's clock under the axes, from 0 to ``last``, seconds."""
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    axes.set_xlim(0.0, last)
    step = next((s for s in (30, 60, 120, 300, 600, 1800) if last / s <= 16), 3600)
    axes.xaxis.set_major_locator(MultipleLocator(step))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: clock(float(value))))


def legend(figure: Figure, axes: Axes) -> None:
    """Put what the shapes mean under the axes, in the order drawn, each word once."""
    handles, labels = axes.get_legend_handles_labels()
    named = dict(zip(reversed(labels), reversed(handles), strict=True))
    words = [word for word in dict.fromkeys(labels) if word]
    if words:
        figure.legend(
            [named[word] for word in words], words, loc="lower left", bbox_to_anchor=(0.004, 0.0), frameon=False,
            ncols=min(_COLUMNS, len(words)), fontsize=8, handletextpad=0.5, columnspacing=1.6,
        )  # fmt: skip


def named(text: str, width: int = 34) -> str:
    """Return a name as one line that fits."""
    return cut(terminal_text(text), width)


def listed(parts: Sequence[str], most: int = 5) -> str:
    """Return parts as a list in words, cut after ``most``.

    >>> listed(["a", "b", "c"], most=2)
    'a; b; and 1 more'
    """
    more = [f"and {len(parts) - most} more"] if len(parts) > most else []
    return "; ".join([*parts[:most], *more])


def png_bytes(figure: Figure, title: str, text: str) -> bytes:
    """Return the figure as PNG, its words in the text chunks that the PNG specification names (11.3.4)."""
    buffer = io.BytesIO()
    figure.savefig(
        buffer, format="png", metadata={"Software": None, "Title": title, "Description": text},
        pil_kwargs={"compress_level": 4},
    )  # fmt: skip
    return buffer.getvalue()


def svg_bytes(figure: Figure, title: str, text: str) -> bytes:
    """Return the figure as SVG with title and description, which screen readers tell (SVG 2, section 5.7)."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    head, _, rest = buffer.getvalue().decode("utf-8").partition("<svg ")
    attributes, _, body = rest.partition(">")
    words = f"<title>{escape(title)}</title>\n <desc>{escape(text)}</desc>"
    return f'{head}<svg role="img" {attributes}>\n {words}{body}'.encode()
