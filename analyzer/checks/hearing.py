"""What the recogniser may have got wrong: whether it hears clearly, and what a run of words may have been."""

from __future__ import annotations

from collections.abc import Sequence

from rapidfuzz.distance import Levenshtein

from analyzer.language import current_language
from analyzer.language.sound import CODE_LENGTH, sequence_code, sound_code
from analyzer.model.events import Events, Mention
from analyzer.spotting.names import split_words, stem

SOUND_PHONES = 6  # our judgement: shorter runs of phones have too many neighbours
SHORTEST_ROOT = 4  # our judgement: letters from which the beginning of a word is its root, not another word
NAMED_FROM = 0.75  # our judgement: what is less like a name may be another word, rightly heard
CLEAR_SHARE = 0.98  # our judgement: below this share of names heard letter by letter, other words are lost as well


def hears_clearly(events: Events) -> bool:
    """Return True when nearly all names of moves were heard letter by letter: what was not heard was not said."""
    names = [m for m in events.mentions if m.exact or m.score >= NAMED_FROM]
    return bool(names) and sum(m.exact for m in names) >= CLEAR_SHARE * len(names)


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
