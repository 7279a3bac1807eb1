"""One run of a batch: what is there already is kept, the rest is made and put in its place, failures are told.

The work itself is a function from a task to what it made, given by the caller together with the engine that applies
it to many: processes of this computer, or a cluster.
"""

from __future__ import annotations

import errno
import hashlib
import itertools
import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from guidegen.batch.ledger import JobRow, KnownFile, Ledger, ledger_error
from guidegen.batch.places import ResultPlace
from guidegen.batch.tasks import Task, TaskResult
from guidegen.errors import GuidegenError
from guidegen.jobs import WorkerLost

Engine = Callable[[Iterable[Task]], Iterator[tuple[Task, TaskResult | WorkerLost]]]
"""Does tasks, taking them as needed, and yields each with what came of it, in any order."""
_CLAIMED_AT_ONCE = 32
_LOOK_AGAIN_S = 0.2
_NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EROFS}


@dataclass(frozen=True, slots=True)
class Failure:
    """A job that gave no result, and why."""

    task: Task
    reason: str


@dataclass
class Tally:
    """What a run came to."""

    made: int = 0
    kept: int = 0
    files: int = 0
    size: int = 0
    failures: list[Failure] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Watch:
    """Whom to tell: of each job that is finished or kept, of each failure, of what a result has to say."""

    step: Callable[[int], None]
    failed: Callable[[Failure], None]
    noted: Callable[[Task, Sequence[str]], None]


class BatchRun:
    """One run over some tasks.

    Args:
        place: where results go.
        ledger: what is known of earlier runs; open.
        engine: who does the work.
        watch: whom to tell.
        force: whether files that are there and no job's may be replaced.
        stop: whether the first failure ends the run.
    """

    def __init__(
        self,
        place: ResultPlace,
        ledger: Ledger,
        engine: Engine,
        watch: Watch,
        *,
        force: bool = False,
        stop: bool = False,
    ) -> None:
        self._place, self._ledger, self._engine, self._watch = place, ledger, engine, watch
        self._force, self._stop = force, stop
        self._tally = Tally()
        self._stopped = False

    def all(self, tasks: Iterable[Task]) -> Tally:
        """Do every task that is not done already, and return what came of it.

        Raises:
            GuidegenError: the ledger or the place cannot be used any more.
            OSError: the disk is full. What was made until then is kept and known.
        """
        try:
            others = self._some(tasks)
            while others and not self._stopped:
                time.sleep(_LOOK_AGAIN_S)
                others = self._some(others)
        except sqlite3.Error as error:
            raise ledger_error(self._ledger.path, error) from None
        return self._tally

    def _some(self, tasks: Iterable[Task]) -> list[Task]:
        """Do those tasks that are free; return those that other runs are at."""
        others: list[Task] = []
        for task, came in self._engine(self._free(tasks, others)):
            self._finish(task, came)
            self._watch.step(1)
            if self._stopped:
                break
        return others

    def _free(self, tasks: Iterable[Task], others: list[Task]) -> Iterator[Task]:
        todo = iter(tasks)
        while not self._stopped and (some := list(itertools.islice(todo, _CLAIMED_AT_ONCE))):
            wanted = []
            for task in some:
                if is_done(self._ledger.row(task.job.out), task, self._place):
                    self._tally.kept += 1
                    self._watch.step(1)
                else:
                    wanted.append(task)
            won = self._ledger.claim([task.job.out for task in wanted]) if wanted else set()
            others += [task for task in wanted if task.job.out not in won]
            for task in wanted:
                if task.job.out in won:
                    if is_done(self._ledger.row(task.job.out), task, self._place):  # another run was quicker
                        self._ledger.let_go(task.job.out)
                        self._tally.kept += 1
                        self._watch.step(1)
                    else:
                        yield task

    def _finish(self, task: Task, came: TaskResult | WorkerLost) -> None:
        if isinstance(came, WorkerLost):
            self._fail(task, "the processes that worked on it ended; nothing was written")
            return
        if came.error is not None:
            self._fail(task, came.error)
            return
        try:
            self._write(task, came)
        except GuidegenError as error:
            self._fail(task, str(error))
        except OSError as error:
            if error.errno in _NO_ROOM:
                raise
            self._fail(task, f"{error.filename or self._place.label}: {error.strerror or error}")
        else:
            if came.notes:
                self._watch.noted(task, came.notes)

    def _write(self, task: Task, made: TaskResult) -> None:
        folder = PurePosixPath(task.job.out).parent
        files = [((folder / name).as_posix(), data) for name, data in made.files]
        names = [name for name, _ in files]
        known = self._ledger.row(task.job.out)
        ours = known.names if known is not None else frozenset()
        taken = [name for name in names if name not in ours and not self._force and self._place.look(name)]
        if taken:
            told = "exists already and was left as it is; choose another name or add `force`"
            raise GuidegenError(f"{self._place.label}/{taken[0]}: {told}")
        self._ledger.about_to_write(task.job.out, sorted({*names, *ours}))
        seen = self._place.put(files, ours=names if self._force else ours)
        kept = [
            KnownFile(name, at.size, at.mtime_ns, hashlib.sha256(data).hexdigest())
            for (name, data), at in zip(files, seen, strict=True)
        ]
        if left := sorted(ours - set(names)):
            self._place.remove(left)  # pages that the job no longer has
        self._ledger.done(task.job.out, task.key, task.job.command, kept, made.seconds)
        self._tally.made += 1
        self._tally.files += len(files)
        self._tally.size += sum(len(data) for _, data in files)

    def _fail(self, task: Task, reason: str) -> None:
        self._ledger.let_go(task.job.out)
        failure = Failure(task, reason)
        self._tally.failures.append(failure)
        self._watch.failed(failure)
        self._stopped = self._stopped or self._stop


def is_done(row: JobRow | None, task: Task, place: ResultPlace) -> bool:
    """Tell whether a job's result is there as it was made: by its key, and by size and time of every file."""
    if row is None or row.state != "done" or row.key != task.key or not row.files:
        return False
    for file in row.files:
        seen = place.look(file.name)
        if seen is None or seen.size != file.size or seen.mtime_ns != file.mtime_ns:
            return False
    return True


def changed_files(ledger: Ledger, place: ResultPlace, step: Callable[[int], None]) -> Iterator[tuple[JobRow, str, str]]:
    """Hash every file the ledger knows; yield row, file and what is wrong with it. Such jobs are due again."""
    for row in list(ledger.rows()):
        wrong = False
        for file in row.files:
            found = place.digest(file.name)
            if found != file.sha256:
                wrong = True
                yield row, file.name, "missing" if found is None else "not as it was made"
        if wrong:
            ledger.mark_bad([row.out])
        step(1)
