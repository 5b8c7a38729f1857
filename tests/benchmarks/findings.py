"""Findings on invented classes, check by check, against the truth; and what coarse times claim that fine ones do not.

    python tests/benchmarks/findings.py --seeds 300-330 [--forms heard.vtt coarse-20.txt clean.vtt] [--jobs 2] [-v]
        [--timing exact|human|loose] [--clean] [--against clean.vtt]

Prints per check and form: ``fail`` findings, how many of them the truth tells, and ``unclear`` ones; then the same
``fail`` counts over the classes timed exactly or by a human hand; then unclear findings a class. With ``--against`` it
lists every ``fail`` of another form that the named form of the same class does not give at the same place. The truth
tells slips, lost parts and wrong time calls; of the other checks (breath, silence, pace...) it says nothing, so there
a ``fail`` outside the truth is not yet a false one: read the list that ``-v`` prints.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.model.audit import Finding  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from tests.generator import FORMS, generate, write_case  # noqa: E402

Place = tuple[str, int | None, str]


@dataclass
class Told:
    """One finding of one class in one form; ``true`` when the truth has it at this place."""

    case: str
    seed: int
    timing: str
    form: str
    finding: Finding
    true: bool


def place_of(block: str | None, number: int | None, move: str | None) -> Place:
    """Return a place to compare by, side left out."""
    return (block or "").lower(), number, (move or "").lower()


def where(finding: Finding) -> Place:
    """Return the place of a finding."""
    return place_of(finding.block, finding.round, finding.move)


def run_class(job: tuple[int, str | None, tuple[str, ...], bool]) -> tuple[list[Told], list[str]]:
    """Audit one class in every form. Gives its findings, and the names of the classes run (none when left out)."""
    seed, timing, forms, clean = job
    made = generate(seed, timing=timing)
    if clean and (made.slips or made.lost_rounds):
        return [], []
    out: list[Told] = []
    with tempfile.TemporaryDirectory() as temp:
        case = Path(temp) / f"{seed:05d}-{made.style}-{made.shape}"
        write_case(made, case, forms)
        truth = json.loads((case / "truth.json").read_text())
        real = {
            (r["check"], place_of(r.get("block"), r.get("round"), r.get("move")))
            for r in truth["findings"] + truth["slips"]
        }
        for form in forms:
            try:
                findings = audit_recording(case / form, case / "plan.yaml").findings
            except AnalyzerError as error:
                print(f"{case.name} {form}: {error}", file=sys.stderr)
                continue
            out += [Told(case.name, seed, made.timing, form, f, (f.check, where(f)) in real) for f in findings]
    return out, [made.timing]


def print_counts(told: list[Told], forms: tuple[str, ...]) -> None:
    """Print a row a check: fails/of them true/unclear in every form."""
    print("| check |", " | ".join(f"{form} fail/true/unclear" for form in forms), "|")
    print("| --- " * (1 + len(forms)) + "|")
    for check in sorted({t.finding.check for t in told}):
        cells = []
        for form in forms:
            rows = [t for t in told if t.finding.check == check and t.form == form]
            fails = [t for t in rows if t.finding.verdict == "fail"]
            cells.append(f"{len(fails)}/{sum(t.true for t in fails)}/{len(rows) - len(fails)}")
        print("|", " | ".join([check, *cells]), "|")


def print_unclear(told: list[Told], forms: tuple[str, ...]) -> None:
    """Print how long the list of unclear findings is."""
    for form in forms:
        counts = Counter(t.case for t in told if t.form == form and t.finding.verdict == "unclear")
        lengths = sorted(counts.get(case, 0) for case in {t.case for t in told})
        if lengths:
            print(f"unclear a class, {form}: median {lengths[len(lengths) // 2]}, most {lengths[-1]}")


def print_against(told: list[Told], against: str) -> None:
    """List every fail that the form ``against`` of the same class does not give at the same place."""
    base = {(t.case, t.finding.check, where(t.finding)) for t in told if t.form == against and _fails(t)}
    more = [
        t for t in told if t.form != against and _fails(t) and (t.case, t.finding.check, where(t.finding)) not in base
    ]
    print(f"\n{len(more)} fails that {against} does not give:", dict(Counter((t.form, t.finding.check) for t in more)))
    for t in more:
        print(f"  {t.case} ({t.timing}) {t.form} {t.finding.check}{' TRUE' if t.true else ''}: {t.finding.message}")


def _fails(told: Told) -> bool:
    return told.finding.verdict == "fail"


def main() -> None:
    """Read the options, run, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="300-330")
    parser.add_argument("--forms", nargs="+", default=["heard.vtt", "coarse-20.txt", "clean.vtt"], choices=list(FORMS))
    parser.add_argument("--timing", choices=["exact", "human", "loose"])
    parser.add_argument("--clean", action="store_true", help="only classes without any slip or edit")
    parser.add_argument("--against", choices=list(FORMS))
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("-v", action="store_true")
    args = parser.parse_args()
    first, _, last = args.seeds.partition("-")
    forms = tuple(args.forms)
    jobs = [(seed, args.timing, forms, args.clean) for seed in range(int(first), int(last or first) + 1)]
    with ProcessPoolExecutor(args.jobs) as pool:
        results = list(pool.map(run_class, jobs))
    told = [t for some, _ in results for t in some]
    print(f"{sum(len(names) for _, names in results)} classes\n")
    print_counts(told, forms)
    tidy = [t for t in told if t.timing in ("exact", "human")]
    print("\ntimed exactly or by a human hand\n")
    print_counts(tidy, forms)
    print_unclear(told, forms)
    if args.v:
        for t in tidy:
            if _fails(t) and not t.true:
                print(f"  {t.case} ({t.timing}) {t.form} {t.finding.check} at {t.finding.at_s}: {t.finding.message}")
    if args.against:
        print_against(told, args.against)


if __name__ == "__main__":
    main()
