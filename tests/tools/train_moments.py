"""Learn how work is begun and ended in words, from invented classes; write the files ``moments-*``.

    python tests/tools/train_moments.py            # cross-validate by author, then fit on all and write
    python tests/tools/train_moments.py --check    # cross-validate only
    python tests/tools/train_moments.py --quick    # fit and write only

Three logistic regressions over the words after and before a break (features of ``analyzer.spotting.text_model``): does
work begin there, has it ended, is what follows said during work. Their weights are kept small by their squares; the
usual share of each in its kind of source is taken out, so that what is learnt is evidence. Features with a number in
them are left out: counts are spotted for themselves. A net (``moments_in_jax.py``, ``pip install -e .[learn]``) learns
the same from more words around a break, of the written classes and of some generated ones: those say their sentences in
an order that nobody would, and keep it from trusting too much to what follows what. How much each counts is settled by
what both say of authors that they were not learnt from (without ``--quick``). The classes in ``tests/written/heldout``
are never read here.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from analyzer.language import SpokenText, load_language, speaking  # noqa: E402
from analyzer.model.plan import Plan  # noqa: E402
from analyzer.model.transcript import Ints, Transcript  # noqa: E402
from analyzer.spotting.context import SpotContext  # noqa: E402
from analyzer.spotting.moment_net import NET_FILE, around, unnumbered  # noqa: E402
from analyzer.spotting.moments import COLUMNS, LAST_FILE, NEXT_FILE, breaks, windows  # noqa: E402
from analyzer.spotting.text_model import BIAS, features, read_kinds, run_of, write_weights  # noqa: E402
from analyzer.spotting.word_vectors import UNKNOWN, read_vectors  # noqa: E402
from analyzer.transcripts import read_transcript  # noqa: E402
from tests.factory import words_from  # noqa: E402
from tests.generator import generate  # noqa: E402
from tests.generator import write_case as write_class  # noqa: E402
from tests.tools import moments_in_jax as net  # noqa: E402
from tests.tools.fitting import Floats, Name, common_names, fit_logistic, matrix_of, misheard, plain  # noqa: E402
from tests.written.cases import learnable  # noqa: E402

LINES = ROOT / "tests" / "spotting" / "moments"
SPARING = 4.0
"""Weight of the squares of the weights (set by cross-validation over the authors)."""
FEWEST = 3
"""Samples that must hold a feature before it gets a weight, in one way of writing."""
FORMS = {"clean.vtt": 1.0, "heard.vtt": 0.5, "rollup.vtt": 0.5}
"""Forms that a written class is read in, and the weight of what is read there."""
SEEDS, GENERATED_FORMS, GENERATED = range(100, 160), ("clean.vtt", "heard.vtt"), 0.1
"""Generated classes for the net, and the weight of what is read in them."""
PLAIN, HEARD = 0.5, 0.4
"""Weight of a line without punctuation, and of one misheard."""
NEAR_S, BLURRED_S = 1.5, 3.0
"""A break this close to a boundary is at it; one up to so far from it is left out."""
LINE_S = 8.0
LEAST = 0.1
"""Smaller weights are left out of the files: without them nothing is found worse."""
SEED = 21
FOLDS = 3
NOT_TOLD = np.nan


@dataclass(frozen=True)
class Sample:
    """One break: what stands after and before it, the words around it ("" beyond the text), whether each column is true
    of it (nan: unknown), and whose it is."""

    held: dict[Name, int]
    words: tuple[str, ...]
    labels: tuple[float, float, float]
    author: str
    source: str
    weight: float


def held_at(context: SpotContext) -> Iterator[tuple[int, dict[Name, int], tuple[str, ...]]]:
    """Give every break, the features of what stands after and before it, and the words around it."""
    kinds = read_kinds(context.language)
    numbers = context.language.numbers.values
    heads = breaks(context)
    until, since = windows(context, heads)
    tokens, places = context.spoken.tokens, context.spoken.places
    read = unnumbered(context.spoken, numbers)
    said = np.array([*(tokens[at] for at in read), UNKNOWN], dtype=np.object_)
    near = said[around(places[read], heads)].tolist()

    def some(first: int, last: int, name: str) -> Counter[Name]:
        start, stop = run_of(places, first, last)
        found = features(list(tokens[start:stop]), (), kinds)
        return Counter((name, *f) for f in found if not any(p in numbers or p[:1].isdigit() for p in f[1:]))

    for head, last, first, words in zip(heads.tolist(), until.tolist(), since.tolist(), near, strict=True):
        held = some(head, last, "next")
        if first < head:
            held += some(first, head - 1, "last")
        yield head, {name: times for name, times in held.items() if name[1:] != (BIAS,)}, tuple(words)


def read_written() -> Iterator[Sample]:
    """Give the breaks of every written class, in several forms."""
    for case, known in learnable():
        for form, weight in FORMS.items():
            yield from timed(read_transcript(case / form), known["intervals"], case.name, weight, "written")


def timed(
    transcript: Transcript, intervals: Sequence[Mapping[str, object]], author: str, weight: float, source: str
) -> Iterator[Sample]:
    """Give the breaks of a recording whose intervals are known."""
    context = SpotContext.of(transcript, Plan("none", ()), load_language("en"))
    words = transcript.words
    rows = list(held_at(context))
    heads = np.array([head for head, *_ in rows])
    onset, before = words.start_s[heads], words.end_s[np.maximum(heads - 1, 0)]
    starts, ends = (np.array([float(str(iv[name])) for iv in intervals]) for name in ("start", "end"))
    begins = marked(np.abs(onset[:, None] - starts[None, :]))
    away = np.maximum(np.maximum(before[:, None] - ends[None, :], ends[None, :] - onset[:, None]), 0.0)
    stops = marked(away)
    until = np.append(before[1:], words.end_s[-1])
    middle = 0.5 * (onset + until)
    inside = ((middle[:, None] > starts) & (middle[:, None] < ends)).any(axis=1).astype(float)
    edges = np.concatenate([starts, ends])
    astride = ((edges > onset[:, None]) & (edges < until[:, None])).any(axis=1)
    works = np.where(astride, NOT_TOLD, inside)
    for (_, held, near), *labels in zip(rows, begins, stops, works, strict=True):
        yield Sample(held, near, (labels[0], labels[1], labels[2]), author, source, weight)


def read_generated() -> Iterator[Sample]:
    """Give the breaks of some generated classes, of seeds that nothing is measured on."""
    with tempfile.TemporaryDirectory() as temp:
        for seed in SEEDS:
            made, folder = generate(seed), Path(temp) / str(seed)
            write_class(made, folder, GENERATED_FORMS)
            for form in GENERATED_FORMS:
                yield from timed(read_transcript(folder / form), made.intervals, f"seed-{seed}", GENERATED, "generated")


def marked(away_s: Floats) -> Floats:
    """Return 1 for the nearest break of each boundary, unknown for those about it, else 0; distances (breaks, n)."""
    found = np.where(away_s.min(axis=1) < BLURRED_S, NOT_TOLD, 0.0)
    nearest = away_s.argmin(axis=0)
    for boundary, at in enumerate(nearest.tolist()):
        if away_s[at, boundary] <= NEAR_S:
            found[at] = 1.0
    return found


def labelled(path: Path) -> list[tuple[str, str, str]]:
    """Return voice, label and text of each line of a file."""
    rows, voice = [], path.stem
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("# voice:"):
            voice = f"{path.stem} {line[8:].strip()}"
        elif line and not line.startswith("#"):
            rows.append((voice, line[0], line[2:].strip()))
    return rows


def of_lines(rows: Sequence[tuple[str, str, str]], source: str, weight: float) -> Iterator[Sample]:
    """Give the breaks of labelled lines that follow each other."""
    if not rows:
        return
    words = words_from([(LINE_S * k, text) for k, (_, _, text) in enumerate(rows)])
    opens = words.opens | np.append(True, np.diff(words.caption) > 0)
    words = type(words)(**{**{f: getattr(words, f) for f in words.__slots__}, "opens": opens})
    context = SpotContext(words, SpokenText.of(words), Plan("none", ()), load_language("en"))
    for head, held, near in held_at(context):
        line = int(words.caption[head])
        voice, label, _ = rows[line]
        first = head == 0 or words.caption[head - 1] != line
        after_stop = first and line > 0 and rows[line - 1][1] in "sx"
        begins = float(label in "bx") if first else NOT_TOLD if label in "bx" else 0.0
        stops = float(label in "sx") if first else NOT_TOLD if label in "sx" else 0.0
        stops = NOT_TOLD if after_stop and not stops else stops
        works = {"w": 1.0, "b": 1.0, "g": 0.0}.get(label, NOT_TOLD)
        yield Sample(held, near, (begins, stops, works), voice, source, weight)


def read_lines() -> Iterator[Sample]:
    """Give the breaks of the labelled classes and of the single lines, as written, plain and misheard."""
    chance = random.Random(SEED)
    for path in sorted(LINES.glob("*.txt")):
        rows = labelled(path)
        in_order = path.stem.startswith("class") or path.read_text(encoding="utf-8").startswith("# in order")
        ways = [(rows, 1.0), ([(who, label, plain(said)) for who, label, said in rows], PLAIN)]
        ways.append(([(who, label, misheard(plain(said), chance)) for who, label, said in rows], HEARD))
        for some, weight in ways:
            if in_order:
                for _, stretch in groupby(some, key=lambda row: row[0]):
                    yield from of_lines(list(stretch), "classes", weight)
            else:
                for row in some:
                    yield from of_lines([row], "lines", weight)


@dataclass(frozen=True)
class Model:
    """The features that have weights, and the weights (features x columns)."""

    names: tuple[Name, ...]
    weights: Floats

    def lean(self, samples: Sequence[Sample]) -> Floats:
        """Return the evidence for each column in nats (samples x columns)."""
        found: Floats = matrix_of([sample.held for sample in samples], self.names) @ self.weights
        return found


def offsets(samples: Sequence[Sample]) -> Floats:
    """Return the log odds of each column in each sample's kind of source (samples x columns)."""
    labels = np.array([sample.labels for sample in samples])
    sources = np.array([sample.source for sample in samples])
    found = np.zeros_like(labels)
    for source in sorted(set(sources.tolist())):
        here = sources == source
        share = np.clip(np.nanmean(labels[here], axis=0), 1e-3, 1 - 1e-3)
        found[here] = np.log(share / (1 - share))
    return found


def fit(samples: Sequence[Sample]) -> Model:
    """Return the weights that fit best, kept small."""
    held = [sample.held for sample in samples]
    names = common_names(held, 2 * FEWEST)
    matrix = matrix_of(held, names)
    labels, offset = np.array([sample.labels for sample in samples]), offsets(samples)
    share = np.array([sample.weight for sample in samples])
    columns = []
    for column in range(len(COLUMNS)):
        known = ~np.isnan(labels[:, column])
        wanted, weigh = np.where(known, labels[:, column], 0.0), np.where(known, share, 0.0)
        columns.append(fit_logistic(matrix, wanted, weigh, offset[:, column], SPARING))
    return Model(names, np.stack(columns, axis=1))


def gains(samples: Sequence[Sample], lean: Floats) -> list[str]:
    """Return for each column how much better than the usual share the evidence tells, nats a true one; and ranks."""
    labels, offset = np.array([sample.labels for sample in samples]), offsets(samples)
    told = []
    for column, name in enumerate(COLUMNS):
        known = ~np.isnan(labels[:, column])
        true, base, logit = labels[known, column], offset[known, column], (offset + lean)[known, column]
        if not 0 < true.sum() < len(true):
            continue
        gain = (np.logaddexp(0, base) - true * base - np.logaddexp(0, logit) + true * logit).sum() / true.sum()
        order = np.argsort(np.argsort(logit)) + 1
        above = (order[true > 0].sum() - true.sum() * (true.sum() + 1) / 2) / (true.sum() * (len(true) - true.sum()))
        told.append(f"{name} {int(true.sum())}/{len(true)}: {gain:+.2f} nats, ranked right {above:.3f}")
    return told


def folds_of(samples: Sequence[Sample]) -> Ints:
    """Return the fold of each sample, all of an author in one."""
    authors = sorted({sample.author for sample in samples})
    random.Random(SEED).shuffle(authors)
    fold = {author: at % FOLDS for at, author in enumerate(authors)}
    return np.array([fold[sample.author] for sample in samples])


def leans_of_others(samples: Sequence[Sample], folds: Ints) -> Floats:
    """Return what weights learnt from the other folds lean to (samples x columns)."""
    found = np.zeros((len(samples), len(COLUMNS)))
    for fold in range(FOLDS):
        model = fit([sample for sample, at in zip(samples, folds, strict=True) if at != fold])
        own = np.flatnonzero(folds == fold)
        found[own] = model.lean([samples[at] for at in own])
    return found


def for_net(samples: Sequence[Sample]) -> net.Sample:
    """Return samples as the net takes them."""
    return net.Sample(
        np.array([sample.words for sample in samples], dtype=np.object_),
        np.array([sample.labels for sample in samples]),
        offsets(samples),
        np.array([sample.weight for sample in samples]),
    )


def net_leans_of_others(samples: Sequence[Sample], folds: Ints) -> Floats:
    """Return what nets learnt from the other folds lean to (samples x columns)."""
    found, known = np.zeros((len(samples), len(COLUMNS))), read_vectors("en")
    for fold in range(FOLDS):
        others, own = np.flatnonzero(folds != fold), np.flatnonzero(folds == fold)
        learnt = net.learn(for_net([samples[at] for at in others]), *known, SEED)
        found[own] = net.leans(for_net([samples[at] for at in own]), *known, learnt)
    return found


def shares_of(samples: Sequence[Sample], beside: Floats, around: Floats) -> Floats:
    """Return for each column what the words beside a break, and the net, count, and what is added (3 x columns)."""
    labels, usual = np.array([sample.labels for sample in samples]), offsets(samples)
    weight = np.array([sample.weight for sample in samples])
    found = np.zeros((3, len(COLUMNS)))
    for column in range(len(COLUMNS)):
        known = ~np.isnan(labels[:, column])
        told = csr_matrix(np.stack([beside[known, column], around[known, column], np.ones(known.sum())], axis=1))
        found[:, column] = fit_logistic(told, labels[known, column], weight[known], usual[known, column], 0.0)
    return found


def told(samples: Sequence[Sample], leans: Mapping[str, Floats]) -> None:
    """Print how much leans tell that were learnt from other authors."""
    for source in sorted({sample.source for sample in samples}):
        for weight in sorted({sample.weight for sample in samples if sample.source == source}, reverse=True):
            some = [k for k, s in enumerate(samples) if s.source == source and s.weight == weight]
            for name, lean in leans.items():
                print(f"{source} (weight {weight}), {name}:", "; ".join(gains([samples[k] for k in some], lean[some])))


def main() -> None:
    """Read, measure, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="cross-validate only")
    parser.add_argument("--quick", action="store_true", help="fit and write only")
    asked = parser.parse_args()
    with speaking("en"):
        samples = [*read_lines(), *read_written()]
    written_ones = [sample for sample in samples if sample.source == "written"]
    folder, known = load_language("en").folder, read_vectors("en")
    if not asked.quick:
        folds = folds_of(samples)
        beside = leans_of_others(samples, folds)
        told(samples, {"words beside": beside})
        own = np.array([sample.source == "written" for sample in samples])
        around_them = net_leans_of_others(written_ones, folds[own])
        shares = shares_of(written_ones, beside[own], around_them)
        both = shares[0] * beside[own] + shares[1] * around_them + shares[2]
        told(written_ones, {"net": around_them, "both": both})
    else:
        with np.load(folder / NET_FILE) as data:
            shares = data["shares"]
    if not asked.check:
        with speaking("en"):
            shown = [*written_ones, *read_generated()]
        learnt = net.learn(for_net(shown), *known, SEED)
        np.savez(folder / NET_FILE, **learnt, shares=shares.astype(np.float32))
        model = fit(samples)
        remark = "Written by tests/tools/train_moments.py from invented classes: a feature, then"
        for name, file in (("next", NEXT_FILE), ("last", LAST_FILE)):
            rows = {n[1:]: row for n, row in zip(model.names, model.weights, strict=True) if n[0] == name}
            print(write_weights(folder / file, remark, COLUMNS, rows, LEAST), "weights in", file)


if __name__ == "__main__":
    main()
