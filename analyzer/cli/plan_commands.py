"""``plan check``, ``plan schedule`` and ``plan convert``: a plan before anyone films it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.edge import FINDINGS
from analyzer.model.errors import OutputError

if TYPE_CHECKING:
    from analyzer.model.plan import Plan, PlannedInterval

plan_app = typer.Typer(help="Read a class plan over before it is filmed.", rich_markup_mode=None, no_args_is_help=False)

PlanFile = Annotated[Path, typer.Argument(help="The class plan.")]


@plan_app.command()
def check(plan: PlanFile) -> None:
    """Say what a plan adds up to and what it lacks. Exit code 1 when it lacks something."""
    from analyzer.model.clock import clock
    from analyzer.plans import read_plan, review_plan
    from analyzer.reports.plain import terminal_text

    read = read_plan(plan)
    review = review_plan(read)
    typer.echo(f"{terminal_text(read.title)}: {review.intervals} intervals, {clock(review.total_s)} in all")
    typer.echo(f"  work {clock(review.work_s)}, rest {clock(review.rest_s)}, talk {clock(review.talk_s)}")
    if review.left_s or review.right_s:
        typer.echo(f"  left side {clock(review.left_s)}, right side {clock(review.right_s)}")
    for lack in review.lacks:
        typer.echo(f"- {terminal_text(lack)}")
    if review.lacks:
        raise typer.Exit(FINDINGS)
    typer.echo("Nothing is missing.")


@plan_app.command()
def schedule(plan: PlanFile) -> None:
    """Print the run sheet: every planned interval with its start, work and the rest after it."""
    from analyzer.model.clock import clock
    from analyzer.plans import make_schedule, read_plan
    from analyzer.reports.plain import terminal_text

    read = read_plan(plan)
    sheet = make_schedule(read)
    typer.echo(f"{terminal_text(read.title)}, {clock(sheet.total_s)}")
    block = -1
    for row in sheet.intervals:
        if row.block != block:
            block = row.block
            typer.echo(f"\n{terminal_text(read.blocks[block].name)}")
        typer.echo(_row(row, read))


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
    _write(target, content, plan, replace)


def _write(target: Path, content: bytes, plan: Path | None, replace: bool) -> None:
    """Write a file whole; never over the plan that was read, over another file only when told to."""
    from analyzer.cli.audit_commands import spare_inputs
    from analyzer.reports import write_file

    spare_inputs([target], () if plan is None else (plan,))
    if target.is_file() and not replace:
        raise OutputError(str(target), found="is there already", allowed="choose another name, or say --replace")
    write_file(target, content)


def _row(row: PlannedInterval, plan: Plan) -> str:
    from analyzer.model.clock import clock
    from analyzer.reports.plain import columns, cut, seconds_words, terminal_text

    name = plan.blocks[row.block].moves[row.move].name + (f", {row.side}" if row.side else "")
    name = cut(terminal_text(name), 38)
    padded = name + " " * (38 - columns(name))
    rest = f"then {seconds_words(row.rest_s)}" if row.rest_s else ""
    return f"{clock(row.start_s):>8}  round {row.round:<2} {padded}  {seconds_words(row.work_s):>10}  {rest}".rstrip()
