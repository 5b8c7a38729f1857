"""Learn what numbers count, from written classes; write the file ``amounts-net.npz``.

    python tests/tools/train_amounts.py            # cross-validate by class, then fit on all and write
    python tests/tools/train_amounts.py --check    # cross-validate only
    python tests/tools/train_amounts.py --quick    # fit and write only

A net (``places_in_jax.py``, ``pip install -e .[learn]``) reads what stands around every number and length of time; the
authors marked what they promise and how much time they say is left. Some generated classes go with them, as they say
their times in set ways with words misheard: there, what no phrase tells is no promise, the rest is left open. The
classes in ``tests/written/heldout`` are never read here.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.language import Match, find, load_language  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.spotting.amounts import COUNTED, NET_FILE, NUMBER, SURE, Amount, leans_of, read_around  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from analyzer.spotting.place_net import net_of  # noqa: E402
from analyzer.spotting.promises import KINDS  # noqa: E402
from analyzer.spotting.word_vectors import read_vectors  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402
from tests.generator import generate  # noqa: E402
from tests.generator import write_case as write_class  # noqa: E402
from tests.tools.places_in_jax import Sample, Settings, learn  # noqa: E402
from tests.written.cases import learnable  # noqa: E402

FORMS = ("clean.vtt", "heard.vtt", "rollup.vtt")
SETTINGS = Settings(hidden=32, fewest=20, rounds=12, batch=128, decay=1e-2, words_out=0.2, hidden_out=0.4)
FOLDS, SEED = 3, 1
SEEDS, GENERATED_FORMS = range(100, 160), ("clean.vtt", "heard.vtt")
"""Generated classes that nothing is measured on."""
SLACK_S = 0.6
TIMES = frozenset({"time", "times"})


@dataclass(frozen=True, eq=False)
class Heard:
    """The numbers of one recording, with what the net reads of them and what they promise."""

    form: str
    context: SpotContext
    sample: Sample


def read_classes() -> list[Heard]:
    """Return every written class in several forms."""
    return [hear(case / form, known["tags"]) for case, known in learnable() for form in FORMS]


def read_generated() -> list[Heard]:
    """Return some generated classes."""
    found: list[Heard] = []
    with tempfile.TemporaryDirectory() as temp:
        for seed in SEEDS:
            write_class(generate(seed), Path(temp) / str(seed), GENERATED_FORMS)
            found += [hear(Path(temp) / str(seed) / form, None) for form in GENERATED_FORMS]
    return found


def hear(recording: Path, tags: Sequence[dict[str, Any]] | None) -> Heard:
    """Return one recording whose promises are known; without ``tags`` as far as phrases tell."""
    language = load_language("en")
    context = SpotContext.of(read_transcript(recording), Plan("", ()), language)
    amounts = context.amounts
    around, features = read_around(context.spoken, amounts)
    if tags is None:
        told = [m for m in find(language.phrases("promises"), context.spoken) if m.group.partition(" ")[0] in KINDS]
        rows = [unmarked(amount, told) for amount in amounts]
    else:
        rows = [marked(amount, tags, context) for amount in amounts]
    labels = np.array(rows).reshape(-1, len(COUNTED))
    sample = Sample(recording.parent.name, context.spoken.tokens, around, features, labels)
    return Heard(recording.name, context, sample)


def unmarked(amount: Amount, told: Iterable[Match]) -> list[float]:
    """Return for each of ``COUNTED`` that a number does not count it, as far as phrases tell; nan where they do not."""
    open_ones = any(m.first <= amount.match.last and m.last >= amount.match.first for m in told)
    return [np.nan if open_ones or kind == "left" else 0.0 for kind in COUNTED]


def marked(amount: Amount, tags: Sequence[dict[str, Any]], context: SpotContext) -> list[float]:
    """Return for each of ``COUNTED`` whether a number counts it, by its line's marks; nan where it may or not."""
    at_s = float(context.words.start_s[amount.match.first])
    labels = dict.fromkeys(COUNTED, 0.0)
    for tag in tags:
        if tag["at"] - SLACK_S <= at_s <= tag["end"] + SLACK_S:
            kind, *value = tag["tag"].removeprefix("promise ").split()
            kind, unit_s = ("seconds", 60.0) if kind == "minutes" else (kind, 1.0)
            if kind in labels and value and float(value[0]) * unit_s == amount.value:
                labels[kind] = 1.0
    if labels["rounds"] and labels["moves"]:  # "two things, twice": what is done so many times is rounds
        after = amount.match.last + 1
        times = amount.match.group != NUMBER or not TIMES.isdisjoint(context.words.norm[after : after + 1])
        labels |= {"moves": 0.0} if times else {"rounds": np.nan}
    return list(labels.values())


def fit(some: Iterable[Heard]) -> dict[str, Any]:
    """Return what the net learns of recordings."""
    return learn([one.sample for one in some], *read_vectors("en"), SETTINGS, SEED)


def check(every: Sequence[Heard], generated: Sequence[Heard]) -> None:
    """Print precision and recall of each kind, of classes that were not learnt from."""
    classes = sorted({one.sample.whose for one in every})
    told: dict[str, list[np.ndarray]] = {form: [] for form in FORMS}
    for fold in range(FOLDS):
        apart = set(classes[fold::FOLDS])
        others = [one for one in every if one.sample.whose not in apart]
        net = net_of(*read_vectors("en"), fit([*others, *generated]))
        for one in every:
            if one.sample.whose in apart and len(one.sample.around):
                found = leans_of(net, one.context.spoken, one.sample.around, one.sample.features) >= SURE
                told[one.form].append(np.stack([found, one.sample.labels]))
    for form, rows in told.items():
        found, true = np.concatenate(rows, axis=1)
        for column, kind in enumerate(COUNTED):
            known = ~np.isnan(true[:, column])
            own, wanted = found[known, column] > 0, true[known, column] > 0
            right = int((own & wanted).sum())
            shares = f"precision {right / max(1, own.sum()):.2f}, recall {right / max(1, wanted.sum()):.2f}"
            print(f"{form} {kind}: {shares} of {int(wanted.sum())}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--quick", action="store_true")
    args = parser.parse_args()
    every, generated = read_classes(), read_generated()
    if not args.quick:
        check(every, generated)
    if not args.check:
        np.savez(load_language("en").folder / NET_FILE, **fit([*every, *generated]))
