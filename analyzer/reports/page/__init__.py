"""The report as one page: an Audit to HTML. Lays out what was found; judges and recomputes nothing.

One file a part of the page, each from an Audit to frozen data; the templates beside ``templates/page/page.html.j2``
put them into words and bars. The scripts only show, hide, seek and copy: without them everything can still be read.
"""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from analyzer import __version__
from analyzer.model.audit import Audit
from analyzer.reports.digest import (
    CAUTIONS,
    SEVERITIES,
    by_time,
    end_drift_s,
    fix_first,
    plan_words,
    planned_s,
    standing,
    state,
    tally,
    undecided,
    verdict_words,
    waive_command,
    waived,
)
from analyzer.reports.html import content_policy, part, template
from analyzer.reports.page.drift import drift_curve
from analyzer.reports.page.moves import cards_by_block
from analyzer.reports.page.scatter import call_scatter
from analyzer.reports.page.tables import filters_of, limits_by_check, measure_rows, side_bars
from analyzer.reports.page.timeline import position_rules, timeline_lines
from analyzer.reports.page.transcript import KINDS, passages
from analyzer.reports.plain import file_name
from analyzer.reports.report_json import typical_u

_GRAINS = {"word": "a word", "cue": "a caption", "stamp": "a stamp"}
_STYLES = ("report.css", "page/page.css")
_SCRIPTS = ("player", "findings", "timeline", "transcript")


def report_html(audit: Audit) -> str:
    """Return the page of one audit; the same Audit gives the same page."""
    return template("page/page.html.j2").render(**_view(audit))


def _view(audit: Audit) -> dict[str, Any]:
    lines = timeline_lines(audit)
    style = "".join(part(name) for name in _STYLES) + position_rules(lines)
    script = f'(() => {{\n"use strict";\n{"".join(part(f"page/{name}.js") for name in _SCRIPTS)}}})();\n'
    return {
        "policy": content_policy(script, style),
        "script": Markup(script),
        "style": Markup(style),
        "version": __version__,
        "audit": audit,
        "title": audit.plan.title or "Untitled class",
        "recording": file_name(audit.transcript.name),
        "plan_file": plan_words(audit),
        "grain": _GRAINS[audit.transcript.grain],
        "typical_u": typical_u(audit),
        "lines": lines,
        "drift": drift_curve(audit),
        "scatter": call_scatter(audit),
        "cards": cards_by_block(audit),
        "sides": side_bars(audit.facts.sides),
        "passages": passages(audit),
        "kinds": KINDS,
        "limits": limits_by_check(audit.limits),
        "measures": measure_rows(audit.facts.measures),
        "cautions": CAUTIONS,
        **_verdict(audit),
        **_findings(audit),
    }


def _verdict(audit: Audit) -> dict[str, Any]:
    head, sentence = verdict_words(audit)
    return {
        "state": state(audit),
        "head": head,
        "sentence": sentence,
        "first": fix_first(audit),
        "planned_s": planned_s(audit),
        "end_drift_s": end_drift_s(audit),
        "worked": sum(i.status == "worked" for i in audit.alignment.intervals),
    }


def _findings(audit: Audit) -> dict[str, Any]:
    numbers = {id(finding): index + 1 for index, finding in enumerate(audit.findings)}
    return {
        "tally": tally(audit),
        "groups": [(s, by_time(f for f in standing(audit.findings) if f.severity == s)) for s in SEVERITIES],
        "undecided": by_time(undecided(audit.findings)),
        "waived": by_time(waived(audit.findings)),
        "filters": filters_of(audit.findings),
        "number": lambda finding: numbers[id(finding)],
        "waive_command": lambda finding: waive_command(finding, audit),
    }
