"""``waive``: which findings of a plan are accepted as they are, and why."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analyzer.model.errors import WaiverError


def waive(
    plan: Annotated[Path, typer.Option("--plan", help="The class plan; the waivers are kept beside it.")],
    finding: Annotated[
        str, typer.Argument(help="A finding's id, as reports show it; without one, waivers are listed.")
    ] = "",
    reason: Annotated[str, typer.Option("--reason", help="Why the finding may stay.")] = "",
    remove: Annotated[bool, typer.Option("--remove", help="Take the waiver out again.")] = False,
) -> None:
    """Accept a finding as it is: it stays in the report with the reason, and counts no longer.

    Waivers hold for every later audit of the plan. One whose finding is no longer found is reported as stale.
    """
    from analyzer.plans import read_plan

    read_plan(plan)  # no file is made beside what is no plan
    if not finding:
        _list(plan, bool(reason or remove))
    elif remove:
        _remove(plan, finding, reason)
    else:
        _add(plan, finding, reason)


def _list(plan: Path, changes: bool) -> None:
    from analyzer.checks import read_waivers
    from analyzer.reports.plain import terminal_text

    if changes:
        raise WaiverError("waive", found="no finding is given", allowed="give its id, as reports show it")
    waivers = read_waivers(plan)
    for waiver in waivers:
        typer.echo(f"{waiver.finding}  {terminal_text(waiver.reason)}")
    if not waivers:
        typer.echo("Nothing is waived.")


def _add(plan: Path, finding: str, reason: str) -> None:
    from analyzer.checks import make_waiver, waivers_path, with_waiver
    from analyzer.reports import write_file

    if not reason.strip():
        raise WaiverError("waive", found="a reason is missing", allowed='say why the finding may stay: --reason "..."')
    waiver = make_waiver(finding, reason)
    path = write_file(waivers_path(plan), with_waiver(plan, waiver))
    _tell(f"Waived {waiver.finding} in {path}. An audit that does not find it will say so.")


def _remove(plan: Path, finding: str, reason: str) -> None:
    from analyzer.checks import waivers_path, without_waiver
    from analyzer.reports import write_file

    if reason:
        raise WaiverError("waive", found="--remove and --reason exclude each other", allowed="give one of them")
    path = write_file(waivers_path(plan), without_waiver(plan, finding))
    _tell(f"No longer waived: {finding}, in {path}.")


def _tell(line: str) -> None:
    from analyzer.reports.plain import terminal_text

    typer.echo(terminal_text(line))
