"""``library audit``: a whole folder of classes, again and again."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.audit_commands import chosen_kinds
from analyzer.cli.edge import FINDINGS

if TYPE_CHECKING:
    from analyzer.library.run import Asked, Progress, Runner, Summary

library_app = typer.Typer(help="Audit a folder of classes, and see how they are doing.", rich_markup_mode=None)

MOST_LISTED = 20


@library_app.command("audit")
def audit(
    folder: Annotated[
        str, typer.Argument(help="Folder with recordings and their plans, or any address that fsspec reaches.")
    ],
    out: Annotated[str, typer.Option("--out", help="Folder for reports and store; made when missing.")],
    manifest: Annotated[
        Path | None,
        typer.Option("--manifest", help="CSV: recording, plan, coach, series, date; else files are paired by name."),
    ] = None,
    rules: Annotated[Path | None, typer.Option("--rules", help="House rules instead of the built-in limits.")] = None,
    only: Annotated[str, typer.Option("--only", help="Kinds of report a class: json, csv, html, ...")] = "json,html",
    language: Annotated[
        str, typer.Option("--language", help="Language that is spoken: a code, or auto to tell it from the words.")
    ] = "auto",
    jobs: Annotated[int, typer.Option("--jobs", min=0, help="Classes at a time; 0 is one for each core.")] = 0,
    prune: Annotated[bool, typer.Option("--prune", help="Take classes whose files are gone out of the store.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing and show no progress.")] = False,
) -> None:
    """Audit every class of a folder that is new or has changed; the rest is skipped. Stop and go on at any time.

    Exit code: 0 every class is audited, 1 some could not be, 2 nothing can be done.
    """
    kinds = chosen_kinds(only)
    from analyzer.library.folders import open_folder
    from analyzer.library.run import Asked

    asked = Asked(rules, language, kinds, manifest, prune)
    summary = _with_progress(folder, out, asked, _runner(jobs), quiet)
    if not quiet:
        _tell(summary, open_folder(out).path(""))
    if summary.failed:
        raise typer.Exit(FINDINGS)


def _runner(jobs: int) -> Runner:
    from analyzer.library.pool import run_on_cores

    return lambda given: run_on_cores(given, jobs or _cores())


def _cores() -> int:
    """Return how many cores this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)  # not on every system
    return len(allowed(0)) if allowed else os.cpu_count() or 1


def _with_progress(folder: str, out: str, asked: Asked, runner: Runner, quiet: bool) -> Summary:
    from analyzer.library.folders import open_folder
    from analyzer.library.run import audit_library

    source, target = open_folder(folder), open_folder(out)
    if quiet or not sys.stderr.isatty():
        return audit_library(source, target, asked, runner)
    with typer.progressbar(length=1, label="Classes", file=sys.stderr, show_pos=True) as bar:

        def tell(progress: Progress) -> None:
            bar.length = progress.total
            bar.update(1)

        return audit_library(source, target, asked, runner, tell)


def _tell(summary: Summary, place: str) -> None:
    from analyzer.reports.plain import terminal_text

    counts = f"{summary.audited} audited now, {summary.unchanged} unchanged, {len(summary.failed)} could not be audited"
    typer.echo(f"{summary.classes} classes: {counts}.")
    for title, rows in (("Could not be audited", summary.failed), ("Left out", summary.left_out)):
        if rows:
            typer.echo(f"\n{title}")
            for row in rows[:MOST_LISTED]:
                typer.echo(f"  {terminal_text(row.name)}: {terminal_text(row.reason)}")
            if len(rows) > MOST_LISTED:
                typer.echo(f"  and {len(rows) - MOST_LISTED} more: see not-audited.csv")
    if summary.gone:
        what = "class" if len(summary.gone) == 1 else "classes"
        typer.echo(f"\nNot in the folder any more: {len(summary.gone)} {what} of the store; --prune takes them out.")
    typer.echo(f"Reports and store: {terminal_text(place)}")
