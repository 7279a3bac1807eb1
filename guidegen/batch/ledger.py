"""What is known of earlier runs: a SQLite file beside the results, a row a job.

A row says by which key a job was done (see :mod:`guidegen.batch.tasks`), which files it made, their sizes, times and
SHA-256. Before files take their names the row tells which they will be, so that after a kill at any moment it is known
whose they are. A run claims the jobs it takes, so two runs at once share the work; it holds a lock as long as it
lives, and the claims of one that ended are free again.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Self

from guidegen.errors import GuidegenError, Plain, bad_input, one_line
from guidegen.saving import held_lock, lock_is_held, new_folders, remove_files

_BUSY_S = 60.0
_TABLES = """
create table if not exists jobs (
  out text primary key, key text, command text, files text not null default '[]', placing text,
  state text not null default 'new', run text, seconds real, made_at real
) without rowid;
create table if not exists format (version integer primary key);
insert or ignore into format values (1);
"""
_COLUMNS = "out, key, command, files, placing, state, run, seconds, made_at"
_SHARD = re.compile(r"ledger-([0-9]+)-of-([0-9]+)\.sqlite")


@dataclass(frozen=True, slots=True)
class KnownFile:
    """A result as it was written."""

    name: str
    size: int
    mtime_ns: int
    sha256: str


@dataclass(frozen=True, slots=True)
class JobRow:
    """What is known of a job: by which key it was done, its files, those that were about to be written, its state.

    ``state`` is ``new`` (never done), ``done`` or ``bad`` (its files were found changed); ``run`` has claimed it.
    """

    out: str
    key: str | None
    command: str | None
    files: tuple[KnownFile, ...]
    placing: tuple[str, ...]
    state: str
    run: str | None
    seconds: float | None
    made_at: float | None

    @property
    def names(self) -> frozenset[str]:
        """The files that are this job's: made once, or being written when a run was ended."""
        return frozenset(file.name for file in self.files) | frozenset(self.placing)


class Ledger:
    """The ledger of one folder of results, opened by one run.

    ``beside`` are ledgers of other shards: read, never written.
    """

    def __init__(self, folder: Path, name: str = "ledger.sqlite", *, read_others: bool = True) -> None:
        self.folder, self.path = folder, folder / name
        self.run = f"{os.getpid()}-{secrets.token_hex(4)}"
        with new_folders(folder):
            self._own = _opened(self.path)
        others = sorted(folder.glob("ledger*.sqlite")) if read_others else []
        self._others = [_opened(path) for path in others if path != self.path and _is_ledger(path)]
        self._lock = contextlib.ExitStack()
        self._alive: dict[str, bool] = {}

    def __enter__(self) -> Self:
        self._lock.enter_context(held_lock(self._lock_path(self.run)))
        self._forget_dead()
        return self

    def __exit__(self, *_: object) -> None:
        with contextlib.suppress(sqlite3.Error), self._change() as own:
            own.execute("update jobs set run = null where run = ?", (self.run,))
        for connection in (self._own, *self._others):
            connection.close()
        self._lock.close()

    def row(self, out: str) -> JobRow | None:
        """Return what is known of the job whose result is called ``out``."""
        for connection in (self._own, *self._others):
            found = connection.execute(f"select {_COLUMNS} from jobs where out = ?", (out,)).fetchone()  # noqa: S608
            if found is not None and (found[5] != "new" or connection is self._own):
                return self._read(found)
        return None

    def rows(self) -> Iterator[JobRow]:
        """Yield every row that names files, in the order of their names."""
        for found in self._own.execute(f"select {_COLUMNS} from jobs where files != '[]' order by out"):  # noqa: S608
            yield self._read(found)

    def claim(self, outs: Sequence[str]) -> set[str]:
        """Claim jobs for this run; return those that no other run that lives has."""
        won = set()
        with self._change() as own:
            for out in outs:
                held = own.execute("select run from jobs where out = ?", (out,)).fetchone()
                if held is not None and held[0] not in {None, self.run} and self._lives(held[0]):
                    continue
                own.execute(
                    "insert into jobs (out, run) values (?, ?) on conflict (out) do update set run = excluded.run",
                    (out, self.run),
                )
                won.add(out)
        return won

    def let_go(self, out: str) -> None:
        """Give a claimed job back without a result."""
        with self._change() as own:
            own.execute("update jobs set run = null where out = ? and run = ?", (out, self.run))

    def about_to_write(self, out: str, names: Sequence[str]) -> None:
        """Note which files are about to take their names."""
        with self._change() as own:
            own.execute("update jobs set placing = ? where out = ?", (json.dumps(list(names)), out))

    def done(self, out: str, key: str, command: str, files: Sequence[KnownFile], seconds: float) -> None:
        """Note that a job's files are there."""
        told = json.dumps([[file.name, file.size, file.mtime_ns, file.sha256] for file in files])
        with self._change() as own:
            own.execute(
                "update jobs set key = ?, command = ?, files = ?, placing = null, state = 'done', run = null, "
                "seconds = ?, made_at = ? where out = ?",
                (key, command, told, seconds, time.time(), out),
            )

    def mark_bad(self, outs: Iterable[str]) -> None:
        """Note that jobs must be done again, whatever their files look like."""
        with self._change() as own:
            own.executemany("update jobs set state = 'bad' where out = ?", [(out,) for out in outs])

    def usual(self) -> Mapping[str, tuple[float, float]]:
        """Return for each command the mean seconds and bytes of a job that was done."""
        found: dict[str, list[float]] = {}
        query = "select command, files, seconds from jobs where state = 'done' and seconds is not null limit 2000"
        for command, files, seconds in self._own.execute(query):
            entry = found.setdefault(command, [0.0, 0.0, 0.0])
            entry[0] += 1
            entry[1] += seconds
            entry[2] += sum(size for _, size, _, _ in json.loads(files))
        return {command: (seconds / count, size / count) for command, (count, seconds, size) in found.items()}

    def merge(self) -> int:
        """Take over the rows of the shards' ledgers, the newer of two; return how many were taken."""
        taken = 0
        with self._change() as own:
            for other in self._others:
                for found in other.execute(f"select {_COLUMNS} from jobs where state != 'new'"):  # noqa: S608
                    mine = own.execute("select made_at from jobs where out = ?", (found[0],)).fetchone()
                    if mine is None or (mine[0] or 0.0) < (found[8] or 0.0):
                        own.execute(f"insert or replace into jobs ({_COLUMNS}) values (?,?,?,?,?,?,?,?,?)", found)  # noqa: S608
                        taken += 1
        return taken

    def _read(self, found: Sequence[Any]) -> JobRow:
        """Return a row. A ledger lies where others may write, and its files may be replaced and removed: only below."""
        out, key, command, files, placing, state, run, seconds, made_at = found
        try:
            known = tuple(KnownFile(*entry) for entry in json.loads(files))
            to_come = tuple(json.loads(placing or "[]"))
        except (TypeError, ValueError, RecursionError):
            raise self._strange("a row that no run wrote") from None
        for name in (*(file.name for file in known), *to_come):
            if not isinstance(name, str) or "\0" in name or name.startswith("/") or ".." in PurePosixPath(name).parts:
                raise self._strange("a file outside the folder of the results")
        return JobRow(out, key, command, known, to_come, state, run, seconds, made_at)

    def _strange(self, found: str) -> GuidegenError:
        fix = "move the ledger away, and every job is looked at anew"
        return bad_input(str(self.folder), "", Plain(found), "a ledger as a run leaves it", fix)

    @contextlib.contextmanager
    def _change(self) -> Iterator[sqlite3.Connection]:
        self._own.execute("begin immediate")
        try:
            yield self._own
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._own.execute("rollback")
            raise
        self._own.execute("commit")

    def _lock_path(self, run: str) -> Path:
        return self.folder / f"run-{run}.lock"

    def _lives(self, run: str) -> bool:
        if self._alive.get(run, True):  # who ended stays ended
            self._alive[run] = lock_is_held(self._lock_path(run))
        return self._alive[run]

    def _forget_dead(self) -> None:
        """Remove the lock files of runs that ended before they could."""
        left = [path for path in self.folder.glob("run-*.lock") if not lock_is_held(path)]
        remove_files(path for path in left if path != self._lock_path(self.run))


def shard_name(shard: int, of: int) -> str:
    """Return the file of one shard's ledger."""
    return f"ledger-{shard}-of-{of}.sqlite"


def shards_in(folder: Path) -> list[Path]:
    """Return the ledgers of shards in a folder, which may not be there."""
    return [path for path in sorted(folder.glob("ledger-*.sqlite")) if _SHARD.fullmatch(path.name)]


def _is_ledger(path: Path) -> bool:
    return path.name == "ledger.sqlite" or _SHARD.fullmatch(path.name) is not None


def _opened(path: Path) -> sqlite3.Connection:
    connection = None
    try:
        connection = sqlite3.connect(path, timeout=_BUSY_S, isolation_level=None)
        _check_format(connection, path)  # before anything is changed
        connection.execute("pragma journal_mode = wal")
        connection.execute("pragma synchronous = normal")  # whole after a kill; after a power cut the last may be lost
        connection.executescript(_TABLES)
    except BaseException as error:
        if connection is not None:
            connection.close()
        if isinstance(error, sqlite3.Error):
            raise ledger_error(path, error) from None
        raise
    return connection


def _check_format(connection: sqlite3.Connection, path: Path) -> None:
    """Raise for a ledger of a newer program, or tables that are not ours; one that is just being made has none yet."""
    tables = {name for (name,) in connection.execute("select name from sqlite_master where type = 'table'")}
    if "jobs" in tables:
        connection.execute(f"select {_COLUMNS} from jobs limit 1").fetchone()  # noqa: S608  are they its columns?
    if "format" in tables:
        (version,) = connection.execute("select max(version) from format").fetchone()
        if version not in (None, 1):
            raise GuidegenError(f"{path}: a ledger of a newer guidegen (format {version}); use that, or another folder")


def ledger_error(path: Path, error: sqlite3.Error) -> GuidegenError:
    """Return the one line for a ledger that cannot be read or written."""
    told = one_line(str(error), 120)
    fix = "; make room and run again" if "full" in told else "; move it away, and every job is looked at anew"
    return GuidegenError(f"{path}: the ledger cannot be used: {told}{fix}")
