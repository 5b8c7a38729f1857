"""Learn how words lean to an easier or harder way, from the invented sentences; write ``options-weights.tsv``.

    python tests/tools/train_options.py            # cross-validate by style, then fit on all and write
    python tests/tools/train_options.py --check    # cross-validate only

A logistic regression with the grammar's own scores as its starting point: what it learns is only what the phrases
leave open. Fitted with scipy (development only); the same data give the same file. The sentences of
``options_heldout.yaml`` are never read here.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt
import yaml
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.language import SpokenText, load_language  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.spotting import option_words, options  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from tests.factory import words_from  # noqa: E402

SENTENCES = ROOT / "tests" / "spotting"
SCRIPTS = ROOT / "tests" / "tools" / "scripts"
ASIDES = ROOT / "tests" / "generator" / "styles"
IDLE = ("chatter", "greet", "outline", "cool", "story", "past", "later", "goodbye", "stop", "switch")
LABELS = ("none", "easier", "harder")
STEEP = 4.0
"""How steeply a score turns into a probability."""
SPARING, SPARING_PAIRS = 1.0, 15.0
"""Weight of the squares of the weights of columns, of pairs of columns (set by cross-validation over the styles)."""
FEWEST = 4
"""Sentences that must hold a pair before it gets a weight of its own."""
IDLE_SHARE = 3.0
"""Weight of a sentence that offers nothing: in a class they are far more than in these files."""
LEAST = 0.01
SEED = 20
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Sample:
    """One item as the spotter would see it: what it holds, the grammar's scores, the label, its style."""

    row: npt.NDArray[np.float32]
    base: tuple[float, float]
    label: int
    style: str
    weight: float


def read_sentences() -> list[tuple[str, str, str]]:
    """Return style, label and sentence of all that may be learnt from."""
    found = []
    first = yaml.safe_load((SENTENCES / "options_sentences.yaml").read_text())
    for label, lines in first.items():
        found += [("first", "none" if label == "neither" else label, line) for line in lines]
    for style, groups in yaml.safe_load((SENTENCES / "options_styles.yaml").read_text()).items():
        found += [(style, label, line) for label, text in groups.items() for line in text.splitlines()]
    return found + read_scripts() + read_asides()


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
    """Return the marked lines of the two sample classes."""
    found = []
    for path in sorted(SCRIPTS.glob("*.script")):
        for line in path.read_text(encoding="utf-8").splitlines():
            if "|" not in line or line.startswith(("#", "?")):
                continue
            _, said, *rest = line.split("|")
            tags = rest[0].split() if rest else []
            said = re.sub(r"\{([^>}]*)>[^}]*\}", r"\1", said)
            said = re.sub(r"[\[\]<>{}]", "", said).strip()
            if said:
                found.append((path.stem, next((tag for tag in LABELS[1:] if tag in tags), "none"), said))
    return found


def plain(sentence: str) -> str:
    """Return it as a recogniser without punctuation would write it."""
    return re.sub(r"[^\w' -]", "", sentence).lower()


def make_sample(style: str, label: str, sentence: str, weight: float = 1.0) -> Sample:
    """Return what the spotter sees of a sentence, or of two that belong together."""
    words = words_from([(0.0, sentence)])
    context = SpotContext(words, SpokenText.of(words), Plan("none", ()), load_language("en"))
    grammar = options.offer_grammar("en")
    parts = options.parts_of(context, grammar)
    kinds, names = option_words.read_kinds(context.language)
    columns = {name: at for at, name in enumerate(option_words.column_names(names, grammar.names))}
    held: set[int] = set()
    for part in parts:
        norms = words.norm[part.first : part.last + 1]
        held |= option_words.held_columns(norms, part.groups, kinds, columns, len(names))
    if len(parts) == 1:
        base = options.base_scores(parts[0], grammar)
    else:
        held.add(columns[option_words.JOINED])
        pairs = [options.base_pair(one, two, grammar) for one, two in pairwise(parts)]
        base = (max(pair[0] for pair in pairs), max(pair[1] for pair in pairs))
    row = np.zeros(len(columns), dtype=np.float32)
    row[list(held)] = 1.0
    return Sample(row, base, LABELS.index(label), style, weight)


def make_samples(sentences: list[tuple[str, str, str]]) -> list[Sample]:
    """Return the samples: each sentence with and without its punctuation, and neighbours that offer nothing."""
    found = [make_sample(*item) for item in sentences]
    found += [make_sample(style, label, plain(said), 0.6) for style, label, said in sentences]
    chance = random.Random(SEED)
    for style in sorted({style for style, _, _ in sentences}):
        idle = [said for at, label, said in sentences if at == style and label == "none"]
        openers = [said for said in idle if len(said.split()) <= options.OPENER_WORDS] or idle
        for _ in range(len(idle)):
            left, right = chance.choice(openers if chance.random() < 0.6 else idle), chance.choice(idle)
            found.append(make_sample(style, "none", f"{left} {right}", 0.5))
    return found


@dataclass(frozen=True)
class Model:
    """Which columns are read, alone or in pairs, and the weights of each (features x 2)."""

    left: npt.NDArray[np.int64]
    right: npt.NDArray[np.int64]
    weights: Floats

    def lean(self, samples: list[Sample]) -> Floats:
        """Return how far each sample leans (samples x 2)."""
        rows = np.stack([sample.row for sample in samples])
        found: Floats = csr_matrix(rows[:, self.left] * rows[:, self.right], dtype=np.float64) @ self.weights
        return found


def fit(samples: list[Sample]) -> Model:
    """Return the weights that fit best, kept small."""
    rows = np.stack([sample.row for sample in samples])
    left, right = np.nonzero(np.triu(rows.T @ rows >= 2 * FEWEST))
    matrix = csr_matrix(rows[:, left] * rows[:, right], dtype=np.float64)
    across = matrix.T.tocsr()
    base = np.asarray([sample.base for sample in samples]) - options.ENOUGH
    label = np.asarray([sample.label for sample in samples])
    share = np.asarray([sample.weight for sample in samples]) * np.where(label == 0, IDLE_SHARE, 1.0)
    sparing = np.where(left == right, SPARING, SPARING_PAIRS)[:, None]
    wanted, each = np.eye(3)[label], np.arange(len(label))

    def loss(flat: Floats) -> tuple[float, Floats]:
        weights = flat.reshape(-1, 2)
        logits = np.zeros((len(label), 3))
        logits[:, 1:] = STEEP * (base + matrix @ weights)
        logits -= logits.max(axis=1, keepdims=True)
        odds = np.exp(logits)
        odds /= odds.sum(axis=1, keepdims=True)
        cost = -(share * np.log(odds[each, label] + 1e-12)).sum() + (sparing * weights**2).sum()
        slope = STEEP * (across @ (share[:, None] * (odds - wanted)[:, 1:])) + 2 * sparing * weights
        return float(cost), slope.ravel()

    start = np.zeros(2 * len(left))
    best = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 80})
    return Model(left, right, best.x.reshape(-1, 2))


def measure(samples: list[Sample], lean: Floats) -> tuple[int, int, int]:
    """Return right offers, offers told, offers wanted."""
    total = np.asarray([sample.base for sample in samples]) + np.clip(lean, 0.0, option_words.MOST_LEAN)
    told = np.where(total.max(axis=1) >= options.ENOUGH, 1 + total.argmax(axis=1), 0)
    label = np.asarray([sample.label for sample in samples])
    return int(((told == label) & (label > 0)).sum()), int((told > 0).sum()), int((label > 0).sum())


def cross_validate(samples: list[Sample]) -> None:
    """Print precision and recall of each style from weights learnt on all the others."""
    total = np.zeros((2, 3), dtype=int)
    for style in sorted({sample.style for sample in samples}):
        model = fit([sample for sample in samples if sample.style != style])
        own = [sample for sample in samples if sample.style == style]
        for at, kind in enumerate(([s for s in own if s.weight == 1.0], [s for s in own if s.weight != 1.0])):
            right, told, wanted = measure(kind, model.lean(kind))
            total[at] += right, told, wanted
            print(f"{style:18} P {right / max(1, told):.2f} R {right / wanted:.2f}", end="\n" if at else "   plain: ")
    for name, (right, told, wanted) in zip(("written", "plain, pairs"), total, strict=True):
        print(f"{name:18} P {right / told:.3f} R {right / wanted:.3f}")


def write(model: Model, path: Path) -> None:
    """Write the weights that matter, one a line: two columns (or "-"), easier, harder."""
    language = load_language("en")
    _, names = option_words.read_kinds(language)
    columns = option_words.column_names(names, options.offer_grammar("en").names)
    lines = [
        "# Written by tests/tools/train_options.py from invented sentences: what is held, with what, easier, harder."
    ]
    entries = [
        (columns[one], "-" if one == two else columns[two]) for one, two in zip(model.left, model.right, strict=True)
    ]
    for (one, two), (easier, harder) in zip(entries, model.weights.tolist(), strict=True):
        if max(abs(easier), abs(harder)) >= LEAST:
            lines.append(f"{one}\t{two}\t{easier:.3f}\t{harder:.3f}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(lines) - 1} weights in {path.name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="cross-validate only")
    parser.add_argument("--quick", action="store_true", help="fit and write only")
    asked = parser.parse_args()
    samples = make_samples(read_sentences())
    if not asked.quick:
        cross_validate(samples)
    if not asked.check:
        write(fit(samples), load_language("en").folder / option_words.WEIGHTS_FILE)


if __name__ == "__main__":
    main()
