import errno
import os

import pytest

from analyzer.model.errors import OutputError
from analyzer.reports import write_file, write_folder
from analyzer.reports import writing as writing_module

FILES = {"a.json": b"one", "b.csv": b"two", "c.html": b"three"}


def tree(folder):
    return sorted(path.name for path in folder.rglob("*"))


def test_writes_a_new_folder(tmp_path):
    out = tmp_path / "deep" / "out"
    assert [path.name for path in write_folder(out, FILES)] == list(FILES)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == FILES


def test_replaces_what_was_there_and_leaves_the_rest(tmp_path):
    (tmp_path / "a.json").write_bytes(b"old")
    (tmp_path / "mine.txt").write_bytes(b"mine")
    write_folder(tmp_path, FILES)
    assert (tmp_path / "a.json").read_bytes() == b"one"
    assert tree(tmp_path) == ["a.json", "b.csv", "c.html", "mine.txt"]


def test_out_is_a_file(tmp_path):
    out = tmp_path / "out"
    out.write_text("x")
    with pytest.raises(OutputError, match=r"out: is a file; a folder is needed"):
        write_folder(out, FILES)
    assert out.read_text() == "x"


def test_out_lies_under_a_file(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="lies under a file"):
        write_folder(tmp_path / "file" / "out", FILES)


def test_a_folder_where_a_file_must_go(tmp_path):
    (tmp_path / "b.csv").mkdir()
    (tmp_path / "a.json").write_bytes(b"old")
    with pytest.raises(OutputError, match="holds a folder where a file must go"):
        write_folder(tmp_path, FILES)
    assert (tmp_path / "a.json").read_bytes() == b"old"
    assert tree(tmp_path) == ["a.json", "b.csv"]


@pytest.mark.parametrize("failing", [1, 2, 3])
def test_disk_full_at_any_file_changes_nothing(tmp_path, monkeypatch, failing):
    out = tmp_path / "new" / "out"
    calls = []

    def full(descriptor):
        calls.append(descriptor)
        if len(calls) == failing:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(writing_module.os, "fsync", full)
    with pytest.raises(OutputError, match="the disk is full"):
        write_folder(out, FILES)
    assert tree(tmp_path) == []


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("failing", [1, 2, 3])
def test_a_rename_that_fails_puts_the_old_files_back(tmp_path, monkeypatch, failing, links):
    old = {name: b"old " + name.encode() for name in FILES}
    write_folder(tmp_path, old)
    real, calls = os.replace, []
    if not links:  # as on a memory card

        def refuse(*_):
            raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

        monkeypatch.setattr(writing_module.os, "link", refuse)

    def flaky(source, target):
        calls.append(target)
        if len(calls) == failing:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        real(source, target)

    monkeypatch.setattr(writing_module.os, "replace", flaky)
    with pytest.raises(OutputError, match="may not be written"):
        write_folder(tmp_path, FILES)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == old


def test_write_file_keeps_the_old_one_on_error(tmp_path, monkeypatch):
    path = tmp_path / "report.json"
    write_file(path, b"old")

    def refuse(*_):
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(writing_module.os, "replace", refuse)
    with pytest.raises(OutputError, match="read-only disk"):
        write_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert tree(tmp_path) == ["report.json"]
    monkeypatch.undo()
    with pytest.raises(OutputError, match="is a folder"):
        write_file(tmp_path, b"new")
