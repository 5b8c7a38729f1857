"""The report as data: one Audit to one dictionary, and that to bytes that are the same for the same Audit.

Conventions: seconds from the start of the recording, rounded to 0.01; None (JSON null) where a value is unknown;
file names without their folders; no clock. ``planned_start`` is on the recording's clock too: the plan is shifted so
that its copy of the first worked interval starts where that interval really started, hence
``start - planned_start`` is the drift.
"""

from __future__ import annotations

import functools
import json
from importlib import resources
from typing import Any

import numpy as np

from analyzer import __version__
from analyzer.model.audit import (
    Audit,
    Coverage,
    Finding,
    Interval,
    JudgedCall,
    JudgedPromise,
    PlacedOption,
    SideBalance,
)
from analyzer.reports.plain import file_name, rounded, safe_text

SCHEMA = "class-analyzer/report/1"

Json = dict[str, Any]


def plan_shift_s(audit: Audit) -> float:
    """Return the seconds to add to the plan's clock so that its first worked interval coincides with the recording.

    The first worked interval is the first in recorded order that the plan knows; 0 when nothing was worked.
    """
    for interval in audit.alignment.intervals:
        if interval.status == "worked" and interval.planned is not None and interval.start_s is not None:
            return interval.start_s - audit.schedule.intervals[interval.planned].start_s
    return 0.0


def typical_u(audit: Audit) -> float:
    """Return the median standard uncertainty of a word's onset, seconds; 0 without words."""
    words = audit.transcript.words
    return float(np.median(words.u_s)) if len(words) else 0.0


def report_dict(audit: Audit) -> Json:
    """Return the report of ``audit`` with exactly the keys of ``report.schema.json``."""
    facts = audit.facts
    return {
        "schema": SCHEMA,
        "tool_version": __version__,
        "title": safe_text(audit.plan.title),
        "recording": {"file": file_name(audit.transcript.name), "sha256": audit.transcript.sha256},
        "plan": {"file": file_name(audit.plan.name), "sha256": audit.plan.sha256, "drawn": audit.plan.drawn},
        "timing": _timing(audit),
        "intervals": _intervals(audit),
        "calls": [_call(call) for call in facts.calls],
        "options": [_option(option) for option in facts.options],
        "sides": [_sides(side) for side in facts.sides],
        "promises": [_promise(promise) for promise in facts.promises],
        "coverage": [_coverage(row) for row in facts.coverage],
        "findings": [_finding(finding) for finding in audit.findings],
        "stale_waivers": [{"finding": w.finding, "reason": safe_text(w.reason)} for w in audit.stale],
        "measures": {key: rounded(value, 3) for key, value in sorted(facts.measures.items())},
    }


def report_bytes(audit: Audit) -> bytes:
    """Return ``report.json`` as UTF-8 bytes: two-space indent, keys in schema order, one line feed at the end."""
    return json_bytes(report_dict(audit))


def json_bytes(value: Any) -> bytes:
    """Return any plain value as the JSON bytes every output file uses. Raises ValueError on NaN or infinity."""
    return (json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n").encode("utf-8")


def validate_report(report: Json) -> tuple[str, ...]:
    """Return what is wrong with a report, one sentence a mistake; empty when it fits the shipped schema.

    The schema is JSON Schema, draft 2020-12.
    """
    mistakes = sorted(_validator().iter_errors(report), key=lambda error: error.json_path)
    return tuple(f"{error.json_path}: {error.message[:200]}" for error in mistakes)


def read_schema() -> Json:
    """Return the JSON Schema that the package ships."""
    text = resources.files("analyzer.reports").joinpath("report.schema.json").read_text(encoding="utf-8")
    schema: Json = json.loads(text)
    return schema


@functools.cache
def _validator() -> Any:
    import jsonschema  # only readers of foreign reports pay for it

    schema = read_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def _timing(audit: Audit) -> Json:
    return {
        "grain": audit.transcript.grain,
        "typical_u": rounded(typical_u(audit)),
        "words": len(audit.transcript.words),
        "duration": rounded(float(audit.transcript.duration_s)),
        "class_start": rounded(float(audit.transcript.class_start_s)),
    }


def _intervals(audit: Audit) -> list[Json]:
    shift = plan_shift_s(audit)
    return [_interval(interval, audit, shift) for interval in audit.alignment.intervals]


def _interval(interval: Interval, audit: Audit, shift: float) -> Json:
    planned = None if interval.planned is None else audit.schedule.intervals[interval.planned]
    return {
        "id": interval.id,
        "block": safe_text(interval.block),
        "round": interval.round,
        "move": safe_text(interval.move),
        "side": interval.side,
        "status": interval.status,
        "planned_start": None if planned is None else rounded(planned.start_s + shift),
        "planned_seconds": None if planned is None else rounded(planned.work_s),
        "start": rounded(interval.start_s),
        "end": rounded(interval.end_s),
        "start_u": rounded(interval.start_u),
        "end_u": rounded(interval.end_u),
        "confidence": rounded(interval.confidence, 3),
    }


def _call(call: JudgedCall) -> Json:
    return {
        "kind": call.kind,
        "at": rounded(call.at_s),
        "u": rounded(call.u_s),
        "said": rounded(call.said),
        "actual": rounded(call.actual),
        "error": rounded(call.error_s),
        "verdict": call.verdict,
        "interval": call.interval,
        "text": safe_text(call.text),
    }


def _option(option: PlacedOption) -> Json:
    return {
        "direction": option.direction,
        "at": rounded(option.at_s),
        "interval": option.interval,
        "block": _maybe(option.block),
        "move": _maybe(option.move),
        "scope": option.scope,
        "text": safe_text(option.text),
    }


def _sides(side: SideBalance) -> Json:
    return {
        "block": safe_text(side.block),
        "round": side.round,
        "move": safe_text(side.move),
        "left_seconds": rounded(side.left_seconds),
        "right_seconds": rounded(side.right_seconds),
        "difference_percent": rounded(side.difference_percent, 1),
        "verdict": side.verdict,
    }


def _promise(promise: JudgedPromise) -> Json:
    return {
        "kind": promise.kind,
        "said": rounded(promise.said),
        "delivered": rounded(promise.delivered),
        "at": rounded(promise.at_s),
        "block": _maybe(promise.block),
        "verdict": promise.verdict,
        "text": safe_text(promise.text),
    }


def _coverage(row: Coverage) -> Json:
    return {
        "block": safe_text(row.block),
        "round": row.round,
        "move": safe_text(row.move),
        "options": row.options,
        "first_fraction": rounded(row.first_fraction, 3),
    }


def _finding(finding: Finding) -> Json:
    return {
        "id": finding.id,
        "check": finding.check,
        "severity": finding.severity,
        "verdict": finding.verdict,
        "at": rounded(finding.at_s),
        "until": rounded(finding.until_s),
        "block": _maybe(finding.block),
        "round": finding.round,
        "move": _maybe(finding.move),
        "side": finding.side,
        "measured": rounded(finding.measured),
        "expected": rounded(finding.expected),
        "limit": rounded(finding.limit),
        "uncertainty": rounded(finding.uncertainty),
        "unit": finding.unit,
        "message": safe_text(finding.message),
        "advice": safe_text(finding.advice),
        "evidence": [{"at": rounded(piece.at_s), "text": safe_text(piece.text)} for piece in finding.evidence],
        "say": [safe_text(words) for words in finding.say],
        "instead": _maybe(finding.instead),
        "waived": _maybe(finding.waived),
    }


def _maybe(text: str | None) -> str | None:
    return None if text is None else safe_text(text)
