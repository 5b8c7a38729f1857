import zipfile

import fsspec
import pytest

from analyzer.library.folders import is_remote, open_folder
from analyzer.model.errors import AnalyzerError, OutputError


@pytest.fixture(params=["path", "file", "memory"])
def folder(request, tmp_path):
    """An empty folder on a disk by its path, the same by an address, and one in a store of objects."""
    yield open_folder(
        {"path": str(tmp_path / "f"), "file": f"file://{tmp_path}/f", "memory": "memory://library-tests/f"}[
            request.param
        ]
    )
    fsspec.filesystem("memory").store.clear()


def test_what_is_written_is_listed_and_read(folder):
    assert folder.names() == ()
    folder.write("", {"b.txt": b"1", "a.txt": b"23"})
    folder.write("reports/spring", {"c.txt": b"456"})
    assert folder.names() == ("a.txt", "b.txt", "reports/spring/c.txt")
    assert folder.names("reports") == ("reports/spring/c.txt",)
    assert folder.read("reports/spring/c.txt") == b"456"
    assert folder.read("reports/spring/c.txt", 2) == b"45"
    folder.write("", {"b.txt": b"new"})
    assert folder.read("b.txt") == b"new"


def test_removing_takes_the_files_of_one_folder(folder):
    folder.write("a", {"1.txt": b""})
    folder.write("a/b", {"2.txt": b""})
    folder.remove("a")
    folder.remove("nowhere")
    assert folder.names() == ("a/b/2.txt",)


def test_a_missing_file_is_an_os_error(folder):
    with pytest.raises(FileNotFoundError, match=r".*"):
        folder.read("nowhere.txt")


def test_a_packed_folder_is_read_by_its_address(tmp_path):
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as packed:
        packed.writestr("spring/a.vtt", "WEBVTT")
    folder = open_folder(f"zip://::{tmp_path / 'a.zip'}")
    assert folder.names() == ("spring/a.vtt",)
    assert folder.read("spring/a.vtt", 3) == b"WEB"
    with pytest.raises(OutputError, match="cannot be written"):
        folder.write("", {"b.txt": b""})


def test_what_cannot_be_reached_is_told():
    with pytest.raises(AnalyzerError, match="nothere://x: cannot be reached"):
        open_folder("nothere://x")


def test_what_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(OutputError, match="file"):
        open_folder(str(tmp_path / "file")).write("a", {"b": b""})


def test_windows_paths_are_paths():
    assert not is_remote("C:\\classes")
    assert is_remote("s3://bucket/classes")
