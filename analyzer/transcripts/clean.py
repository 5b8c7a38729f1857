"""Text of a block to words: markup, entities, sound notes and speaker prefixes taken off.

Never changes a word that was said, apart from joining the pieces of one that a recogniser parted ("twenty -five").
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from html import unescape

from analyzer.model.transcript import Caption, Token
from analyzer.transcripts.reading import Block

_TAG = re.compile(r"<[^<>]*>")
_VOICE = re.compile(r"<v(?:\.[^\s<>]*)?[ \t\n]([^<>]*)>")
_OVERRIDE = re.compile(r"\{\\[^{}]*\}")
_BRACKETED = re.compile(r"\[[^\[\]]{0,80}\]|♪[^♪]{0,200}♪|\*[a-z][a-z ]{0,30}\*", re.IGNORECASE)
_ALONE = re.compile(r"^[ \t>-]*\([^()]{0,80}\)[ \t]*$", re.MULTILINE)
_SHOUTED = re.compile(r"\([A-Z][A-Z ,'-]{2,60}\)")
_CHANGE = re.compile(r"^[ \t]*(?:&gt;|>){2,3}[ \t]*")
_DASH = re.compile(r"^[ \t]*[-–—]+[ \t]*(?=\w)", re.MULTILINE)
_NAME = r"(?:[A-Z][\w.'’-]{0,20}|[0-9]{1,2})"
_PREFIX = re.compile(rf"^[ \t]*({_NAME}(?:[ \t]+{_NAME}){{0,2}})[ \t]*:(?=\s)[ \t]*")
_ROLE = re.compile(
    r"(?:.*\b)?(?:coach|speaker|instructor|trainer|teacher|host|presenter|narrator|guest|producer|voice|participant)"
    r"\b(?: .{1,10})?",
    re.IGNORECASE,
)
_INVISIBLE = {ord(char): None for char in "\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\u00ad\u202a\u202b\u202c"}
PREFIX_SHARE = 0.1  # a prefix on one caption in ten is a speaker's name, on fewer it may be a word said with weight
CHANGED = ">>"  # the speaker changed, and nobody says to whom


def strip_tags(text: str) -> str:
    """Return the text without ``<...>``; a ``<`` that nothing closes stays.

    >>> strip_tags("five<00:00:02.000><c> four</c>")
    'five four'
    """
    return _TAG.sub("", text) if "<" in text else text


def to_captions(blocks: Sequence[Block]) -> tuple[Caption, ...]:
    """Return one caption a block that still holds a word, numbered by the block's place, from 1."""
    plain = [_plain(block) for block in blocks]
    names = _speaker_names([text for _, text in plain])
    pool: dict[str, Token] = {}
    captions: list[Caption] = []
    for number, (block, (voice, text)) in enumerate(zip(blocks, plain, strict=True), 1):
        speaker = block.speaker or voice
        if block.tokens:
            tokens = _clean_timed(block.tokens)
        else:
            prefix, text = _split_prefix(text, names)
            speaker = prefix or speaker
            tokens = _pooled(text, pool)
        if tokens:
            captions.append(Caption(number, block.start_ms, block.end_ms, tokens, speaker, block.line))
    return tuple(captions)


def _pooled(text: str, pool: dict[str, Token]) -> tuple[Token, ...]:
    """Return the words of a text as tokens without times; equal words share one token, made in ``pool``."""
    words = text.split()
    try:
        return tuple([pool[word] for word in words])
    except KeyError:  # a word not seen yet; only those that stand for themselves get into the pool
        for word in words:
            if word not in pool:
                if not _ordinary(word):
                    return tuple([pool.get(part) or Token(part) for part in split_words(text)])
                pool[word] = Token(word)
        return tuple([pool[word] for word in words])


def _plain(block: Block) -> tuple[str | None, str]:
    """Return the voice a block names in its markup, and its text without markup and sound notes."""
    text, voice = block.text, None
    if not text:
        return None, ""
    if "<" in text:
        match = _VOICE.search(text)
        voice = " ".join(unescape(match[1]).split()) or None if match else None
        text = _TAG.sub("", text)
    if "{" in text:
        text = _OVERRIDE.sub("", text)
    if "&" in text:
        text = unescape(text)
    if "[" in text or "♪" in text or "*" in text:
        text = _BRACKETED.sub(" ", text).replace("♪", " ")
    if "(" in text:
        text = _SHOUTED.sub(" ", _ALONE.sub(" ", text))
    if not text.isascii():
        text = text.translate(_INVISIBLE)
    return voice, text


def _speaker_names(texts: Iterable[str]) -> frozenset[str]:
    """Return the prefixes that name a speaker: a role, one in capitals that comes again, or a frequent one."""
    counts: Counter[str] = Counter()
    total = capitals = 0
    for text in texts:
        total += 1
        capitals += text.isupper()
        if ":" in text:
            match = _PREFIX.match(_CHANGE.sub("", _DASH.sub("", text)))
            if match:
                counts[" ".join(match[1].split())] += 1
    frequent = max(2.0, PREFIX_SHARE * total)
    shouted = capitals * 2 > total
    return frozenset(
        name
        for name, times in counts.items()
        if times >= frequent or _ROLE.fullmatch(name) or (times > 1 and name.isupper() and not shouted)
    )


def _split_prefix(text: str, names: frozenset[str]) -> tuple[str | None, str]:
    """Return the speaker that a text starts with, and the rest."""
    speaker = None
    head = text.lstrip()[:1]
    if head in (">", "&"):
        rest = _CHANGE.sub("", text)
        if rest != text:
            speaker, text = CHANGED, rest
    if head in ("-", "–", "—") or "\n" in text:
        text = _DASH.sub("", text)
    if names and ":" in text:
        match = _PREFIX.match(text)
        if match and " ".join(match[1].split()) in names:
            return " ".join(match[1].split()), text[match.end() :]
    return speaker, text


def split_words(text: str) -> list[str]:
    """Return the words of a clean text; marks that stand alone go to the word before, or away.

    >>> split_words("one - two ... twenty -five 60 %")
    ['one', 'two...', 'twenty-five', '60%']
    """
    kept: list[str] = []
    for word in text.split():
        if _ordinary(word) or not _join(kept, word):
            kept.append(word)
    return kept


def _ordinary(word: str) -> bool:
    """Tell whether a word stands for itself: it holds a letter or digit, and no dash or percent sign leads it."""
    return word[0].isalnum() or word == "&" or (word[0] not in "-–—%" and any(char.isalnum() for char in word))


def _join(kept: list[str], word: str) -> bool:
    """Add a mark or a parted piece to the last word kept, or drop it; False when ``word`` is one of its own."""
    if not any(char.isalnum() for char in word) and word != "&":
        if kept and word[0] in ".!?…,;:%" and kept[-1][-1].isalnum():
            kept[-1] += word
        return True
    if word[0] == "%" and kept:
        kept[-1] += word
        return True
    if word[0] == "-" and len(word) > 1 and word[1].isalnum() and kept and kept[-1][-1].isalnum():
        kept[-1] += word
        return True
    if word[0] in "-–—":
        kept.append(word.lstrip("-–—").lstrip())
        return True
    return False


def _clean_timed(tokens: tuple[Token, ...]) -> tuple[Token, ...]:
    """Return timed tokens without markup and sound notes, with parted pieces joined to their word."""
    kept: list[Token] = []
    closing = ""
    for token in tokens:
        text = token.text
        if text.isalnum() and not closing:
            kept.append(token)
            continue
        text = text.strip()
        if "<" in text or "&" in text:
            text = unescape(strip_tags(text)).strip()
        if not text.isascii():
            text = text.translate(_INVISIBLE).replace("♪", "").strip()
        if closing:
            closing = "" if text.endswith(closing) else closing
            continue
        if text[:1] in ("[", "("):
            mate = "]" if text[0] == "[" else ")"
            if text.rstrip(".,!? ").endswith(mate):
                if mate == "]" or text.isupper():
                    continue
            elif mate == "]":
                closing = mate
                continue
        _add_timed(kept, token, text)
    return tuple(kept)


def _add_timed(kept: list[Token], token: Token, text: str) -> None:
    if text[:1].isalnum():
        kept.append(token if text == token.text else Token(text, token.start_ms, token.end_ms, token.probability))
        return
    words = [kept[-1].text] if kept else []
    before = len(words)
    if text and (not _join(words, text)):
        words.append(text)
    if not words or (len(words) == before and (not before or words[-1] == kept[-1].text)):
        return
    if len(words) == before:
        last = kept[-1]
        ends = token.end_ms if any(char.isalnum() for char in text) and token.end_ms is not None else last.end_ms
        kept[-1] = Token(words[-1], last.start_ms, ends, last.probability)
        return
    kept.append(Token(words[-1], token.start_ms, token.end_ms, token.probability))
