"""Files broken on purpose: bytes, words, numbers, lines, encodings and, in a workbook, the parts inside it."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Callable, Sequence
from random import Random

LONGEST = 60_000
_NUMBER = re.compile(rb"[0-9]+(?:[.:,][0-9]+)*")
_NUMBERS = [
    *(b"0", b"-1", b"1e308", b"1e999", b"-0.0", b"NaN", b"Infinity", b"99999999999999999999", b"0x1F", b"1_000", b".5"),
    *(b"00:00:00.000", b"99:59:59.999", b"100:00:00", b"1:75", b"4294967296", b"1.", b"359999.999", b"0:00", b"60"),
    *("\u0663\u0660".encode(), "\u00b2".encode(), b"9" * 400, b"1e-320", b"9007199254740993", b"2147483648"),
]
_TOKENS = [
    *(b"\x00", b"\xff", b"\xef\xbb\xbf", b"\xff\xfe", b"\r", b"\r\n", b"\n\n", b"\t", b"\x1b[31m", b"\x85", b"\x1c"),
    *(
        b"-->",
        b" --> ",
        b"<",
        b">",
        b"<v Coach A>",
        b"<c>",
        b"</c>",
        b"<00:00:01.000>",
        b"&amp;",
        b"&#x110000;",
        b"&#0;",
    ),
    *(
        b"[",
        b"]",
        b"{",
        b"}",
        b"(",
        b")",
        b'"',
        b"'",
        b"\\",
        b"\\N",
        b"{\\p1}",
        b"{\\an8}",
        b",",
        b";",
        b"|",
        b":",
        b"#",
    ),
    *(
        b"&a ",
        b"*a",
        b"!!python/object ",
        b"!",
        b"%",
        b"@",
        b"`",
        b"? ",
        b"- ",
        b"---\n",
        b"...\n",
        b"|\n",
        b">-\n",
        b"~",
    ),
    *(
        b"null",
        b"true",
        b"[]",
        b"{}",
        b"[[",
        b'{"segments":',
        b'"words":[',
        b"<tt>",
        b"<p begin='1s'>",
        b"<br/>",
        b"<!--",
    ),
    *(
        b"WEBVTT",
        b"NOTE ",
        b"STYLE\n",
        b"Dialogue: ",
        b"Format: Text",
        b"[Events]",
        b"start,end,text\n",
        b"title: ",
        b"=1+1",
    ),
    *(
        "\u202e".encode(),
        "\u0000".encode(),
        "\ud7ff".encode(),
        b"\xed\xa0\x80",
        "\U0001f3cb".encode(),
        "\u2028".encode(),
    ),
    *(
        "\u0130".encode(),
        "\u1e9e".encode(),
        "\u200b".encode(),
        "e\u0301".encode(),
        "\u00bd".encode(),
        "\u4f53".encode(),
    ),
    *(b"three two one go", b" rest ", b" ten seconds left ", b" both sides ", b" easier ", b" squat ", b" two rounds "),
    *(b"work: 20s", b"rounds: 50", b"side: each", b"moves:", b"blocks:", b"kind: talk", b"on: false", b"limit_s: 1"),
]
_CODECS = ("utf-16", "utf-16-le", "utf-8-sig", "cp1252", "utf-32", "cp437")

Change = Callable[[bytes, Random, Sequence[bytes]], bytes]


def _span(data: bytes, rng: Random) -> tuple[int, int]:
    first = rng.randrange(len(data) + 1)
    return first, min(len(data), first + int(rng.expovariate(1 / 12)) + 1)


def _flip(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(data) or 1)
    return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]


def _cut(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    first, last = _span(data, rng)
    return data[:first] + data[last:]


def _repeat(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    first, last = _span(data, rng)
    return data[:last] + data[first:last] * rng.choice((1, 2, 9, 200)) + data[last:]


def _insert(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.choice(_TOKENS) + data[at:]


def _number(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return _insert(data, rng, _)
    match = rng.choice(found)
    other = rng.choice(_NUMBERS) if rng.random() < 0.6 else str(rng.randrange(200)).encode()
    return data[: match.start()] + other + data[match.end() :]


def _lines(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    lines = data.split(b"\n")
    at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(4)
    if kind == 0:
        lines[at], lines[other] = lines[other], lines[at]
    elif kind == 1:
        lines.insert(other, lines[at])
    elif kind == 2:
        del lines[min(at, other) : max(at, other)]
    else:
        lines[at : at + 1] = [lines[at]] * rng.choice((3, 40))
    return b"\n".join(lines)


def _splice(data: bytes, rng: Random, others: Sequence[bytes]) -> bytes:
    other = rng.choice(others)
    return data[: rng.randrange(len(data) + 1)] + other[rng.randrange(len(other) + 1) :]


def _truncate(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _encode(data: bytes, rng: Random, _: Sequence[bytes]) -> bytes:
    text = data.decode("utf-8", "replace")
    if rng.random() < 0.3:  # two encodings in one file
        half = rng.randrange(len(text) + 1)
        return text[:half].encode() + text[half:].encode(rng.choice(_CODECS), "replace")
    return text.encode(rng.choice(_CODECS), "replace")


_CHANGES: tuple[tuple[Change, int], ...] = (
    (_flip, 3),
    (_cut, 3),
    (_repeat, 2),
    (_insert, 5),
    (_number, 5),
    (_lines, 3),
    (_splice, 1),
    (_truncate, 1),
    (_encode, 1),
)


def mutated(data: bytes, rng: Random, others: Sequence[bytes]) -> bytes:
    """Return the file with a few things broken; the same for the same state of ``rng``. ``others`` lend their parts."""
    if data.startswith(b"PK\x03\x04") and rng.random() < 0.9:
        return _inside_package(data, rng, others)
    changes, weights = zip(*_CHANGES, strict=True)
    for change in rng.choices(changes, weights, k=rng.choice((1, 1, 2, 3, 6))):
        data = change(data, rng, others)[:LONGEST]
    return data


def _inside_package(data: bytes, rng: Random, others: Sequence[bytes]) -> bytes:
    """Return a zipped package with one of its parts broken, left out or doubled."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = [(entry.filename, package.read(entry)) for entry in package.infolist()]
    except (zipfile.BadZipFile, OSError, NotImplementedError, ValueError):
        return _flip(data, rng, others)
    at = rng.choice([n for n, (name, _) in enumerate(parts) if "sheet" in name or rng.random() < 0.3] or [0])
    name, content = parts[at]
    kind = rng.random()
    if kind < 0.05:
        del parts[at]
    else:
        parts[at] = (name, mutated(content, rng, [content for _, content in parts]))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as package:
        for name, content in parts:
            package.writestr(name, content)
    return out.getvalue()
