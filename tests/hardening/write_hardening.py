"""Writes reports/hardening.md: what hostile files cost, what kills at random points leave, what is brought along.

    python tests/hardening/write_hardening.py [--kills 100]

Some minutes. The table of fuzzing is read from tests/fuzz/runs.tsv, which lists the long runs that were done.
"""

from __future__ import annotations

import argparse
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from analyzer.reports import report_bytes  # noqa: E402
from analyzer.reports.exports.stored import parse_report  # noqa: E402
from tests.fuzz import seeds  # noqa: E402
from tests.fuzz.folder import folder, scratch  # noqa: E402
from tests.hardening.test_dependencies import brought, licence  # noqa: E402

MB = 2**20
Case = Callable[[], bytes]


def _stamp(ms: int) -> str:
    return f"{ms // 3600000:02d}:{ms // 60000 % 60:02d}:{ms // 1000 % 60:02d}.{ms % 1000:03d}"


def _captions(count: int, step_ms: int, text: Callable[[int], str]) -> bytes:
    rows = (f"{_stamp(n * step_ms)} --> {_stamp(n * step_ms + step_ms - 10)}\n{text(n)}\n\n" for n in range(count))
    return ("WEBVTT\n\n" + "".join(rows)).encode()


CASES: dict[str, Case] = {
    "the seed class": lambda: seeds.TRANSCRIPTS["webvtt"]().encode(),
    "the seed class 700 times, 51,000 words": lambda: _captions(
        len(seeds.SAID) * 700, 8000, lambda n: seeds.SAID[n % len(seeds.SAID)][1]
    ),
    "60,000 counts in a row": lambda: _captions(60_000, 1000, lambda n: str(10 - n % 10)),
    "140,000 counts in a row": lambda: _captions(140_000, 1000, lambda n: str(10 - n % 10)),
    "100,000 different words": lambda: _captions(
        50_000, 700, lambda n: f"w{n * 7919 % 100_003} x{n * 104729 % 99_991}"
    ),
    "one word of 4 MB": lambda: _captions(14, 8000, lambda n: seeds.SAID[n][1] + "a" * (4 * MB * (n == 3))),
    "149,000 words in one caption": lambda: _captions(
        15, 8000, lambda n: "go " * 149_000 if n == 14 else seeds.SAID[n][1]
    ),
    "300,000 captions": lambda: _captions(300_000, 300, lambda n: "go"),
    "a million captions": lambda: _captions(1_000_000, 300, lambda n: "go"),
    "30 MB of one line": lambda: b"WEBVTT\n\n00:01.000 --> 00:09.000\n" + b"go " * (10 * MB),
    "30 MB of deep JSON": lambda: b"[" * (30 * MB),
    "30 MB of deep XML": lambda: b"<tt><body>" + b"<p>" * (10 * MB),
    "100 MB of one line": lambda: b"x" * (100 * MB),
}


def measure(name: str) -> str:
    """Return a row for one recording: its size, the outcome, processor time and the process's largest memory."""
    content = CASES[name]()
    recording, plan = scratch("take.vtt", content), scratch("class.yaml", seeds.PLAN.encode())
    size = len(content) / MB
    del content
    began = time.process_time()
    try:
        audit = audit_recording(recording, plan)
        report_bytes(audit)
        outcome = f"audited, {len(audit.transcript.words.text):,} words"
    except AnalyzerError as error:
        outcome = f"refused: {error.found}"
    took = time.process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return f"| {name} | {size:.1f} | {outcome} | {took:.1f} | {peak:.0f} |"


def measured_apart(name: str) -> str:
    """Return the row of a case from a process of its own, so that memory is that of this case alone."""
    command = [sys.executable, str(Path(__file__)), "--case", name]
    return subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout.strip()


def kill_at_random(kills: int, seed: int = 1) -> tuple[int, int]:
    """Kill audits that write over a report at random points; return how many were killed and how many had finished.

    Raises AssertionError when a file is lost or not whole.
    """
    rng = random.Random(seed)
    recording, plan = scratch("take.vtt", CASES["the seed class"]()), scratch("class.yaml", seeds.PLAN.encode())
    killed = finished = 0
    with tempfile.TemporaryDirectory(dir=folder()) as out:
        command = [sys.executable, "-m", "analyzer", "audit", str(recording), "--plan", str(plan), "--out", out]
        command += ["--only", "json,csv,html,fixes", "--quiet", "--fail-on", "never"]
        began = time.perf_counter()
        subprocess.run(command, check=True, cwd=ROOT)
        usual_s = time.perf_counter() - began
        whole = {path.name: path.read_bytes() for path in Path(out).iterdir()}
        for _ in range(kills):
            with subprocess.Popen(command, cwd=ROOT) as process:
                time.sleep(rng.uniform(0.6, 1.05) * usual_s)
                process.send_signal(signal.SIGKILL)
            killed += process.returncode == -signal.SIGKILL
            finished += process.returncode == 0
            left = {path.name: path.read_bytes() for path in Path(out).iterdir() if not path.name.startswith(".")}
            assert left == whole, "a file was lost or is not whole"
            parse_report(left["report.json"], "report.json")
    return killed, finished


def report(kills: int) -> str:
    """Return the page."""
    killed, finished = kill_at_random(kills)
    runs = [line.split("\t") for line in (ROOT / "tests" / "fuzz" / "runs.tsv").read_text().splitlines()[1:]]
    total = sum(int(row[3]) for row in runs)
    lines = [
        "# Hardening",
        "",
        "Made by `python tests/hardening/write_hardening.py`; figures are those of one small machine.",
        "",
        "## Files larger or denser than any class",
        "",
        "| recording | MB | outcome | s of processor | MB of memory |",
        "| --- | --- | --- | --- | --- |",
        *map(measured_apart, CASES),
        "",
        "## Killed at random points",
        "",
        f"{kills} audits that write over an earlier report, each ended by SIGKILL at a random point of its last part: "
        f"{killed} were killed, {finished} had just finished. After each, every file was there and whole. "
        "`tests/hardening/test_kill.py` kills before each single change of the disk.",
        "",
        "## Fuzzing",
        "",
        f"{total:,} executions in the runs below, besides those in the suite. What broke is mended and kept under "
        "`tests/fuzz/regress/`; a kind is counted in every run that met it.",
        "",
        "| target | led by | seed | executions | kinds broken |",
        "| --- | --- | --- | --- | --- |",
        *(f"| {target} | {led} | {seed} | {int(count):,} | {broken} |" for target, led, seed, count, broken in runs),
        "",
        "## What is brought along",
        "",
        "Distributions that an installation without extras needs. Their known faults were not looked up: that needs a "
        "network; `pip-audit` does it.",
        "",
        "| distribution | version here | licence |",
        "| --- | --- | --- |",
        *(f"| {name} | {given.version} | {licence(given)} |" for name, given in sorted(brought().items())),
        "",
    ]
    return "\n".join(lines)


def main() -> None:
    """Write the page, or print the row of one case."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--case", choices=CASES, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.case:
        print(measure(asked.case))
        return
    (ROOT / "reports" / "hardening.md").write_text(report(asked.kills), encoding="utf-8")


if __name__ == "__main__":
    main()
