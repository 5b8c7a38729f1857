"""Findings on invented classes, check by check, against the truth; and what coarse times claim that fine ones do not.

    python tests/benchmarks/findings.py --seeds 300-330 [--forms heard.vtt coarse-20.txt clean.vtt] [--jobs 2] [-v]
        [--timing exact|human|loose] [--clean] [--against clean.vtt]

Prints per check and form: ``fail`` findings, how many of them are true, and ``unclear`` ones; then the same over the
classes timed exactly or by a human hand; then unclear findings a class. ``-v`` lists the false ones. With ``--against``
it lists every ``fail`` of another form that the named form of the same class does not give at the same place. True is
what the generator planted, and what the checks find when they are given the true words at their true times and the
true intervals: so a fault of a spotter that a check repeats on true words does not show here.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.checks import CheckContext, default_rules, run_checks  # noqa: E402
from analyzer.language import load_language  # noqa: E402
from analyzer.model.audit import Alignment, Finding, Interval  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from analyzer.model.plan import Plan, Schedule  # noqa: E402
from analyzer.plans import make_schedule, read_plan  # noqa: E402
from analyzer.spotting import spot  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402
from tests.generator import FORMS, generate, write_case  # noqa: E402
from tests.generator.classes import GeneratedClass  # noqa: E402

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


def truth_key(check: str, place: Place) -> tuple[str, Place]:
    """Return what must agree with the truth: drift is told once where it passes its limit, give or take an interval;
    a changed order once a round."""
    if check == "start-drift":
        return check, place_of(None, None, None)
    return check, (place[0], place[1], "") if check == "order-changed" else place


def true_alignment(truth: dict, plan: Plan, schedule: Schedule) -> Alignment:
    """Return the intervals as they really ran, without uncertainty."""
    real: dict[tuple, list[dict]] = {}
    for row in truth["intervals"]:
        real.setdefault((row["block"], row["round"], row["move"], row.get("side")), []).append(row)
    rows: list[Interval] = []
    for p in schedule.intervals:
        key = (plan.blocks[p.block].name, p.round, plan.blocks[p.block].moves[p.move].name, p.side)
        found = real.get(key, [])
        times = (found[0]["start"], found[0]["end"], 0.0, 0.0) if found else (None,) * 4
        real[key] = found[1:]
        rows.append(Interval(f"i{p.index}", p.index, *key, "worked" if found else "missing", *times, 1.0))
    extra = [row for some in real.values() for row in some]
    for n, row in enumerate(extra):
        key = (row["block"], row["round"], row["move"], row.get("side"))
        rows.append(Interval(f"x{n}", None, *key, "extra", row["start"], row["end"], 0.0, 0.0, 1.0))
    worked = sorted((r for r in rows if r.status == "worked"), key=lambda r: r.start_s or 0.0)
    latest, moved = -math.inf, []
    for row in worked:
        if row.planned is not None and row.planned < latest:
            moved.append(row.id)
        latest = max(latest, row.planned or 0)
    lost = tuple((row["block"], row["round"]) for row in truth["lost_rounds"])
    return Alignment(tuple(sorted(rows, key=lambda r: (r.start_s is None, r.start_s or 0.0))), lost, tuple(moved))


def true_findings(made: GeneratedClass, case: Path, truth: dict) -> tuple[Finding, ...]:
    """Return what the checks find on the words as said, at their times, in the intervals as worked."""
    words = [{"word": w.text, "start": round(w.start, 3), "end": round(w.end, 3)} for w in made.words]
    (case / "said.json").write_text(json.dumps({"words": words}), encoding="utf-8")
    plan, transcript = read_plan(case / "plan.yaml"), read_transcript(case / "said.json")
    schedule, events = make_schedule(plan), spot(transcript, plan, load_language("en"))
    placed = true_alignment(truth, plan, schedule)
    return run_checks(CheckContext(transcript, plan, schedule, events, placed, default_rules()))


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
        planted = truth["findings"] + truth["slips"]
        real = {truth_key(r["check"], place_of(r.get("block"), r.get("round"), r.get("move"))) for r in planted}
        real |= {truth_key(f.check, where(f)) for f in true_findings(made, case, truth)}
        for form in forms:
            try:
                findings = audit_recording(case / form, case / "plan.yaml").findings
            except AnalyzerError as error:
                print(f"{case.name} {form}: {error}", file=sys.stderr)
                continue
            out += [Told(case.name, seed, made.timing, form, f, is_true(f, real, made)) for f in findings]
    return out, [made.timing]


def is_true(finding: Finding, real: set[tuple[str, Place]], made: GeneratedClass) -> bool:
    """Return True for a finding of the truth; a name is misheard where the words as said hold it near by."""
    if finding.check != "caption-misheard":
        return truth_key(finding.check, where(finding)) in real
    name = set(finding.message.split("\u201c")[-1].split("\u201d")[0].lower().replace("-", " ").split())
    reach = 20.0  # the grain of the coarser forms
    for evidence in finding.evidence:
        near = " ".join(w.text for w in made.words if abs(w.start - evidence.at_s) < reach).lower().replace("-", " ")
        if not all(word[:4] in near for word in name):
            return False
    return True


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
        for t in told:
            if _fails(t) and not t.true:
                print(f"  {t.case} ({t.timing}) {t.form} {t.finding.check} at {t.finding.at_s}: {t.finding.message}")
    if args.against:
        print_against(told, args.against)


if __name__ == "__main__":
    main()
