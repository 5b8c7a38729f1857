"""How the words of a sentence lean: towards an easier way, a harder one, or none.

Every word stands for one or more of the language's kinds of words (a condition, a permission, a part of the body, a
smaller effort...). A sentence is the set of kinds in it, those it opens with, and its groups of phrases; learnt weights
of these, alone and in pairs, say how far it leans. The weights are a data file of the language, written by
``tests/tools/train_options.py``; a language without that file leans nowhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from analyzer.language import Language, load_language

Floats = npt.NDArray[np.float32]
JOINED = "shape:joined"
SHAPES = ("shape:two", "shape:four", "shape:seven", "shape:long", JOINED)
"""How many words a sentence has, and whether it is two read together."""
SHAPE_WORDS = (2, 4, 7)
MOST_LEAN = 0.35
"""Most that the learnt lean of the words may add to what the phrases say; it takes nothing off. Words alone make no
offer: a class holds much talk unlike anything that was learnt from."""
OPENING, GROUP = "^", "group:"
WORDS_FILE, WEIGHTS_FILE = "options-words", "options-weights.tsv"


@dataclass(frozen=True, eq=False)
class OptionWords:
    """The kinds of words and the learnt weights of one language.

    ``columns`` names what a sentence may hold; ``alone`` (columns x 2) and ``pairs`` (2 x columns x columns, upper
    triangle) weigh it for the easier and the harder way.
    """

    kinds: dict[str, tuple[int, ...]]
    columns: dict[str, int]
    number: int
    alone: Floats
    pairs: Floats


def read_kinds(language: Language) -> tuple[dict[str, tuple[int, ...]], tuple[str, ...]]:
    """Return the kinds that each word stands for, by number, and their names; nothing where there is no file."""
    if not (language.folder / f"{WORDS_FILE}.yaml").exists():
        return {}, ()
    data = language.read(WORDS_FILE)
    kinds: dict[str, list[int]] = {}
    for number, words in enumerate(data.values()):
        for word in dict.fromkeys(words):
            kinds.setdefault(word, []).append(number)
    return {word: tuple(numbers) for word, numbers in kinds.items()}, tuple(data)


def column_names(names: Sequence[str], groups: Sequence[str]) -> tuple[str, ...]:
    """Return what a sentence may hold, in order: kinds, kinds at its opening, groups, shapes."""
    opening = (f"{OPENING}{name}" for name in names)
    return (*names, *opening, *(f"{GROUP}{name}" for name in groups), *SHAPES)


@cache
def option_words(code: str, groups: tuple[str, ...]) -> OptionWords | None:
    """Read the kinds and weights of a language; once a process. None where it has no weights."""
    language = load_language(code)
    kinds, names = read_kinds(language)
    path = language.folder / WEIGHTS_FILE
    if not kinds or not path.exists():
        return None
    columns = {name: at for at, name in enumerate(column_names(names, groups))}
    alone = np.zeros((len(columns), 2), dtype=np.float32)
    pairs = np.zeros((2, len(columns), len(columns)), dtype=np.float32)
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        one, two, easier, harder = line.split("\t")
        if two == "-":
            alone[columns[one]] = float(easier), float(harder)
        else:
            pairs[:, columns[one], columns[two]] = float(easier), float(harder)
    return OptionWords(kinds, columns, len(names), alone, pairs)


def kinds_of(norm: str, kinds: dict[str, tuple[int, ...]]) -> tuple[int, ...]:
    """Return the kinds of a word; of its parts where it is hyphened, of its stem before an apostrophe."""
    found = kinds.get(norm)
    if found is None and "-" in norm:
        found = tuple({kind for part in norm.split("-") for kind in kinds.get(part, ())})
    if found is None and norm.endswith("'s"):
        found = kinds.get(norm[:-2])
    return found or ()


def held_columns(
    norms: Sequence[str],
    groups: frozenset[str],
    kinds: dict[str, tuple[int, ...]],
    columns: dict[str, int],
    number: int,
) -> set[int]:
    """Return what a sentence of these words and groups holds; ``number`` is how many kinds there are."""
    found = {kind for norm in norms for kind in kinds_of(norm, kinds)}
    found.update(number + kind for kind in kinds_of(norms[0], kinds))
    found.update(columns[GROUP + name] for name in groups)
    found.add(columns[SHAPES[sum(len(norms) > most for most in SHAPE_WORDS)]])
    return found


def lean_of(held: set[int], table: OptionWords) -> tuple[float, float]:
    """Return how far what is held leans to the easier and to the harder way, each 0 to :data:`MOST_LEAN`."""
    at = np.fromiter(sorted(held), dtype=np.int64)
    found = table.alone[at].sum(axis=0) + table.pairs[:, at[:, None], at].sum(axis=(1, 2))
    easier, harder = (min(MOST_LEAN, max(0.0, float(lean))) for lean in found)
    return easier, harder
