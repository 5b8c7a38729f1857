"""One class of a library, from the bytes of its files to the bytes of its results: what a worker does.

A job carries all it needs, so that it runs alike in this process, in another, or on another machine that sees none
of the files.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from analyzer import __version__
from analyzer.audit import audit_recording
from analyzer.checks import waivers_path
from analyzer.library.tables import Lines, class_lines, report_lines
from analyzer.model.audit import Audit
from analyzer.model.errors import AnalyzerError
from analyzer.reports import render_files, report_dict
from analyzer.reports.digest import tally
from analyzer.reports.plain import safe_text


@dataclass(frozen=True, slots=True)
class File:
    """A file's name in its folder, and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Job:
    """One class to audit: its files, how, and who made it when (see :class:`analyzer.library.inputs.ClassFiles`)."""

    key: str
    recording: File
    plan: File
    waivers: bytes | None = None
    rules: File | None = None
    language: str = "auto"
    kinds: tuple[str, ...] = ("json",)
    coach: str = ""
    series: str = ""
    date: str = ""

    @property
    def fingerprint(self) -> str:
        """Hash of everything the results follow from, the version of this program included."""
        parts: list[str | bytes] = [__version__, self.language, *self.kinds, self.coach, self.series, self.date]
        for given in (self.recording, self.plan, self.rules):
            parts += ["", ""] if given is None else [given.name, given.content]
        parts.append(b"" if self.waivers is None else b"w" + self.waivers)
        digest = hashlib.sha256()
        for part in parts:
            raw = part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
            digest.update(len(raw).to_bytes(8, "big") + raw)
        return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a job: the report's files by name and the rows of the store; ``reason`` why there is no report."""

    key: str
    reason: str
    lines: Lines
    files: dict[str, bytes] = field(default_factory=dict)


def audit_job(job: Job) -> Outcome:
    """Audit one class. Never raises for anything in its files: the outcome then says why there is no report."""
    with tempfile.TemporaryDirectory(prefix="class-", ignore_cleanup_errors=True) as temp:
        try:
            audit = _audit(job, Path(temp))
            report = report_dict(audit)
            files = render_files(audit, job.kinds)
        except AnalyzerError as error:
            return failed(job, str(error).replace(f"{temp}{os.sep}plan{os.sep}", ""))
        except Exception as fault:  # one class must not end the others
            told = f"a fault of this program: {type(fault).__name__}: {fault}"
            return failed(job, told.replace(temp, ""), lasting=False)
    return Outcome(job.key, "", class_lines(_row(job, audit)) | report_lines(job.key, report), files)


def failed(job: Job, reason: str, *, lasting: bool = True) -> Outcome:
    """Return the outcome of a job without a report; what is not ``lasting`` is tried again next time."""
    row = _told(job) | {"reason": " ".join(safe_text(reason).split())}
    return Outcome(job.key, row["reason"], class_lines(row if lasting else row | {"fingerprint": ""}))


def _audit(job: Job, folder: Path) -> Audit:
    recording = _put(folder / "recording", job.recording)
    plan = _put(folder / "plan", job.plan)
    if job.waivers is not None:
        waivers_path(plan).write_bytes(job.waivers)
    rules = None if job.rules is None else _put(folder / "rules", job.rules)
    return audit_recording(recording, plan, rules, language=job.language)


def _put(folder: Path, given: File) -> Path:
    folder.mkdir()
    path = folder / PurePosixPath(given.name).name
    path.write_bytes(given.content)
    return path


def _row(job: Job, audit: Audit) -> dict[str, Any]:
    counts = tally(audit)
    return _told(job) | {
        "title": safe_text(audit.plan.title),
        "coach": job.coach or safe_text(audit.plan.coach),
        "grain": audit.transcript.grain,
        "high": counts.high,
        "medium": counts.medium,
        "low": counts.low,
        "unclear": counts.unclear,
        "waived": counts.waived,
    }


def _told(job: Job) -> dict[str, Any]:
    """Return what is known of a class before it is audited."""
    return {
        "class": job.key,
        "title": "",
        "coach": safe_text(job.coach),
        "series": safe_text(job.series),
        "date": job.date or None,
        "reason": "",
        "recording": safe_text(PurePosixPath(job.recording.name).name),
        "plan": safe_text(PurePosixPath(job.plan.name).name),
        "fingerprint": job.fingerprint,
    }
