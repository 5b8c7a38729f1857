"""Written classes as cases: plan, truth, and the recording in many forms, on time and loose.

    python -m tests.written.cases FOLDER [--from heldout]
    python -m tests.written.cases --check SCRIPT

The second form says what an author wants to know of a script: how long everything ran, and what the marks imply.
"""

from __future__ import annotations

import argparse
import json
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from analyzer.model.plan import Plan
from analyzer.plans import read_plan
from tests.generator.classes import Line, Word
from tests.generator.forms import rollup, stamped, vtt, words_json
from tests.generator.noise import as_digits, hear
from tests.written.loosen import loosened
from tests.written.script import Script, place, read_script, truth

HERE = Path(__file__).resolve().parent
WRITERS = {
    "clean.vtt": vtt,
    "heard.vtt": vtt,
    "rollup.vtt": rollup,
    "words.json": words_json,
    "coarse.txt": stamped(20),
}
MISHEARD = 1.0  # share of the generator's own errors, on top of those in the script
SLIP_S = 5.0


def lines_of(script: Script, heard: bool) -> list[Line]:
    """Return the lines with their words' times from the start of the recording."""
    found = []
    for line in script.lines:
        at = line.start_s or 0.0
        words = line.words if heard else line.clean
        spans = [Word(w.text, at + w.start_s, at + w.start_s + w.length_s) for w in words]
        found.append(Line(spans, line.tags))
    return found


def written(folder: str = "classes") -> Iterator[tuple[str, Path]]:
    """Give the name and the script of every written class."""
    for path in sorted((HERE / folder).glob("*.script")):
        yield path.stem, path


def seed_of(name: str) -> int:
    """Return a number that belongs to a name, the same on every machine."""
    return sum((k + 1) * ord(letter) for k, letter in enumerate(name))


def write_cases(folder: Path, source: str = "classes") -> None:
    """Write every written class, and its looser recording, as a case folder each."""
    for name, path in written(source):
        script = read_script(path)
        place(script.lines)
        write_case(folder / name, path.with_suffix(".yaml"), script, truth(script))
        loose = loosened(script, name)
        known = {**truth(loose), "findings": [], "traps": [], "loose": True}
        write_case(folder / f"{name}-loose", path.with_suffix(".yaml"), loose, known)


def learnable() -> Iterator[tuple[Path, dict[str, Any]]]:
    """Give the folder of every written class that may be learnt from, as a case for as long as it is looked at, and
    its truth."""
    for name, path in written():
        script = read_script(path)
        place(script.lines)
        known = truth(script)
        with tempfile.TemporaryDirectory() as temp:
            write_case(Path(temp) / name, path.with_suffix(".yaml"), script, known)
            yield Path(temp) / name, known


def write_case(folder: Path, plan: Path, script: Script, known: dict[str, Any]) -> None:
    """Write one case."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(plan, folder / "plan.yaml")
    (folder / "truth.json").write_text(json.dumps(known, indent=1) + "\n", encoding="utf-8")
    seed = seed_of(folder.name)
    said = [word for line in lines_of(script, heard=False) for word in line.words]
    heard = hear(lines_of(script, heard=True), seed, MISHEARD)
    if seed % 2:
        heard = as_digits(heard)
    for form, write in WRITERS.items():
        words = said if form.startswith("clean") else heard
        (folder / form).write_text(write(words, SimpleNamespace(seed=seed)), encoding="utf-8")


def planned_s(plan: Plan, block: str, move: str) -> float | None:
    """Return the planned work of a move on one side, seconds; nothing when the plan does not have it."""
    for part in plan.blocks:
        for row in part.moves:
            if (part.name.lower(), row.name.lower()) == (block.lower(), move.lower()):
                return row.work_s / (2 if row.side == "each" else 1)
    return None


def check(path: Path) -> list[str]:
    """Return what an author wants to know of a script."""
    script = read_script(path)
    place(script.lines)
    plan, known = read_plan(path.with_suffix(".yaml")), truth(script)
    told = {(note[1], id(script.lines[note[4]])) for note in script.notes if note[0] == "!"}
    words = sum(len(line.clean) for line in script.lines)
    last = script.lines[-1]
    total = (last.start_s or 0.0) + last.length_s
    rows = [f"{len(script.lines)} lines, {words} words, {total / 60:.1f} minutes, {words / total * 60:.0f} a minute"]
    before = 0.0
    for iv in known["intervals"]:
        start, end = float(str(iv["start"])), float(str(iv["end"]))
        wanted = planned_s(plan, str(iv["block"]), str(iv["move"]))
        note = "  NOT IN THE PLAN" if wanted is None else ""
        if wanted is not None and abs(end - start - wanted) > SLIP_S:
            note = f"  {'long' if end - start > wanted else 'short'}: needs a ! interval row"
        what = f"{iv['block']} / {iv['round']} {iv['move']} {iv['side'] or ''}"
        rows.append(f"{start:7.1f} +{start - before:5.1f} worked {end - start:5.1f} of {wanted}  {what}{note}")
        before = end
    for line in script.lines:
        at = line.start_s or 0.0
        for tag in line.tags:
            kind, *rest = tag.split()
            if kind in ("left", "gone", "half"):
                noted = ("time-call-off", id(line)) in told
                rows.append(called(kind, rest, at, line.said, known, noted))
    rows += [
        f"! {f['check']} {f.get('block')} {f.get('round')} {f.get('move')}: {f['note']}" for f in known["findings"]
    ]
    return rows


def called(kind: str, rest: list[str], at: float, said: str, known: dict[str, Any], told: bool) -> str:
    """Return what a time call said and what was true."""
    iv = next((i for i in known["intervals"] if i["start"] - 1 <= at <= i["end"] + 1), None)
    if iv is None:
        return f"{at:7.1f} {kind} {' '.join(rest)} outside of work: {said}"
    if kind == "half":
        return f"{at:7.1f} half: {(at - iv['start']) / (iv['end'] - iv['start']):.0%} of the interval"
    seconds = float(rest[0])
    real = iv["end"] - at if kind == "left" else at - iv["start"]
    off = abs(real - seconds) > (3 if seconds <= 15 else 5)
    wrong = "  FALSE: needs a ! time-call-off row" if off and not told else ""
    return f"{at:7.1f} {kind} {seconds:.0f}, really {real:.1f}{wrong}"


def main() -> None:
    """Read the options, write or check."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--from", dest="source", default="classes", choices=["classes", "heldout"])
    parser.add_argument("--check", type=Path)
    args = parser.parse_args()
    if args.check:
        print("\n".join(check(args.check)))
    elif args.folder:
        write_cases(args.folder, args.source)
    else:
        parser.error("give a FOLDER, or --check SCRIPT")


if __name__ == "__main__":
    main()
