"""The command line: which commands there are. Each command's module imports its rooms only when it runs."""

from __future__ import annotations

import gc
import os
import sys
from typing import Annotated

import typer

from analyzer import __version__
from analyzer.cli.audit_commands import audit, demo
from analyzer.cli.check_commands import checks, explain
from analyzer.cli.compare_commands import compare
from analyzer.cli.edge import guarded
from analyzer.cli.export_commands import export_app
from analyzer.cli.library_commands import library_app
from analyzer.cli.plan_commands import plan_app
from analyzer.cli.waive_commands import waive

app = typer.Typer(
    name="class-analyzer",
    help="Checks the recording of a follow-along exercise class against its plan, from the transcript alone.",
    epilog="It listens to words only: it does not see form, and is no safety review.",
    rich_markup_mode=None,
    invoke_without_command=True,
)
app.command()(audit)
app.command()(demo)
app.command()(checks)
app.command()(explain)
app.command()(waive)
app.command()(compare)
app.add_typer(plan_app, name="plan")
app.add_typer(export_app, name="export")
app.add_typer(library_app, name="library")


@app.callback()
def _root(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Show the version and stop.")] = False,
) -> None:
    if version:
        typer.echo(f"class-analyzer {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


YOUNG = 50_000
"""New objects before the collector looks for dead ones: a command makes many at its start, which all stay."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code; ``arguments`` default to those of the process."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")  # an old terminal shows a question mark rather than nothing
    gc.set_threshold(YOUNG, *gc.get_threshold()[1:])
    # Before numpy loads: the products are small, and a library audit has a process on every core.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    return guarded(lambda: app(args=arguments, prog_name="class-analyzer", standalone_mode=False))
