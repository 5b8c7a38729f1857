"""Learn what the names of moves sound like where work begins, from written classes; write the file ``names-said.tsv``.

    python tests/tools/train_names.py            # cross-validate by class, then fit on all and write
    python tests/tools/train_names.py --check    # cross-validate only
    python tests/tools/train_names.py --quick    # fit and write only

A logistic regression over the phrases said around the stretches of work that are found without a plan (features of
``analyzer.alignment.phrases``): is it the name of what is worked there. Phrases that share a word with the name,
without being it, are left out. The classes in ``tests/written/heldout`` are never read here.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from rapidfuzz import fuzz

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.alignment.discover import discover  # noqa: E402
from analyzer.alignment.phrases import NAMES_FILE, key_of, phrases_around  # noqa: E402
from analyzer.language import load_language  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.plans import read_plan  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from analyzer.spotting.text_model import write_weights  # noqa: E402
from analyzer.spotting.vocabulary import listen  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402
from tests.tools.fitting import Floats, Name, common_names, fit_logistic, matrix_of  # noqa: E402
from tests.written.cases import write_case, written  # noqa: E402
from tests.written.script import place, read_script, truth  # noqa: E402

FORMS = ("clean.vtt", "heard.vtt", "rollup.vtt")
SPARING = 1.6
"""Weight of the squares of the weights (set by cross-validation over the classes)."""
FEWEST, LEAST = 8, 0.02
ALIKE = 88.0
FOLDS = 7


@dataclass(frozen=True)
class Sample:
    """A phrase said around a stretch: its features, True where it is the name, and of which class and stretch."""

    held: dict[Name, int]
    named: bool
    whose: str
    stretch: tuple[str, int]


def read_classes() -> list[Sample]:
    """Return the samples of every written class, in several forms."""
    found: list[Sample] = []
    with tempfile.TemporaryDirectory() as temp:
        for name, path in written():
            script = read_script(path)
            place(script.lines)
            write_case(Path(temp) / name, path.with_suffix(".yaml"), script, truth(script))
            for form in FORMS:
                found += samples(Path(temp) / name / form, path.with_suffix(".yaml"), truth(script)["intervals"])
    return found


def samples(recording: Path, plan_file: Path, intervals: Sequence[dict]) -> Iterator[Sample]:
    """Give the phrases of one recording whose intervals are known."""
    transcript, plan, language = read_transcript(recording), read_plan(plan_file), load_language("en")
    moves, events = listen(transcript, language)
    stretches = discover(transcript, len(moves), events)
    names = {
        move.name.lower(): {key_of(text, "en") for text in (move.name, *move.also)}
        for block in plan.blocks
        for move in block.moves
    }
    true = []
    for stretch in stretches:
        best = max(intervals, key=lambda iv: min(iv["end"], stretch.end_s) - max(iv["start"], stretch.start_s))
        shared_s = min(best["end"], stretch.end_s) - max(best["start"], stretch.start_s)
        half_s = 0.5 * min(best["end"] - best["start"], stretch.end_s - stretch.start_s)
        true.append(names.get(best["move"].lower()) if shared_s > half_s else None)
    whose = recording.parent.name
    for phrase, held in phrases_around(SpotContext.of(transcript, Plan("", ()), language), stretches):
        wanted = true[phrase.stretch]
        if wanted is None:
            continue
        named = any(fuzz.token_sort_ratio(phrase.key, name) >= ALIKE for name in wanted)
        if named or not any(set(phrase.key.split()) & set(name.split()) for name in wanted):
            counted = {("bias",): 1, **{name: held.count(name) for name in held}}
            yield Sample(counted, named, whose, (f"{whose} {recording.name}", phrase.stretch))


def fit(some: Sequence[Sample]) -> dict[Name, float]:
    """Return the weights learnt from samples."""
    names = common_names([sample.held for sample in some], FEWEST)
    matrix = matrix_of([sample.held for sample in some], names)
    wanted = np.array([float(sample.named) for sample in some])
    weights = fit_logistic(matrix, wanted, np.full(len(some), 1.0 / len(FORMS)), np.zeros(len(some)), SPARING)
    return dict(zip(names, weights.tolist(), strict=True))


def lean(sample: Sample, weights: dict[Name, float]) -> float:
    """Return how far a sample leans to being a name."""
    return sum(weights.get(name, 0.0) * times for name, times in sample.held.items())


def check(every: Sequence[Sample]) -> None:
    """Print how often the phrase that leans most is the name, on classes that were not learnt from."""
    classes = sorted({sample.whose for sample in every})
    right = total = 0
    for fold in range(FOLDS):
        apart = set(classes[fold::FOLDS])
        weights = fit([sample for sample in every if sample.whose not in apart])
        best: dict[tuple[str, int], tuple[float, bool]] = {}
        for sample in every:
            if sample.whose in apart:
                best[sample.stretch] = max(
                    best.get(sample.stretch, (-np.inf, False)), (lean(sample, weights), sample.named)
                )
        right, total = right + sum(named for _, named in best.values()), total + len(best)
    print(f"the phrase that leans most is the name at {right} of {total} stretches ({right / total:.0%})")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--quick", action="store_true")
    args = parser.parse_args()
    every = read_classes()
    if not args.quick:
        check(every)
    if not args.check:
        rows: dict[Name, Floats] = {name: np.array([weight]) for name, weight in sorted(fit(every).items())}
        target = load_language("en").folder / NAMES_FILE
        remark = "Written by tests/tools/train_names.py: do not edit. Natural log odds of a phrase being a name."
        print(f"{write_weights(target, remark, ('name',), rows, LEAST)} weights written")
