"""The fix list: what to record again, cut, correct and plan otherwise, as one short Markdown file.

It says what stands in the audit's findings and adds nothing; what was waived or could not be decided is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.model.audit import Audit, Finding
from analyzer.model.clock import clock
from analyzer.reports.digest import CAUTIONS, by_time, plan_words, standing, undecided, verdict_words
from analyzer.reports.plain import file_name, markdown_text, seconds_words

_SECTIONS = (
    ("Record again", ("record",)),
    ("Cut, trim or move in the edit", ("cut", "edit")),
    ("Correct in the captions", ("captions",)),
    ("Plan or teach otherwise next time", ("plan",)),
)
_LENGTHS = ("interval-long", "interval-short", "rest-long", "rest-short")


def fixes_text(audit: Audit) -> str:
    """Return the fix list of one audit; the same Audit gives the same text."""
    from analyzer.checks import CHECKS  # who mends what only; whoever made the audit has loaded them already

    mend = {check.id: check.mend for check in CHECKS}
    found = by_time(standing(audit.findings))
    head, sentence = verdict_words(audit)
    files = f"{markdown_text(file_name(audit.transcript.name))} against {markdown_text(plan_words(audit))}"
    parts = [
        f"# Fix list: {markdown_text(audit.plan.title) or 'Untitled class'}",
        f"{files}. **{head}.** {sentence}",
    ]
    for title, mends in _SECTIONS:
        own = [f for f in found if mend.get(f.check, "edit") in mends]
        lines = [_line(f, cut=mend.get(f.check) == "cut") for f in own]
        if "plan" in mends:
            lines += _repeated(found)
        if lines:
            parts += [f"## {title}", "\n".join(lines)]
    if not found:
        parts.append("There is nothing to mend.")
    if undecided(audit.findings):
        parts.append("What could not be decided is left out: listen there before you change anything.")
    parts += ["## Cautions", "\n".join(f"- {caution}" for caution in CAUTIONS)]
    return "\n\n".join(parts) + "\n"


def _line(finding: Finding, cut: bool) -> str:
    """Return one finding as a line: when, what to say or how much to cut, why, how, and how grave it is."""
    times = dict.fromkeys(clock(t) for t in (finding.at_s, finding.until_s) if t is not None)
    when = " to ".join(times) or "whole class"
    todo, how = "", finding.advice
    if cut and finding.measured is not None and finding.expected is not None:
        todo, how = f"cut {seconds_words(finding.measured - finding.expected)}. ", ""
    elif finding.say:
        todo = "say " + " and ".join(f"\u201c{markdown_text(words)}\u201d" for words in finding.say) + ". "
    why = " ".join(part for part in (markdown_text(finding.message), markdown_text(how)) if part)
    return f"- **{when}**: {todo}{why} ({finding.severity})"


def _repeated(found: Sequence[Finding]) -> list[str]:
    """Return a line for every move whose work, or rest after it, was off the same way more than once."""
    groups: dict[tuple[str, str | None, str | None], list[float]] = {}
    for finding in found:
        if finding.check in _LENGTHS and finding.measured is not None:
            groups.setdefault((finding.check, finding.block, finding.move), []).append(finding.measured)
    lines = []
    for (check, block, move), lengths in groups.items():
        if len(lengths) > 1:
            what = "the work" if check.startswith("interval") else "the rest"
            told = ", ".join(seconds_words(length) for length in lengths)
            mean = seconds_words(sum(lengths) / len(lengths))
            place = f"{markdown_text(move or '')} ({markdown_text(block or '')})"
            lines.append(f"- {place}: {what} ran {told}; plan {mean}, or keep to the clock.")
    return lines
