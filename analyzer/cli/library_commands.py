"""``library audit``, ``library trend`` and ``library tables``: a whole folder of classes, again and again."""

from __future__ import annotations

import os
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.audit_commands import chosen_kinds, refuse_targets
from analyzer.cli.edge import FINDINGS
from analyzer.cli.shared import Spoken
from analyzer.model.errors import AnalyzerError

if TYPE_CHECKING:
    from analyzer.library.folders import Folder
    from analyzer.library.run import Asked, Progress, Runner, Summary
    from analyzer.library.trend import Trend

library_app = typer.Typer(help="Audit a folder of classes, and see how they are doing.", rich_markup_mode=None)

MOST_LISTED = 20
PAGE = "trend.html"


class PeriodName(StrEnum):
    """What a class's date falls into."""

    month = "month"
    quarter = "quarter"
    year = "year"


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
    language: Spoken = "auto",
    jobs: Annotated[int, typer.Option("--jobs", min=0, help="Classes at a time; 0 is one for each core.")] = 0,
    cluster: Annotated[
        str, typer.Option("--cluster", help="Address of a Dask scheduler whose workers audit, as in tcp://host:8786.")
    ] = "",
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
    summary = _with_progress(folder, out, asked, _runner(jobs, cluster), quiet)
    if not quiet:
        _tell(summary, prune, open_folder(out).path(""))
    if summary.failed:
        raise typer.Exit(FINDINGS)


def _runner(jobs: int, cluster: str) -> Runner:
    if cluster:
        from analyzer.library.cluster import run_on_cluster

        return lambda given: run_on_cluster(given, cluster)
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


def _tell(summary: Summary, prune: bool, place: str) -> None:
    from analyzer.library.trend_words import classes_words
    from analyzer.reports.plain import terminal_text

    counts = f"{summary.audited} audited now, {summary.unchanged} unchanged, {len(summary.failed)} could not be audited"
    typer.echo(f"{classes_words(summary.classes)}: {counts}.")
    for title, rows in (("Could not be audited", summary.failed), ("Left out", summary.left_out)):
        if rows:
            typer.echo(f"\n{title}")
            for row in rows[:MOST_LISTED]:
                typer.echo(f"  {terminal_text(row.name)}: {terminal_text(row.reason)}")
            if len(rows) > MOST_LISTED:
                typer.echo(f"  and {len(rows) - MOST_LISTED} more: see not-audited.csv")
    if summary.gone:
        what = "taken out of it" if prune else "--prune takes them out"
        typer.echo(f"\nNot in the folder any more: {classes_words(len(summary.gone))} of the store; {what}.")
    typer.echo(f"Reports and store: {terminal_text(place)}")


@library_app.command("trend")
def trend(
    folder: Annotated[str, typer.Argument(help="What 'library audit' wrote, its --out.")],
    out: Annotated[Path | None, typer.Option("--out", help="Folder for page and tables; made when missing.")] = None,
    period: Annotated[PeriodName, typer.Option("--period", help="What a class's date falls into.")] = PeriodName.month,
    coach: Annotated[str, typer.Option("--coach", help="Only this coach's classes.")] = "",
    series: Annotated[str, typer.Option("--series", help="Only the classes of this series.")] = "",
    reconsider: Annotated[
        float,
        typer.Option(
            "--reconsider", min=10.0, max=100.0, help="Percent of classes above which a limit is pointed out."
        ),
    ] = 30.0,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing.")] = False,
) -> None:
    """Say how a library is doing by coach, series and period, what has changed, and which limits flag too much."""
    refuse_targets([out] if out else [])
    from analyzer.library.class_facts import read_facts
    from analyzer.library.folders import open_folder
    from analyzer.library.store import connect
    from analyzer.library.trend import make_trend
    from analyzer.library.trend_text import trend_text

    library = open_folder(folder)
    with connect(library, must_exist=True) as store:
        facts, failed = read_facts(store)
    chosen = [c for c in facts if coach in ("", c.coach) and series in ("", c.series)]
    if not chosen:
        known = ", ".join(sorted({c.coach for c in facts} if coach else {c.series for c in facts}))
        raise AnalyzerError(folder, "", "no audited class is chosen", f"there are: {known[:200] or 'none'}")
    result = make_trend(chosen, 0 if coach or series else failed, period.value, reconsider / 100.0)
    if out is not None:
        _write(result, out, library)
    if not quiet:
        typer.echo(trend_text(result, str(out / PAGE) if out else None), nl=False)


def _write(result: Trend, out: Path, library: Folder) -> None:
    from analyzer.library.trend_html import trend_html  # the template engine is only paid for when asked
    from analyzer.library.trend_tables import trend_tables
    from analyzer.reports import write_folder

    page = trend_html(result, _links(result, out, library)).encode("utf-8")
    write_folder(out, {PAGE: page} | trend_tables(result))


def _links(result: Trend, out: Path, library: Folder) -> dict[str, str]:
    """Return the way from the page to the reports of the classes it names, where they lie on the same disk."""
    from urllib.parse import quote

    from analyzer.library.folders import LocalFolder
    from analyzer.library.run import REPORTS

    if not isinstance(library, LocalFolder):
        return {}
    reports = {row.key: library.root / REPORTS / row.key / "report.html" for row in result.outliers}
    here = out.resolve()
    return {
        key: quote(Path(os.path.relpath(path.resolve(), here)).as_posix())
        for key, path in reports.items()
        if path.is_file()
    }


@library_app.command("tables")
def tables() -> None:
    """Say what the store's tables hold, column by column, as Markdown."""
    from analyzer.library.tables import tables_text

    typer.echo(tables_text(), nl=False)
