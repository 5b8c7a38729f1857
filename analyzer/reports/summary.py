"""A summary for the terminal: plain text that fits 80 columns by 24 rows, the shell's prompt included."""

from __future__ import annotations

import textwrap

from analyzer.model.audit import Audit
from analyzer.model.clock import clock
from analyzer.reports.digest import (
    SEVERITIES,
    FixFirst,
    end_drift_s,
    fix_first,
    plan_words,
    planned_s,
    standing,
    verdict_words,
    where,
)
from analyzer.reports.plain import columns, cut, late, terminal_text

WIDTH = 80
HEIGHT = 23  # one of the 24 rows stays for the next prompt


def summary_text(audit: Audit, report: str | None = None) -> str:
    """Return the summary, lines ending in a line feed; ``report`` is the path to point to, where there is one."""
    head, sentence = verdict_words(audit)
    lines = [
        _ends(terminal_text(audit.plan.title) or "Untitled class", _timing(audit)),
        _ends(f"{terminal_text(audit.transcript.name)} against {terminal_text(plan_words(audit))}", ""),
        "",
        cut(f"{head}.", WIDTH),
        *textwrap.wrap(sentence, WIDTH),
    ]
    first = fix_first(audit)
    if first:
        lines += ["", "Fix first", *(line for item in first for line in _fix(item))]
    lines += _rest(audit)
    lines += ["", *_totals(audit)]
    lines = lines[: HEIGHT - 1]
    if report is not None:
        lines.append(f"Report: {terminal_text(report)}")  # never cut: it is there to be copied
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _timing(audit: Audit) -> str:
    return f"{audit.transcript.grain} times, {len(audit.transcript.words)} words"


def _fix(item: FixFirst) -> list[str]:
    finding = item.finding
    lead = f"{clock(finding.at_s):>7}  {finding.severity:<6}  "
    place = terminal_text(where(finding))
    more = f" (and {item.more} more {finding.check})" if item.more else ""
    lines = [cut(lead + terminal_text(finding.message), WIDTH)]
    if place or more:
        lines.append(" " * 17 + cut(place, WIDTH - 17 - len(more)) + more)
    return lines


def _rest(audit: Audit) -> list[str]:
    """One line a severity: how often each check stands."""
    lines = []
    for severity in SEVERITIES:
        checks = [f.check for f in standing(audit.findings) if f.severity == severity]
        if checks:
            names = sorted(set(checks), key=lambda check: (-checks.count(check), check))
            told = ", ".join(f"{check} {checks.count(check)}" for check in names)
            lines.append(cut(f"{severity:>7}  {told}", WIDTH))
    return ["", "All findings", *lines] if lines else []


def _totals(audit: Audit) -> list[str]:
    intervals = audit.alignment.intervals
    worked = sum(1 for i in intervals if i.status == "worked")
    planned = len(audit.schedule.intervals)
    extra = sum(1 for i in intervals if i.status == "extra")
    line = f"Worked {worked} of {planned} planned intervals"
    line += f", {extra} unplanned" if extra else ""
    if audit.plan.drawn:
        return [f"Worked {worked} intervals, recorded {clock(audit.transcript.class_s)}."]
    length = f"Planned {clock(planned_s(audit))}, recorded {clock(audit.transcript.class_s)}"
    drift = end_drift_s(audit)
    if drift is not None:
        length += f", the last interval started {late(drift)}"
    return [cut(f"{line}.", WIDTH), cut(f"{length}.", WIDTH)]


def _ends(left: str, right: str) -> str:
    """Put ``left`` and ``right`` at the two ends of one line, cutting the left one when both do not fit."""
    left = cut(left, WIDTH - columns(right) - 2 if right else WIDTH)
    return left + " " * max(WIDTH - columns(left) - columns(right), 0) + right
