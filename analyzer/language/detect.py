"""Which language was spoken: told by the rate of each language's function words.

Articles, prepositions, pronouns make up a third or more of running text in any style, and hardly any of them is shared
between languages, so their rates part languages within a few sentences. Each language lists about forty of its own in
``function.yaml``; the language with the highest share of words in its list is the answer, if that share is high enough
and well above the next one's. The limits are our judgement.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cache

from analyzer.language import DEFAULT, languages, load_language
from analyzer.language.spoken import fold
from analyzer.model.errors import AnalyzerError

AUTO = "auto"
"""What is asked for when the words shall tell the language."""
UNCLEAR = "unclear"
"""The answer where the words don't tell a language."""
FEWEST_WORDS = 20
LEAST_SHARE = 0.08
"""Least share of function words: drills of single words and numbers have few."""
LEAD = 2.0
"""How many times the next language's share the first one's must be."""


@cache
def _function_words(code: str) -> frozenset[str]:
    return frozenset(map(fold, load_language(code).read("function")["words"]))


def function_word_shares(norms: Sequence[str]) -> dict[str, float]:
    """Return for every language which share (0 to 1) of these lower-case words is among its function words."""
    return _shares(_counted(norms))


def _counted(norms: Sequence[str]) -> Counter[str]:
    """Return how often each word of letters was said."""
    counts: Counter[str] = Counter()
    for norm, times in Counter(norms).items():
        if norm[:1].isalpha():
            counts[fold(norm)] += times
    return counts


def _shares(counts: Counter[str]) -> dict[str, float]:
    total = max(1, counts.total())
    return {code: sum(counts[word] for word in _function_words(code)) / total for code in languages()}


def detect_language(norms: Sequence[str]) -> str:
    """Return the code of the language these lower-case words are in, or ``UNCLEAR``.

    >>> detect_language("we lift the left leg and hold it for ten more seconds and that is all you have to do".split())
    'en'
    >>> detect_language("uno dos tres".split())
    'unclear'
    """
    counts = _counted(norms)
    if counts.total() < FEWEST_WORDS:
        return UNCLEAR
    ranked = sorted(_shares(counts).items(), key=lambda pair: -pair[1])
    (best, share), *others = ranked
    if share < LEAST_SHARE or any(share < LEAD * other for _, other in others):
        return UNCLEAR
    return best


def check_language(asked: str) -> str:
    """Return a code that may be asked for, lower case: a language's, or ``AUTO``.

    Raises
    ------
    AnalyzerError
        For any other; the message lists those allowed.
    """
    code = asked.strip().lower()
    if code not in (AUTO, *languages()):
        raise AnalyzerError(
            place="--language",
            found=f"there is no language '{asked[:30]}'",
            allowed=f"allowed: {', '.join((AUTO, *languages()))}",
        )
    return code


def language_of(norms: Sequence[str]) -> str:
    """Return the code of the language to listen in: the one detected, ``DEFAULT`` where that is unclear."""
    found = detect_language(norms)
    return DEFAULT if found == UNCLEAR else found
