"""``plan check``, ``plan schedule``, ``plan convert`` and ``plan draft``: a plan before anyone films it, or after."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli.edge import FINDINGS
from analyzer.cli.shared import Recording, Spoken, StartsAt, seconds_of
from analyzer.model.errors import OutputError

plan_app = typer.Typer(help="Read a class plan over before it is filmed.", rich_markup_mode=None, no_args_is_help=False)

STANDARD_OUTPUT = Path("-")

PlanFile = Annotated[Path, typer.Argument(help="The class plan: YAML, CSV or .xlsx.")]


@plan_app.command()
def check(
    plan: PlanFile,
    language: Annotated[str, typer.Option("--language", help="Language of what to say: a code.")] = "en",
) -> None:
    """Read a plan as a reviewer would: totals, what to mend, what to look at. Exit code 1 when something is to mend."""
    from analyzer.plans import read_plan, review_plan
    from analyzer.reports.plan_review import review_text

    read = read_plan(plan)
    review = review_plan(read, language)
    typer.echo(review_text(read.title, review), nl=False)
    if review.to_mend:
        raise typer.Exit(FINDINGS)


@plan_app.command()
def draft(
    recording: Recording,
    out: Annotated[Path, typer.Option("--out", help="The file to write; - is standard output.")] = STANDARD_OUTPUT,
    language: Spoken = "auto",
    starts_at: StartsAt = "",
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")] = False,
) -> None:
    """Draw a plan from a recording that has none: moves, rounds, lengths, sides and offers as they were heard.

    Remarks in the file say what was heard where, and what is a guess. Read it over before you rely on it.
    """
    from analyzer.audit import audit_recording
    from analyzer.reports.plan_draft import draft_text

    _refuse_existing(out, replace)
    audit = audit_recording(recording, language=language, starts_at_s=seconds_of(starts_at))
    _write({out: draft_text(audit).encode("utf-8")}, recording)


@plan_app.command()
def schedule(
    plan: PlanFile,
    html: Annotated[
        Path | None, typer.Option("--html", help="Write it as one page to print or read off a tablet.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Write it as a CSV table.")] = None,
    captions: Annotated[
        Path | None, typer.Option("--captions", help="Write what to say as WebVTT, to lay over a rehearsal's video.")
    ] = None,
    brief: Annotated[bool, typer.Option("--brief", help="Print the intervals alone, without what to say.")] = False,
    language: Annotated[str, typer.Option("--language", help="Language of what to say: a code.")] = "en",
) -> None:
    """Print the run sheet: every planned interval with its clock, and what to say when, to rehearse with.

    With --html, --csv or --captions it is written to these files instead; - is standard output.
    """
    from analyzer.plans import make_schedule, make_script, read_plan
    from analyzer.reports import run_sheet

    read = read_plan(plan)
    times = make_schedule(read)
    script = make_script(read, times, language)
    files: dict[Path, bytes] = {}
    if html is not None:
        files[html] = run_sheet.sheet_html(read, times, script).encode("utf-8")
    if csv is not None:
        files[csv] = run_sheet.sheet_csv(read, times, script)
    if captions is not None:
        files[captions] = run_sheet.sheet_vtt(read, script)
    _write(files, plan)
    if not files:
        typer.echo(run_sheet.sheet_text(read, times, script, brief), nl=False)


@plan_app.command()
def convert(
    plan: Annotated[Path | None, typer.Argument(help="The class plan: YAML, CSV or .xlsx.")] = None,
    out: Annotated[Path | None, typer.Argument(help="The file to write; its ending says the form.")] = None,
    template: Annotated[
        Path | None, typer.Option("--template", help="Write a template with explanations to this file instead.")
    ] = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")] = False,
) -> None:
    """Turn a plan into YAML (.yaml), a table (.csv) or a workbook (.xlsx); or write a template to fill in."""
    from analyzer.plans import TEMPLATES, WRITERS, read_plan

    target = out if template is None else template
    if target is None or (plan is None) == (template is None):
        raise OutputError(place="plan convert", found="needs a plan and a file to write", allowed="or --template FILE")
    form = target.suffix.lower().removeprefix(".")
    if form not in WRITERS:
        endings = ", ".join(f".{name}" for name in WRITERS)
        raise OutputError(str(target), found="does not say the form", allowed=f"allowed endings: {endings}")
    content = WRITERS[form](read_plan(plan)) if plan is not None else TEMPLATES[form]()
    _refuse_existing(target, replace)
    _write({target: content}, plan)


def _refuse_existing(target: Path, replace: bool) -> None:
    if target.is_file() and not replace:
        raise OutputError(str(target), found="is there already", allowed="choose another name, or say --replace")


def _write(files: dict[Path, bytes], given: Path | None) -> None:
    """Write every file whole, or none; never over what was read. ``-`` is standard output."""
    from analyzer.cli.audit_commands import spare_inputs
    from analyzer.reports import write_files

    kept = {path: content for path, content in files.items() if path != STANDARD_OUTPUT}
    spare_inputs(list(kept), () if given is None else (given,))
    write_files(kept)
    sys.stdout.flush()
    sys.stdout.buffer.write(files.get(STANDARD_OUTPUT, b""))
    sys.stdout.buffer.flush()
