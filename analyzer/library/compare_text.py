"""A comparison for the terminal: plain text of 80 columns, what matters most at the end, where the eye is."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from analyzer.library.compare import RULE, Comparison, Contest, Score, Worked
from analyzer.model.audit import Finding
from analyzer.model.clock import clock
from analyzer.reports.plain import columns, cut, terminal_text

WIDTH = 80
ABREAST = 3  # takes that fit beside each other
CELL = 16


def comparison_text(comparison: Comparison, page: str | None = None) -> str:
    """Return the comparison, lines ending in a line feed; ``page`` is the path to point to, where there is one."""
    lines = [cut(f"{terminal_text(comparison.title)} against {terminal_text(comparison.plan)}", WIDTH), ""]
    for number, take in enumerate(comparison.takes, start=1):
        told = f"Take {number}, {terminal_text(take.name)}: {take.head}. {take.sentence}"
        lines += textwrap.wrap(told, WIDTH, subsequent_indent="  ")
    for first in range(0, len(comparison.takes), ABREAST):
        shown = range(first, min(first + ABREAST, len(comparison.takes)))
        lines += ["", *_intervals(comparison, shown)]
    for number, change in enumerate(comparison.changes, start=2):
        counts = f"{len(change.fixed)} fixed, {len(change.new)} new, {len(change.remaining)} remaining"
        counts += f", {len(change.unclear)} no longer certain" if change.unclear else ""
        lines += ["", f"Findings from take 1 to take {number}: {counts}"]
        for word, findings in (
            ("fixed", change.fixed),
            ("unclear", change.unclear),
            ("remains", change.remaining),
            ("new", change.new),
        ):
            lines += [_finding(word, finding) for finding in findings]
    lines += ["", "Which take is better", *textwrap.wrap(RULE, WIDTH)]
    for first in range(0, len(comparison.takes), ABREAST):
        shown = range(first, min(first + ABREAST, len(comparison.takes)))
        lines += ["", *_blocks(comparison, shown)]
    lines += ["", f"Over the whole class: {better_words(comparison.whole)}."]
    if page is not None:
        lines.append(f"Page: {terminal_text(page)}")
    return "\n".join(line.rstrip() for line in lines) + "\n"


def better_words(contest: Contest) -> str:
    """Return which take is better, and why."""
    if contest.better is None:
        return "even"
    return f"take {contest.better + 1}, {'fewer or lighter findings' if contest.why == 'findings' else 'less drift'}"


def drift_words(drift_s: float | None) -> str:
    """Return a drift with its sign.

    >>> drift_words(12.4), drift_words(-3.0), drift_words(0.2), drift_words(None)
    ('+12 s', '\u22123 s', '0 s', '\u2014')
    """
    if drift_s is None:
        return "\u2014"
    whole = round(drift_s)
    return f"{'+' if whole > 0 else chr(0x2212) if whole < 0 else ''}{abs(whole)} s"


def _intervals(comparison: Comparison, shown: range) -> Iterator[str]:
    yield _row("Length and drift", "planned", [f"take {n + 1}" for n in shown])
    block = None
    for row in comparison.rows:
        if row.block != block:
            block = row.block
            yield cut(terminal_text(block), WIDTH)
        name = f"  {row.round} {terminal_text(row.move)}" + (f", {row.side}" if row.side else "")
        yield _row(name, f"{row.planned_s:.0f} s", [_cell(row.takes[n]) for n in shown])


def _cell(worked: Worked) -> str:
    if worked.length_s is None:
        return "missing"
    return f"{worked.length_s:.0f} s {drift_words(worked.drift_s):>7}"


def _blocks(comparison: Comparison, shown: range) -> Iterator[str]:
    yield _row("High/medium/low, drift", "better", [f"take {n + 1}" for n in shown])
    for contest in (*comparison.blocks, comparison.whole):
        name = "The whole class" if contest.block is None else terminal_text(contest.block)
        better = "even" if contest.better is None else f"take {contest.better + 1}"
        yield _row(name, better, [_score(contest.scores[n]) for n in shown])


def _score(score: Score) -> str:
    drift = "\u2014" if score.drift_s is None else f"{score.drift_s:.0f} s"
    return f"{score.high}/{score.medium}/{score.low} {drift:>6}"


def _row(name: str, middle: str, cells: list[str]) -> str:
    width = WIDTH - 9 - CELL * len(cells)
    name = cut(name, width)
    padded = name + " " * (width - columns(name))
    return padded + f"{middle:>9}" + "".join(" " * (CELL - columns(cell)) + cell for cell in cells)


def _finding(word: str, finding: Finding) -> str:
    return cut(f"  {word:<8}{clock(finding.at_s):>7}  {finding.severity:<6}  {terminal_text(finding.message)}", WIDTH)
