"""The report as one self-contained page: no network, no outside file, nothing run but its own hashed script.

Everything a recording or a plan says is escaped by the template engine; the drawings escape their own words.
"""

from __future__ import annotations

import base64
import functools
import hashlib
import math
from collections.abc import Mapping
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from analyzer import __version__
from analyzer.model.audit import Audit, Finding, Interval
from analyzer.model.clock import clock
from analyzer.reports.digest import (
    CAUTIONS,
    SEVERITIES,
    by_time,
    end_drift_s,
    fix_first,
    planned_s,
    standing,
    state,
    tally,
    undecided,
    verdict_words,
    waive_command,
    waived,
    where,
)
from analyzer.reports.drift_svg import drift_curve
from analyzer.reports.plain import file_name, late, safe_text, seconds_words
from analyzer.reports.report_json import typical_u
from analyzer.reports.timeline_svg import glyph, slip_of, timeline_lines

_GRAINS = {"word": "a word", "cue": "a caption", "stamp": "a stamp"}


def report_html(audit: Audit) -> str:
    """Return the page of one audit; the same Audit gives the same page."""
    return template("report.html.j2").render(**_view(audit))


def content_policy(script: str, style: str) -> str:
    """Return the page's Content-Security-Policy: its own script and style by hash, a picked video, nothing else."""
    return (
        f"default-src 'none'; script-src '{_hash(script)}'; style-src '{_hash(style)}'; "
        "media-src blob:; base-uri 'none'; form-action 'none'"
    )


def quantity(value: float | None, unit: str | None) -> str:
    """Return a measured value with its unit as a reader says it.

    >>> quantity(46.0, "s"), quantity(2, "rounds"), quantity(1, "rounds"), quantity(None, "s")
    ('46 s', '2 rounds', '1 round', '\u2014')
    """
    if value is None or value != value:
        return "\u2014"
    if unit == "s":
        return seconds_words(float(value))
    number = f"{round(float(value), 1):g}".replace("-", "\u2212")
    if unit and number == "1" and len(unit) > 1 and unit.endswith("s"):
        unit = unit[:-1]
    return f"{number} {unit}" if unit else number


def _view(audit: Audit) -> dict[str, Any]:
    script, style = part("report.js"), part("report.css")
    head, sentence = verdict_words(audit)
    numbers = {id(finding): index + 1 for index, finding in enumerate(audit.findings)}
    return {
        "audit": audit,
        "policy": content_policy(script, style),
        "script": Markup(script),
        "style": Markup(style),
        "version": __version__,
        "title": audit.plan.title or "Untitled class",
        "recording": file_name(audit.transcript.name),
        "plan_file": file_name(audit.plan.name),
        "state": state(audit),
        "head": head,
        "sentence": sentence,
        "tally": tally(audit),
        "first": fix_first(audit),
        "groups": [(s, by_time(f for f in standing(audit.findings) if f.severity == s)) for s in SEVERITIES],
        "undecided": by_time(undecided(audit.findings)),
        "waived": by_time(waived(audit.findings)),
        "number": lambda finding: numbers[id(finding)],
        "waive_command": lambda finding: waive_command(finding, audit),
        "lines": timeline_lines(audit),
        "drift": drift_curve(audit),
        "blocks": _blocks(audit),
        "limits": _limits(audit.limits),
        "measures": _measures(audit.facts.measures),
        "grain": _GRAINS[audit.transcript.grain],
        "typical_u": typical_u(audit),
        "planned_s": planned_s(audit),
        "end_drift_s": end_drift_s(audit),
        "cautions": CAUTIONS,
    }


def _blocks(audit: Audit) -> list[tuple[str, list[dict[str, Any]]]]:
    """Return the intervals as rows, block after block as recorded."""
    slips = standing(audit.findings)
    groups: list[tuple[str, list[dict[str, Any]]]] = []
    for index, interval in enumerate(audit.alignment.intervals):
        if not groups or groups[-1][0] != interval.block:
            groups.append((interval.block, []))
        groups[-1][1].append(_row(index, interval, audit, slip_of(interval, slips)))
    return groups


def _row(index: int, interval: Interval, audit: Audit, slip: Finding | None) -> dict[str, Any]:
    planned = None if interval.planned is None else audit.schedule.intervals[interval.planned].work_s
    worked = None
    if interval.start_s is not None and interval.end_s is not None:
        worked = interval.end_s - interval.start_s
    u = interval.length_u
    if u is None and interval.start_u is not None and interval.end_u is not None:
        u = (interval.start_u**2 + interval.end_u**2) ** 0.5
    longest = max(planned or 0.0, worked or 0.0, 1.0)
    return {
        "id": f"iv-{index + 1}",
        "interval": interval,
        "planned": planned,
        "worked": worked,
        "difference": None if planned is None or worked is None else worked - planned,
        "expanded": None if u is None else 2 * u,
        "planned_share": 100 * (planned or 0.0) / longest,
        "worked_share": 100 * (worked or 0.0) / longest,
        "slip": slip,
    }


def _limits(limits: Mapping[str, float | str | bool]) -> list[dict[str, Any]]:
    """Return the limits grouped by check: its name, title, severity, whether it is on, and its numbers in words."""
    from analyzer.checks import CHECKS  # titles and units only; whoever made the audit has loaded them already

    known = {check.id: check for check in CHECKS}
    groups: dict[str, dict[str, Any]] = {}
    for key, value in limits.items():
        name, _, parameter = key.partition(".")
        check = known.get(name)
        title = check.title if check else ""
        group = groups.setdefault(name, {"check": name, "title": title, "on": True, "severity": "", "numbers": []})
        if parameter in ("on", "severity"):
            group[parameter] = value
        else:
            unit = next((p.unit for p in check.parameters if p.name == parameter), None) if check else None
            group["numbers"].append((_spoken(parameter), _limit_value(value, unit)))
    return sorted(groups.values(), key=lambda group: str(group["check"]))


def _limit_value(value: float | str | bool, unit: str | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return f"{100 * value:g} %" if unit == "share" else quantity(value, unit)


def _spoken(name: str) -> str:
    """Return a field name as words, its unit suffix left out.

    >>> _spoken("end_drift_s"), _spoken("words_per_minute")
    ('end drift', 'words per minute')
    """
    words = name.split("_")
    if words[-1] in ("s", "seconds", "share") and len(words) > 1:
        words = words[:-1]
    return " ".join(words)


_TOLD_ABOVE = frozenset(("typical_u", "planned_seconds", "real_seconds", "drift_at_end_seconds"))


def _measures(measures: Mapping[str, float | int | None]) -> list[tuple[str, str]]:
    rows = []
    for key, value in sorted(measures.items()):
        if value is None or not math.isfinite(value) or key in _TOLD_ABOVE:
            continue
        if key.endswith(("_s", "_seconds")):
            told = seconds_words(float(value))
        elif key.endswith("_share"):
            told = f"{100 * float(value):.0f} %"
        else:
            told = quantity(value, None)
        rows.append((_spoken(key), told))
    return rows


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


@functools.cache
def part(name: str, package: str = "analyzer.reports") -> str:
    """Return a file of a package's templates."""
    return resources.files(package).joinpath("templates", name).read_text(encoding="utf-8")


@functools.cache
def template(name: str, package: str = "analyzer.reports") -> jinja2.Template:
    """Return a page's template: everything put into it is escaped, control characters are replaced."""
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_printable,
    )
    environment.filters |= {
        "clock": clock,
        "seconds": seconds_words,
        "late": late,
        "where": where,
        "quantity": quantity,
    }
    environment.globals["glyph"] = glyph
    return environment.from_string(part(name, package))


def _printable(value: Any) -> Any:
    return safe_text(value) if isinstance(value, str) and not isinstance(value, Markup) else value
