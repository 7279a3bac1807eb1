"""Writing files so that nothing is ever half written, nothing old is lost, and nothing stays behind.

Bytes go to a file without a name in the target's own folder (on Linux; elsewhere to a ``.part`` file), which then
takes the target's name in one step. With several files none takes its name before all are written. A name that is
to be new is taken with a link, which fails when another process was there first.
"""

from __future__ import annotations

import contextlib
import errno
import itertools
import os
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from guidegen.errors import GuidegenError, Plain, bad_input

MOST_NAMELESS = 100
"""Files held open without a name; a system lets a process hold some hundreds."""
_numbers = itertools.count()
_NAMED_LATER = Path("/proc/self/fd")
"""Where Linux shows open files, so that one without a name can be given one (open(2), O_TMPFILE)."""
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK, errno.EXDEV, errno.EACCES}


@dataclass
class _Staged:
    """Bytes on the disk that have not taken their name: an open file without one, or a ``.part`` file."""

    path: Path
    target: Path
    descriptor: int | None = None
    temporary: Path | None = None


_staged: list[_Staged] = []
"""What would stay behind if the process ended now."""


def write_files(files: Iterable[tuple[Path, bytes]], *, force: bool) -> list[Path]:
    """Write all files or none, and return their paths.

    ``files`` may be a generator: each file's bytes are let go once they are on the disk.

    Raises:
        GuidegenError: a file exists (without ``force``), is a folder, or its folder is missing.
        OSError: a folder cannot be written, the disk is full.
    """
    staged: list[_Staged] = []
    paths: list[Path] = []
    try:
        for path, data in files:
            _stage(path, data, staged, force=force)
            paths.append(path)
        _take_names(staged, force=force)
    finally:
        for entry in staged:
            _let_go(entry)
    return paths


def check_target(path: Path, *, force: bool) -> None:
    """Raise when ``path`` may not be written: it exists (without ``force``), is a folder, or has no folder."""
    if path.is_dir():
        raise bad_input(str(path), "", Plain("a folder"), "a file name", "add a name to it")
    if not force and (path.is_file() or (path.is_symlink() and not path.exists())):
        raise _exists(path)
    if not path.parent.is_dir():
        found = Plain("a file" if path.parent.exists() else "no such folder")
        raise bad_input(str(path.parent), "", found, "an existing folder to write in")
    if not path.exists() and _among_devices(Path(os.path.realpath(path)).parent):
        raise bad_input(str(path), "", Plain("a new file among devices"), "a file name in a folder of your own")


def _among_devices(folder: Path) -> bool:
    device = Path("/dev")
    return device in (folder, *folder.parents) and Path("/dev/shm") not in (folder, *folder.parents)  # noqa: S108


def _exists(path: Path) -> GuidegenError:
    return GuidegenError(f"{path}: exists already and was left as it is; choose another name or add `force`")


@contextlib.contextmanager
def new_folders(*folders: Path) -> Iterator[None]:
    """Make ``folders`` where they are missing; when what follows fails, those that stayed empty are removed."""
    made: list[Path] = []
    try:
        for folder in folders:
            missing = [part for part in (folder, *folder.parents) if not part.exists()]
            for part in reversed(missing):
                with contextlib.suppress(FileExistsError):  # another process made it meanwhile
                    part.mkdir()
                    made.append(part)
        yield
    except BaseException:
        for part in reversed(made):
            with contextlib.suppress(OSError):
                part.rmdir()
        raise


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold a folder against other processes of this program: who reads, changes and writes a file does it alone."""
    try:
        import fcntl
    except ImportError:  # no such locks there: the file is still written whole, the last of two writers counts
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


@contextlib.contextmanager
def held_lock(path: Path) -> Iterator[None]:
    """Hold a lock file for as long as this process lives, at most until the end of the block; then it is removed.

    However the process ends, the system lets go of the lock; :func:`lock_is_held` tells.
    """
    descriptor = os.open(path, os.O_CREAT | os.O_RDWR | getattr(os, "O_CLOEXEC", 0), 0o666)
    try:
        _lock_file(descriptor)
        yield
    finally:
        os.close(descriptor)
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)


def lock_is_held(path: Path) -> bool:
    """Tell whether a process that lives holds a lock file."""
    try:
        descriptor = os.open(path, os.O_RDWR)
    except OSError:
        return False
    try:
        return not _lock_file(descriptor)
    finally:
        os.close(descriptor)


def _lock_file(descriptor: int) -> bool:
    """Take a lock if it is free, and tell whether it was."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def remove_files(paths: Iterable[Path]) -> None:
    """Remove files of our own; those that are not there are no error."""
    for path in paths:
        with contextlib.suppress(FileNotFoundError):
            path.unlink()


def forget_unnamed() -> None:
    """Remove what has not taken its name: for a process that must end at once."""
    for entry in tuple(_staged):
        _let_go(entry)


def _stage(path: Path, data: bytes, staged: list[_Staged], *, force: bool) -> None:
    """Write ``data`` beside its target, or at once into a device such as /dev/null."""
    check_target(path, force=force)
    if path.exists() and not path.is_file():
        _write_device(path, data)
        return
    entry = _Staged(path, Path(os.path.realpath(path)))
    if entry.target.parent not in {other.target.parent for other in staged[-1:]}:
        _sweep(entry.target.parent)
    staged.append(entry)
    _staged.append(entry)
    try:
        with os.fdopen(_opened(entry, nameless=len(staged) <= MOST_NAMELESS), "wb") as file:
            file.write(data)
            if entry.target.exists():
                file.flush()
                os.fsync(file.fileno())  # the old file goes only when the new one is on the disk
                if hasattr(os, "fchmod"):
                    os.fchmod(file.fileno(), entry.target.stat().st_mode & 0o7777)
    except OSError as error:
        raise _named(error, path) from None


def _opened(entry: _Staged, *, nameless: bool) -> int:
    """Return a descriptor to write to; without a name where the system can, which leaves nothing behind."""
    flag = getattr(os, "O_TMPFILE", 0)
    if nameless and flag and _NAMED_LATER.is_dir():
        try:
            descriptor = os.open(entry.target.parent, flag | os.O_WRONLY, 0o666)
            entry.descriptor = os.dup(descriptor)
        except OSError as error:
            if error.errno not in {errno.EISDIR, errno.ENOENT, errno.EINVAL, *_NO_LINKS, errno.EMFILE}:
                raise
        else:
            return descriptor
    entry.temporary = _part(entry.target)
    return os.open(entry.temporary, os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0), 0o666)


def _part(target: Path) -> Path:
    return target.with_name(f".guidegen-{os.getpid()}-{next(_numbers)}.part")


def _sweep(folder: Path) -> None:
    """Remove ``.part`` files of processes of this machine that were ended before they could."""
    if sys.platform == "win32":
        return
    for left in folder.glob(".guidegen-*-*.part"):
        owner = left.name.split("-")[1]
        if owner.isdecimal() and len(owner) < 10:
            try:
                os.kill(int(owner), 0)  # asks only whether it lives
            except ProcessLookupError:
                with contextlib.suppress(OSError):
                    left.unlink()
            except OSError:
                continue


def _write_device(path: Path, data: bytes) -> None:
    """Write to a device or into a pipe that somebody reads; one that nobody reads would wait for ever."""
    try:
        descriptor = os.open(path, os.O_WRONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0))
    except OSError as error:
        if error.errno == errno.ENXIO:
            raise bad_input(str(path), "", Plain("a pipe that nobody reads"), "a file name") from None
        raise _named(error, path) from None
    try:
        os.set_blocking(descriptor, True)
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
    except OSError as error:
        raise _named(error, path) from None


def _take_names(staged: list[_Staged], *, force: bool) -> None:
    """Give all files their names; when one cannot have its own, new names given before it are taken back."""
    given: list[Path] = []
    try:
        for entry in staged:
            if force:
                _replace(entry)
            else:
                _link(entry)
                given.append(entry.target)
    except BaseException:
        for target in given:
            target.unlink(missing_ok=True)
        raise


def _replace(entry: _Staged) -> None:
    try:
        if entry.temporary is None:
            part = _part(entry.target)
            _linked(entry, part)
            entry.temporary = part
        entry.temporary.replace(entry.target)
        entry.temporary = None
    except OSError as error:
        raise _named(error, entry.path) from None


def _link(entry: _Staged) -> None:
    """Take a name that nothing has, or fail because another process took it first."""
    try:
        try:
            _linked(entry, entry.target)
        except OSError as error:
            if entry.temporary is None or error.errno not in _NO_LINKS:
                raise
            os.close(os.open(entry.target, os.O_CREAT | os.O_EXCL | os.O_WRONLY))  # a disk without links
            entry.temporary.replace(entry.target)
    except FileExistsError:
        raise _exists(entry.path) from None
    except OSError as error:
        raise _named(error, entry.path) from None


def _linked(entry: _Staged, name: Path) -> None:
    if entry.temporary is not None:
        os.link(entry.temporary, name)
        return
    descriptor = entry.descriptor
    assert descriptor is not None, "neither a descriptor nor a name"
    os.link(_NAMED_LATER / str(descriptor), name, src_dir_fd=descriptor, follow_symlinks=True)  # linkat(2)


def _let_go(entry: _Staged) -> None:
    if entry in _staged:
        _staged.remove(entry)
    if entry.descriptor is not None:
        with contextlib.suppress(OSError):
            os.close(entry.descriptor)
        entry.descriptor = None
    if entry.temporary is not None:
        entry.temporary.unlink(missing_ok=True)


def _named(error: OSError, path: Path) -> OSError:
    """Let a message about a temporary file name the file that was asked for."""
    error.filename, error.filename2 = str(path), None
    return error
