"""Runs the command line as a user's shell would, in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest

from analyzer.cli import main

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_data" / "harbour-strength"
RECORDING, PLAN = SAMPLE / "captions.vtt", SAMPLE / "plan.yaml"
COMMAND = (sys.executable, "-W", "error", "-m", "analyzer")

Run = Callable[..., "subprocess.CompletedProcess[bytes]"]


def command_line(*arguments: object, environment: Mapping[str, str] | None = None, **more: Any) -> Any:
    """Return the finished process of ``class-analyzer ARGUMENTS``; ``environment`` replaces this process's."""
    given = dict(os.environ if environment is None else environment) | {"PYTHONPATH": str(ROOT)}
    command: Sequence[str | bytes] = [*COMMAND, *(a if isinstance(a, bytes) else str(a) for a in arguments)]
    more = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "timeout": 120, "check": False} | more
    return subprocess.run(command, env=given, **more)


@pytest.fixture
def run(capfd):
    """Run the command line in this process; gives (exit code, standard output, lines of standard error)."""

    def _run(*arguments):
        code = main([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        return code, out, err.splitlines()

    return _run


@pytest.fixture
def cli() -> Run:
    return command_line
