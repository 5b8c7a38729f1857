"""The captions with misheard names of moves put right and every time as it was."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.model.errors import OutputError
from analyzer.model.transcript import Transcript
from analyzer.reports.exports.corrections import Change, changes
from analyzer.reports.exports.in_place import Edits, edited, new_words
from analyzer.reports.exports.vtt import TimedText, subrip_bytes, webvtt_bytes
from analyzer.reports.plain import rounded
from analyzer.reports.report_json import Json
from analyzer.reports.tables import table_bytes
from analyzer.transcripts import parse_transcript

_COLUMNS = ("at", "heard", "right", "changed")


@dataclass(frozen=True, slots=True)
class Corrected:
    """A captions file, its form, the changes made, and those left since a caption would have lost its last word."""

    content: bytes
    form: str
    made: tuple[Change, ...]
    left: tuple[Change, ...]


def corrected_captions(report: Json, data: bytes, name: str, form: str | None = None) -> Corrected:
    """Return the captions of a report's recording, corrected.

    Parameters
    ----------
    data, name : the recording's bytes and file name; they must be what the report was made from.
    form : ``given`` changes words in the file itself and leaves all else; ``webvtt`` and ``subrip`` write the
        captions anew, one cue a caption. None is ``given`` where that can be done, else ``webvtt``.

    Raises
    ------
    AnalyzerError
        When the file is another one, is no transcript, or cannot be edited in place though ``given`` was asked.
    """
    transcript = parse_transcript(data, name)
    made, left, edits = _sorted_out(changes(report, transcript), transcript)
    if form in (None, "given"):
        try:
            return Corrected(edited(data, transcript, edits), transcript.form, made, left)
        except OutputError:
            if form == "given":
                raise
    cues = _cues(transcript, edits)
    if form == "subrip":
        return Corrected(subrip_bytes(cues), form, made, left)
    return Corrected(webvtt_bytes(cues), "webvtt", made, left)


def changes_table(corrected: Corrected) -> bytes:
    """Return the changes as CSV: when, the words heard, the right ones, and whether they were changed."""
    rows = [
        {"at": rounded(c.at_s), "heard": c.heard, "right": c.right, "changed": "yes" if c in corrected.made else "no"}
        for c in sorted((*corrected.made, *corrected.left), key=lambda change: change.first)
    ]
    return table_bytes(_COLUMNS, rows)


def _sorted_out(
    found: tuple[Change, ...], transcript: Transcript
) -> tuple[tuple[Change, ...], tuple[Change, ...], Edits]:
    """Return the changes to make, those to leave, and the edits by caption."""
    words = transcript.words
    opens = [int(n) for n in words.caption.searchsorted(range(len(transcript.captions)))]
    edits: Edits = {}
    made: list[Change] = []
    left: list[Change] = []
    for change in found:
        own: Edits = {}
        for n, text in enumerate(change.new, change.first):
            caption = int(words.caption[n])
            own.setdefault(caption, {})[n - opens[caption]] = text
        whole = {n: edits.get(n, {}) | edit for n, edit in own.items()}
        if all(new_words(transcript.captions[n], edit) for n, edit in whole.items()):
            edits |= whole
            made.append(change)
        else:
            left.append(change)
    return tuple(made), tuple(left), edits


def _cues(transcript: Transcript, edits: Edits) -> list[TimedText]:
    """Return one cue a caption; one without an end lasts to the next start, the last to the recording's end."""
    captions = transcript.captions
    nexts = [caption.start_ms for caption in captions[1:]] + [round(transcript.duration_s * 1000)]
    cues = []
    for n, (caption, following) in enumerate(zip(captions, nexts, strict=True)):
        end = following if caption.end_ms is None else caption.end_ms
        text = " ".join(new_words(caption, edits.get(n, {})))
        cues.append(TimedText(caption.start_ms, max(end, caption.start_ms + 1), text, caption.speaker))
    return cues
