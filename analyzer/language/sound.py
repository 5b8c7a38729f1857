"""How alike words sound: phones from a small table, letter-to-sound rules for the rest, weighted edit distance.

A recogniser that mishears writes another word that sounds alike. Each phone is written as three characters, its
manner, its like-sounding group and itself, so that an ordinary edit distance over the characters, divided by three,
counts 1/3 for a voiced/unvoiced pair or near vowels, 2/3 for another phone of the same manner, else 1.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from analyzer.language.current import current_language
from analyzer.language.files import FOLDER

# manner -> groups of phones that are easily taken for each other (ARPAbet, stress left out).
_MANNERS: dict[str, str] = {
    "vowel": "IY IH/EH AE EY/AH AA UH/AO OW/UW/ER/AY/AW/OY",
    "stop": "P B/T D/K G",
    "breathy": "S Z/F V/TH DH/SH ZH/CH JH/HH",
    "nasal": "M/N NG",
    "glide": "L/R/W/Y",
}
CODE_LENGTH = 3
"""Characters a phone takes in an encoded word."""
LONGEST_JOINED = 40
"""Letters from which a word is no two known ones joined: no known word has half as many. A longer one is a web address
or damage, and trying every cut of it would take time with the square of its length."""


def _make_codes() -> dict[str, str]:
    codes: dict[str, str] = {}
    letter = iter(range(0x40, 0x100))  # any characters of one byte: they are only compared, and these faster
    for groups in _MANNERS.values():
        manner = chr(next(letter))
        for group in groups.split("/"):
            like = chr(next(letter))
            for phone in group.split():
                codes[phone] = manner + like + chr(next(letter))
    return codes


_CODES = _make_codes()


def encode(phones: str) -> str:
    """Return ARPAbet phones ("P L AE NG K") as a string of three characters a phone."""
    return "".join(_CODES[phone] for phone in phones.split())


@cache
def _table(language: str) -> dict[str, str]:
    path = FOLDER / language / "phones.tsv"
    if not path.is_file():  # a language whose spelling tells the sound needs rules alone
        return {}
    return dict(line.split("\t", 1) for line in path.read_text(encoding="utf-8").splitlines())


@cache
def _letter_rules(language: str) -> tuple[re.Pattern[str], tuple[str, ...]]:
    """Return one pattern, an alternative a rule, and the phones of each rule. First rule that fits wins."""
    lines = (FOLDER / language / "letters.tsv").read_text(encoding="utf-8").splitlines()
    rules = [line.split("\t") for line in lines if line and not line.startswith("#")]
    pattern = "|".join(f"({rule[0]})" for rule in rules)
    return re.compile(pattern), tuple(rule[1] if len(rule) > 1 else "" for rule in rules)


def spell_out(word: str, language: str | None = None) -> str:
    """Return the phones that letter-to-sound rules give, "" for a word without letters."""
    pattern, sounds = _letter_rules(language or current_language())
    found = [sounds[match.lastindex - 1] for match in pattern.finditer(word.lower()) if match.lastindex]
    phones = " ".join(sound for sound in found if sound).split()
    return " ".join(phone for at, phone in enumerate(phones) if at == 0 or phone != phones[at - 1])


def pronunciations(word: str, language: str | None = None) -> tuple[str, ...]:
    """Return how a lower-case word may be said, phones apart by spaces, at least one unless it has no letters.

    In order: the table; a known word with an ending (in English -s, -es, -ed, -ing, 's); two known words joined, as
    in "walkouts"; letter by letter. ``language`` is a code, None the current one, here and below.
    """
    return _pronunciations(word, language or current_language())


@lru_cache(maxsize=20000)
def _pronunciations(word: str, language: str) -> tuple[str, ...]:
    word = word.lower().replace("’", "'")
    table = _table(language)
    listed = table.get(word)
    if listed is not None:
        return tuple(listed.split("|"))
    if "-" in word:
        parts = [_pronunciations(part, language) for part in word.split("-") if part]
        return (" ".join(part[0] for part in parts if part),) if parts else ()
    built = _with_ending(word, language) or _two_words(word, table)
    if built:
        return (built,)
    spelt = spell_out(word, language)
    return (spelt,) if spelt else ()


@cache
def _endings(language: str) -> tuple[tuple[str, tuple[tuple[re.Pattern[str], str], ...], bool], ...]:
    """Return endings in the order of ``endings.tsv``: how each sounds after what, whether after joined words, too."""
    path = FOLDER / language / "endings.tsv"
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else []
    rows = [line.split("\t") for line in lines if line and not line.startswith("#")]
    found: dict[str, list[tuple[re.Pattern[str], str]]] = {}
    for ending, after, sound, *_ in rows:
        found.setdefault(ending, []).append((re.compile(after), sound))
    joined = {row[0] for row in rows if row[3:] == ["joined"]}
    return tuple((ending, tuple(sounds), ending in joined) for ending, sounds in found.items())


def _with_ending(word: str, language: str) -> str:
    table = _table(language)
    for ending, sounds, _ in _endings(language):
        stem = word.removesuffix(ending)
        if stem == word or len(stem) < 3:
            continue
        for base in (stem, stem + "e", stem[:-1] if len(stem) > 3 and stem[-1] == stem[-2] else stem):
            phones = (table.get(base) or "").split("|")[0]
            if phones:
                return f"{phones} {_ending_sound(sounds, phones)}"
    for ending, sounds, after_joined in _endings(language):
        joined = _two_words(word.removesuffix(ending), table) if after_joined and word.endswith(ending) else ""
        if joined:
            return f"{joined} {_ending_sound(sounds, joined)}"
    return ""


def _ending_sound(sounds: tuple[tuple[re.Pattern[str], str], ...], phones: str) -> str:
    last = phones.split()[-1]
    return next(sound for after, sound in sounds if after.fullmatch(last))


def _two_words(word: str, table: dict[str, str]) -> str:
    if len(word) > LONGEST_JOINED:
        return ""
    for cut in range(len(word) - 2, 2, -1):
        left, right = table.get(word[:cut]), table.get(word[cut:])
        if left and right:
            return f"{left.split('|')[0]} {right.split('|')[0]}"
    return ""


def sound_code(word: str, language: str | None = None) -> str:
    """Return the encoded phones of the first pronunciation of a word, "" where it has none."""
    return _sound_code(word, language or current_language())


@lru_cache(maxsize=20000)
def _sound_code(word: str, language: str) -> str:
    said = _pronunciations(word, language)
    return encode(said[0]) if said else ""


def sequence_code(words: tuple[str, ...], language: str | None = None) -> str:
    """Return the encoded phones of words said in a row, so that where they are split makes no difference."""
    return "".join(sound_code(word, language) for word in words)
