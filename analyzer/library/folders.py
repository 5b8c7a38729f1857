"""A folder of files wherever it is: on a disk, or at any address that fsspec reaches when the user names one.

Names are relative, with forward slashes, on every system. What is written is whole or not there.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Mapping
from pathlib import Path, PurePosixPath
from typing import Any, Protocol

from analyzer.model.errors import AnalyzerError, OutputError
from analyzer.reports import write_folder

_WHOLE_PUTS = frozenset({"s3", "s3a", "gs", "gcs", "az", "abfs", "adl", "oci", "oss", "memory"})
"""Stores of objects, where a put is seen whole or not at all; anywhere else a file is renamed into place."""

_CANNOT = (OSError, NotImplementedError, ValueError)
"""What file systems raise that cannot write."""

_ORDINARY_ONLY = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0)
"""Flags to open with, where the system knows them: no link is followed, and no pipe without a writer is waited for."""

Refused = Callable[[str, str], None]
"""Hears the name of a folder whose files are not listed, "" for the whole, and why."""


def _unheard(name: str, reason: str) -> None:
    """Let pass what is not listed."""


class Folder(Protocol):
    """What the library asks of a folder."""

    address: str

    def names(self, below: str = "", refused: Refused = _unheard) -> tuple[str, ...]:
        """Return every file in it, or below one of its folders, sorted; hidden files and folders are left out."""

    def read(self, name: str, most: int = -1) -> bytes:
        """Return a file's bytes, at most ``most`` of them. Raises OSError, also for what is no ordinary file."""

    def write(self, below: str, files: Mapping[str, bytes]) -> None:
        """Write files (name -> content) below one of its folders ("" is itself). Raises OutputError."""

    def remove(self, below: str) -> None:
        """Remove the files of one of its folders, and the folder when nothing else is in it; no such folder is fine."""

    def path(self, name: str) -> str:
        """Return how a program that reads files itself would be told of one."""


def is_remote(address: str) -> bool:
    """Return whether an address is one for fsspec (``s3://...``, ``zip://*::a.zip``) rather than a path."""
    return "://" in address or "::" in address


def open_folder(address: str) -> Folder:
    """Return the folder at a path or an fsspec address.

    Raises
    ------
    AnalyzerError
        When nothing here can reach the address. That a path is a folder is not looked at yet.
    """
    return RemoteFolder(address) if is_remote(address) else LocalFolder(Path(address))


def checked(name: str) -> str:
    """Return a relative name as it may be used. Raises ValueError when it leads out of its folder or is hidden."""
    parts = PurePosixPath(name.replace("\\", "/")).parts
    if not parts or parts[0] == "/" or ":" in parts[0] or any(part.startswith(".") for part in parts):
        raise ValueError(name)
    return "/".join(parts)


class LocalFolder:
    """A folder on a disk of this machine."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.address = str(root)

    def names(self, below: str = "", refused: Refused = _unheard) -> tuple[str, ...]:
        """Return every file in it, or below one of its folders, sorted; hidden ones are left out.

        Links to folders are not followed: they may lead in a circle, or anywhere.
        """
        found = []
        waiting = [below]
        while waiting:  # no recursion: folders may be nested deeper than calls
            folder = waiting.pop()
            try:
                with os.scandir(self.root / folder) as entries:
                    shown = [entry for entry in entries if not entry.name.startswith(".")]
            except FileNotFoundError:
                continue
            except OSError as error:
                refused(folder, f"cannot be listed: {error.strerror}")
                continue
            for entry in shown:
                name = f"{folder}/{entry.name}" if folder else entry.name
                if entry.is_dir(follow_symlinks=False):
                    waiting.append(name)
                elif os.path.isdir(entry.path):
                    refused(name, "is a link to a folder, which is not followed")
                else:
                    found.append(name)
        return tuple(sorted(found))

    def read(self, name: str, most: int = -1) -> bytes:
        """Return a file's bytes, at most ``most`` of them. A link is followed to a file in this folder only."""
        path = str(self.root / name)
        if os.path.islink(path):
            path = os.path.realpath(path, strict=True)
            if not Path(path).is_relative_to(os.path.realpath(self.root)):
                raise PermissionError(errno.EPERM, "it is a link that leads out of the folder", name)
        with open(path, "rb", opener=lambda path, flags: os.open(path, flags | _ORDINARY_ONLY)) as stream:
            if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
                raise OSError(errno.EINVAL, "it is no ordinary file", name)
            return stream.read(most)

    def write(self, below: str, files: Mapping[str, bytes]) -> None:
        """Write files below one of its folders, all or none of them."""
        write_folder(self.root / below, files)

    def remove(self, below: str) -> None:
        """Remove the files of one of its folders, and the folder when nothing else is in it."""
        folder = self.root / below
        try:
            inside = list(folder.iterdir()) if folder.is_dir() else None
            for path in inside or ():
                if not path.is_dir():
                    path.unlink()
            if inside is not None and not any(folder.iterdir()):
                folder.rmdir()
        except OSError as error:
            raise OutputError(str(folder), "", f"cannot be removed ({error.strerror})") from error

    def path(self, name: str) -> str:
        """Return a file's path."""
        return str(self.root / name)


class RemoteFolder:
    """A folder at an fsspec address. ``files`` is the file system that reaches it."""

    def __init__(self, address: str) -> None:
        try:
            from fsspec.core import url_to_fs  # only addresses pay for it
        except ImportError as error:
            raise missing_extra("library", "fsspec") from error
        try:
            self.files, root = url_to_fs(address)
        except (ImportError, ValueError, OSError) as error:
            raise AnalyzerError(address, "", f"cannot be reached: {error}", "give a folder or an address") from error
        self.root = root.rstrip("/")
        self.address = address

    @property
    def protocol(self) -> str:
        """The first name of the file system's protocol."""
        named: Any = self.files.protocol
        return str(named if isinstance(named, str) else named[0])

    def names(self, below: str = "", refused: Refused = _unheard) -> tuple[str, ...]:
        """Return every file in it, or below one of its folders, sorted; hidden ones are left out."""
        self.files.invalidate_cache()
        prefix = f"{self.root}/" if self.root else ""
        try:
            found = self.files.find(f"{prefix}{below}".rstrip("/"))
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise AnalyzerError(self.address, "", f"cannot be listed: {error}", "check the address") from error
        names = [str(path).removeprefix(prefix).lstrip("/") for path in found]
        return tuple(sorted(n for n in names if n and not any(part.startswith(".") for part in n.split("/"))))

    def read(self, name: str, most: int = -1) -> bytes:
        """Return a file's bytes, at most ``most`` of them."""
        with self.files.open(self._full(name), "rb") as stream:
            content: bytes = stream.read(most)
        return content

    def write(self, below: str, files: Mapping[str, bytes]) -> None:
        """Write files below one of its folders, each of them whole."""
        try:
            for name, content in files.items():
                self._put(self._full(f"{below}/{name}" if below else name), content)
        except _CANNOT as error:
            raise OutputError(f"{self.address}/{below}", "", f"cannot be written: {error}") from error

    def remove(self, below: str) -> None:
        """Remove the files of one of its folders, and the folder when nothing else is in it."""
        folder = self._full(below)
        try:
            inside = self.files.ls(folder, detail=True)
            for entry in inside:
                if entry["type"] != "directory":
                    self.files.rm_file(entry["name"])
            if all(entry["type"] != "directory" for entry in inside) and self.files.isdir(folder):
                self.files.rmdir(folder)
        except FileNotFoundError:
            return
        except _CANNOT as error:
            raise OutputError(f"{self.address}/{below}", "", f"cannot be removed: {error}") from error

    def path(self, name: str) -> str:
        """Return a file's address."""
        return str(self.files.unstrip_protocol(self._full(name)))

    def _full(self, name: str) -> str:
        return f"{self.root}/{name}" if self.root else name

    def _put(self, path: str, content: bytes) -> None:
        parent, _, last = path.rpartition("/")
        self.files.makedirs(parent, exist_ok=True)
        if self.protocol in _WHOLE_PUTS:
            self.files.pipe_file(path, content)
            return
        beside = f"{parent}/.{last}.part"
        self.files.pipe_file(beside, content)
        self.files.mv(beside, path)


def missing_extra(extra: str, package: str) -> AnalyzerError:
    """Return the error for an optional package that is not installed."""
    return AnalyzerError(
        package, "", "is not installed", f"run: pip install 'recorded-class-analyzer[{extra}]', then again"
    )
