"""The one place where errors become words and exit codes.

0 nothing at or over the level asked; 1 findings; 2 the input cannot be used; 3 a fault of this program;
130 stopped by the user; 141 the reader of a pipe has gone (both as shells number them).
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator

import typer

from analyzer.model.errors import AnalyzerError

OK, FINDINGS, BAD_INPUT, FAULT, STOPPED, PIPE_GONE = 0, 1, 2, 3, 130, 141
MOST_LINES = 50
DEBUG = "CLASS_ANALYZER_DEBUG"

# Typer carries its own copy of the parser since 0.16 or so and none before: its public error leads to the root
# of all usage errors in either case.
_UsageMistake: type[Exception] = next(c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException")


def guarded(command: Callable[[], object]) -> int:
    """Run ``command`` and return its exit code; whatever it raises becomes lines on standard error."""
    _open_streams()
    stdout = sys.stdout
    try:
        code = command()
        sys.stdout.flush()
        if code == STOPPED:  # what the parser makes of a keyboard interrupt
            raise KeyboardInterrupt
        return code if isinstance(code, int) else OK
    except AnalyzerError as error:
        _tell(_lines(error))
        return BAD_INPUT
    except _UsageMistake as mistake:
        _tell([f"{_message(mistake)} See class-analyzer --help."])
        return BAD_INPUT
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stdout.fileno())  # or the interpreter complains at its end
        return PIPE_GONE
    except OSError as error:  # a disk that is full behind standard output, and what no writer or reader has told
        _tell([f"{error.filename or 'standard output'}: {error.strerror or error}"])
        return BAD_INPUT
    except SystemExit as left:
        if sys.stdout is not stdout:  # the parser has met a closed pipe and put a silent stream in place
            return PIPE_GONE
        return left.code if isinstance(left.code, int) else OK
    except (KeyboardInterrupt, typer.Abort):
        _tell(["Stopped; files are written whole or not at all."])
        return STOPPED
    except Exception as fault:
        if os.environ.get(DEBUG):
            raise
        _tell([f"A fault of this program: {type(fault).__name__}: {fault}. Set {DEBUG}=1 to see where, and report it."])
        return FAULT


def _open_streams() -> None:
    """Put a silent stream where standard output or error was closed, so that no file is opened in its place."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_WRONLY), "w"))


def _lines(error: AnalyzerError) -> Iterator[str]:
    """One line a mistake; beyond fifty, how many more there are."""
    mistakes = error.mistakes or (error,)
    yield from map(str, mistakes[:MOST_LINES])
    if len(mistakes) > MOST_LINES:
        yield f"{len(mistakes) - MOST_LINES:,} more mistakes like these."


def _message(mistake: Exception) -> str:
    told = str(getattr(mistake, "format_message", mistake.__str__)()).replace(": Value error, ", ": ")
    return f"{told.rstrip('.')}."


def _tell(lines: Iterator[str] | list[str]) -> None:
    from analyzer.reports.plain import terminal_text

    for line in lines:
        typer.secho(terminal_text(line), fg=typer.colors.RED, err=True)
