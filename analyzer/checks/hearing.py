"""What the recogniser may have got wrong: whether it hears clearly, and what a run of words may have been."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from functools import lru_cache

from rapidfuzz.distance import Levenshtein

from analyzer.checks.context import CheckContext
from analyzer.checks.places import worked_intervals
from analyzer.language import current_language
from analyzer.language.sound import CODE_LENGTH, sequence_code, sound_code
from analyzer.model.events import Mention
from analyzer.spotting.names import split_words, stem

SOUND_PHONES = 6  # our judgement: shorter runs of phones have too many neighbours
SHORTEST_ROOT = 4  # our judgement: letters from which the beginning of a word is its root, not another word
NAMED_FROM = 0.75  # our judgement: what is less like a name may be another word, rightly heard
CLEAR_SHARE = 0.955  # measured: nine in ten written classes without errors have more, nine in ten misheard ones less
BEFORE_S, UNTIL_SHARE = 25.0, 0.4  # our judgement: where a move's own name belongs, before its work and into it


@lru_cache(maxsize=2)
def hears_clearly(context: CheckContext) -> bool:
    """Return True when nearly all names said where their move is worked were heard letter by letter: what was not
    heard there was not said. What sounds like a name elsewhere is chance, however clear the transcript."""
    names = {id(mention): mention for mention in _own_names(context)}
    right = sum(mention.exact or is_the_name(mention) for mention in names.values())
    return bool(names) and right >= CLEAR_SHARE * len(names)


def mishears(context: CheckContext) -> bool:
    """Return True when names were heard, and not clearly."""
    return bool(context.events.mentions) and not hears_clearly(context)


def _own_names(context: CheckContext) -> Iterator[Mention]:
    """Give the names of every interval's move from shortly before its work on."""
    mentions = context.events.mentions
    for row in worked_intervals(context):
        if row.plan is None:
            continue
        edges = (row.start_s - BEFORE_S, row.start_s + UNTIL_SHARE * row.length_s)
        first, stop = (bisect_left(mentions, at_s, key=lambda m: m.at_s) for at_s in edges)
        ref = (row.plan.block, row.plan.move)
        yield from (m for m in mentions[first:stop] if ref in m.moves and (m.exact or m.score >= NAMED_FROM))


def is_the_name(mention: Mention, small: frozenset[str] = frozenset()) -> bool:
    """Return True when the words are the name's own, however parted, inflected, ordered or filled up: "jump" for
    "jumpers", "towel goes over your head" for "towel over the head" with "the" among the ``small`` words."""
    said = [stem(word) for word in split_words(mention.text)]
    name = [stem(word) for word in split_words(mention.name)]
    if "".join(said) == "".join(name) or set(said) <= set(name) or set(name) - {stem(w) for w in small} <= set(said):
        return True
    return len(said) == len(name) and all(
        b.startswith(a) and (a == b or len(a) >= SHORTEST_ROOT) for a, b in zip(said, name, strict=True)
    )


def sounds_within(said: Sequence[str], phrase: str, least: float, code: str | None = None) -> tuple[int, int] | None:
    """Return first and last index, into a few words, of the run that sounds most like a phrase; None below ``least``.

    Of use where a transcript is known to be misheard: on right words such likeness is chance.
    """
    code = code or current_language()
    wanted = tuple(split_words(phrase))
    target = sequence_code(wanted, code)
    if len(target) < SOUND_PHONES * CODE_LENGTH:
        return None
    codes = [sound_code(word, code) for word in said]
    best, where = least, None
    for size in range(max(1, len(wanted) - 1), len(wanted) + 2):
        for start in range(len(codes) - size + 1):
            score = Levenshtein.normalized_similarity("".join(codes[start : start + size]), target, score_cutoff=best)
            if score >= best and score > 0:
                best, where = score, (start, start + size - 1)
    return where
