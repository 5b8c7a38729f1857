"""Bytes to text: byte order marks, UTF-8 and UTF-16, then a guess that is reported.

Never lets a media file, a spreadsheet or an oversized file through to a reader.
"""

from __future__ import annotations

import codecs
from pathlib import Path

from analyzer.model.errors import TranscriptError
from analyzer.model.transcript import Problem

MAX_BYTES = 32 * 1024 * 1024  # an eight-hour class in the wordiest form is under 10 MB
MAX_LINES = 1_000_000  # eight hours of word times in JSON, one value a line, take under 800,000
_SAMPLE = 64 * 1024  # enough letters to guess an encoding from
_FEW_ACCENTS = 0.12
_CONTROLS = bytes(code for code in range(32) if chr(code) not in "\t\n\r\f\v\x1c\x1d\x1e\x1f")
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SIGNATURES = (
    (0, b"PK\x03\x04", "a zipped file (a spreadsheet or a document)"),
    (0, b"%PDF", "a PDF"),
    (4, b"ftyp", "a video or audio file"),
    (0, b"\x1a\x45\xdf\xa3", "a video or audio file"),
    (0, b"RIFF", "a video or audio file"),
    (0, b"ID3", "a video or audio file"),
    (0, b"OggS", "a video or audio file"),
    (0, b"\x1f\x8b", "a packed file"),
    (0, b"\x89PNG", "a picture"),
    (0, b"\xff\xd8\xff", "a picture"),
    (0, b"\xd0\xcf\x11\xe0", "an old office document"),
)
_ALLOWED = "give captions, a stamped text, word times in JSON, or a table, as text"


def read_bytes(path: Path) -> bytes:
    """Return the file's bytes.

    Raises
    ------
    TranscriptError
        When the file is missing, a folder, unreadable, empty, or over 32 MB.
    """
    try:
        if path.is_dir():
            raise TranscriptError(path.name, "", "is a folder", "give one transcript file")
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise TranscriptError(path.name, "", f"holds {size / 2**20:.0f} MB", f"at most {MAX_BYTES // 2**20} MB")
        with path.open("rb") as handle:
            data = handle.read(MAX_BYTES + 1)
    except FileNotFoundError as error:
        raise TranscriptError(path.name, "", "no such file", "check the path") from error
    except OSError as error:
        raise TranscriptError(path.name, "", f"cannot be read ({error.strerror})", "check its permissions") from error
    except ValueError as error:  # a NUL in the path
        raise TranscriptError(ascii(path.name), "", "is not a file name", "check the path") from error
    if len(data) > MAX_BYTES:
        raise TranscriptError(path.name, "", "is too large", f"at most {MAX_BYTES // 2**20} MB")
    if not data.strip(b"\x00\xef\xbb\xbf\xff\xfe \t\r\n"):
        raise TranscriptError(path.name, "", "the file is empty", _ALLOWED)
    return data


def decode(data: bytes, name: str) -> tuple[str, Problem | None]:
    """Return the text, and a problem when the encoding had to be guessed.

    Raises
    ------
    TranscriptError
        When the bytes are not text.
    """
    for offset, magic, what in _SIGNATURES:
        if data[offset : offset + len(magic)] == magic:
            raise TranscriptError(name, "", f"is {what}, not a transcript", _ALLOWED)
    for bom, codec in _BOMS:
        if data.startswith(bom):
            return _strict(data, codec, name), None
    wide = _wide_codec(data)
    if wide is not None:
        return _strict(data, wide, name), Problem("encoding", "", f"no byte order mark; read as {wide.upper()}")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return _guess(data, name)
    _refuse_control(text, name)
    return text, None


def plain_text(data: bytes, name: str) -> tuple[str, Problem | None]:
    """Return the text as readers take it, without byte order mark and with line feeds alone. Else as :func:`decode`.

    Raises TranscriptError as :func:`decode` does, and for more than a million lines.
    """
    text, doubt = decode(data, name)
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    lines = text.count("\n")
    if lines > MAX_LINES:
        raise TranscriptError(name, "", f"holds {lines:,} lines", f"at most {MAX_LINES:,} are allowed")
    return text, doubt


def _strict(data: bytes, codec: str, name: str) -> str:
    try:
        text = data.decode(codec)
    except UnicodeDecodeError as error:
        found = f"the bytes are not {error.encoding}"
        raise TranscriptError(name, f"byte {error.start}", found, "save the file as UTF-8") from error
    _refuse_control(text, name)
    return text


def _wide_codec(data: bytes) -> str | None:
    """Return a UTF-16 codec when nearly every second byte is zero, as in Latin text without a mark."""
    sample = data[:_SAMPLE]
    half = len(sample) // 2
    if half < 2:
        return None
    if sample[1::2].count(0) > 0.6 * half and sample[::2].count(0) < 0.1 * half:
        return "utf-16-le"
    if sample[::2].count(0) > 0.6 * half and sample[1::2].count(0) < 0.1 * half:
        return "utf-16-be"
    return None


def _guess(data: bytes, name: str) -> tuple[str, Problem]:
    """Return the text in the likeliest legacy encoding.

    Where few bytes are beyond ASCII they are the accented letters of a Western European page: a statistical guess
    on so few is worse than that. Else the guess decides.
    """
    sample = data[:_SAMPLE]
    likely = "cp1252"
    if sum(byte > 127 for byte in sample) > _FEW_ACCENTS * len(sample):
        from charset_normalizer import from_bytes  # slow to import and rarely needed

        best = from_bytes(sample).best()
        likely = best.encoding if best is not None else likely
    for codec in (likely, "cp1252", "latin-1"):
        try:
            text = data.decode(codec)
        except (UnicodeDecodeError, LookupError):
            continue
        _refuse_control(text, name)
        return text, Problem("encoding", "", f"not UTF-8; read as {codec}, so accented letters may be wrong")
    raise TranscriptError(name, "", "the bytes are not text", _ALLOWED)


def _refuse_control(text: str, name: str) -> None:
    """Raise when more than one character in fifty is a control character: text has next to none."""
    sample = text[:_SAMPLE]
    data = sample.encode("utf-8", "surrogatepass")
    count = len(data) - len(data.translate(None, _CONTROLS))
    if count > max(1, len(sample) // 50):
        raise TranscriptError(name, "", "is a binary file, not a transcript", _ALLOWED)
