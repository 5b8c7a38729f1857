"""Boundary accuracy and verdicts on invented classes, form by form.

    python tests/benchmarks/generated.py --seeds 100-160 [--forms words.json clean.vtt ...] [--jobs 2] [-v]
        [--style NAME] [--shape NAME] [--timing exact|human|loose] [--keep FOLDER] [--baselines]

Generates the classes into a temporary folder (or FOLDER) and prints the table of ``accuracy.py`` per form, then split
by style, by shape and by timing, pooled over the fine forms and over the coarse ones; then lost rounds found, slips of
interval lengths told as ``fail`` or ``unclear``, and false ``fail`` verdicts.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.model.audit import Audit  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from tests.benchmarks.accuracy import Tally, print_reliability, print_table, tally, tally_baselines  # noqa: E402
from tests.generator import FORMS, generate, write_case  # noqa: E402

LENGTHS = ("interval-long", "interval-short")
OTHERS = {"time-call-off": 3, "move-missing": 3, "move-extra": 2, "round-missing": 2, "order-changed": 2}
"""Other checks to tally, and how much of the place must agree: block and round, or the move too."""


@dataclass
class Result:
    """One class in one form."""

    seed: int
    style: str
    shape: str
    timing: str
    form: str
    tally: Tally
    counts: Counter[str] = field(default_factory=Counter)


def place(row: dict) -> tuple:
    """Return where a finding of the truth or of a report stands, side left out."""
    return (str(row.get("block") or "").lower(), row.get("round"), str(row.get("move") or "").lower())


def verdicts(audit: Audit, truth: dict) -> tuple[Counter[str], list[str]]:
    """Return counts of right and false verdicts, and a note for each false one."""
    counts: Counter[str] = Counter()
    notes: list[str] = []
    lost = {(row["block"].lower(), row["round"]) for row in truth["lost_rounds"]}
    told_lost = {(str(block).lower(), number) for block, number in audit.alignment.lost_rounds}
    counts["lost"] += len(lost)
    counts["lost found"] += len(lost & told_lost)
    counts["lost false"] += len(told_lost - lost)
    told = [
        (f.check, f.verdict, place({"block": f.block, "round": f.round, "move": f.move}), f.at_s, f.message)
        for f in audit.findings
    ]
    slips = [s for s in truth["slips"] if s["check"] in LENGTHS]
    true_places = {(s["check"], place(s)) for s in slips}
    for slip in slips:
        hit = {verdict for check, verdict, where, *_ in told if check == slip["check"] and where == place(slip)}
        kind = "fail" if "fail" in hit else "unclear" if hit else "untold"
        counts[f"slip {kind}"] += 1
        far = "far " if abs(slip["seconds"]) >= 10 else ""
        if far:
            counts[f"far slip {kind}"] += 1
    for check, verdict, where, at, message in told:
        if check in LENGTHS and (check, where) not in true_places:
            counts[f"false {verdict}"] += 1
            if verdict == "fail":
                notes.append(f"false {check} at {at}: {message}")
    for name, depth in OTHERS.items():
        real = {place(f)[:depth] for f in truth["findings"] if f["check"] == name}
        got = {kind: {w[:depth] for c, v, w, *_ in told if c == name and v == kind} for kind in ("fail", "unclear")}
        counts[f"{name} true"] += len(real)
        counts[f"{name} fail"] += len(real & got["fail"])
        counts[f"{name} unclear"] += len((real & got["unclear"]) - got["fail"])
        counts[f"{name} false"] += len(got["fail"] - real)
    return counts, notes


Job = tuple[int, str | None, str | None, str | None, tuple[str, ...], str, bool]


def run_class(job: Job) -> list[Result]:
    """Generate one class, audit it in every form, and return a result a form."""
    seed, style, shape, timing, forms, folder, baselines = job
    made = generate(seed, style, shape, timing)
    case = Path(folder) / f"{seed:05d}-{made.style}-{made.shape}"
    write_case(made, case, forms)
    truth = json.loads((case / "truth.json").read_text())
    results = []
    for form in forms:
        result = Result(seed, made.style, made.shape, made.timing, form, Tally())
        began = time.perf_counter()
        try:
            audit = audit_recording(case / form, case / "plan.yaml")
        except Exception as error:  # one crash must not hide the other classes: it is counted and told
            result.tally.intervals += len(truth["intervals"])
            result.counts["refused" if isinstance(error, AnalyzerError) else "crashed"] += 1
            result.tally.notes.append(f"{case.name} {form}: {type(error).__name__}: {error}")
            print(result.tally.notes[-1], file=sys.stderr)
        else:
            result.tally.seconds.append(time.perf_counter() - began)
            tally(audit, truth, result.tally, case.name)
            result.counts, notes = verdicts(audit, truth)
            result.tally.notes += [f"{case.name}: {note}" for note in notes]
        results.append(result)
        plain: dict[str, Tally] = {}
        if baselines and result.tally.seconds:
            tally_baselines(audit, truth, plain, form, case.name)
        results += [Result(seed, made.style, made.shape, made.timing, name, some) for name, some in plain.items()]
    return results


def pooled(results: list[Result], key: str) -> dict[str, Tally]:
    """Return the tallies added up by one field of the results."""
    sums: dict[str, Tally] = {}
    for result in results:
        into = sums.setdefault(getattr(result, key), Tally())
        for name in ("intervals", "found", "false", "errors", "covered", "seconds", "notes", "claims", "hits"):
            setattr(into, name, getattr(into, name) + getattr(result.tally, name))
    return sums


def print_verdicts(results: list[Result]) -> None:
    """Print lost rounds, slips and false verdicts, a row a form."""
    for kind in ("refused", "crashed"):
        print(f"\n{kind}: {sum(r.counts[kind] for r in results)} of {len(results)}", end="")
    print("\n\n| form | lost rounds (false) | slips fail/unclear/untold | from 10 s | false fails (unclear) | ", end="")
    print(" | ".join(f"{name} fail+unclear/true (false)" for name in OTHERS), "|")
    print("| --- " * (5 + len(OTHERS)) + "|")
    for form in sorted({r.form for r in results}):
        c: Counter[str] = Counter()
        for result in results:
            if result.form == form:
                c.update(result.counts)
        slips, far = (
            "/".join(str(c[f"{kind} {v}"]) for v in ("fail", "unclear", "untold")) for kind in ("slip", "far slip")
        )
        row = [form, f"{c['lost found']}/{c['lost']} ({c['lost false']})", slips, far]
        row.append(f"{c['false fail']} ({c['false unclear']})")
        row += [f"{c[f'{n} fail']}+{c[f'{n} unclear']}/{c[f'{n} true']} ({c[f'{n} false']})" for n in OTHERS]
        print("|", " | ".join(row), "|")


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="100-120")
    parser.add_argument("--forms", nargs="+", default=list(FORMS), choices=list(FORMS))
    parser.add_argument("--style")
    parser.add_argument("--shape")
    parser.add_argument("--timing")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--baselines", action="store_true")
    parser.add_argument("-v", action="store_true")
    args = parser.parse_args()
    first, _, last = args.seeds.partition("-")
    seeds = range(int(first), int(last or first) + 1)
    with tempfile.TemporaryDirectory() as temp:
        folder = str(args.keep or temp)
        wanted = (args.style, args.shape, args.timing, tuple(args.forms), folder, args.baselines)
        results = run_all([(seed, *wanted) for seed in seeds], args.jobs)
    print_all(results, args.v)


def run_all(jobs: list[Job], workers: int) -> list[Result]:
    """Run the classes on some processes and return every result in order."""
    if workers == 1:
        return [result for job in jobs for result in run_class(job)]
    with ProcessPoolExecutor(workers) as pool:
        return [result for made in pool.map(run_class, jobs) for result in made]


def print_all(results: list[Result], verbose: bool = False) -> None:
    """Print every table."""
    print_table(pooled(results, "form"), verbose)
    results = [result for result in results if result.form in FORMS]
    print("\nconfidence: claims, what was said of them on average, and the share that is right\n")
    print_reliability(pooled(results, "form"))
    for title, some in (
        ("word and caption times", [r for r in results if not r.form.startswith("coarse")]),
        ("stamps", [r for r in results if r.form.startswith("coarse")]),
    ):
        for key in ("style", "shape", "timing") if some else ():
            print(f"\n{title}, by {key}\n")
            print_table(pooled(some, key), head=key)
    print_verdicts(results)


if __name__ == "__main__":
    main()
