"""Phrases said around stretches of work, and how far each sounds like the name of what is worked there.

Every run of up to four words is looked at, whether a list holds it or not: where it stands in its clause, how long
before or after the start, what its words are, how often it is said and whether near starts. A net weighs such features
beside the words themselves (:mod:`analyzer.spotting.place_net`), learnt from written classes
(``tests/tools/train_names.py``). A language without that net has no such model.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from analyzer.alignment.discover import Stretch
from analyzer.language import load_language
from analyzer.language.spoken import EDGE
from analyzer.language.stems import stem
from analyzer.model.transcript import Floats, Ints
from analyzer.spotting.context import SpotContext
from analyzer.spotting.names import name_words, split_words
from analyzer.spotting.place_net import Feature, Window, place_net
from analyzer.spotting.text_model import kinds_of, read_kinds
from analyzer.spotting.vocabulary import vocabulary

NET_FILE = "names-net.npz"
WINDOW = Window(5, 4, 5)
MOST_WORDS = 4
BEFORE_S, INTO_WORK_S, AFTER_S = 45.0, 30.0, 5.0
"""A phrase speaks of work that starts so much later (less where other work goes on), or has ended so shortly."""
NEAR_BEFORE_S, NEAR_AFTER_S = 12.0, 6.0
"""What counts as near a start."""
AGAIN = 0.3
"""Of the logarithm of how often a phrase is said around one stretch, nats."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A run of words said around a stretch. ``key`` its stems without articles."""

    stretch: int
    key: str
    first: int
    last: int


@dataclass(frozen=True, eq=False)
class Tokens:
    """Everything said as tokens, an edge where a clause begins and at the end.

    ``first`` and ``last`` hold for every word its first and last token: one with an inner hyphen has several.
    """

    said: tuple[str, ...]
    first: Ints
    last: Ints

    @classmethod
    def of(cls, context: SpotContext) -> Tokens:
        """Lay out what was said; linear in the words."""
        said: list[str] = []
        first, last = [], []
        for index, norm in enumerate(context.words.norm):
            if context.breaks_before(index):
                said.append(EDGE)
            first.append(len(said))
            said += split_words(norm) or [norm]
            last.append(len(said) - 1)
        return cls((*said, EDGE), np.array(first, dtype=np.int64), np.array(last, dtype=np.int64))

    def around(self, phrases: Sequence[Phrase]) -> Ints:
        """Return the tokens in and around phrases (n, tokens read), one past the last for none."""
        start, end = self.first[[p.first for p in phrases]], self.last[[p.last for p in phrases]]
        return WINDOW.around(start, end, len(self.said))

    def numbered(self, around: Ints) -> tuple[tuple[str, ...], Ints]:
        """Return every token once, and which of them each of those ``around`` is."""
        numbers = {token: at for at, token in enumerate(dict.fromkeys(self.said))}
        return tuple(numbers), np.array([*(numbers[token] for token in self.said), len(numbers)])[around]


@dataclass(frozen=True, eq=False)
class _Lexicon:
    """Stems of usual names: their words, their last words, the whole of them; words that are hardly names."""

    words: frozenset[str]
    endings: frozenset[str]
    names: frozenset[str]
    small: frozenset[str]
    skipped: frozenset[str]
    kinds: Mapping[str, tuple[str, ...]]


@cache
def _lexicon(code: str) -> _Lexicon:
    known, articles = vocabulary(code), name_words(code).articles
    names = [key_of(text, code) for move in known.moves for text in (move.name, *move.also)]
    return _Lexicon(
        frozenset(word for name in names for word in name.split()),
        frozenset(name.split()[-1] for name in names),
        frozenset(names),
        known.small | known.never,
        articles | known.joining,
        read_kinds(load_language(code)),
    )


def key_of(text: str, code: str) -> str:
    """Return the stems of a name, its articles left out.

    >>> key_of("the Reverse Lunges", "en")
    'revers lung'
    """
    articles = name_words(code).articles
    return " ".join(stem(word) for word in split_words(text) if word not in articles)


def phrases_of(context: SpotContext) -> dict[str, list[tuple[int, int]]]:
    """Return key -> first and last word of each place where the phrase is said, as far as it may be a name."""
    words, lexicon = context.words, _lexicon(context.language.code)
    stems = [[stem(part) for part in split_words(norm)] for norm in words.norm]
    wordy = [bool(parts) and norm[:1].isalpha() for norm, parts in zip(words.norm, stems, strict=True)]
    edge = [norm in lexicon.skipped for norm in words.norm]
    found: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for first in range(len(words)):
        if edge[first]:
            continue
        held: list[str] = []
        for last in range(first, min(first + MOST_WORDS, len(words))):
            if not wordy[last]:
                break
            held += () if edge[last] else stems[last]
            if not edge[last] and not lexicon.small.issuperset(held):
                found[" ".join(held)].append((first, last))
            if context.breaks_after(last):
                break
    return found


def phrases_around(context: SpotContext, found: Sequence[Stretch]) -> Iterator[tuple[Phrase, tuple[Feature, ...]]]:
    """Give each phrase said around each stretch, and its features."""
    said, start_s = phrases_of(context), context.words.start_s
    starts, ends = np.array([s.start_s for s in found]), np.array([s.end_s for s in found])
    about = _About(context, found)
    for key, places in said.items():
        pairs = [(at, place) for place in places for at in _stretches(float(start_s[place[0]]), starts, ends)]
        near = {at for at, (first, _) in pairs if -NEAR_BEFORE_S < start_s[first] - starts[at] < NEAR_AFTER_S}
        of_key = tuple(about.key(key, len(places), len(near)))
        for at, (first, last) in pairs:
            yield Phrase(at, key, first, last), (*of_key, *about.place(at, first, last))


def _stretches(at_s: float, starts: Floats, ends: Floats) -> list[int]:
    """Return the stretches that something said then may speak of."""
    after = int(np.searchsorted(starts, at_s, side="right"))
    now = after - 1
    within = now >= 0 and at_s < ends[now]
    reach_s = INTO_WORK_S if within else BEFORE_S
    about = [now] if within or (now >= 0 and at_s - ends[now] < AFTER_S) else []
    return [*about, after] if after < len(starts) and starts[after] - at_s < reach_s else about


@dataclass(frozen=True, eq=False)
class _About:
    """Gives the features of phrases of one recording."""

    context: SpotContext
    found: Sequence[Stretch]

    def key(self, key: str, times: int, near: int) -> Iterator[Feature]:
        """Give what is true of a phrase wherever it is said."""
        lexicon = _lexicon(self.context.language.code)
        stems = key.split()
        usual = sum(word in lexicon.words for word in stems)
        yield "words", str(len(stems))
        yield "usual words", "all" if usual == len(stems) else "some" if usual else "none"
        if stems[-1] in lexicon.endings:
            yield ("usual ending",)
        if key in lexicon.names:
            yield "usual name", str(len(stems))
        yield from (("small",) for word in stems if word in lexicon.small)
        share = near / times
        yield "times", _bin(times, 1, 2, 4, 8)
        yield "near starts", _bin(near, 0, 1, 2, 4)
        yield "share near starts", _bin(share, 0.0, 0.3, 0.6, 0.9)
        yield "of all starts", _bin(near / len(self.found), 0.05, 0.1, 0.2, 0.4)
        if near > 1:
            yield "near some starts", _bin(share, 0.3, 0.6, 0.9)

    def place(self, at: int, first: int, last: int) -> Iterator[Feature]:
        """Give what is true of a phrase where it is said."""
        context, norm = self.context, self.context.words.norm
        kinds = _lexicon(context.language.code).kinds
        opens, closes = context.breaks_before(first), context.breaks_after(last)
        clause = "alone" if opens and closes else "opens" if opens else "closes" if closes else "inside"
        where = self._where(at, float(context.words.start_s[first]))
        yield "clause", clause
        yield "place", where
        if clause == "alone":
            yield "alone", where
        yield from (("first word", kind) for kind in kinds_of(norm[first], kinds))
        yield from (("last word", kind) for kind in kinds_of(norm[last], kinds))

    def _where(self, at: int, at_s: float) -> str:
        """Return where something is said as seen from a stretch."""
        stretch = self.found[at]
        into_s, left_s = at_s - stretch.start_s, stretch.end_s - at_s
        if into_s < 0:
            before = "work before" if at and at_s < self.found[at - 1].end_s else "gap before"
            return f"{before} {_bin(-into_s, 3.0, 8.0, 20.0)}"
        if left_s < 0:
            return "gap after"
        return "end" if into_s >= 9.0 and left_s < 8.0 else f"work {_bin(into_s, 3.0, 9.0)}"


def _bin(value: float, *limits: float) -> str:
    """Return the limit that a value does not exceed, "more" for none."""
    return next((f"{limit:g}" for limit in limits if value <= limit), "more")


def leans(context: SpotContext, found: Sequence[Stretch]) -> tuple[list[dict[str, float]], dict[str, str]]:
    """Return, for each stretch, how far each phrase around it leans to being its name, nats; and how phrases were said.

    Nothing where the language has no net.
    """
    net = place_net(context.language.code, NET_FILE)
    around = list(phrases_around(context, found)) if net is not None and found else []
    if net is None or not around:
        return [{} for _ in found], {}
    said: dict[str, str] = {}
    for phrase, _ in around:
        said.setdefault(phrase.key, " ".join(filter(None, context.words.norm[phrase.first : phrase.last + 1])))
    phrases, tokens = [phrase for phrase, _ in around], Tokens.of(context)
    told = net.leans(*tokens.numbered(tokens.around(phrases)), [features for _, features in around])
    return gathered(phrases, told[:, 0], len(found)), said


def gathered(phrases: Sequence[Phrase], told: Floats, stretches: int) -> list[dict[str, float]]:
    """Return, for each stretch, how far what is said around it leans to being its name, once or more, nats.

    ``told`` how far each phrase does where it is said (phrases,).
    """
    found: list[dict[str, list[float]]] = [defaultdict(list) for _ in range(stretches)]
    for phrase, lean in zip(phrases, told.tolist(), strict=True):
        found[phrase.stretch][phrase.key].append(lean)
    return [{key: max(some) + AGAIN * float(np.log(len(some))) for key, some in row.items()} for row in found]
