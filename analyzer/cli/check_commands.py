"""``checks`` and ``explain``: what is looked for, read from the checks' own metadata."""

from __future__ import annotations

import difflib
import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.model.errors import AnalyzerError

if TYPE_CHECKING:
    from analyzer.checks.metadata import Check, Parameter

WIDTH = 80


def checks() -> None:
    """List every check with its severity; "off" marks those a house must turn on."""
    from analyzer.checks import CHECKS

    widest = max(len(check.id) for check in CHECKS)
    for check in CHECKS:
        state = check.severity if check.on else f"{check.severity}, off"
        typer.echo(f"{check.id:<{widest}}  {state:<11}  {check.title}")


def explain(
    check: Annotated[str, typer.Argument(help="A check's name, as reports and the list of checks show it.")],
) -> None:
    """Say what a check means, how it is measured, how to fix what it finds, and its limits."""
    found = _find(check)
    severity = f"{found.severity} severity" + ("" if found.on else ", off by default")
    typer.echo(f"{found.id}: {found.title} ({severity})")
    for heading, text in (
        ("What it means", found.means),
        ("How it is measured", found.measured),
        ("How to fix it", found.fix),
    ):
        typer.echo(f"\n{heading}\n{_wrapped(text)}")
    if found.parameters:
        typer.echo("\nLimits")
        for parameter in found.parameters:
            typer.echo(_parameter(parameter))


def _find(name: str) -> Check:
    from analyzer.checks import CHECKS

    known = {check.id: check for check in CHECKS}
    wanted = name.strip().lower()
    if wanted in known:
        return known[wanted]
    near = difflib.get_close_matches(wanted, known, n=1)
    hint = f"did you mean '{near[0]}'?" if near else "'class-analyzer checks' lists them"
    raise AnalyzerError(found=f"there is no check '{name[:60]}'", allowed=hint)


def _parameter(parameter: Parameter) -> str:
    value = f"{parameter.name} = {parameter.default:g} {parameter.unit}"
    allowed = f"{parameter.low:g} to {parameter.high:g} allowed"
    return _wrapped(f"{value} ({allowed}): {parameter.meaning.rstrip('.')}. Source: {parameter.source}.")


def _wrapped(text: str) -> str:
    return textwrap.fill(" ".join(text.split()), WIDTH, initial_indent="  ", subsequent_indent="  ")
