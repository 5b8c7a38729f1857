"""Files put on disk whole: everything is written beside its place first and renamed last.

Either every file of a call is new, or, on any error, none is and nothing is left lying about. A process that is killed
may leave hidden files that end in ``.part`` or ``.kept``, and of several files some old and some new, each whole.
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from types import MappingProxyType

from analyzer.model.errors import OutputError


def refuse_file(folder: Path) -> None:
    """Raise OutputError when what must be a folder, new or existing, is a file or cannot be."""
    try:
        is_file = folder.exists() and not folder.is_dir()
    except OSError as error:  # a name that is too long
        raise _output_error(error, folder) from error
    if is_file:
        raise OutputError(str(folder), found="is a file", allowed="a folder is needed, new or existing")


def refuse_folder(path: Path) -> None:
    """Raise OutputError when what must be a file, new or existing, is a folder, a link or a device, or cannot be."""
    try:
        is_folder = path.is_dir()
    except OSError as error:
        raise _output_error(error, path) from error
    if is_folder:
        raise OutputError(str(path), found="is a folder", allowed="a file name is needed")
    _refuse_special(path)


def _refuse_special(path: Path) -> None:
    """Raise OutputError for a link, which may lead anywhere, and a device: a rename would put a file in its place."""
    if path.is_symlink() or (path.exists() and not path.is_file()):
        raise OutputError(str(path), found="is a link or a device, no ordinary file", allowed="choose another name")


def write_folder(
    folder: Path, files: Mapping[str, bytes], beside: Mapping[Path, bytes] = MappingProxyType({})
) -> tuple[Path, ...]:
    """Write ``files`` (name -> content) into ``folder``, made when it is missing; return their paths in order.

    ``beside`` (path -> content) are further files, elsewhere, of the same all-or-none step.

    Raises
    ------
    OutputError
        When the folder is a file, cannot be made or written, or the disk is full. Nothing new is left then.
    """
    refuse_file(folder)
    for path in beside:
        refuse_folder(path)
    made: list[Path] = []
    try:
        made = _make_folder(folder)
        inside = {folder / name: content for name, content in files.items()}
        return _write_all([*inside.items(), *beside.items()])[: len(files)]
    except OSError as error:
        _remove_folders(made)
        blamed = [path for path in beside if str(path) == error.filename] or [folder]
        raise _output_error(error, blamed[0]) from error


def write_file(path: Path, content: bytes) -> Path:
    """Write one file whole. Raises OutputError, leaving what was there before."""
    return write_files({path: content})[0]


def write_files(files: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """Write every file whole, or none of them. Raises OutputError, leaving what was there before."""
    for path in files:
        refuse_folder(path)
    try:
        return _write_all(list(files.items()))
    except OSError as error:
        blamed = next((path for path in files if str(path) == error.filename), next(iter(files)))
        raise _output_error(error, blamed) from error


def _make_folder(folder: Path) -> list[Path]:
    missing = [path for path in (folder, *folder.parents) if not path.exists()]
    made: list[Path] = []
    try:
        for path in reversed(missing):
            path.mkdir(exist_ok=True)
            made.append(path)
    except OSError:
        _remove_folders(made)
        raise
    return made


def _remove_folders(made: list[Path]) -> None:
    for path in reversed(made):
        try:
            path.rmdir()
        except OSError:  # someone else has put a file there meanwhile: theirs to keep
            return


def _write_all(pairs: list[tuple[Path, bytes]]) -> tuple[Path, ...]:
    temps: list[Path] = []
    try:
        for target, content in pairs:
            if target.is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
            _refuse_special(target)
            temp = _beside(target, "part")
            temps.append(temp)
            try:
                _write_durably(temp, content)
            except OSError as error:
                error.filename = str(target)
                raise
        _rename_all(list(zip(temps, (target for target, _ in pairs), strict=True)))
    finally:
        for temp in temps:
            with suppress(OSError):  # what went wrong before tells more, and most of them are renamed by now
                temp.unlink()
    return tuple(target for target, _ in pairs)


def _beside(target: Path, what: str) -> Path:
    return target.with_name(f".{target.name}.{os.getpid()}.{what}")


def _write_durably(path: Path, content: bytes) -> None:
    with open(path, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _rename_all(renames: list[tuple[Path, Path]]) -> None:
    """Rename each temp to its target; when one fails, put every earlier target back as it was.

    What stood there before stays in its place until the very rename, so that a process killed at any point leaves each
    file whole: the old one or the new one.
    """
    done: list[tuple[Path, Path | None]] = []
    try:
        for temp, target in renames:
            kept = _second_name(target) if target.exists() else None
            done.append((target, kept))
            os.replace(temp, target)
    except OSError:
        for target, kept in reversed(done):
            if kept is None:
                target.unlink(missing_ok=True)
            else:
                os.replace(kept, target)
        raise
    finally:
        for _, kept in done:
            if kept is not None:
                kept.unlink(missing_ok=True)  # a rename between two names of one file leaves both


def _second_name(target: Path) -> Path:
    """Give a file a second name beside its own, or a copy where the disk has no such names; return it."""
    kept = _beside(target, "kept")
    kept.unlink(missing_ok=True)
    try:
        os.link(target, kept)
    except OSError:
        try:
            shutil.copy2(target, kept)
        except OSError:
            kept.unlink(missing_ok=True)
            raise
    return kept


_REASONS = {
    errno.ENOSPC: ("the disk is full", "free some space and run again; nothing was changed"),
    errno.EDQUOT: ("the disk quota is used up", "free some space and run again; nothing was changed"),
    errno.EACCES: ("may not be written", "choose another folder or change its permissions"),
    errno.EPERM: ("may not be written", "choose another folder or change its permissions"),
    errno.EROFS: ("lies on a read-only disk", "choose another folder"),
    errno.ENOENT: ("lies in a folder that does not exist", "make the folder first or choose another"),
    errno.ENOTDIR: ("lies under a file, not a folder", "choose another folder"),
    errno.EISDIR: ("holds a folder where a file must go", "choose another folder"),
    errno.EEXIST: ("is no folder but perhaps a link that leads nowhere", "choose another folder"),
    errno.ENAMETOOLONG: ("has too long a name", "choose a shorter one"),
}


def _output_error(error: OSError, target: Path) -> OutputError:
    reason = error.strerror or type(error).__name__
    found, allowed = _REASONS.get(error.errno or 0, (f"cannot be written ({reason})", ""))
    return OutputError(str(target), found=found, allowed=allowed)
