from pathlib import Path

import pytest

from analyzer.cli import main

SAMPLES = Path(__file__).parents[2] / "sample_data"


@pytest.fixture
def run(capfd):
    """Run the command line; gives (exit code, standard output, lines of standard error)."""

    def _run(*arguments):
        code = main([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        return code, out, err.splitlines()

    return _run


@pytest.fixture
def sample():
    """The recording and the plan of the sample class."""
    folder = SAMPLES / "harbour-strength"
    return folder / "captions.vtt", folder / "plan.yaml"
