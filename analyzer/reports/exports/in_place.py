"""Words changed in the text of a captions file itself: everything else in it stays as it was, times and layout too.

Each caption's lines are searched for the words to change, markup and line breaks between them allowed. The result is
read again and must have the same captions, times and words as the file had, but for the changes.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence

from analyzer.model.errors import OutputError
from analyzer.model.transcript import Caption, Transcript
from analyzer.reports.exports.vtt import escaped
from analyzer.transcripts import parse_transcript, plain_text

FORMS = ("webvtt", "subrip", "sbv", "ass", "stamped")
"""Forms of transcript whose words stand in the file as they are said, each caption with its line."""

_GAP = r"((?:\s|<[^<>]*>|\{[^{}]*\}|\\[Nnh])+)"
_BREAK = re.compile(r"(?:\n|\\[Nn])[ \t]*\Z")
_OPENS, _CLOSES = r"(?:^|(?<=[\s>}\])])|(?<=\\[Nnh]))", r"(?=[\s<{]|\\[Nnh]|$)"
_SIGNS = {"&": "(?:&amp;|&)", "<": "(?:&lt;|<)", ">": "(?:&gt;|>)", "'": "(?:&#39;|&apos;|')", '"': '(?:&quot;|")'}
_REFUSED = "take --form webvtt or subrip, which write the captions anew"

Edits = dict[int, dict[int, str]]
"""New text by place of the caption and place of the word in it; "" takes the word out."""


def edited(data: bytes, transcript: Transcript, edits: Edits) -> bytes:
    """Return a captions file with words changed.

    Raises
    ------
    OutputError
        When the words cannot be told apart in the file, or it would not read as meant.
    """
    name = transcript.name
    if transcript.form not in FORMS:
        raise OutputError(
            name, found=f"captions of the form {transcript.form} are not edited in place", allowed=_REFUSED
        )
    text, _ = plain_text(data, name)
    text = _edited_text(text, transcript, edits)
    if b"\r\n" in data:
        text = text.replace("\n", "\r\n")
    made = text.encode("utf-8")
    if _facts(parse_transcript(made, name).captions, {}) != _facts(transcript.captions, edits):
        raise OutputError(name, found="cannot be corrected in place without changing more", allowed=_REFUSED)
    return made


def new_words(caption: Caption, edits: dict[int, str]) -> tuple[str, ...]:
    """Return a caption's words after its edits."""
    words = (edits.get(n, token.text) for n, token in enumerate(caption.tokens))
    return tuple(word for text in words for word in text.split())


def _facts(captions: Sequence[Caption], edits: Edits) -> list[tuple[int, int | None, str | None, tuple[str, ...]]]:
    return [(c.start_ms, c.end_ms, c.speaker, new_words(c, edits.get(n, {}))) for n, c in enumerate(captions)]


def _edited_text(text: str, transcript: Transcript, edits: Edits) -> str:
    lines = text.split("\n")
    captions = transcript.captions
    known = sorted({caption.line for caption in captions})
    for line in sorted({captions[place].line for place in edits}, reverse=True):  # those above keep their number
        after = bisect_right(known, line)
        stop = line if transcript.form == "ass" else known[after] - 1 if after < len(known) else len(lines)
        part = "\n".join(lines[line - 1 : stop]) if line else ""
        own = [place for place, caption in enumerate(captions) if caption.line == line]  # a line may hold two stamps
        runs = [(place, run) for place in own for run in _runs(edits.get(place, {}))]
        found = [_found(part, transcript, own, place, run) for place, run in runs]
        for (place, run), match in reversed(list(zip(runs, found, strict=True))):
            new = [edits[place][n] for n in run]
            if transcript.form == "webvtt":
                new = [escaped(word) for word in new]
            part = part[: match.start()] + _joined(new, match.groups(), part[match.end() :])
        lines[line - 1 : stop] = part.split("\n")
    return "\n".join(lines)


def _runs(edit: dict[int, str]) -> list[range]:
    """Return the runs of neighbouring words, in order."""
    runs: list[range] = []
    for place in sorted(edit):
        if runs and runs[-1].stop == place:
            runs[-1] = range(runs[-1].start, place + 1)
        else:
            runs.append(range(place, place + 1))
    return runs


def _found(part: str, transcript: Transcript, own: Sequence[int], place: int, run: range) -> re.Match[str]:
    """Return where a run of words stands in its lines; the same words elsewhere in them are told apart by counting."""
    caption = transcript.captions[place]
    said = [caption.tokens[n].text for n in run]
    places = []
    for other in own:
        texts = [token.text for token in transcript.captions[other].tokens]
        starts = range(len(texts) - len(said) + 1)
        places += [(other, start) for start in starts if texts[start : start + len(said)] == said]
    found = list(_pattern(said).finditer(part))
    if len(found) != len(places):
        where = f"line {caption.line}" if caption.line else f"caption {caption.number}"
        raise OutputError(transcript.name, where, f"'{' '.join(said)[:40]}' cannot be told apart in the file", _REFUSED)
    return found[places.index((place, run.start))]


def _pattern(said: Sequence[str]) -> re.Pattern[str]:
    words = ("".join(_SIGNS.get(letter) or re.escape(letter) for letter in word) for word in said)
    return re.compile(_OPENS + _GAP.join(words) + _CLOSES)


def _joined(new: Sequence[str], gaps: Sequence[str], rest: str) -> str:
    """Return the new words with the old gaps between them, and what follows.

    A word taken out takes its spaces along, and its line break where nothing else is left on the line.
    """
    out = ""
    for word, gap in zip(new, ["", *gaps], strict=True):
        kept = gap if word or gap.strip(" \t") else ""
        out += (kept.lstrip() if not out or _BREAK.search(out) else kept) + word
    if not out:
        return rest.lstrip()
    ends = _BREAK.search(out)
    if ends or out[-1].isspace():
        rest = rest.lstrip(" \t")
    if ends and (not rest or rest.startswith("\n")):
        out = out[: ends.start()]
    return out + rest
