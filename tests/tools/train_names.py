"""Learn what the names of moves sound like where work begins, from written classes; write the files ``names-*``.

    python tests/tools/train_names.py            # cross-validate by class, then fit on all and write
    python tests/tools/train_names.py --check    # cross-validate only
    python tests/tools/train_names.py --quick    # fit and write only

First a net (``places_in_jax.py``, ``pip install -e .[learn]``) over the phrases said around the stretches of
work that are found without a plan: is it the name of what is worked there. Phrases that share a word with the name,
without being it, are left out. Then a conditional logit over the names heard around a stretch (clues of
``analyzer.alignment.choosing``), phrases weighed by what other classes taught: which of them is its own. The classes in
``tests/written/heldout`` are never read here.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from rapidfuzz import fuzz

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.alignment.choosing import CLUES_FILE, UNLISTED_FROM, Choice, choose_from  # noqa: E402
from analyzer.alignment.discover import discover  # noqa: E402
from analyzer.alignment.naming import name_scores  # noqa: E402
from analyzer.alignment.phrases import NET_FILE, Phrase, Tokens, gathered, key_of, phrases_around  # noqa: E402
from analyzer.language import load_language  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.model.transcript import Ints  # noqa: E402
from analyzer.plans import read_plan  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from analyzer.spotting.place_net import Feature, PlaceNet, net_of  # noqa: E402
from analyzer.spotting.text_model import write_weights  # noqa: E402
from analyzer.spotting.vocabulary import listen  # noqa: E402
from analyzer.spotting.word_vectors import read_vectors  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402
from tests.tools.fitting import Floats, fit_choice  # noqa: E402
from tests.tools.places_in_jax import Sample, Settings, learn  # noqa: E402
from tests.written.cases import learnable  # noqa: E402

FORMS = ("clean.vtt", "heard.vtt", "rollup.vtt")
SPARING = 1.6
"""Weight of the squares of the weights of the clues (set by cross-validation over the classes)."""
ALIKE = 88.0
FOLDS = 3
SEED = 1
SETTINGS = Settings(hidden=64, fewest=200, rounds=4, batch=512, decay=1e-3, words_out=0.2, hidden_out=0.5)


@dataclass(frozen=True, eq=False)
class Heard:
    """One recording without its plan: the phrases around its stretches of work, and the names they really have.

    The tokens ``around`` each phrase and its ``features`` as ``PlaceNet`` reads them; ``heard`` and ``names`` as
    ``analyzer.alignment.choosing`` takes them, the names of a list only; ``true`` None where a stretch is no work.
    """

    whose: str
    tokens: Tokens
    phrases: list[Phrase]
    around: Ints
    features: list[tuple[Feature, ...]]
    heard: Floats
    names: list[frozenset[str]]
    true: list[set[str] | None]

    def is_name(self, keys: Iterable[str], stretch: int) -> bool:
        """Tell whether one of the spellings is the name of what is worked there."""
        return any(fuzz.token_sort_ratio(key, name) >= ALIKE for key in keys for name in self.true[stretch] or ())


def read_classes() -> list[Heard]:
    """Return every written class in several forms."""
    return [hear(case / form, case / "plan.yaml", known["intervals"]) for case, known in learnable() for form in FORMS]


def hear(recording: Path, plan_file: Path, intervals: Sequence[dict]) -> Heard:
    """Return one recording whose intervals are known."""
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
    context = SpotContext.of(transcript, Plan("", ()), language)
    around, tokens = list(phrases_around(context, stretches)), Tokens.of(context)
    phrases = [phrase for phrase, _ in around]
    return Heard(
        recording.parent.name,
        tokens,
        phrases,
        tokens.around(phrases),
        [features for _, features in around],
        name_scores(stretches, events.mentions, moves),
        [frozenset(key_of(text, "en") for text in (move.name, *move.also)) for move in moves],
        true,
    )


def sample_of(one: Heard) -> Sample:
    """Return the phrases of a recording that are names of what is worked there, or nothing like them."""
    told: list[tuple[int, bool]] = []
    for at, phrase in enumerate(one.phrases):
        true = one.true[phrase.stretch]
        if true is not None:
            named = one.is_name([phrase.key], phrase.stretch)
            if named or not any(set(phrase.key.split()) & set(name.split()) for name in true):
                told.append((at, named))
    kept = [at for at, _ in told]
    named = np.array([[float(named)] for _, named in told])
    return Sample(one.whose, one.tokens.said, one.around[kept], [one.features[at] for at in kept], named)


def fit(samples: Iterable[Sample]) -> dict[str, Any]:
    """Return what the net learns of recordings."""
    return learn(list(samples), *read_vectors("en"), SETTINGS, SEED)


def choices(one: Heard, net: PlaceNet) -> tuple[Choice, list[frozenset[str]]]:
    """Return the names to choose from in a recording, its phrases weighed by a net."""
    leans = net.leans(*one.tokens.numbered(one.around), one.features)[:, 0]
    told = gathered(one.phrases, leans, len(one.true))
    listed = frozenset[str]().union(*one.names)
    others = sorted({key for row in told for key, lean in row.items() if lean > UNLISTED_FROM} - listed)
    names = [*one.names, *(frozenset({key}) for key in others)]
    return choose_from(told, one.heard, names), names


def fit_clues(some: Sequence[tuple[Heard, Choice, Sequence[frozenset[str]]]]) -> dict[str, float]:
    """Return the weights of the clues, learnt from recordings whose phrases were weighed by what others taught."""
    rows, wanted, group = [], [], []
    groups = 0
    clues = tuple(some[0][1].clues)
    for one, choice, names in some:
        for stretch, true in enumerate(one.true):
            if true is None:
                continue
            for name in np.flatnonzero(choice.around[stretch]):
                rows.append([*(choice.clues[clue][stretch, name] for clue in clues), 1.0])
                wanted.append(float(one.is_name(names[name], stretch)))
                group.append(groups)
            groups += bool(choice.around[stretch].any())
    found = fit_choice(np.array(rows), np.array(wanted), np.array(group), 1.0 / len(FORMS), SPARING)
    return dict(zip((*clues, "bias"), found.tolist(), strict=True))


def by_others(
    every: Sequence[Heard], samples: Sequence[Sample]
) -> list[tuple[Heard, Choice, Sequence[frozenset[str]]]]:
    """Return the names to choose from in each recording, its phrases weighed by what other classes taught."""
    classes = sorted({one.whose for one in every})
    found: list[tuple[Heard, Choice, Sequence[frozenset[str]]]] = []
    for fold in range(FOLDS):
        apart = set(classes[fold::FOLDS])
        net = net_of(*read_vectors("en"), fit(sample for sample in samples if sample.whose not in apart))
        found += [(one, *choices(one, net)) for one in every if one.whose in apart]
    return found


def check(chosen: Sequence[tuple[Heard, Choice, Sequence[frozenset[str]]]]) -> None:
    """Print how often the name chosen is right, in classes that were not learnt from."""
    classes = sorted({one.whose for one, _, _ in chosen})
    right = total = 0
    for fold in range(FOLDS):
        apart = set(classes[fold::FOLDS])
        weights = fit_clues([some for some in chosen if some[0].whose not in apart])
        for one, choice, names in chosen:
            if one.whose in apart:
                best = choice.nats(weights).argmax(axis=1)
                there = [at for at, true in enumerate(one.true) if true is not None]
                right += sum(one.is_name(names[best[at]], at) for at in there)
                total += len(there)
    print(f"the name chosen is the right one at {right} of {total} stretches ({right / total:.0%})")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--quick", action="store_true")
    args = parser.parse_args()
    every = read_classes()
    samples = [sample_of(one) for one in every]
    chosen = by_others(every, samples)
    if not args.quick:
        check(chosen)
    if not args.check:
        folder = load_language("en").folder
        np.savez(folder / NET_FILE, **fit(samples))
        clues = {(name,): np.array([weight]) for name, weight in sorted(fit_clues(chosen).items())}
        remark = "Written by tests/tools/train_names.py: do not edit. Nats of the clues to a name"
        print(f"{write_weights(folder / CLUES_FILE, remark, ('name',), clues, 0.0)} weights written")
