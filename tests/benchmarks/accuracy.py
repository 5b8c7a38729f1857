"""Boundary accuracy on annotated classes, form by form.

    python tests/benchmarks/accuracy.py [--cases FOLDER] [--reports FOLDER] [--form NAME] [--baselines] [-v]

A case is a folder with ``plan.yaml``, ``truth.json`` and the recording in one or more forms. Prints, per form:
intervals found, false ones, boundary error (median, 90th percentile), share within 1, 3 and 5 s, the boundary hit
rate F at 3 s (any boundary near any other, as mir_eval defines it), share of true boundaries inside start/end +- 2u,
and seconds an audit. With ``--reports`` also writes FOLDER/FORM/CASE/report.json. A case whose name ends in ``-loose``
is counted apart. ``--baselines`` adds a row a form for each plain way to place the plan of ``baselines.py`` (needs
dtw-python); these give no uncertainty, so nothing is inside U.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import mir_eval
import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.model.audit import Audit, Interval  # noqa: E402
from analyzer.model.errors import AnalyzerError  # noqa: E402
from analyzer.reports.report_json import report_bytes  # noqa: E402
from tests.benchmarks.baselines import BASELINES, likeness, placed_by  # noqa: E402


@dataclass
class Tally:
    """Errors and counts of one form."""

    intervals: int = 0
    found: int = 0
    false: int = 0
    errors: list[float] = field(default_factory=list)
    covered: int = 0
    seconds: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    hits: list[float] = field(default_factory=list)
    """Boundary hit rate F at ``HIT_WINDOW_S`` of each audit."""
    claims: list[tuple[float, bool]] = field(default_factory=list)
    """Confidence that an interval was worked where it is placed (or is missing), and whether that is so."""


HIT_WINDOW_S = 3.0


def hit_rate(reference_s: Sequence[float], estimated_s: Sequence[float], window_s: float) -> tuple[float, float, float]:
    """Return precision, recall and F of boundaries hit within a window, whatever they belong to.

    Hits are a largest one-to-one matching; a distance equal to the window counts, as in mir_eval's boundary detection.
    """
    if not len(reference_s) or not len(estimated_s):
        return 0.0, 0.0, 0.0
    hits = len(mir_eval.util.match_events(np.sort(reference_s), np.sort(estimated_s), window_s))
    precision, recall = hits / len(estimated_s), hits / len(reference_s)
    return precision, recall, mir_eval.util.f_measure(precision, recall)


def key(block: str, round_: int, move: str, side: str | None) -> tuple[str, int, str, str | None]:
    return block.lower(), round_, move.lower(), side


def tally(audit: Audit | SimpleNamespace, truth: dict, into: Tally, case: str) -> None:
    """Add one audit's boundaries to the tally."""
    worked = {key(i.block, i.round, i.move, i.side): i for i in audit.alignment.intervals if i.status == "worked"}
    planned = {(b.name.lower(), m.name.lower()) for b in audit.plan.blocks for m in b.moves}
    known = set()
    for true in truth["intervals"]:
        k = key(true["block"], true["round"], true["move"], true.get("side"))
        known |= {k, (*k[:3], None)}
        if (k[0], k[2]) not in planned:
            continue
        into.intervals += 1
        got = worked.get(k) or worked.get((*k[:3], None))
        if got is None:
            into.notes.append(f"{case}: {k} not found (true {true['start']}-{true['end']})")
            continue
        into.found += 1
        for name, u in (("start", got.start_u), ("end", got.end_u)):
            error = getattr(got, f"{name}_s") - true[name]
            into.errors.append(abs(error))
            into.covered += abs(error) <= 2 * u
            if abs(error) > 3:
                off = f"{true[name]:.1f} off {error:+.1f} s, u {u:.1f}, conf {got.confidence:.2f}"
                into.notes.append(f"{case}: {k} {name} {off}")
    into.false += sum(k not in known for k in worked)
    placed = [t for iv in worked.values() for t in (iv.start_s, iv.end_s)]
    wanted = [t for true in truth["intervals"] for t in (true["start"], true["end"])]
    into.hits.append(hit_rate(wanted, placed, HIT_WINDOW_S)[2])
    real = {key(t["block"], t["round"], t["move"], t.get("side")): t for t in truth["intervals"]}
    for iv in audit.alignment.intervals:
        true = real.get(key(iv.block, iv.round, iv.move, iv.side))
        if iv.status == "missing":
            into.claims.append((iv.confidence, true is None))
        elif iv.status == "worked":
            into.claims.append((iv.confidence, true is not None and overlap(iv, true) >= 0.5))


def overlap(placed: Interval | SimpleNamespace, true: dict) -> float:
    """Return the shared time of two intervals as a share of the longer one."""
    shared = min(placed.end_s, true["end"]) - max(placed.start_s, true["start"])
    return max(0.0, shared) / max(placed.end_s - placed.start_s, true["end"] - true["start"])


def tally_baselines(audit: Audit, truth: dict, tallies: dict[str, Tally], form: str, case: str) -> None:
    """Add what the plain ways of placing make of the same transcript and plan, under ``FORM, NAME``."""
    began = time.perf_counter()
    like = likeness(audit.transcript, audit.plan, audit.schedule)
    spent = time.perf_counter() - began
    for name in BASELINES:
        began = time.perf_counter()
        placed = placed_by(name, like, audit.plan, audit.schedule)
        into = tallies.setdefault(f"{form}, {name}", Tally())
        into.seconds.append(spent + time.perf_counter() - began)
        tally(placed, truth, into, case)


def run(cases: Path, reports: Path | None, only: str | None, verbose: bool, baselines: bool = False) -> None:
    """Audit every case in every form and print the table."""
    tallies: dict[str, Tally] = {}
    for case in sorted(p for p in cases.iterdir() if (p / "truth.json").exists()):
        truth = json.loads((case / "truth.json").read_text())
        for path in sorted(case.iterdir()):
            if path.name in ("plan.yaml", "truth.json") or (only and path.name != only):
                continue
            form = path.name + (" (loose)" if case.name.endswith("-loose") else "")
            into = tallies.setdefault(form, Tally())
            began = time.perf_counter()
            try:
                audit = audit_recording(path, case / "plan.yaml")
            except AnalyzerError as error:
                into.notes.append(f"{case.name}: {error}")
                into.intervals += len(truth["intervals"])
                continue
            into.seconds.append(time.perf_counter() - began)
            tally(audit, truth, into, case.name)
            if baselines:
                tally_baselines(audit, truth, tallies, form, case.name)
            if reports is not None:
                out = reports / path.name / case.name
                out.mkdir(parents=True, exist_ok=True)
                (out / "report.json").write_bytes(report_bytes(audit))
    print_table(tallies, verbose)


def print_table(tallies: dict[str, Tally], verbose: bool = False, head: str = "form") -> None:
    """Print one row a tally."""
    print(f"| {head} | found | false | median s | p90 s | within 1 s | 3 s | 5 s | hit F | inside U | s an audit |")
    print("| --- " * 11 + "|")
    for form, t in sorted(tallies.items()):
        e = np.array(t.errors or [np.nan])
        n = max(1, 2 * t.intervals)
        shares = " | ".join(f"{(e <= s).sum() / n:.0%}" for s in (1, 3, 5))
        print(
            f"| {form} | {t.found}/{t.intervals} | {t.false} | {np.median(e):.2f} | {np.quantile(e, 0.9):.1f} "
            f"| {shares} | {np.mean(t.hits or [0]):.2f} | {t.covered / max(1, len(t.errors)):.0%} "
            f"| {np.mean(t.seconds or [0]):.2f} |"
        )
        if verbose:
            print(*(f"    {note}" for note in t.notes), sep="\n")


def print_reliability(tallies: dict[str, Tally]) -> None:
    """Print how often the claims of each confidence are right, a row a form."""
    edges = (0.0, 0.5, 0.8, 0.95, 0.99, 1.01)
    heads = [f"{a:.2f} to {min(b, 1.0):.2f}" for a, b in pairwise(edges)]
    print("| form | " + " | ".join(heads) + " |")
    print("| --- " * (len(heads) + 1) + "|")
    for form, t in sorted(tallies.items()):
        cells = []
        for a, b in pairwise(edges):
            some = [(c, right) for c, right in t.claims if a <= c < b]
            said, right = (sum(s[k] for s in some) / max(1, len(some)) for k in (0, 1))
            cells.append(f"{len(some)}: said {said:.2f}, right {right:.2f}" if some else "none")
        print(f"| {form} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=Path, default=ROOT / "sample_data")
    parser.add_argument("--reports", type=Path)
    parser.add_argument("--form")
    parser.add_argument("--baselines", action="store_true")
    parser.add_argument("-v", action="store_true")
    args = parser.parse_args()
    run(args.cases, args.reports, args.form, args.v, args.baselines)
