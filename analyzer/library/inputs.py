"""Which recordings and plans of a folder belong together: by the same name, or by a manifest.

A manifest is a CSV with the columns recording and plan (paths inside the folder), and optionally coach, series and
date (ISO 8601: 2026-03-14). Without one ``spring/2026-03-14-lowtide.vtt`` goes with ``spring/2026-03-14-lowtide.yaml``:
the series is the folder, the date what the name starts with, the coach the plan's.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath

from analyzer.checks import waivers_path
from analyzer.library.folders import Folder, checked
from analyzer.model.errors import AnalyzerError
from analyzer.plans.mistakes import quote

MANIFEST = "manifest.csv"
COLUMNS = ("recording", "plan", "coach", "series", "date")
_RECORDINGS = frozenset(
    {".vtt", ".srt", ".sbv", ".ass", ".ssa", ".ttml", ".dfxp", ".xml", ".txt", ".json", ".tsv", ".csv"}
)
_PLANS = frozenset({".yaml", ".yml", ".xlsx", ".csv"})
_WAIVERS = (".waivers.yaml", ".waivers.yml")
_MOST_TOLD = 20
_MOST_MB = 64


@dataclass(frozen=True, slots=True)
class ClassFiles:
    """One class: its files by their names in the folder, and who made it when.

    ``key`` names the class: the recording's name without its extension, bytes that are no UTF-8 written as escapes.
    ``date`` is ISO 8601; what is unknown is "".
    """

    key: str
    recording: str
    plan: str
    waivers: str | None = None
    coach: str = ""
    series: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file, or a row of the manifest, that makes no class, and why."""

    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class Listing:
    """The classes of a folder in the order of their keys, what is left out, and the folders that were not looked into
    (``unseen``, by their names)."""

    classes: tuple[ClassFiles, ...]
    left_out: tuple[LeftOut, ...] = ()
    unseen: tuple[str, ...] = ()

    def gone(self, known: Iterable[str]) -> tuple[str, ...]:
        """Return which of the ``known`` keys are not here any more, sorted; those in unseen folders may still be."""
        listed = {files.key for files in self.classes}
        unseen = tuple(f"{_readable(name)}/" for name in self.unseen)
        return tuple(sorted(key for key in known if key not in listed and not key.startswith(unseen)))


def find_classes(folder: Folder, manifest: Path | None = None, skip: str = "") -> Listing:
    """Return the classes in a folder.

    ``manifest`` is a file anywhere; without one, ``manifest.csv`` in the folder is taken where there is one. Names
    below ``skip`` are not looked at.

    Raises
    ------
    AnalyzerError
        When there is nothing to audit in the folder, or with all mistakes of the manifest.
    """
    unseen: dict[str, str] = {}
    names = folder.names(refused=unseen.__setitem__)
    if skip:
        names = tuple(name for name in names if not name.startswith(f"{skip}/"))
        unseen = {name: reason for name, reason in unseen.items() if not f"{name}/".startswith(f"{skip}/")}
    if not names:
        found = unseen.get("", "no file is there")
        raise AnalyzerError(folder.address, "", found, "give a folder with recordings and their plans")
    if manifest is not None or MANIFEST in names:
        listing = _by_manifest(*_manifest(folder, manifest), names)
    else:
        listing = pair_by_name(names)
    if not listing.classes:
        allowed = "name both alike (class.vtt, class.yaml) or give --manifest"
        raise AnalyzerError(folder.address, "", "no recording has a plan of the same name", allowed)
    closed = tuple(LeftOut(name, reason) for name, reason in sorted(unseen.items()))
    return Listing(listing.classes, (*listing.left_out, *closed), tuple(unseen))


def _manifest(folder: Folder, path: Path | None) -> tuple[bytes, str]:
    """Return the bytes of the manifest at a path, or of the one in the folder, and what to call it."""
    file, most = MANIFEST if path is None else path.name, _MOST_MB * 2**20
    try:
        if path is None:
            raw = folder.read(MANIFEST, most + 1)
        else:
            with path.open("rb") as stream:
                raw = stream.read(most + 1)
    except OSError as error:
        raise AnalyzerError(file, "", f"cannot be read ({error.strerror})", "give a CSV file") from error
    if len(raw) > most:
        raise AnalyzerError(file, "", "is too large", f"at most {_MOST_MB} MB")
    return raw, file


def _key(recording: str) -> str:
    return _readable(str(PurePosixPath(recording).with_suffix("")))


def _readable(name: str) -> str:
    """Return a name of a file as text that UTF-8 can hold."""
    return name.encode("utf-8", "backslashreplace").decode("utf-8")


def pair_by_name(names: Sequence[str]) -> Listing:
    """Return the classes that names alone tell.

    >>> pair_by_name(["spring/2026-03-14-low.vtt", "spring/2026-03-14-low.yaml", "a.txt"]).classes[0].date
    '2026-03-14'
    """
    groups: dict[str, list[str]] = {}
    for name in sorted(names):
        if not name.casefold().endswith(_WAIVERS):
            groups.setdefault(_key(name), []).append(name)
    classes, left_out = [], []
    for key, group in groups.items():
        found = _pair(group)
        if isinstance(found, LeftOut):
            left_out.append(found)
        elif found is not None:
            recording, plan = found
            classes.append(
                ClassFiles(key, recording, plan, _waivers(plan, names), "", _series(recording), _dated(recording))
            )
    return Listing(tuple(sorted(classes, key=lambda c: c.key)), tuple(left_out))


def _pair(group: list[str]) -> tuple[str, str] | LeftOut | None:
    """Return recording and plan among files of one name; what is wrong with them; None when they are neither."""
    kinds = {name: PurePosixPath(name).suffix.casefold() for name in group}
    plans = [name for name, kind in kinds.items() if kind in _PLANS and kind != ".csv"]
    recordings = [name for name, kind in kinds.items() if kind in _RECORDINGS and kind != ".csv"]
    for name in (name for name, kind in kinds.items() if kind == ".csv"):  # a table may be either: what is missing
        (plans if recordings and not plans else recordings).append(name)
    if not plans and not recordings:
        return None
    if not plans:
        return LeftOut(recordings[0], "no plan has its name")
    if not recordings:
        return LeftOut(plans[0], "no recording has its name")
    for several, what in ((plans, "plans"), (recordings, "recordings")):
        if len(several) > 1:
            return LeftOut(
                several[0], f"{len(several)} {what} have this name: {', '.join(several)}; say which in a manifest"
            )
    return recordings[0], plans[0]


def _waivers(plan: str, names: Iterable[str]) -> str | None:
    beside = waivers_path(Path(plan)).as_posix()
    return beside if beside in names else None


def _series(recording: str) -> str:
    folder = PurePosixPath(recording).parent
    return "" if str(folder) == "." else str(folder)


def _dated(recording: str) -> str:
    start = PurePosixPath(recording).name[:10]
    return start if _is_date(start) else ""


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text  # not the basic form 20260314, nor weeks
    except ValueError:
        return False


def _by_manifest(raw: bytes, file: str, names: Sequence[str]) -> Listing:
    """Return the classes a manifest lists; its own mistakes raise, files that are not there are left out."""
    try:
        rows = list(csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise AnalyzerError(file, "", f"is no CSV in UTF-8 ({error})", f"columns: {', '.join(COLUMNS)}") from error
    head = [cell.strip().casefold() for cell in rows[0]] if rows else []
    _check_head(head, file)
    known = set(names)
    mistakes: list[AnalyzerError] = []
    classes: dict[str, ClassFiles] = {}
    left_out = []
    for number, cells in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        try:
            row = _row(dict(zip(head, (cell.strip() for cell in cells), strict=False)), file, number, known)
            if row.key in classes:
                raise AnalyzerError(file, f"row {number}", f"'{row.key}' is listed twice", "list each recording once")
        except AnalyzerError as mistake:
            mistakes.append(mistake)
            continue
        missing = [name for name in (row.recording, row.plan) if name not in known]
        if missing:
            left_out.append(LeftOut(row.recording, f"{file}, row {number}: no such file: {', '.join(missing)}"))
        else:
            classes[row.key] = row
    if mistakes:
        raise AnalyzerError(file, "", str(mistakes[0]), "", tuple(mistakes[:_MOST_TOLD]))
    if not classes:
        raise AnalyzerError(file, "", "lists no class whose files are there", "one row a class under the column names")
    return Listing(tuple(classes[key] for key in sorted(classes)), tuple(left_out))


def _check_head(head: list[str], file: str) -> None:
    missing = [name for name in COLUMNS[:2] if name not in head]
    odd = [name for name in head if name not in COLUMNS]
    if missing or odd or len(set(head)) < len(head):
        found = f"the columns are {quote(', '.join(head))}" if head else "is empty"
        raise AnalyzerError(file, "row 1", found, "recording and plan are needed; coach, series and date may follow")


def _row(cells: dict[str, str], file: str, number: int, known: set[str]) -> ClassFiles:
    place = f"row {number}"
    for column in COLUMNS[:2]:
        try:
            cells[column] = checked(cells.get(column, ""))
        except ValueError:
            found = f"{column}: {quote(cells.get(column, '')) if cells.get(column) else 'nothing'}"
            raise AnalyzerError(file, place, found, "give a path inside the folder") from None
    day = cells.get("date", "")
    if day and not _is_date(day):
        raise AnalyzerError(file, place, f"date: {quote(day)}", "write year-month-day, as in 2026-03-14")
    recording, plan = cells["recording"], cells["plan"]
    return ClassFiles(
        key=_key(recording),
        recording=recording,
        plan=plan,
        waivers=_waivers(plan, known),
        coach=cells.get("coach", ""),
        series=cells.get("series", "") or _series(recording),
        date=day or _dated(recording),
    )
