"""How well plans drawn from a recording match what was really worked, form by form.

    python tests/benchmarks/drafts.py [--cases FOLDER] [--seeds A-B] [--form NAME] [-v]

An interval of the truth is drawn when the draft has one that shares more than half of its time, under a name that
means the same move (letters alike once articles and endings are off, nicknames of plan and draft included), with a
length within 5 s. Prints the share drawn, the share with the length right whatever the name, the share with the name
right whatever the length, and drafted intervals that meet no true one.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from rapidfuzz import fuzz

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.audit import audit_recording  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.plans import read_plan  # noqa: E402
from analyzer.spotting.names import split_words, stem  # noqa: E402
from tests.generator import generate, write_case  # noqa: E402

WITHIN_S = 5.0
ALIKE = 88.0
ARTICLES = frozenset({"a", "an", "the"})
FORMS = ("words.json", "clean.vtt", "heard.vtt", "asr.vtt", "asr.json")


@dataclass
class Tally:
    """Counts of one form."""

    true: int = 0
    drawn: int = 0
    lengths: int = 0
    names: int = 0
    extra: int = 0
    notes: list[str] = field(default_factory=list)


def spellings(plan: Plan) -> dict[str, set[str]]:
    """Return name -> all its spellings, over a plan."""
    found: dict[str, set[str]] = {}
    for block in plan.blocks:
        for move in block.moves:
            found.setdefault(move.name.lower(), set()).update(
                " ".join(stem(word) for word in split_words(text) if word not in ARTICLES)
                for text in (move.name, *move.also)
            )
    return found


def same_move(ours: set[str], theirs: set[str]) -> bool:
    """Tell whether two sets of spellings mean the same move."""
    return any(fuzz.token_sort_ratio(a, b) >= ALIKE for a in ours for b in theirs)


def tally(path: Path, plan: Plan, truth: list[dict[str, Any]], into: Tally, label: str) -> None:
    """Draft one recording and count."""
    audit = audit_recording(path)
    rows = [
        SimpleNamespace(
            move=iv.move, start_s=iv.start_s, end_s=iv.end_s, work_s=audit.schedule.intervals[iv.planned].work_s
        )
        for iv in audit.alignment.intervals
        if iv.status == "worked" and iv.planned is not None
    ]
    ours, theirs = spellings(audit.plan), spellings(plan)
    met = set()
    for true in truth:
        into.true += 1
        best, shared = None, 0.0
        for row in rows:
            over = min(row.end_s, true["end"]) - max(row.start_s, true["start"])
            share = over / max(row.end_s - row.start_s, true["end"] - true["start"])
            if share > shared:
                best, shared = row, share
        if best is None or over_half(best, true) <= 0.5:
            into.notes.append(f"{label}: {true['move']} {true['start']:.0f}-{true['end']:.0f} not met")
            continue
        met.add(id(best))
        length = abs(best.work_s - (true["end"] - true["start"])) <= WITHIN_S
        name = same_move(ours[best.move.lower()], theirs.get(true["move"].lower(), {true["move"].lower()}))
        into.lengths += length
        into.names += name
        into.drawn += length and name
        if not (length and name):
            into.notes.append(
                f"{label}: {true['move']} {true['start']:.0f}-{true['end']:.0f} drawn as {best.move} "
                f"{best.work_s:.0f} s ({best.start_s:.0f}-{best.end_s:.0f})"
            )
    for row in rows:
        if id(row) not in met:
            into.extra += 1
            into.notes.append(f"{label}: extra {row.move} {row.start_s:.0f}-{row.end_s:.0f}")


def over_half(row: Any, true: dict[str, Any]) -> float:
    """Return the shared time as a share of the shorter one."""
    over = min(row.end_s, true["end"]) - max(row.start_s, true["start"])
    return float(over / min(row.end_s - row.start_s, true["end"] - true["start"]))


def run(cases: Path, seeds: range | None, only: str | None, verbose: bool) -> None:
    """Draft everything and print the table."""
    tallies: dict[str, Tally] = {}
    if seeds is None:
        for case in sorted(path for path in cases.iterdir() if (path / "truth.json").exists()):
            truth = json.loads((case / "truth.json").read_text())["intervals"]
            for path in sorted(case.iterdir()):
                if path.name in FORMS and only in (None, path.name):
                    form = path.name + (" (loose)" if case.name.endswith("-loose") else "")
                    tally(path, read_plan(case / "plan.yaml"), truth, tallies.setdefault(form, Tally()), case.name)
    else:
        with tempfile.TemporaryDirectory() as folder:
            for seed in seeds:
                made = generate(seed)
                path = Path(folder) / str(seed) / (only or "clean.vtt")
                write_case(made, path.parent, [path.name])
                tally(path, made.plan, made.intervals, tallies.setdefault(path.name, Tally()), str(seed))
    print("| form | intervals | drawn | length right | name right | extra |\n| --- | --- | --- | --- | --- | --- |")
    for form, t in sorted(tallies.items()):
        shares = " | ".join(f"{count / t.true:.0%}" for count in (t.drawn, t.lengths, t.names))
        print(f"| {form} | {t.true} | {shares} | {t.extra} |")
        if verbose:
            print(*(f"    {note}" for note in t.notes), sep="\n")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=Path, default=ROOT / "sample_data")
    parser.add_argument("--seeds")
    parser.add_argument("--form")
    parser.add_argument("-v", action="store_true")
    args = parser.parse_args()
    first, _, last = (args.seeds or "").partition("-")
    run(args.cases, range(int(first), int(last) + 1) if args.seeds else None, args.form, args.v)
