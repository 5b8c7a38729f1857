"""``checks`` and ``explain``: what is looked for, read from the checks' own metadata."""

from __future__ import annotations

import difflib
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.model.errors import AnalyzerError

if TYPE_CHECKING:
    from analyzer.checks import Check, Parameter, Settings

WIDTH = 80
SEVERITIES = ("high", "medium", "low")


RULES = typer.Option("--rules", help="House rules: show what holds in your house.")


def checks(rules: Annotated[Path | None, RULES] = None) -> None:
    """List every check by severity, gravest first; "off" marks those that are not run."""
    from analyzer.checks import CHECKS, read_rules

    house = read_rules(rules).checks
    widest = max(len(check.id) for check in CHECKS)
    for severity in SEVERITIES:
        for check in CHECKS:
            if house[check.id].severity == severity:
                state = severity if house[check.id].on else f"{severity}, off"
                typer.echo(f"{check.id:<{widest}}  {state:<11}  {check.title}")


def explain(
    check: Annotated[str, typer.Argument(help="A check's name, as reports and the list of checks show it.")],
    rules: Annotated[Path | None, RULES] = None,
) -> None:
    """Say what a check means, how it is measured, how to fix what it finds, its limits and where they come from."""
    from analyzer.checks import read_rules

    found = _find(check)
    house = read_rules(rules)
    settings = house.checks[found.id]
    state = "" if settings.on else ", off" if rules else ", off by default"
    typer.echo(f"{found.id}: {found.title} ({settings.severity} severity{state})")
    for heading, text in (
        ("What it means for the viewer", found.means),
        ("How it is measured", found.measured),
        ("How to fix it", found.fix),
    ):
        typer.echo(f"\n{heading}\n{_wrapped(text)}")
    limits = [_parameter(parameter, settings) for parameter in found.parameters] + _variants(found, settings)
    if limits:
        typer.echo("\n" + (_wrapped(f"Limits, as {house.name} has them")[2:] if rules else "Limits"))
        for line in limits:
            typer.echo(line)
    typer.echo(f"\nSource of the check\n{_wrapped(found.source.capitalize() + '.')}")


def _find(name: str) -> Check:
    from analyzer.checks import CHECKS

    known = {check.id: check for check in CHECKS}
    wanted = name.strip().lower()
    if wanted in known:
        return known[wanted]
    near = difflib.get_close_matches(wanted, known, n=1)
    hint = f"did you mean '{near[0]}'?" if near else "'class-analyzer checks' lists them"
    raise AnalyzerError(found=f"there is no check '{name[:60]}'", allowed=hint)


def _parameter(parameter: Parameter, settings: Settings) -> str:
    value = settings.values[parameter.name]
    changed = "" if value == parameter.default else f", {parameter.default:g} by default"
    allowed = f"{parameter.low:g} to {parameter.high:g} allowed{changed}"
    told = f"{parameter.name} = {value:g} {parameter.unit} ({allowed}): {parameter.meaning.rstrip('.')}."
    return _wrapped(f"{told} Source: {parameter.source}.")


def _variants(check: Check, settings: Settings) -> list[str]:
    """Return what differs by kind of block and by effort, the house's phrases, and what may be set at all."""
    lines = []
    main = f"{check.parameters[0].name}" if check.parameters else "phrases"
    for key, values in (("kind", settings.by_kind), ("effort", settings.by_effort)):
        lines += [
            _wrapped(f"{main} = {value:g} {check.parameters[0].unit} where the {key} is {word}.")
            for word, value in values.items()
        ]
    if check.phrases:
        lines.append(_wrapped(f"phrases: {'; '.join(settings.phrases) or 'none'} ({check.phrases})."))
    lines += [_wrapped(f"phrases in {kind}: {'; '.join(some)}.") for kind, some in settings.phrases_by_kind.items()]
    if check.varies:
        words = " and ".join({"kind": "by kind of block", "effort": "by effort"}[what] for what in check.varies)
        lines.append(_wrapped(f"House rules may set {main} {words}."))
    return lines


def _wrapped(text: str) -> str:
    return textwrap.fill(" ".join(text.split()), WIDTH, initial_indent="  ", subsequent_indent="  ")
