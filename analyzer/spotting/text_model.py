"""How far words lean to what a learnt model tells apart: log-linear over the words and what they stand for.

A run is read as its words, each alone, beside the next and across one; the same for the kinds of words (a condition, a
part of the body, a smaller effort...), of which a word may stand for several; its groups of phrases; and its length.
Every such feature has a weight a column, learnt from invented sentences: the weights are a data file of the language,
written by a script under ``tests/tools``. A language without that file has no model.

Conventions: leans are natural log odds, a column for each thing told apart (k of them); arrays (n, k).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from analyzer.language import Language, SpokenText, load_language
from analyzer.language.spoken import EDGE

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
WORDS_FILE = "options-words"
BIAS = "bias"
BEGINNING = 5
"""Letters of a longer word that stand for all its forms."""
LENGTHS = (2, 4, 7, 11)
"""Runs of at most so many words are told apart."""
MOST_KNOWN = 20_000


def read_kinds(language: Language) -> dict[str, tuple[str, ...]]:
    """Return the kinds that each word stands for; the edge of a sentence is a kind of its own."""
    if not (language.folder / f"{WORDS_FILE}.yaml").exists():
        return {}
    kinds: dict[str, list[str]] = {EDGE: [EDGE]}
    for kind, words in language.read(WORDS_FILE).items():
        for word in dict.fromkeys(words):
            kinds.setdefault(word, []).append(kind)
    return {word: tuple(some) for word, some in kinds.items()}


def kinds_of(token: str, kinds: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Return the kinds of a word; of what stands before an apostrophe where the whole has none."""
    found = kinds.get(token)
    if found is None and "'" in token:
        found = kinds.get(token.partition("'")[0])
    return found or ()


def features(
    tokens: Sequence[str], groups: Iterable[str], kinds: Mapping[str, tuple[str, ...]]
) -> Iterator[tuple[str, ...]]:
    """Give every feature of a run, as often as it holds it: what a weight's line in the data file begins with.

    ``tokens`` with the edges of its sentences. What :class:`TextModel` adds up at once, said one by one.
    """
    yield (BIAS,)
    yield "length", str(_length(tokens))
    for group in groups:
        yield "group", group
    held = [kinds_of(token, kinds) for token in tokens]
    for token, own in zip(tokens, held, strict=True):
        yield "word", token
        if len(token) > BEGINNING:
            yield "beginning", token[:BEGINNING]
        for kind in own:
            yield "kind", kind
    for name, step in (("beside", 1), ("across", 2)):
        for one, two in zip(tokens, tokens[step:], strict=False):
            yield name, one, two
        for left, right in zip(held, held[step:], strict=False):
            for kind, other in product(left, right):
                yield f"kinds {name}", kind, other


def _length(tokens: Sequence[str]) -> int:
    words = sum(token != EDGE for token in tokens)
    return sum(words > most for most in LENGTHS)


@dataclass(frozen=True, eq=False)
class _Pairs:
    """Weights of two words at a distance: sorted ``keys`` (first id * words + second id) and ``weights`` (n, k).

    The last key is above all others, its weights are 0.
    """

    keys: Ints
    weights: Floats

    def of(self, numbers: Ints, size: int, step: int) -> Floats:
        """Return the weights of every two words that far apart, at the first of them; 0 for what has none."""
        keys = numbers[:-step] * size + numbers[step:]
        at = np.searchsorted(self.keys, keys)
        at[self.keys[at] != keys] = len(self.keys) - 1
        return self.weights.take(at, axis=0)


class _Word(NamedTuple):
    """What is known of a word: its number among the words that pairs are made of, that of its set of kinds, weights."""

    number: int
    kinds: int
    weights: Sequence[float]


class _Known(dict[str, _Word]):
    """The words met so far; a new one finds what the weights say of it."""

    def __init__(
        self,
        numbers: Mapping[str, int],
        kinds: Mapping[str, tuple[str, ...]],
        kind_sets: Mapping[tuple[str, ...], int],
        weights: Mapping[tuple[str, ...], Floats],
        columns: int,
    ):
        super().__init__()
        self._numbers, self._kinds, self._kind_sets = numbers, kinds, kind_sets
        self._weights, self._columns = weights, columns

    def __missing__(self, token: str) -> _Word:
        names = [name for name in features([token], (), self._kinds) if name[0] in ("word", "beginning", "kind")]
        weights = sum((self._weights[name] for name in names if name in self._weights), np.zeros(self._columns))
        kinds = self._kind_sets[kinds_of(token, self._kinds)]
        word = self[token] = _Word(self._numbers.get(token, 0), kinds, weights.tolist())
        return word


@dataclass(frozen=True, eq=False)
class TextModel:
    """The weights of one language, laid out to be added up for a whole transcript at once.

    ``kinds_beside``, ``kinds_across``: (s, s, k), what two words lean to by the sets of kinds that they stand for, s of
    them; ``lengths`` (bins, k); ``size`` words that pairs are made of.
    """

    bias: Floats
    lengths: Floats
    groups: Mapping[str, Floats]
    known: _Known
    size: int
    beside: _Pairs
    across: _Pairs
    kinds_beside: Floats
    kinds_across: Floats

    def read(self, spoken: SpokenText) -> Reading:
        """Return the leans of every place of a text, from which :meth:`Reading.leans` adds up runs."""
        if len(self.known) > MOST_KNOWN:
            self.known.clear()
        number, kind, weights = zip(*[self.known[token] for token in spoken.distinct], strict=True)
        numbers, kinds = np.array(number)[spoken.which], np.array(kind)[spoken.which]
        beside, across = self.beside.of(numbers, self.size, 1), self.across.of(numbers, self.size, 2)
        beside += self.kinds_beside[kinds[:-1], kinds[1:]]
        across += self.kinds_across[kinds[:-2], kinds[2:]]
        own = np.array(weights).take(spoken.which, axis=0)
        edges = np.concatenate([[0], np.cumsum(spoken.is_edge)])
        return Reading(self, spoken.places, edges, _summed(own), _summed(beside), _summed(across))


def _summed(values: Floats) -> Floats:
    """Return running sums with a 0 before them, (n + 1, k)."""
    return np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])


def run_of(places: Floats, first: npt.ArrayLike, last: npt.ArrayLike) -> tuple[Ints, Ints]:
    """Return the tokens of the words ``first`` to ``last`` with one on either side, from and up to."""
    start = np.searchsorted(places, np.asarray(first, dtype=np.float64), side="left")
    stop = np.searchsorted(places, np.asarray(last, dtype=np.float64) + 0.25, side="left")
    return np.maximum(start - 1, 0), np.minimum(stop + 1, len(places))


@dataclass(frozen=True, eq=False)
class Reading:
    """A text as the model reads it: running sums of what its tokens lean to, alone, beside and across.

    ``places`` as the text's own; ``edges`` how many edges stand before it.
    """

    model: TextModel
    places: Floats
    edges: Ints
    own: Floats
    beside: Floats
    across: Floats

    def tokens(self, first: npt.ArrayLike, last: npt.ArrayLike) -> tuple[Ints, Ints]:
        """Return the tokens of the words ``first`` to ``last`` with one on either side, from and up to."""
        return run_of(self.places, first, last)

    def leans(self, first: npt.ArrayLike, last: npt.ArrayLike, groups: Sequence[frozenset[str]] = ()) -> Floats:
        """Return how far each run of words, ``first`` to ``last``, with its groups, leans to each column (runs, k)."""
        start, stop = self.tokens(first, last)
        words = stop - start - (self.edges[stop] - self.edges[start])
        found: Floats = self.model.bias + self.model.lengths[np.searchsorted(LENGTHS, words, side="left")]
        for sums, step in ((self.own, 0), (self.beside, 1), (self.across, 2)):
            found += sums[np.maximum(stop - step, start)] - sums[start]
        if groups:
            weights, nothing = self.model.groups, np.zeros_like(self.model.bias)
            places = {held: place for place, held in enumerate(dict.fromkeys(groups))}
            own = np.array([sum((weights[name] for name in held if name in weights), nothing) for held in places])
            found += own[[places[held] for held in groups]]
        return found


def chances(leans: Floats) -> Floats:
    """Return the probabilities of columns that exclude each other and may all be absent, (n, k).

    >>> chances(np.zeros((1, 2))).round(3).tolist()
    [[0.333, 0.333]]
    """
    top = np.maximum(leans.max(axis=1, keepdims=True), 0.0)
    odds = np.exp(leans - top)
    found: Floats = odds / (odds.sum(axis=1, keepdims=True) + np.exp(-top))
    return found


@cache
def text_model(code: str, weights_file: str) -> TextModel | None:
    """Read a model of a language; once a process. None where it has no such weights.

    Each line of the file is a feature's name, then its weights, a tab before each; the first line is a remark that
    ends in the names of the columns.
    """
    language = load_language(code)
    path = language.folder / weights_file
    if not path.exists():
        return None
    weights = read_weights(path)
    kinds = read_kinds(language)
    sets = {some: at for at, some in enumerate(dict.fromkeys([(), *kinds.values()]))}
    words = {word for name in weights if name[0] in ("beside", "across") for word in name[1:]}
    numbers = {word: at for at, word in enumerate(sorted(words), start=1)}
    size = len(numbers) + 1
    zero = np.zeros_like(next(iter(weights.values())))
    return TextModel(
        bias=weights.get((BIAS,), zero),
        lengths=np.stack([weights.get(("length", str(at)), zero) for at in range(len(LENGTHS) + 1)]),
        groups={name[1]: row for name, row in weights.items() if name[0] == "group"},
        known=_Known(numbers, kinds, sets, weights, len(zero)),
        size=size,
        beside=_pairs("beside", weights, numbers, size, len(zero)),
        across=_pairs("across", weights, numbers, size, len(zero)),
        kinds_beside=_by_kinds("kinds beside", weights, sets),
        kinds_across=_by_kinds("kinds across", weights, sets),
    )


def read_weights(path: Path) -> dict[tuple[str, ...], Floats]:
    """Return the weights of a file, a row (k,) for each feature's name."""
    remark, *lines = path.read_text(encoding="utf-8").splitlines()
    columns = remark.count("\t")
    rows = [line.rsplit("\t", columns) for line in lines]
    values = np.array([row[1:] for row in rows], dtype=np.float64)
    return {tuple(row[0].split("\t")): own for row, own in zip(rows, values, strict=True)}


def write_weights(
    path: Path, remark: str, columns: Sequence[str], weights: Mapping[tuple[str, ...], Floats], least: float
) -> int:
    """Write weights as :func:`read_weights` reads them, those below ``least`` left out; say how many are written."""
    lines = ["\t".join([f"# {remark}", *columns])]
    for name, row in weights.items():
        if max(abs(value) for value in row.tolist()) >= least:
            lines.append("\t".join([*name, *(f"{value:.2f}" for value in row.tolist())]))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return len(lines) - 1


def _pairs(
    kind: str, weights: Mapping[tuple[str, ...], Floats], numbers: Mapping[str, int], size: int, columns: int
) -> _Pairs:
    rows = sorted((numbers[name[1]] * size + numbers[name[2]], name) for name in weights if name[0] == kind)
    values = [weights[name] for _, name in rows]
    return _Pairs(np.array([*(key for key, _ in rows), size * size]), np.array([*values, np.zeros(columns)]))


def _by_kinds(kind: str, weights: Mapping[tuple[str, ...], Floats], sets: Collection[tuple[str, ...]]) -> Floats:
    """Return what words of every two sets of kinds lean to (s, s, k): each kind of one with each kind of the other."""
    names = sorted({name for some in sets for name in some})
    table = np.zeros((len(names), len(names), len(next(iter(weights.values())))))
    for row, left in enumerate(names):
        for column, right in enumerate(names):
            table[row, column] = weights.get((kind, left, right), 0.0)
    held = np.zeros((len(sets), len(names)))
    for at, some in enumerate(sets):
        held[at] = [name in some for name in names]
    found: Floats = np.einsum("ai,ijk,bj->abk", held, table, held, optimize=True)
    return found
