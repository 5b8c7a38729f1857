"""Writes reports/performance.md: what an audit costs beside its budgets, every figure a ratio within one run.

    OPENBLAS_NUM_THREADS=1 python tests/benchmarks/write_performance.py [--repeat 15]

Takes about two minutes. What a library costs is measured by `library.py`.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks import growth, speed  # noqa: E402

HEAD = """# What an audit costs

Made by `OPENBLAS_NUM_THREADS=1 python tests/benchmarks/write_performance.py`; do not edit by hand.

Processor time, the least of several runs taken in turn within one run of the script. Compare ratios, not times: the
times are those of one machine. The class is an invented one: {size}.
"""
BUDGETS = """
## Against the budgets

| what | measured | budget | kept |
| --- | --- | --- | --- |"""
STEPS = """
## Where a warm audit spends its time, beside plain ways to do a part of it

The measure is webvtt-py's own parse of the same file. The plain ways start from the parsed transcript and the plan and
only look for names, or lay a given table of likenesses over the plan's order: no counts, calls, options, sides, checks,
and no uncertainty. How well two of them place a plan stands in `accuracy.md`.

| what | ms | times the parse |
| --- | --- | --- |"""
COLD = """
## In a fresh process, imports included

| what | s | times `import typer` |
| --- | --- | --- |"""
GROWTH = """
## Growth

The class said over and over, its plan as many times as long; the first row is a shorter class. Cost grows in line with
the recording when the last column stays level.
"""
NOTES = """
## What is not reached, and why

A warm audit of five times the parse is not reached. The parse is a fast one and is itself the larger part of reading
the transcript. What is left is spread widely: no single function takes a tenth of an audit.

- The alignment is the largest step. Most of it is the first look, forward-backward over every way to stray from the
  plan: some 150 states, 770 arcs and 460 candidates. Its arrays are a few hundred numbers long, so that calling
  numpy costs more than its arithmetic. Fewer states or candidates in the first look would be faster and could miss a
  lost round.
- Spotting looks for some 900 phrases in twelve passes, reads every sentence with the options' model and every break
  with the moments' net, which takes some 5 ms.
- The checks are thirty small ones. Half of their time goes to names that seem to be missing: how often chance sounds
  as much like them as what was said.

Growth is not quite level. What it adds is Python's garbage collector, which looks through more objects in a longer
class: with the collector off, an hour out of eight cost 4 % more than one class alone (measured once, 2026-11).
"""


def budget_rows(took: dict[str, float], cold: dict[str, float], heavy: list[str]) -> Iterator[str]:
    """Give a row for each budget."""

    def row(what: str, measured: str, budget: str, kept: bool) -> str:
        return f"| {what} | {measured} | {budget} | {'yes' if kept else 'no'} |"

    warm = took[speed.AUDIT] / took[speed.PARSE]
    yield row("warm audit, times webvtt-py's parse", f"{warm:.1f}", "5 (goal 3)", warm <= 5)
    start = cold["class-analyzer --help"] / cold["import typer"]
    yield row("`class-analyzer --help`, times `import typer`", f"{start:.2f}", "1.5", start <= 1.5)
    added = cold["with page and figures"] - cold["cold audit to JSON"]
    yield row("page and figures, cold, seconds", f"{added:.2f}", "2", added <= 2.0)
    found = ", ".join(heavy) or "neither"
    yield row("a cold audit to JSON imports matplotlib or pandas", found, "neither", not heavy)


def report(repeat: int) -> Iterator[str]:
    """Give the parts of the file."""
    with tempfile.TemporaryDirectory() as temp:
        case = speed.long_class(Path(temp))
        steps, plain = speed.audit_jobs(*case), speed.baseline_jobs(*case)
        took = speed.least_ms(steps | plain, repeat)
        cold = speed.cold_s(*case, max(3, repeat // 3))
        yield HEAD.format(size=speed.describe(*case))
        yield BUDGETS
        yield from budget_rows(took, cold, speed.heavy_imports(*case))
    yield STEPS
    for name, ms in took.items():
        yield f"| {name} | {ms:.1f} | {ms / took[speed.PARSE]:.1f} |"
    yield COLD
    for name, seconds in cold.items():
        yield f"| {name} | {seconds:.2f} | {seconds / cold['import typer']:.1f} |"
    yield GROWTH
    yield growth.HEAD
    yield from growth.measured(speed.SEED, growth.TIMES)
    yield NOTES


def main() -> None:
    """Measure and write the file."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--repeat", type=int, default=15)
    text = "\n".join(report(parser.parse_args().repeat)).replace("\n\n\n", "\n\n")
    (ROOT / "reports" / "performance.md").write_text(text.rstrip("\n") + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
