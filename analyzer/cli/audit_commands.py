"""``audit`` and ``demo``: a recording against its plan, and the sample that is shipped."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.edge import FINDINGS, OK
from analyzer.cli.shared import Recording, Spoken, StartsAt, seconds_of
from analyzer.model.errors import OutputError

if TYPE_CHECKING:
    from analyzer.model.audit import Audit

SAMPLE = "harbour-strength"


class FailOn(StrEnum):
    """The level from which findings make the exit code 1."""

    high = "high"
    medium = "medium"
    low = "low"
    never = "never"


def audit(
    recording: Recording,
    plan: Annotated[
        Path | None, typer.Option("--plan", help="The class plan; without one, a plan is drawn from the recording.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the report; made when missing.")] = None,
    rules: Annotated[Path | None, typer.Option("--rules", help="House rules instead of the built-in limits.")] = None,
    only: Annotated[
        str, typer.Option("--only", help="Kinds to write: json, csv, html, fixes, figures; commas between.")
    ] = "",
    language: Spoken = "auto",
    starts_at: StartsAt = "",
    fail_on: Annotated[
        FailOn, typer.Option("--fail-on", help="Exit 1 from this severity on; what is unclear or waived never counts.")
    ] = FailOn.high,
    json: Annotated[
        str, typer.Option("--json", help="Write report.json to this file too; - is standard output, without a summary.")
    ] = "",
    keep_steps: Annotated[
        Path | None, typer.Option("--keep-steps", help="Folder for what left each step of the work, as JSON.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print no summary.")] = False,
) -> None:
    """Time every interval of a recorded class, check it against its plan, and write the report.

    Without --plan, what needs none is checked: promises, calls, counts, sides, options, captions.

    Exit code: 0 nothing at or over --fail-on, 1 findings, 2 the input cannot be used.
    """
    kinds = chosen_kinds(only)
    refuse_targets([folder for folder in (out, keep_steps) if folder], json)
    from analyzer.audit import audit_recording
    from analyzer.checks import waivers_path

    result = audit_recording(
        recording, plan, rules, language=language, starts_at_s=seconds_of(starts_at), keep_steps=keep_steps
    )
    waivers = None if plan is None else waivers_path(plan)
    inputs = tuple(path for path in (recording, plan, rules, waivers) if path is not None and path.exists())
    shown = _write(result, out, kinds, json, inputs)
    if json != "-" and not quiet:
        _summarise(result, shown)
    raise typer.Exit(_exit_code(result, fail_on))


def demo(
    out: Annotated[Path, typer.Option("--out", help="Folder for the report; made when missing.")] = Path("demo-report"),
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print only where the report is.")] = False,
) -> None:
    """Audit the sample class that comes with the program, and say where the report is. Exit code 0."""
    refuse_targets([out])
    from analyzer.audit import audit_recording

    sample = sample_folder() / SAMPLE
    result = audit_recording(sample / "captions.vtt", sample / "plan.yaml")
    shown = _write(result, out, chosen_kinds(""), "", ())
    if quiet:
        typer.echo(shown)
    else:
        _summarise(result, shown)


def sample_folder() -> Path:
    """Return the folder of sample classes: inside the installed package, or beside it in a checkout.

    Raises OutputError when an installation has lost it.
    """
    from importlib import resources

    package = Path(str(resources.files("analyzer")))
    for folder in (package / "_sample_data", package.parent / "sample_data"):
        if folder.is_dir():
            return folder
    raise OutputError("sample_data", found="the sample classes are not installed", allowed="install the package again")


def chosen_kinds(only: str) -> tuple[str, ...]:
    """Return the kinds of report named in an option, all of them when none is. Raises OutputError for another."""
    from analyzer.reports import KINDS

    asked = tuple(dict.fromkeys(word.strip().lower() for word in only.split(",") if word.strip()))
    for word in asked:
        if word not in KINDS:
            raise OutputError(
                place="--only", found=f"there is no kind '{word}'", allowed=f"allowed: {', '.join(KINDS)}"
            )
    return asked or KINDS


def refuse_targets(folders: list[Path], json: str = "") -> None:
    """Say what cannot be written to before the work, not after it."""
    from analyzer.reports import refuse_file, refuse_folder

    for folder in folders:
        refuse_file(folder)
    if json not in ("", "-"):
        refuse_folder(Path(json))


def _write(result: Audit, out: Path | None, kinds: tuple[str, ...], json: str, inputs: tuple[Path, ...]) -> str | None:
    """Write everything that was asked for, or nothing; return the path to show, the page before all others."""
    from analyzer.reports import render_files, report_bytes, write_file, write_folder

    files = render_files(result, kinds) if out is not None else {}
    also = {Path(json): report_bytes(result)} if json not in ("", "-") else {}
    spare_inputs([*(out / name for name in files if out), *also], inputs)
    written: dict[str, Path] = {}
    if out is not None:
        written = {path.name: path for path in write_folder(out, files, also)}
    else:
        for path, content in also.items():
            write_file(path, content)
    if json == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(report_bytes(result))
        sys.stdout.buffer.flush()
    return None if out is None else str(written.get("report.html") or written.get("report.json") or out)


def spare_inputs(targets: list[Path], inputs: tuple[Path, ...]) -> None:
    """Refuse to write over what was read."""
    for target in targets:
        for given in inputs:
            if target.exists() and target.samefile(given):
                raise OutputError(str(target), found="is the input itself", allowed="choose another folder or name")


def _summarise(result: Audit, shown: str | None) -> None:
    from analyzer.reports import summary_text

    typer.echo(summary_text(result, shown), nl=False)


def _exit_code(result: Audit, fail_on: FailOn) -> int:
    from analyzer.reports.digest import reaches

    return FINDINGS if reaches(result, fail_on.value) else OK
