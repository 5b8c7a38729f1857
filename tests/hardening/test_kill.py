"""A process killed (SIGKILL) at any point leaves every file whole: the old one or the new one."""

from __future__ import annotations

import os
import signal
import sys
import warnings
from pathlib import Path

import pytest

from analyzer.reports import write_folder

OLD = {"a.json": b"old a" * 999, "b.csv": b"old b" * 999, "c.html": b"old c" * 999}
NEW = {"a.json": b"new a" * 999, "b.csv": b"new b" * 999, "d.md": b"new d" * 999}
CHANGES = ("os.rename", "os.remove", "os.link", "os.mkdir", "shutil.copyfile")


def _refuse(*_):
    raise PermissionError(1, "this disk knows no second names")


def _write_until(folder: Path, step: int, links: bool) -> None:
    """Write NEW into the folder, but be killed just before the change of the disk with this number."""
    left = step

    def watch(event, arguments):
        nonlocal left
        if event in CHANGES or (event == "open" and arguments[2] & (os.O_WRONLY | os.O_RDWR)):
            left -= 1
            if left < 0:
                os.kill(os.getpid(), signal.SIGKILL)

    if not links:
        os.link = _refuse
    sys.addaudithook(watch)
    write_folder(folder, NEW)


def _killed(folder: Path, step: int, links: bool) -> bool:
    """Do it in a forked process, as forty starts of Python would take a minute; tell whether it was killed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of forking beside threads: the child uses none
        pid = os.fork()
    if pid == 0:
        try:
            _write_until(folder, step, links)
        finally:
            os._exit(0)
    return os.WIFSIGNALED(os.waitpid(pid, 0)[1])


def _shown(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if not path.name.startswith(".")}


@pytest.mark.parametrize("links", [True, False])
def test_killed_before_every_change_of_the_disk(tmp_path, links):
    for step in range(40):
        folder = tmp_path / str(step)
        folder.mkdir()
        for name, content in OLD.items():
            (folder / name).write_bytes(content)
        killed = _killed(folder, step, links)
        files = _shown(folder)
        assert set(OLD) <= set(files), f"step {step} lost a file"
        for name, content in files.items():
            assert content in (OLD.get(name), NEW.get(name)), f"step {step}: {name} is not whole"
        if not killed:
            break
    assert step > 8
    assert files == OLD | NEW
    assert len(list(folder.iterdir())) == len(files)
