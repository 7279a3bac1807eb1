import errno
import os
import stat
import subprocess
from pathlib import Path

import pytest

from guidegen.errors import GuidegenError
from guidegen.saving import write_files


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_all_files_are_written(tmp_path):
    paths = [tmp_path / "a-1.svg", tmp_path / "a-2.svg"]
    assert write_files(((path, path.name.encode()) for path in paths), force=False) == paths
    assert [path.read_bytes() for path in paths] == [b"a-1.svg", b"a-2.svg"]
    assert names(tmp_path) == ["a-1.svg", "a-2.svg"]


def test_an_existing_file_stays_and_none_of_the_others_appears(tmp_path):
    old = tmp_path / "b"
    old.write_bytes(b"old")
    with pytest.raises(GuidegenError, match=r"exists already.*`force`"):
        write_files([(tmp_path / "a", b"new"), (old, b"new")], force=False)
    assert old.read_bytes() == b"old"
    assert names(tmp_path) == ["b"]


def test_force_replaces_and_keeps_the_mode(tmp_path):
    old = tmp_path / "b"
    old.write_bytes(b"old")
    old.chmod(0o640)
    write_files([(old, b"new")], force=True)
    assert old.read_bytes() == b"new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640


def test_a_new_file_obeys_the_umask(tmp_path):
    before = os.umask(0o027)
    try:
        write_files([(tmp_path / "a", b"new")], force=False)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


def test_a_link_is_followed(tmp_path):
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_bytes(b"old")
    link.symlink_to(real)
    with pytest.raises(GuidegenError, match="exists already"):
        write_files([(link, b"new")], force=False)
    write_files([(link, b"new")], force=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_a_device_is_written_not_replaced(tmp_path):
    write_files([(Path("/dev/null"), b"new")], force=False)
    assert stat.S_ISCHR(Path("/dev/null").stat().st_mode)
    with pytest.raises(OSError) as caught:  # a device that is always full
        write_files([(Path("/dev/full"), b"new")], force=True)
    assert caught.value.errno == errno.ENOSPC


@pytest.mark.parametrize(
    ("name", "words"),
    [("folder", "a folder"), ("none/a", "no such folder"), ("file/a", "found a file")],
)
def test_targets_that_cannot_be(tmp_path, name, words):
    (tmp_path / "folder").mkdir()
    (tmp_path / "file").touch()
    with pytest.raises(GuidegenError, match=words):
        write_files([(tmp_path / name, b"new")], force=True)
    assert names(tmp_path) == ["file", "folder"]


def test_an_error_in_the_middle_leaves_nothing(tmp_path):
    def files():
        yield tmp_path / "a", b"new"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_files(files(), force=False)
    assert names(tmp_path) == []


@pytest.fixture
def small_disk(tmp_path, monkeypatch):
    """A folder with room for 64 kB: a tiny file system where it may be mounted, else writes that fail."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "none", folder], check=False, capture_output=True
    )  # fmt: skip
    if mounted.returncode == 0:
        yield folder
        subprocess.run(["umount", folder], check=True)
        return
    real = Path.open

    def opened(path, mode="r", *arguments):
        file = real(path, mode, *arguments)
        if "x" in mode:
            file.close()
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        return file

    monkeypatch.setattr(Path, "open", opened)
    yield folder


def test_a_full_disk_loses_nothing(small_disk):
    old = small_disk / "old.svg"
    old.write_bytes(b"old")
    with pytest.raises(OSError) as caught:
        write_files([(small_disk / "a.svg", b"x" * 1000), (old, b"x" * 200_000)], force=True)
    assert caught.value.errno == errno.ENOSPC
    assert caught.value.filename == str(old)
    assert old.read_bytes() == b"old"
    assert names(small_disk) == ["old.svg"]
