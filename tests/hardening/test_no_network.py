"""No command opens a socket or looks a name up: a hook of the interpreter (PEP 578) ends the process that tries."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.hardening.conftest import PLAN, RECORDING, ROOT

FORBIDDING = """
import os, sys

def forbid(event, arguments):
    if event.startswith(("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "webbrowser.")):
        os.write(2, f"network: {event}\\n".encode())
        os._exit(99)

sys.addaudithook(forbid)
"""
COMMANDS = """
from analyzer.cli import main

for words in {commands!r}:
    code = main(words)
    assert code in (0, 1), (words, code)
"""


def run(code, folder):
    environment = os.environ | {"PYTHONPATH": str(ROOT), "MPLCONFIGDIR": str(folder / "fresh")}
    command = [sys.executable, "-c", FORBIDDING + code]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, timeout=200, check=False)


def test_no_command_touches_the_network(tmp_path):
    recording, plan, report = str(RECORDING), str(PLAN), "out/report.json"
    commands = [
        ["audit", recording, "--plan", plan, "--out", "out", "--keep-steps", "steps"],
        ["demo", "--out", "demo"],
        ["compare", recording, recording, "--plan", plan, "--out", "compared"],
        ["plan", "check", plan],
        ["plan", "schedule", plan],
        ["checks"],
        ["explain", "interval-long"],
        ["waive", "--plan", plan],
        ["export", "markers", report, "--out", "m.edl", "--rate", "25"],
        ["export", "chapters", report, "--out", "c.vtt"],
        ["export", "timer", report, "--out", "t.vtt"],
        ["export", "captions", report, recording, "--out", "k.vtt"],
    ]
    done = run(COMMANDS.format(commands=commands), tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    assert {"out", "demo", "compared", "m.edl", "c.vtt", "t.vtt", "k.vtt"} <= set(os.listdir(tmp_path))


@pytest.mark.parametrize(
    "code",
    [
        "import socket; socket.socket()",
        "import socket; socket.getaddrinfo('example.invalid', 80)",
        "import urllib.request; urllib.request.urlopen('http://example.invalid')",
    ],
)
def test_the_hook_would_have_noticed(tmp_path, code):
    done = run(code, tmp_path)
    assert done.returncode == 99
    assert done.stderr.startswith(b"network: ")


@pytest.mark.parametrize("given", ["http://example.invalid/take.vtt", "file:///etc/hostname", "//example.invalid/take"])
def test_an_address_is_taken_for_a_path(given, tmp_path):
    code = f"from analyzer.cli import main\nraise SystemExit(main(['audit', {given!r}, '--plan', {str(PLAN)!r}]))\n"
    done = run(code, tmp_path)
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
