"""``compare``: takes of one class side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from analyzer.cli.audit_commands import refuse_targets, spare_inputs
from analyzer.cli.shared import Spoken
from analyzer.model.errors import AnalyzerError

PAGE = "compare.html"


def compare(
    takes: Annotated[list[Path], typer.Argument(help="The captions or transcripts, the take to improve on first.")],
    plan: Annotated[Path, typer.Option("--plan", help="The class plan of all of them.")],
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the page; made when missing.")] = None,
    rules: Annotated[Path | None, typer.Option("--rules", help="House rules instead of the built-in limits.")] = None,
    language: Spoken = "auto",
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing.")] = False,
) -> None:
    """Compare takes of one plan, or a recording with its re-edit: lengths, findings, and which is better where.

    Waivers kept beside the plan are honoured in all of them.
    """
    if len(takes) < 2:
        raise AnalyzerError("compare", found="one take is given", allowed="give two or more of the same class")
    refuse_targets([out] if out else [])
    from analyzer.audit import audit_recording
    from analyzer.library import compare_takes, comparison_text
    from analyzer.reports import write_folder

    result = compare_takes([audit_recording(take, plan, rules, language=language) for take in takes])
    if out is not None:
        from analyzer.library.compare_html import comparison_html  # the template engine is only paid for when asked

        spare_inputs([out / PAGE], tuple(path for path in (*takes, plan, rules) if path is not None))
        write_folder(out, {PAGE: comparison_html(result).encode("utf-8")})
    if not quiet:
        typer.echo(comparison_text(result, str(out / PAGE) if out else None), nl=False)
