"""Where results go: a folder of this computer, or any address that fsspec knows, such as ``sftp://`` or ``s3://``.

Whoever looks sees no file, the old one or the whole new one: a folder's files take their names in one step
(:mod:`guidegen.saving`); elsewhere the bytes go to a name of their own and are moved, or, into a store of objects,
are put whole, which such stores do in one step.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from guidegen.errors import GuidegenError, Plain, bad_input, one_line
from guidegen.saving import new_folders, remove_files, write_files

_ADDRESS = re.compile(r"[a-z][a-z0-9+.-]*://", re.ASCII)
_WHOLE_OBJECTS = {"s3", "s3a", "gs", "gcs", "az", "abfs", "abfss", "memory"}
"""Protocols of stores that show an object only once it is there whole."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A result as it lies there: its size in bytes and, where the place tells, when it was last changed, in ns."""

    size: int
    mtime_ns: int


class ResultPlace(Protocol):
    """Somewhere to put results; names have ``/`` between their parts."""

    @property
    def label(self) -> str:
        """How a person calls the place."""
        ...

    def look(self, name: str) -> Seen | None:
        """Return what lies there under a name, None for nothing."""
        ...

    def put(self, files: Sequence[tuple[str, bytes]], *, ours: Iterable[str]) -> list[Seen]:
        """Write files, each whole or not at all; only those called in ``ours`` may replace what is there."""
        ...

    def remove(self, names: Iterable[str]) -> None:
        """Remove what lies there under some names."""
        ...

    def digest(self, name: str) -> str | None:
        """Return the SHA-256 of a result, None where there is none."""
        ...


def place_of(address: str, base: Path) -> ResultPlace:
    """Return the place of an address, or of a folder's path (from ``base``).

    Raises:
        GuidegenError: a file where a folder is meant, an address nothing here can write to.
    """
    if _ADDRESS.match(address) and not address.startswith("file://"):
        return _remote(address)
    folder = base / Path(address.removeprefix("file://")).expanduser()
    if folder.exists() and not folder.is_dir():
        raise bad_input(str(folder), "", Plain("a file"), "a folder for the results")
    return Folder(folder)


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder of this computer, or one it has mounted."""

    path: Path

    @property
    def label(self) -> str:
        return str(self.path)

    def look(self, name: str) -> Seen | None:
        try:
            info = os.stat(self.path / name)  # noqa: PTH116  asked of every result; Path.stat costs three times as much
        except (FileNotFoundError, NotADirectoryError):
            return None
        return Seen(info.st_size, info.st_mtime_ns)

    def put(self, files: Sequence[tuple[str, bytes]], *, ours: Iterable[str]) -> list[Seen]:
        owned = frozenset(ours)
        paths = [(self.path / name, data) for name, data in files]
        with new_folders(*{path.parent for path, _ in paths}):
            for force in (True, False):
                some = [(path, data) for (name, _), (path, data) in zip(files, paths, strict=True)
                        if (name in owned) is force]  # fmt: skip
                if some:
                    write_files(some, force=force)
        found = [self.look(name) for name, _ in files]
        return [seen or Seen(-1, 0) for seen in found]

    def remove(self, names: Iterable[str]) -> None:
        remove_files(self.path / name for name in names)

    def digest(self, name: str) -> str | None:
        try:
            with (self.path / name).open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest()
        except (FileNotFoundError, NotADirectoryError, IsADirectoryError):
            return None


def _remote(address: str) -> ResultPlace:
    try:
        import fsspec
    except ImportError:
        fix = "pip install 'guidegen[remote]'"
        raise bad_input("folder", "", address, "a folder", f"addresses need fsspec: {fix}") from None
    protocol = address.split("://", maxsplit=1)[0]
    try:
        store, root = fsspec.core.url_to_fs(address)
        return Remote(address, store, root.rstrip("/"), protocol)
    except (ImportError, ValueError) as error:
        raise GuidegenError(f"folder: {address}: {one_line(str(error), 200)}") from None
    except Exception as error:  # noqa: BLE001  every protocol has errors of its own
        raise unreachable(address, error) from None


def unreachable(address: str, error: Exception) -> GuidegenError:
    """Return the one line for a server that does not answer as it should."""
    told = one_line(f"{type(error).__name__}: {error}", 200)
    return GuidegenError(f"{address}: cannot be reached or written: {told}; what is there stays as it is")


@dataclass(frozen=True, slots=True)
class Remote:
    """A place behind an fsspec file system."""

    address: str
    store: Any
    root: str
    protocol: str

    @property
    def label(self) -> str:
        return self.address

    def look(self, name: str) -> Seen | None:
        try:
            info = self.store.info(f"{self.root}/{name}")
        except FileNotFoundError:
            return None
        except Exception as error:  # noqa: BLE001  every protocol has errors of its own
            raise unreachable(self.address, error) from None
        return None if info.get("type") == "directory" else Seen(int(info["size"]), 0)

    def put(self, files: Sequence[tuple[str, bytes]], *, ours: Iterable[str]) -> list[Seen]:
        owned = frozenset(ours)
        for name, _ in files:
            if name not in owned and self.look(name) is not None:
                where = f"{self.address}/{name}"
                raise GuidegenError(f"{where}: exists already and was left as it is; choose another or add `force`")
        try:
            for name, data in files:
                self._put(f"{self.root}/{name}", data)
        except Exception as error:  # noqa: BLE001  every protocol has errors of its own
            raise unreachable(self.address, error) from None
        return [Seen(len(data), 0) for _, data in files]

    def _put(self, path: str, data: bytes) -> None:
        if self.protocol in _WHOLE_OBJECTS:
            self.store.pipe_file(path, data)
            return
        self.store.makedirs(path.rsplit("/", 1)[0], exist_ok=True)
        part = f"{path}.{secrets.token_hex(6)}.part"
        try:
            self.store.pipe_file(part, data)
            if self.store.exists(path):  # many servers move nothing over a file that is there
                self._replace(part, path)
            else:
                self.store.mv(part, path)
        except BaseException:
            if self.store.exists(part):
                self.store.rm_file(part)
            raise

    def _replace(self, part: str, path: str) -> None:
        """Move over an old file: aside with it first, so that its name is free and its bytes are not lost."""
        aside = f"{path}.{secrets.token_hex(6)}.old"
        self.store.mv(path, aside)
        try:
            self.store.mv(part, path)
        except BaseException:
            self.store.mv(aside, path)
            raise
        self.store.rm_file(aside)

    def remove(self, names: Iterable[str]) -> None:
        for name in names:
            path = f"{self.root}/{name}"
            if self.store.exists(path):
                self.store.rm_file(path)

    def digest(self, name: str) -> str | None:
        try:
            return hashlib.sha256(self.store.cat_file(f"{self.root}/{name}")).hexdigest()
        except FileNotFoundError:
            return None
        except Exception as error:  # noqa: BLE001  every protocol has errors of its own
            raise unreachable(self.address, error) from None
