"""How long a warm audit takes, as a ratio to webvtt-py's own parse of the same file, measured in one run.

    python tests/benchmarks/speed.py [RECORDING PLAN] [--repeat N]

Audits in process, up to the bytes of report.json. Prints the medians, their ratio, the time of each step, and what the
page and the figures add to a cold audit, in processor time (the budget is 2 s). Without arguments the class is an
invented one of about 24 minutes, 45 intervals and 2,800 words; its captions are cut as short as a captioner would (2.6
seconds, 32 characters), which gives about 510 of them.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import webvtt

from analyzer.alignment import align
from analyzer.audit import audit_recording
from analyzer.checks import CheckContext, gather_facts, read_rules, run_checks
from analyzer.language import load_language
from analyzer.plans import make_schedule, read_plan
from analyzer.reports.report_json import report_bytes
from analyzer.spotting import spot
from analyzer.transcripts import read_transcript

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.generator import forms, generate, write_case  # noqa: E402

SEED, STYLE = 708, "talkative"
CAPTION_S, CAPTION_CHARS = 2.6, 32


def long_class(folder: Path) -> tuple[Path, Path]:
    """Write the default class into a folder; return its captions and plan."""
    forms.CAPTION_S, forms.CAPTION_CHARS = CAPTION_S, CAPTION_CHARS
    write_case(generate(SEED, STYLE), folder, ("clean.vtt",))
    return folder / "clean.vtt", folder / "plan.yaml"


def median_ms(what: Callable[[], Any], repeat: int) -> float:
    """Return the median of ``repeat`` timed calls, in milliseconds, after one warm call."""
    what()
    took = []
    for _ in range(repeat):
        began = time.perf_counter()
        what()
        took.append(1000 * (time.perf_counter() - began))
    return statistics.median(took)


def run(recording: Path, plan_file: Path, repeat: int) -> None:
    """Print the ratio and the time of each step."""
    plan = read_plan(plan_file)
    schedule, language, rules = make_schedule(plan), load_language("en"), read_rules(None)
    transcript = read_transcript(recording)
    events = spot(transcript, plan, language)
    alignment = align(transcript, plan, schedule, events)
    context = CheckContext(transcript, plan, schedule, events, alignment, rules)
    facts = gather_facts(context)
    audit = audit_recording(recording, plan_file)
    steps: dict[str, Callable[[], Any]] = {
        "plan": lambda: make_schedule(read_plan(plan_file)),
        "transcript": lambda: read_transcript(recording),
        "spotting": lambda: spot(transcript, plan, language),
        "alignment": lambda: align(transcript, plan, schedule, events),
        "checks": lambda: run_checks(replace(context, facts=gather_facts(context))),
        "report": lambda: report_bytes(audit),
    }
    base = median_ms(lambda: list(webvtt.read(str(recording))), repeat)
    whole = median_ms(lambda: report_bytes(audit_recording(recording, plan_file)), repeat)
    print(
        f"{recording.name}: {len(transcript.words)} words, {len(transcript.captions)} captions, "
        f"{len(schedule.intervals)} intervals, {len(facts.calls)} calls"
    )
    for name, step in steps.items():
        took = median_ms(step, repeat)
        print(f"  {name:12s} {took:8.1f} ms  {took / base:5.1f} x the parse")
    print(f"webvtt-py parse {base:.1f} ms, warm audit {whole:.1f} ms: {whole / base:.1f} times")


def cold_s(recording: Path, plan_file: Path, kinds: str) -> float:
    """Return the processor time of one audit in a fresh process, seconds."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with tempfile.TemporaryDirectory() as folder:
        words = [str(recording), "--plan", str(plan_file), "--out", folder, "--only", kinds, "--fail-on", "never", "-q"]
        subprocess.run([sys.executable, "-m", "analyzer", "audit", *words], check=True, cwd=ROOT)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def run_cold(recording: Path, plan_file: Path) -> None:
    """Print what page and figures cost beyond JSON alone: medians of three fresh processes each."""
    recording, plan_file = recording.resolve(), plan_file.resolve()
    bare, full = (
        statistics.median(cold_s(recording, plan_file, kinds) for _ in range(3))
        for kinds in ("json", "json,html,figures")
    )
    print(f"cold audit {bare:.2f} s; page and figures add {full - bare:.2f} s: {full / bare:.1f} times")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("recording", type=Path, nargs="?")
    parser.add_argument("plan", type=Path, nargs="?")
    parser.add_argument("--repeat", type=int, default=7)
    args = parser.parse_args()
    if args.recording and args.plan:
        run(args.recording, args.plan, args.repeat)
        run_cold(args.recording, args.plan)
    else:
        with tempfile.TemporaryDirectory() as temp:
            made = long_class(Path(temp))
            run(*made, args.repeat)
            run_cold(*made)
