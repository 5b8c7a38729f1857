"""A generated library audited on all cores: rate against one core, memory as it goes, and a resume after kill -9.

    python tests/benchmarks/library.py [--classes 1000] [--write FILE] [--keep FOLDER] [--once]

Makes the classes from seeds, audits them with the command, kills a second run half-way and lets it go on, and compares
both results byte for byte. The rate is a ratio within this run: the same classes on one core and on all, turn by turn,
the best of each.
``--once`` leaves the uninterrupted run out: the killed one is then held against audits of a sample, one by one.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import resource
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import psutil
import yaml

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.reports import report_bytes  # noqa: E402
from tests.generator import FORMS, generate  # noqa: E402

FIRST_SEED = 20_000
FORM = ("heard.vtt", "rollup.vtt", "words.json", "coarse-20.txt")
BLOCK, TURNS = 60, 5
TENTHS = 10


def write_class(folder: Path, number: int) -> None:
    """Write the class of one number; twelve coaches and a series a month, over two years."""
    month, stem = (
        number % 24,
        f"{2024 + number % 24 // 12}-{number % 12 + 1:02d}-{number % 28 + 1:02d}-class-{number:05d}",
    )
    form = FORM[number % len(FORM)]
    path = folder / f"series-{month:02d}" / f"{stem}{Path(form).suffix}"
    if path.exists():
        return
    made = generate(FIRST_SEED + number)
    source, write = FORMS[form]
    path.parent.mkdir(parents=True, exist_ok=True)
    plan = yaml.safe_dump(made.plan_dict | {"coach": f"Coach {number % 12 + 1}"}, sort_keys=False)
    path.with_suffix(".yaml").write_text(plan, encoding="utf-8")
    path.write_text(write(source(made), made), encoding="utf-8")


def make_library(folder: Path, classes: int) -> None:
    """Write the classes that are not there yet."""
    with ProcessPoolExecutor() as pool:
        list(pool.map(write_class, [folder] * classes, range(classes), chunksize=20))


def command(source: Path, out: Path, jobs: int = 0) -> subprocess.Popen[str]:
    """Start an audit of a library."""
    words = [sys.executable, "-m", "analyzer", "library", "audit", source, "--out", out, "--jobs", jobs]
    return subprocess.Popen([str(word) for word in words], cwd=ROOT, stdout=subprocess.PIPE, text=True)


def done(out: Path) -> int:
    """Return how many reports are there."""
    return sum(1 for _ in out.glob("reports/*/*/report.json"))


@dataclass
class Watched:
    """A run: seconds, and (classes done, main process's MB, its workers' MB) as it went."""

    seconds: float = 0.0
    samples: list[tuple[int, float, tuple[float, ...]]] = field(default_factory=list)
    text: str = ""


def watch(source: Path, out: Path, kill_at: int = 0, every_s: float = 2.0) -> Watched:
    """Run an audit to its end, or kill it with signal 9 when so many reports are there."""
    run, began = Watched(), time.perf_counter()
    process = command(source, out)
    main = psutil.Process(process.pid)
    while process.poll() is None:
        workers = [child for child in main.children() if "spawn_main" in " ".join(safe(child))]
        sizes = [memory(worker) for worker in workers]
        count = done(out)
        run.samples.append((count, memory(main), tuple(size for size in sizes if size)))
        if kill_at and count >= kill_at:
            os.kill(process.pid, signal.SIGKILL)
            gone, alive = psutil.wait_procs(workers, timeout=30)
            assert gone, "there were workers"
            assert not alive, "workers outlive the command"
        time.sleep(every_s)
    run.text = process.communicate()[0]
    run.seconds = time.perf_counter() - began
    return run


def safe(process: psutil.Process) -> list[str]:
    try:
        return process.cmdline()
    except psutil.Error:
        return []


def memory(process: psutil.Process) -> float:
    """Return what a process alone holds, MB; 0 when it is gone."""
    try:
        return process.memory_info().rss / 2**20
    except psutil.Error:
        return 0.0


def digests(out: Path) -> dict[str, str]:
    """Return the hash of every result that counts."""
    parts = json.loads((out / "store/current.json").read_text())["parts"]
    files = [*out.glob("reports/**/*.*"), *(path for part in parts for path in (out / "store" / part).iterdir())]
    return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def differing(source: Path, out: Path, every: int) -> tuple[int, int]:
    """Return how many classes of a sample differ from an audit of each alone, and how many were looked at."""
    plans = sorted(source.glob("*/*.yaml"))[::every]
    odd = 0
    for plan in plans:
        (recording,) = (path for path in plan.parent.glob(f"{plan.stem}.*") if path != plan)
        report = out / "reports" / plan.parent.name / plan.stem / "report.json"
        odd += report.read_bytes() != report_bytes(audit_recording(recording, plan))
    return odd, len(plans)


@dataclass(frozen=True)
class Turn:
    """A block of classes on one core and on all: seconds once imports are done, and seconds of processors in all."""

    one_s: float
    all_s: float
    one_cpu_s: float
    all_cpu_s: float


def rates(source: Path, work: Path, cores: int) -> list[Turn]:
    """Audit the same block of classes on one core and on all, turn by turn."""
    folder = work / "block"
    folder.mkdir()
    for plan in sorted(source.glob("*/*.yaml"))[:BLOCK]:
        for path in plan.parent.glob(f"{plan.stem}.*"):
            shutil.copy(path, folder / path.name)
    turns = []
    for number in range(TURNS):
        one, every = timed(folder, work / f"one-{number}", 1), timed(folder, work / f"all-{number}", cores)
        turns.append(Turn(one[0], every[0], one[1], every[1]))
    return turns


def timed(folder: Path, out: Path, jobs: int) -> tuple[float, float]:
    """Return seconds from a sixth of the reports to all of them, and seconds of processors from start to end."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    process = command(folder, out, jobs)
    first = last = 0.0
    while process.poll() is None:
        now, count = time.perf_counter(), sum(1 for _ in out.glob("reports/*/report.json"))
        first = first or (now if count >= BLOCK // 6 else 0.0)
        last = last or (now if count >= BLOCK else 0.0)
        time.sleep(0.05)
    process.communicate()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return last - first, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def curve(run: Watched) -> Iterator[str]:
    """Yield the memory of a run, tenth by tenth."""
    most = max(count for count, _, _ in run.samples) or 1
    for tenth in range(TENTHS):
        rows = [s for s in run.samples if tenth <= s[0] * TENTHS / most < tenth + 1 + (tenth == TENTHS - 1) and s[2]]
        if rows:
            main, workers = (round(statistics.median(v)) for v in ([r[1] for r in rows], [max(r[2]) for r in rows]))
            yield f"| {round(most * (tenth + 1) / TENTHS)} | {main} | {workers} |"


def report(args: argparse.Namespace, work: Path) -> Iterator[str]:
    """Measure, and yield the lines of the report."""
    source, cores = work / "classes", len(os.sched_getaffinity(0))
    make_library(source, args.classes)
    size = sum(path.stat().st_size for path in source.rglob("*.*"))
    yield "# A library of generated classes"
    yield ""
    yield "Made by `python tests/benchmarks/library.py`; all in one run, nothing here is a promise for another machine."
    yield ""
    each = size / args.classes / 1000
    yield f"{args.classes} classes in four forms, {each:.0f} kB each with their plan, {cores} cores."
    load = os.getloadavg()[0]
    turns = rates(source, work, cores)
    ratio = min(turn.one_s for turn in turns) / min(turn.all_s for turn in turns)
    yield ""
    yield f"- Rate on {cores} cores against one: {ratio:.2f} times, the best of {TURNS} turns of {BLOCK} classes each."
    extra = min(turn.all_cpu_s for turn in turns) / min(turn.one_cpu_s for turn in turns)
    yield f"- Processor time on {cores} cores against one: {extra:.2f} times, imports of more processes included."
    yield f"- Load of the machine when this began: {load:.1f}; others' wish for the cores spoils the first line."
    whole = None
    if not args.once:
        whole = watch(source, work / "whole")
        yield f"- {args.classes / whole.seconds:.1f} classes a second over the whole run, imports and store included."
    out = work / "killed"
    watch(source, out, kill_at=args.classes // 2, every_s=0.2)
    at = done(out)
    resumed = watch(source, out)
    if whole is None:
        yield f"- {(args.classes - at) / resumed.seconds:.1f} classes a second, imports and store included."
    first = resumed.text.splitlines()[0]
    yield f"- Killed with signal 9 at {at} reports, its workers gone within seconds. Run again: \u201c{first}\u201d"
    if whole is None:
        odd, of = differing(source, out, max(1, args.classes // 100))
        yield f"- Held against audits one by one, {of} classes of the result: {odd} differ."
    else:
        alike = digests(out) == digests(work / "whole")
        how = "the same, byte for byte, as" if alike else "DIFFERENT from"
        yield f"- Its result is {how} that of a run without a stop."
    again = watch(source, out, every_s=0.2)
    rate = args.classes / again.seconds
    yield f"- Nothing changed: {again.text.splitlines()[0]} {rate:.0f} classes a second are looked through."
    (part,) = json.loads((out / "store/current.json").read_text())["parts"]
    store = sum(path.stat().st_size for path in (out / "store" / part).iterdir())
    reports = sum(path.stat().st_size for path in (out / "reports").rglob("report.json"))
    pages = sum(path.stat().st_size for path in (out / "reports").rglob("report.html"))
    n = args.classes * 1000
    told = f"report.json {reports / n:.0f} kB, report.html {pages / n:.0f} kB, store {store / n:.1f} kB"
    yield f"- On disk a class: {told}."
    yield ""
    yield "Memory as it goes, MB: the process that hands out the work, and the larger of its workers."
    yield ""
    yield "| classes done | main process | worker |"
    yield "| --- | --- | --- |"
    yield from curve(whole or resumed)


def main() -> None:
    """Measure and print or write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--classes", type=int, default=1000)
    parser.add_argument("--write", type=Path)
    parser.add_argument("--keep", type=Path, help="folder whose classes are used again; its results are made anew")
    parser.add_argument("--once", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as temp:
        work = args.keep or Path(temp)
        for name in ("whole", "killed", "block", *(f"{what}-{n}" for what in ("one", "all") for n in range(TURNS))):
            shutil.rmtree(work / name, ignore_errors=True)
        lines = []
        for line in report(args, work):
            print(line, flush=True)
            lines.append(line)
    if args.write:
        args.write.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
