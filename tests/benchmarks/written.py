"""How well hand-written classes are understood: boundaries, then options, calls, promises and findings, form by form.

    python tests/benchmarks/written.py [--from classes|heldout] [--form NAME] [-v]

Every class is laid out as its author timed it and once looser, with true calls and slipped work. Options, calls and
promises are right when the author marked one of their kind (a promise: of that much) within five seconds; findings
when check and place agree. Of the loose recordings only boundaries and slips are known. Classes in ``heldout`` only
measure: do not look at them (``-v``) to change anything.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.benchmarks import accuracy  # noqa: E402
from tests.written.cases import write_cases  # noqa: E402

Row = dict[str, Any]
NEAR_S = 5.0
SLIPS = ("interval-long", "interval-short")
KNOWN = {
    *SLIPS, "rest-long", "rest-short", "time-call-off", "easier-missing", "easier-late", "cue-missing", "name-missing",
    "move-missing", "move-extra", "round-missing", "order-changed", "count-broken", "count-late", "count-pace",
    "side-missing", "side-uneven", "promise-broken",
}  # fmt: skip
"""Checks of which authors told every case."""
AMOUNTS = ("rounds", "moves", "seconds")
TOLD = ("options", "calls", "promises", "findings")


def pairs(wanted: Sequence[Row], told: Sequence[Row], same: Callable[[Row, Row], bool]) -> Iterator[tuple[Row, Row]]:
    """Give each wanted row with the first one told that is the same and not taken yet."""
    left = list(told)
    for row in wanted:
        for other in left:
            if same(row, other):
                left.remove(other)
                yield row, other
                break


def tags_of(truth: Row, kinds: Sequence[str]) -> list[Row]:
    """Return the author's marks of these kinds."""
    return [{**tag, "kind": tag["tag"].split()[0]} for tag in truth["tags"] if tag["tag"].split()[0] in kinds]


def same_time(kind: str) -> Callable[[Row, Row], bool]:
    """Tell what is told of the same kind (key ``kind``) at the time of a mark."""
    return lambda mark, own: mark["kind"] == own[kind] and mark["at"] - NEAR_S <= own["at"] <= mark["end"] + NEAR_S


def promised(truth: Row) -> list[Row]:
    """Return the promises that the author marked."""
    marks = [(tag["tag"].split(), tag) for tag in tags_of(truth, ("promise",))]
    return [{**tag, "kind": words[1], "value": float(words[2])} for words, tag in marks if words[1] in AMOUNTS]


def same_promise(mark: Row, own: Row) -> bool:
    """Tell a promise of as many of the same at the time of a mark."""
    return same_time("kind")(mark, own) and mark["value"] == own["said"]


def same_place(wanted: Row, told: Row) -> bool:
    """Tell a finding of the same check at a place that does not contradict."""
    if wanted["check"] != told["check"]:
        return False
    return all(
        str(wanted[key]).lower() == str(told[key]).lower()
        for key in ("block", "round", "move")
        if wanted.get(key) and told.get(key)
    )


def counted(report: Row, truth: Row, into: Counter[str], notes: list[str], case: str) -> None:
    """Add what one report tells to the counts."""
    rows: list[tuple[str, list[Row], list[Row], Callable[[Row, Row], bool]]] = []
    if not truth.get("loose"):
        rows.append(("options", tags_of(truth, ("easier", "harder")), report["options"], same_time("direction")))
        rows.append(("calls", tags_of(truth, ("left", "gone", "half", "count")), report["calls"], same_time("kind")))
        own = [promise for promise in report["promises"] if promise["kind"] in AMOUNTS]
        rows.append(("promises", promised(truth), own, same_promise))
        known = [f for f in truth["findings"] if f["check"] in KNOWN]
        failed = [f for f in report["findings"] if f["check"] in KNOWN and f["verdict"] == "fail"]
        rows.append(("findings", known, failed, same_place))
    for name, wanted, told, same in rows:
        hits = list(pairs(wanted, told, same))
        into.update({f"{name} wanted": len(wanted), f"{name} told": len(told), f"{name} hit": len(hits)})
        found, right = ([id(pair[k]) for pair in hits] for k in (0, 1))
        notes += [f"{case}: not told: {brief(row)}" for row in wanted if id(row) not in found]
        notes += [f"{case}: not so: {brief(row)}" for row in told if id(row) not in right]


def brief(row: Row) -> str:
    """Return a mark, a call, an option or a finding in one line."""
    keys = ("at", "check", "tag", "kind", "direction", "said", "block", "round", "move", "text", "note", "message")
    return ", ".join(str(row[key]) for key in keys if row.get(key) is not None)


def run(source: str, form: str | None = None, verbose: bool = False) -> None:
    """Audit every written class of a folder and print both tables."""
    counts: dict[str, Counter[str]] = {}
    notes: dict[str, list[str]] = {}
    with tempfile.TemporaryDirectory() as temp:
        cases, reports = Path(temp) / "cases", Path(temp) / "reports"
        write_cases(cases, source)
        accuracy.run(cases, reports, form, verbose)
        for path in sorted(reports.glob("*/*/report.json")):
            truth = json.loads((cases / path.parent.name / "truth.json").read_text(encoding="utf-8"))
            name = path.parent.parent.name
            own = counts.setdefault(name, Counter()), notes.setdefault(name, [])
            counted(json.loads(path.read_text(encoding="utf-8")), truth, *own, path.parent.name)
    print("\n| form | " + " | ".join(f"{name}, precision | recall" for name in TOLD) + " |")
    print("| --- " * (1 + 2 * len(TOLD)) + "|")
    for name, count in counts.items():
        cells = [
            f"{count[f'{what} hit'] / max(1, count[f'{what} {of}']):.2f}" for what in TOLD for of in ("told", "wanted")
        ]
        print(f"| {name} | " + " | ".join(cells) + " |")
        if verbose:
            print(*(f"    {note}" for note in notes[name]), sep="\n")


def main() -> None:
    """Read the options and run."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--from", dest="source", default="classes", choices=["classes", "heldout"])
    parser.add_argument("--form")
    parser.add_argument("-v", action="store_true")
    args = parser.parse_args()
    run(args.source, args.form, args.v)


if __name__ == "__main__":
    main()
