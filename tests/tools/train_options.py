"""Learn which words offer an easier or harder way, from the invented sentences; write ``options-weights.tsv``.

    python tests/tools/train_options.py            # cross-validate by author, then fit on all and write
    python tests/tools/train_options.py --check    # cross-validate only
    python tests/tools/train_options.py --quick    # fit and write only

A multinomial logistic regression over the features of ``analyzer.spotting.text_model``, its weights kept small by
their squares. Fitted with scipy (development only); the same data give the same file. The sentences of
``options_heldout.yaml`` are never read here.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import yaml
from scipy.optimize import minimize

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.language import SpokenText, load_language  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.spotting import options  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from analyzer.spotting.option_grammar import offer_grammar  # noqa: E402
from analyzer.spotting.option_parts import as_meant, parts_of  # noqa: E402
from analyzer.spotting.text_model import BIAS, features, read_kinds, write_weights  # noqa: E402
from tests.factory import words_from  # noqa: E402
from tests.tools.fitting import Floats, Name, common_names, matrix_of, misheard, plain  # noqa: E402
from tests.written.script import read_script  # noqa: E402

SENTENCES = ROOT / "tests" / "spotting"
SCRIPTS = ROOT / "tests" / "tools" / "scripts"
WRITTEN = ROOT / "tests" / "written" / "classes"
ASIDES = ROOT / "tests" / "generator" / "styles"
IDLE = ("chatter", "greet", "outline", "cool", "story", "past", "later", "goodbye", "stop", "switch")
LABELS = ("none", "easier", "harder")
SPARING = 1.0
"""Weight of the squares of the weights (set by cross-validation over the authors)."""
FEWEST = 3
"""Samples that must hold a feature before it gets a weight."""
IDLE_SHARE = 1.5
"""Weight of a sentence that offers nothing: in a class they are far more than in these files."""
PLAIN, HEARD, PAIRED = 0.6, 0.4, 0.5
"""Weight of a sentence without punctuation, of one misheard, and of two neighbours that offer nothing."""
LEAST = 0.05
"""Smaller weights are left out of the file."""
SEED = 20
Sentence = tuple[str, str, str]


@dataclass(frozen=True)
class Sample:
    """One run as the spotter would see it: what it holds and how often, the label, its author, its weight."""

    held: dict[Name, int]
    label: int
    author: str
    weight: float


def read_sentences() -> list[Sentence]:
    """Return author, label and sentence of all that may be learnt from."""
    found = []
    first = yaml.safe_load((SENTENCES / "options_sentences.yaml").read_text())
    for label, lines in first.items():
        found += [("first", "none" if label == "neither" else label, line) for line in lines]
    for path in (SENTENCES / "options_styles.yaml", *sorted((SENTENCES / "option_voices").glob("*.yaml"))):
        for groups in yaml.safe_load(path.read_text(encoding="utf-8")).values():
            found += [(path.stem, label, line) for label, text in groups.items() for line in text.splitlines()]
    return found + read_classes() + read_scripts() + read_asides()


def read_classes() -> list[Sentence]:
    """Return every line of the invented classes, marked e (easier), h (harder) or - (neither)."""
    labels = dict(zip("-eh", LABELS, strict=True))
    return [
        (path.stem, labels[line[0]], line[2:])
        for path in sorted((SENTENCES / "option_voices").glob("*.txt"))
        for line in path.read_text(encoding="utf-8").splitlines()
        if line and not line.startswith("#")
    ]


def read_asides() -> list[tuple[str, str, str]]:
    """Return what the generated classes' coaches say beside the work, which offers nothing."""
    return [
        (f"aside-{path.stem}", "none", line)
        for path in sorted(ASIDES.glob("*.yaml"))
        for key, lines in yaml.safe_load(path.read_text(encoding="utf-8")).items()
        if key in IDLE
        for line in lines
        if "{" not in line
    ]


def read_scripts() -> list[tuple[str, str, str]]:
    """Return the marked lines of the two sample classes and of the written ones that may be learnt from."""
    return [
        (path.stem, next((label for label in LABELS[1:] if label in kinds), "none"), said)
        for path in sorted([*SCRIPTS.glob("*.script"), *WRITTEN.glob("*.script")])
        for line in read_script(path).lines
        for kinds, said in [({tag.split()[0] for tag in line.tags}, " ".join(word.text for word in line.clean))]
    ]


def make_sample(author: str, label: str, sentence: str, weight: float = 1.0) -> Sample:
    """Return what the spotter sees of a sentence, or of some that belong together."""
    words = words_from([(0.0, sentence)])
    language = load_language("en")
    context = SpotContext(words, SpokenText.of(words), Plan("none", ()), language)
    grammar = offer_grammar("en")
    meant = as_meant(context, grammar)
    groups = sorted(set().union(*(part.groups for part in parts_of(context, meant, grammar))))
    held = Counter(features(meant.tokens, groups, read_kinds(language)))
    return Sample(dict(held), LABELS.index(label), author, weight)


def make_samples(sentences: list[Sentence]) -> list[Sample]:
    """Return the samples: each sentence as written, unpunctuated, misheard; and neighbours that offer nothing."""
    found = [make_sample(*item) for item in sentences]
    found += [make_sample(author, label, plain(said), PLAIN) for author, label, said in sentences]
    chance = random.Random(SEED)
    found += [make_sample(author, label, misheard(plain(said), chance), HEARD) for author, label, said in sentences]
    for author in sorted({author for author, _, _ in sentences}):
        idle = [said for at, label, said in sentences if at == author and label == "none"]
        openers = [said for said in idle if len(said.split()) <= options.OPENER_WORDS] or idle
        for _ in range(len(idle)):
            left, right = chance.choice(openers if chance.random() < 0.6 else idle), chance.choice(idle)
            found.append(make_sample(author, "none", f"{left} {right}", PAIRED))
    return found


@dataclass(frozen=True)
class Model:
    """The features that have a weight, and the weights (features x 2)."""

    names: tuple[Name, ...]
    weights: Floats

    def lean(self, samples: list[Sample]) -> Floats:
        """Return the log odds of each sample (samples x 2)."""
        found: Floats = matrix_of([sample.held for sample in samples], self.names) @ self.weights
        return found


def fit(samples: list[Sample]) -> Model:
    """Return the weights that fit best, kept small."""
    held = [sample.held for sample in samples]
    names = common_names(held, 2 * FEWEST)
    matrix = matrix_of(held, names)
    across = matrix.T.tocsr()
    label = np.asarray([sample.label for sample in samples])
    share = np.asarray([sample.weight for sample in samples]) * np.where(label == 0, IDLE_SHARE, 1.0)
    sparing = np.where([name == (BIAS,) for name in names], 0.0, SPARING)[:, None]
    wanted, each = np.eye(3)[label], np.arange(len(label))

    def loss(flat: Floats) -> tuple[float, Floats]:
        weights = flat.reshape(-1, 2)
        logits = np.zeros((len(label), 3))
        logits[:, 1:] = matrix @ weights
        logits -= logits.max(axis=1, keepdims=True)
        odds = np.exp(logits)
        odds /= odds.sum(axis=1, keepdims=True)
        cost = -(share * np.log(odds[each, label] + 1e-12)).sum() + (sparing * weights**2).sum()
        slope = (across @ (share[:, None] * (odds - wanted)[:, 1:])) + 2 * sparing * weights
        return float(cost), slope.ravel()

    best = minimize(loss, np.zeros(2 * len(names)), jac=True, method="L-BFGS-B", options={"maxiter": 150})
    return Model(names, best.x.reshape(-1, 2))


def measure(samples: list[Sample], lean: Floats) -> tuple[int, int, int]:
    """Return right offers, offers told, offers wanted."""
    odds = np.exp(lean)
    likely = odds.sum(axis=1) / (1.0 + odds.sum(axis=1)) >= options.LIKELY
    told = np.where(likely, 1 + lean.argmax(axis=1), 0)
    label = np.asarray([sample.label for sample in samples])
    return int(((told == label) & (label > 0)).sum()), int((told > 0).sum()), int((label > 0).sum())


def cross_validate(samples: list[Sample]) -> None:
    """Print precision and recall of each author's sentences from weights learnt on all the others'."""
    total = np.zeros((4, 3), dtype=int)
    kinds = {1.0: "as written", PLAIN: "plain", HEARD: "misheard", PAIRED: "pairs"}
    for author in sorted({sample.author for sample in samples}):
        model = fit([sample for sample in samples if sample.author != author])
        print(f"{author:24}", end="")
        for at, (weight, name) in enumerate(kinds.items()):
            own = [sample for sample in samples if sample.author == author and sample.weight == weight]
            right, told, wanted = measure(own, model.lean(own))
            total[at] += right, told, wanted
            print(f"  {name}: {len(own)}, P {right / max(1, told):.2f} R {right / max(1, wanted):.2f}", end="")
        print()
    for name, (right, told, wanted) in zip(kinds.values(), total, strict=True):
        print(f"{name:12} P {right / max(1, told):.3f} R {right / max(1, wanted):.3f} ({told} told)")


def write(model: Model, path: Path) -> None:
    """Write the weights that matter, one feature a line: its name, easier, harder."""
    remark = "Written by tests/tools/train_options.py from invented sentences: a feature, then"
    written = write_weights(
        path, remark, ("easier", "harder"), dict(zip(model.names, model.weights, strict=True)), LEAST
    )
    print(f"{written} weights in {path.name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="cross-validate only")
    parser.add_argument("--quick", action="store_true", help="fit and write only")
    asked = parser.parse_args()
    samples = make_samples(read_sentences())
    if not asked.quick:
        cross_validate(samples)
    if not asked.check:
        write(fit(samples), load_language("en").folder / options.WEIGHTS_FILE)


if __name__ == "__main__":
    main()
