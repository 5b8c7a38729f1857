"""What an audit costs, as ratios within one run: warm, cold, and beside plain ways to do a part of its work.

    OPENBLAS_NUM_THREADS=1 python tests/benchmarks/speed.py [RECORDING PLAN] [--repeat N]

With one thread, as the commands set it: threads that wait for each other count as processor time.

A warm audit runs in process up to the bytes of report.json; its measure is webvtt-py's own parse of the same file. All
times are processor time, the least of several runs taken in turn, so that a busy machine tells about the same. Without
arguments the class is an invented one of about 24 minutes, 45 intervals and 2,800 words; its captions are cut as short
as a captioner would (2.6 seconds, 32 characters), which gives about 510 of them.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import webvtt

from analyzer.alignment import align
from analyzer.audit import audit_recording
from analyzer.checks import CheckContext, gather_facts, read_rules, run_checks
from analyzer.language import load_language
from analyzer.model.plan import Plan
from analyzer.model.transcript import Transcript
from analyzer.plans import make_schedule, read_plan
from analyzer.reports.report_json import report_bytes
from analyzer.spotting import spot
from analyzer.transcripts import read_transcript

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks.baselines import likeness, nearest_name, time_warping  # noqa: E402
from tests.generator import forms, generate, write_case  # noqa: E402

SEED, STYLE = 708, "talkative"
CAPTION_S, CAPTION_CHARS = 2.6, 32
PARSE, AUDIT = "webvtt-py's parse", "warm audit"
HEAVY = ("matplotlib", "pandas")

Jobs = Mapping[str, Callable[[], Any]]


def long_class(folder: Path) -> tuple[Path, Path]:
    """Write the default class into a folder; return its captions and plan."""
    shape = forms.CAPTION_S, forms.CAPTION_CHARS
    forms.CAPTION_S, forms.CAPTION_CHARS = CAPTION_S, CAPTION_CHARS
    write_case(generate(SEED, STYLE), folder, ("clean.vtt",))
    forms.CAPTION_S, forms.CAPTION_CHARS = shape
    return folder / "clean.vtt", folder / "plan.yaml"


def least_ms(jobs: Jobs, repeat: int) -> dict[str, float]:
    """Return each job's least processor time over ``repeat`` rounds after a warm one, milliseconds."""
    least = dict.fromkeys(jobs, float("inf"))
    for turn in range(repeat + 1):
        for name, job in jobs.items():
            began = time.process_time()
            job()
            if turn:
                least[name] = min(least[name], 1000 * (time.process_time() - began))
    return least


def audit_jobs(recording: Path, plan_file: Path) -> dict[str, Callable[[], Any]]:
    """Return the parse, the warm audit and each of its steps."""
    plan = read_plan(plan_file)
    schedule, language, rules = make_schedule(plan), load_language("en"), read_rules(None)
    transcript = read_transcript(recording)
    events = spot(transcript, plan, language)
    context = CheckContext(transcript, plan, schedule, events, align(transcript, plan, schedule, events), rules)
    audit = audit_recording(recording, plan_file)

    def check() -> None:
        fresh = replace(context)  # what the checks keep of a class goes by its context
        gather_facts(fresh)
        run_checks(fresh)

    return {
        PARSE: lambda: list(webvtt.read(str(recording))),
        AUDIT: lambda: report_bytes(audit_recording(recording, plan_file)),
        "plan": lambda: make_schedule(read_plan(plan_file)),
        "transcript": lambda: read_transcript(recording),
        "spotting": lambda: spot(transcript, plan, language),
        "alignment": lambda: align(transcript, plan, schedule, events),
        "checks": check,
        "report.json": lambda: report_bytes(audit),
    }


def baseline_jobs(recording: Path, plan_file: Path) -> dict[str, Callable[[], Any]]:
    """Return plain ways to find the plan's names or to place its intervals, on the parsed transcript."""
    plan, transcript = read_plan(plan_file), read_transcript(recording)
    schedule = make_schedule(plan)
    like = likeness(transcript, plan, schedule)
    return {
        "every name against every caption, rapidfuzz": lambda: nearest_name(
            likeness(transcript, plan, schedule), schedule
        ),
        "every name against every caption, difflib": lambda: scan_plainly(transcript, plan),
        "time warping alone, dtw-python": lambda: time_warping(like, schedule),
    }


def scan_plainly(transcript: Transcript, plan: Plan) -> list[float]:
    """Return the best likeness of each of the plan's names to a run of words of any caption, 0 to 1."""
    names = {name.lower() for block in plan.blocks for move in block.moves for name in (move.name, *move.also)}
    best = []
    for name in sorted(names):
        size, match = len(name.split()), SequenceMatcher(b=name)
        most = 0.0
        for caption in transcript.captions:
            said = caption.text.lower().split()
            for at in range(max(1, len(said) - size + 1)):
                match.set_seq1(" ".join(said[at : at + size]))
                most = max(most, match.ratio())
        best.append(most)
    return best


def fresh_s(*command: str) -> float:
    """Return the processor time of a command in a process of its own, seconds."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *command], check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def audit_command(recording: Path, plan_file: Path, out: str, kinds: str) -> list[str]:
    """Return the arguments of an audit that writes some kinds of output and says nothing."""
    told = [str(recording), "--plan", str(plan_file), "--out", out, "--only", kinds, "--fail-on", "never", "-q"]
    return ["audit", *told]


def cold_s(recording: Path, plan_file: Path, repeat: int) -> dict[str, float]:
    """Return the least processor time of commands in fresh processes, seconds."""
    recording, plan_file = recording.resolve(), plan_file.resolve()
    with tempfile.TemporaryDirectory() as out:
        commands = {
            "import typer": ["-c", "import typer"],
            "class-analyzer --help": ["-c", "from analyzer.cli import main; main(['--help'])"],
            "cold audit to JSON": ["-m", "analyzer", *audit_command(recording, plan_file, out, "json")],
            "with page and figures": ["-m", "analyzer", *audit_command(recording, plan_file, out, "json,html,figures")],
        }
        return {name: min(fresh_s(*command) for _ in range(repeat)) for name, command in commands.items()}


def heavy_imports(recording: Path, plan_file: Path) -> list[str]:
    """Return which of the heavy libraries a cold audit to JSON imports."""
    with tempfile.TemporaryDirectory() as out:
        arguments = audit_command(recording.resolve(), plan_file.resolve(), out, "json")
        code = f"import sys; from analyzer.cli import main; main({arguments!r}); print(*sys.modules)"
        ran = subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, capture_output=True, text=True)
    return [name for name in HEAVY if name in ran.stdout.split()]


def describe(recording: Path, plan_file: Path) -> str:
    """Return how large a class is, in words."""
    transcript, schedule = read_transcript(recording), make_schedule(read_plan(plan_file))
    words, captions = len(transcript.words), len(transcript.captions)
    return (
        f"{transcript.duration_s / 60:.0f} minutes, {words} words, {captions} captions, "
        f"{len(schedule.intervals)} intervals"
    )


def run(recording: Path, plan_file: Path, repeat: int) -> None:
    """Print everything."""
    print(f"{recording.name}: {describe(recording, plan_file)}")
    took = least_ms(audit_jobs(recording, plan_file) | baseline_jobs(recording, plan_file), repeat)
    for name, ms in took.items():
        print(f"  {name:44s} {ms:8.1f} ms  {ms / took[PARSE]:6.1f} x the parse")
    cold = cold_s(recording, plan_file, max(3, repeat // 3))
    for name, seconds in cold.items():
        print(f"  {name:44s} {seconds:8.2f} s   {seconds / cold['import typer']:6.1f} x import typer")
    print(f"  heavy libraries in a cold audit to JSON: {', '.join(heavy_imports(recording, plan_file)) or 'none'}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("recording", type=Path, nargs="?")
    parser.add_argument("plan", type=Path, nargs="?")
    parser.add_argument("--repeat", type=int, default=9)
    args = parser.parse_args()
    if args.recording and args.plan:
        run(args.recording, args.plan, args.repeat)
    else:
        with tempfile.TemporaryDirectory() as temp:
            run(*long_class(Path(temp)), args.repeat)
