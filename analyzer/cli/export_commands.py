"""``export``: files for editors and players, made from a stored report without another audit."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated

import typer

from analyzer.cli.audit_commands import spare_inputs
from analyzer.model.errors import OutputError

if TYPE_CHECKING:
    from analyzer.reports.report_json import Json

export_app = typer.Typer(
    help="Make files for editors and players from a stored report.", rich_markup_mode=None, no_args_is_help=False
)

NOTHING: Mapping[Path, bytes] = MappingProxyType({})

ReportFile = Annotated[Path, typer.Argument(help="A report.json, or the folder of one.")]
OutFile = Annotated[Path, typer.Option("--out", help="File to write.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing.")]


class Rate(StrEnum):
    """Frames a second; ``df`` is drop-frame."""

    r23_976 = "23.976"
    r24 = "24"
    r25 = "25"
    r29_97 = "29.97"
    r29_97df = "29.97df"
    r30 = "30"
    r50 = "50"
    r59_94 = "59.94"
    r59_94df = "59.94df"
    r60 = "60"


class Level(StrEnum):
    """What makes a chapter."""

    block = "block"
    round = "round"
    move = "move"


class CaptionForm(StrEnum):
    """How corrected captions are written."""

    given = "given"
    webvtt = "webvtt"
    subrip = "subrip"


@export_app.command()
def markers(
    report: ReportFile,
    out: OutFile,
    rate: Annotated[Rate, typer.Option("--rate", help="Frames a second of the edit; df counts drop-frame.")],
    start: Annotated[str, typer.Option("--start", help="Timecode of the recording's first frame.")] = "00:00:00:00",
    what: Annotated[
        str, typer.Option("--what", help="What to mark: findings, unclear, intervals; commas between.")
    ] = "findings",
    form: Annotated[
        str,
        typer.Option(
            "--form", help="csv, edl, otio, or one an OpenTimelineIO adapter adds; the file's ending if not given."
        ),
    ] = "",
    quiet: Quiet = False,
) -> None:
    """Write what an editor should look at as markers on the recording's frames, coloured by severity."""
    from analyzer.reports.exports.marker_files import marker_bytes
    from analyzer.reports.exports.markers import KINDS, marker_list
    from analyzer.reports.exports.timecode import RATES

    kinds = _words(what, KINDS, "--what")
    made = marker_list(_read(report), RATES[rate.value], start, kinds)
    _write(out, marker_bytes(made, (form or out.suffix).strip(".").lower()), (report,))
    _tell(f"{_counted(len(made.markers), 'marker')} in {out}, from {made.label(0)} at {rate.value}.", quiet)


@export_app.command()
def chapters(
    report: ReportFile,
    out: OutFile,
    by: Annotated[Level, typer.Option("--by", help="What makes a chapter.")] = Level.block,
    quiet: Quiet = False,
) -> None:
    """Write where each block, round or move begins: .vtt gives a WebVTT chapters track, .txt a list of times."""
    from analyzer.reports.exports.chapters import chapters_text, chapters_vtt

    forms = {".vtt": chapters_vtt, ".txt": chapters_text}
    form = out.suffix.lower()
    if form not in forms:
        raise OutputError(out.name, found=f"'{form}' is no form of chapters", allowed="end the name in .vtt or .txt")
    _write(out, forms[form](_read(report), by.value), (report,))
    _tell(f"Chapters in {out}.", quiet)


@export_app.command()
def timer(report: ReportFile, out: OutFile, quiet: Quiet = False) -> None:
    """Write every interval as a WebVTT metadata cue with a JSON payload, for a player's on-screen timer."""
    from analyzer.reports.exports.timer import timer_vtt

    _write(out, timer_vtt(_read(report)), (report,))
    _tell(f"Timer in {out}.", quiet)


@export_app.command()
def captions(
    report: ReportFile,
    recording: Annotated[Path, typer.Argument(help="The captions or transcript that the report was made from.")],
    out: OutFile,
    form: Annotated[
        CaptionForm | None,
        typer.Option(
            "--form",
            help="given changes words in the file itself; the others write it anew. "
            "If not asked: given where that can be done, else webvtt.",
        ),
    ] = None,
    changes: Annotated[
        Path | None, typer.Option("--changes", help="Write the list of changes here too, as CSV.")
    ] = None,
    quiet: Quiet = False,
) -> None:
    """Write the captions with misheard names of moves put right, and list what was changed. Times stay as they are."""
    from analyzer.model.clock import clock
    from analyzer.reports.exports.captions import changes_table, corrected_captions
    from analyzer.transcripts import read_bytes

    made = corrected_captions(_read(report), read_bytes(recording), recording.name, form.value if form else None)
    beside = {changes: changes_table(made)} if changes else {}
    _write(out, made.content, (report, recording), beside)
    _tell(f"{_counted(len(made.made), 'change')} in {out}, {made.form}.", quiet)
    for change in made.made:
        _tell(f"{clock(change.at_s):>8}  {change.heard} -> {change.right}", quiet)
    for change in made.left:
        _tell(f"{clock(change.at_s):>8}  left, or the caption would be empty: {change.heard} -> {change.right}", quiet)


def _words(asked: str, allowed: tuple[str, ...], place: str) -> tuple[str, ...]:
    words = tuple(dict.fromkeys(word.strip().lower() for word in asked.split(",") if word.strip()))
    for word in words:
        if word not in allowed:
            raise OutputError(place=place, found=f"there is no '{word}'", allowed=f"allowed: {', '.join(allowed)}")
    return words or allowed[:1]


def _read(report: Path) -> Json:
    from analyzer.reports.exports.stored import read_report, report_path

    return read_report(report_path(report))


def _write(out: Path, content: bytes, inputs: tuple[Path, ...], beside: Mapping[Path, bytes] = NOTHING) -> None:
    """Write the file and those ``beside`` it, all or none, and never over what was read."""
    from analyzer.reports import refuse_folder, write_folder
    from analyzer.reports.exports.stored import report_path

    refuse_folder(out)
    if out.resolve() in {path.resolve() for path in beside}:
        raise OutputError(str(out), found="is asked for twice", allowed="give each file a name of its own")
    spare_inputs([out, *beside], tuple(report_path(path) for path in inputs))
    write_folder(out.parent, {out.name: content}, beside)


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _tell(line: str, quiet: bool) -> None:
    from analyzer.reports.plain import terminal_text

    if not quiet:
        typer.echo(terminal_text(line))
