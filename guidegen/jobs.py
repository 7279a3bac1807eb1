"""Many pages or files at once: worker processes, results in order, progress for whoever wants to show it.

Work goes to the processes in small batches, each a batch ahead of what is taken, so that memory holds a few
batches however long the list is. With one process, or little to do, everything runs here.

:class:`Workers` stay, for whoever is asked many small things, such as a web server: each task bounded in time and
memory, and no more of them waiting than may.

A worker ends with the process that started it, however that ends, and leaves Ctrl-C to it.
"""

from __future__ import annotations

import contextlib
import itertools
import math
import multiprocessing
import os
import pickle
import queue
import signal
import sys
import threading
import traceback
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType
from typing import Any, Self, TypeVar

import guidegen.read_only  # noqa: F401  so that values which hold read-only mappings can be sent
from guidegen.errors import GuidegenError

Task = TypeVar("Task")
Result = TypeVar("Result")
Progress = Callable[[int], Any]
"""Called with the number of tasks finished since the last call."""

BATCH = 16
_AHEAD = 3


@dataclass(frozen=True, slots=True)
class WorkerLost:
    """Stands in place of a result when the process at work on a task ended, again and again."""

    reason: str


def usable_processes() -> int:
    """Return how many processes may run at once: the processors this process may use; a worker starts none."""
    if _stays or _work:
        return 1
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def run_in_order(
    work: Callable[[Task], Result],
    tasks: Iterable[Task],
    *,
    processes: int | None = None,
    batch: int = BATCH,
    progress: Progress | None = None,
) -> Iterator[Result]:
    """Yield ``work(task)`` for each task, in the order of the tasks.

    Args:
        work: what can be pickled (a function of a module, an object of plain data), with results that can be, too.
        tasks: taken as needed, so a generator may be endless.
        processes: how many; None is as many as there are processors.
        batch: tasks sent at a time.
        progress: told of finished tasks, in this process.

    An error in a task is raised here, where its result would have come; the tasks not begun are dropped.
    """
    count = usable_processes() if processes is None else processes
    todo = iter(tasks)
    first = list(itertools.islice(todo, batch + 1))
    if count <= 1 or len(first) <= batch:
        yield from _run_here(work, itertools.chain(first, todo), progress)
        return
    yield from _run_there(work, itertools.chain(first, todo), count, batch, progress)


def _run_here(work: Callable[[Task], Result], tasks: Iterable[Task], progress: Progress | None) -> Iterator[Result]:
    for task in tasks:
        yield work(task)
        if progress:
            progress(1)


def _run_there(
    work: Callable[[Task], Result], tasks: Iterable[Task], count: int, batch: int, progress: Progress | None
) -> Iterator[Result]:
    batches = iter(lambda: tuple(itertools.islice(tasks, batch)), ())
    others = set(multiprocessing.active_children())
    learned = (os.getpid(), _on_main_thread(), pickle.dumps(work))
    with ProcessPoolExecutor(count, initializer=_learn, initargs=learned) as pool:
        with signals_held():
            waiting: deque[Future[list[Any]]] = deque(
                pool.submit(_run_batch, part) for part in itertools.islice(batches, count * _AHEAD)
            )
        try:
            while waiting:
                done = waiting.popleft().result()
                for part in itertools.islice(batches, 1):
                    waiting.append(pool.submit(_run_batch, part))
                yield from done
                if progress:
                    progress(len(done))
        except KeyboardInterrupt:  # nobody waits for what they are at
            for worker in set(multiprocessing.active_children()) - others:
                worker.kill()
            raise
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def run_as_done(
    work: Callable[[Task], Result],
    tasks: Iterable[Task],
    *,
    processes: int | None = None,
    batch: int = 4,
) -> Iterator[tuple[Task, Result | WorkerLost]]:
    """Yield each task with ``work(task)``, in the order they are finished, whatever becomes of the processes.

    Args:
        work, tasks, processes: as :func:`run_in_order` takes them; ``work`` raises nothing, it returns what went wrong.
        batch: tasks sent at a time.

    When a process is killed, the tasks that were sent and are not back are done once more, one by one; one that ends
    two processes in which nothing else was done gets a :class:`WorkerLost`. With one process everything runs here,
    and nothing is caught.
    """
    count = usable_processes() if processes is None else processes
    todo = iter(tasks)
    if count <= 1:
        for task in todo:
            yield task, work(task)
        return
    lots = iter(lambda: tuple(itertools.islice(todo, batch)), ())
    suspects: list[Task] = []
    more, again = True, False
    while more or suspects:
        with _Pool(work, count) as pool:
            while suspects:
                task = suspects[0]
                try:
                    result = pool.submit((task,)).result()[0]
                except BrokenProcessPool:
                    again = not again
                    if again:  # once may be chance
                        break
                    result = WorkerLost("the process that worked on it ended, twice with nothing beside it")
                again = False
                del suspects[0]
                yield task, result
                if isinstance(result, WorkerLost):
                    break
            else:
                more = yield from _until_broken(pool, lots, count * _AHEAD, suspects)


def _until_broken(
    pool: _Pool, lots: Iterator[tuple[Any, ...]], most: int, suspects: list[Any]
) -> Generator[tuple[Any, Any], None, bool]:
    """Yield tasks and results until all are done, or a process ended: what was under way is then in ``suspects``.

    Returns whether there may be more to do.
    """
    sent: dict[Future[list[Any]], tuple[Any, ...]] = {}
    try:
        while True:
            while len(sent) < most and (some := next(lots, None)) is not None:
                sent[_NEVER] = some  # until it is on its way
                sent[pool.submit(some)] = sent.pop(_NEVER)
            if not sent:
                return False
            for future in wait(sent, return_when=FIRST_COMPLETED).done:
                results = future.result()
                yield from zip(sent.pop(future), results, strict=True)
    except BrokenProcessPool:
        for future, some in sent.items():
            if future.done() and future is not _NEVER and future.exception() is None:
                yield from zip(some, future.result(), strict=True)
            else:
                suspects.extend(some)
        return True


_NEVER: Future[list[Any]] = Future()


class _Pool:
    """Processes that all do the same work; an exception in the block kills them, the end of it waits for them."""

    def __init__(self, work: Callable[[Any], Any], count: int) -> None:
        self._others = set(multiprocessing.active_children())
        learned = (os.getpid(), _on_main_thread(), pickle.dumps(work))
        self._pool = ProcessPoolExecutor(count, initializer=_learn, initargs=learned)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        if kind is not None:  # nobody waits for what they are at
            for worker in set(multiprocessing.active_children()) - self._others:
                worker.kill()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def submit(self, tasks: Sequence[Any]) -> Future[list[Any]]:
        with signals_held():
            return self._pool.submit(_run_batch, tasks)


def _on_main_thread() -> bool:
    return threading.current_thread() is threading.main_thread()


_STOPS = {getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)}


@contextlib.contextmanager
def signals_held() -> Iterator[None]:
    """Let no Ctrl-C through while a process is started: it would meet a child that cannot handle it yet."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _STOPS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def follow_parent(parent: int, *, by_main_thread: bool) -> None:
    """In a worker: leave Ctrl-C to the parent process, and end within a moment when that has ended.

    Args:
        parent: the parent's process number.
        by_main_thread: whether its main thread started this process. Linux then ends us with it (prctl(2),
            PR_SET_PDEATHSIG, which watches the thread); in any case a thread of ours watches it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for other in _STOPS - {signal.SIGINT}:
        signal.signal(other, signal.SIG_DFL)
    signal.set_wakeup_fd(-1)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _STOPS)
    watched = multiprocessing.parent_process()
    if watched is not None:
        threading.Thread(target=_end_with, args=(watched,), daemon=True).start()
    if by_main_thread and sys.platform == "linux":
        _end_with_parent_on_linux(parent)


def _end_with(parent: Any) -> None:
    parent.join()
    os._exit(1)


def _end_with_parent_on_linux(parent: int) -> None:
    import ctypes

    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(1, signal.SIGKILL, 0, 0, 0)  # 1 is PR_SET_PDEATHSIG
    if os.getppid() != parent:  # it ended before we asked
        os._exit(1)


_work: list[Callable[[Any], Any]] = []
"""In a worker process: what it does with a task. Sent once, so that what it holds is the same for every batch."""


def _learn(parent: int, by_main_thread: bool, work: bytes) -> None:
    follow_parent(parent, by_main_thread=by_main_thread)
    _work[:] = [pickle.loads(work)]  # noqa: S301  (our own bytes, from the parent process)


def _run_batch(tasks: Sequence[Any]) -> list[Any]:
    (work,) = _work
    return [work(task) for task in tasks]


PATIENCE = 5
"""Time is counted by the processor; where others use it too, the clock may show so many times as much."""


class PoolBusyError(Exception):
    """As many tasks are waiting as may; come again."""


class TaskEndedError(Exception):
    """A task that took too long (``late``) or too much memory (``memory``), or whose process ended (``died``)."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


class TaskFailedError(Exception):
    """A defect: the task raised what it should not; the message is its traceback."""


@dataclass(slots=True)
class _Worker:
    process: Any
    pipe: Any


class Workers:
    """Processes that stay. Tasks are given by any number of threads; each thread waits for its own.

    Args:
        work: "module:function", imported in each process; what it takes and returns can be pickled.
        processes: how many; None is as many as there are processors.
        waiting: how many tasks may wait beside those at work.
        seconds: of processor time for a task; what takes longer is ended, and its process replaced.
        megabytes: of data for a process.
        settled_megabytes: a process that holds more after a task is replaced before the next.
    """

    def __init__(
        self,
        work: str,
        *,
        processes: int | None = None,
        waiting: int = 16,
        seconds: float = 20.0,
        megabytes: int = 1_000,
        settled_megabytes: int = 500,
    ) -> None:
        self._start = (work, seconds, megabytes, settled_megabytes)
        self._seconds = seconds
        self.processes = usable_processes() if processes is None else processes
        self._places = threading.BoundedSemaphore(self.processes + waiting)
        self._context: Any = multiprocessing.get_context("forkserver" if sys.platform == "linux" else "spawn")
        if sys.platform == "linux":
            self._context.set_forkserver_preload([work.split(":", maxsplit=1)[0]])
        self._idle: queue.LifoQueue[_Worker | None] = queue.LifoQueue()  # the last one used has its caches warm
        for _ in range(self.processes):
            self._idle.put(None)  # started when it is first needed
        self._all: set[Any] = set()
        self._closed = False

    def warm(self) -> None:
        """Start the processes now rather than with the first tasks."""
        taken = [self._idle.get() for _ in range(self.processes)]
        for worker in taken:
            self._idle.put(worker or self._started())

    def run(self, *arguments: Any) -> Any:
        """Return what the work makes of ``arguments``.

        Raises:
            PoolBusyError: too many are waiting.
            TaskEndedError: it took too long or too much, or its process ended.
            TaskFailedError: it raised something else than the next.
            GuidegenError: the work's own.
        """
        if not self._places.acquire(blocking=False):
            raise PoolBusyError
        try:
            worker, kept = self._idle.get(), None
            try:
                worker = worker or self._started()
                kind, value, retires = self._answer(worker, arguments)
                kept = None if retires else worker
            finally:  # one that failed or holds too much ends; the next who finds none starts another
                if kept is None:
                    self._end(worker)
                self._idle.put(kept)
        finally:
            self._places.release()
        if kind == "value":
            return value
        if kind == "told":
            raise value
        if kind == "memory":
            raise TaskEndedError("memory")
        raise TaskFailedError(value)

    def close(self) -> None:
        """End all processes, whatever they are at."""
        self._closed = True
        for process in tuple(self._all):
            process.kill()
        for process in tuple(self._all):
            process.join()

    def _answer(self, worker: _Worker, arguments: tuple[Any, ...]) -> tuple[str, Any, bool]:
        try:
            worker.pipe.send(arguments)
            if not worker.pipe.poll(PATIENCE * self._seconds):
                raise TaskEndedError("late")
            answer: tuple[str, Any, bool] = worker.pipe.recv()
        except (EOFError, OSError):
            worker.process.join(1.0)
            late = worker.process.exitcode == -getattr(signal, "SIGXCPU", 0)
            raise TaskEndedError("late" if late else "died") from None
        return answer

    def _started(self) -> _Worker:
        if self._closed:
            raise TaskEndedError("died")
        ours, theirs = self._context.Pipe()
        process = self._context.Process(target=_stay, args=(theirs, *self._start))
        with signals_held(), _no_main():
            process.start()
        theirs.close()
        self._all.add(process)
        return _Worker(process, ours)

    def _end(self, worker: _Worker | None) -> None:
        if worker is not None:
            worker.process.kill()
            worker.process.join()
            worker.pipe.close()
            self._all.discard(worker.process)


_starting = threading.Lock()


@contextlib.contextmanager
def _no_main() -> Iterator[None]:
    """Keep a new process from running the program's own file again, be it a command or a web server: it needs ours."""
    with _starting:
        main = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = main


_stays: list[bool] = []
"""Holds something in a process of :class:`Workers`, which starts no further ones."""


def _stay(pipe: Any, work: str, seconds: float, megabytes: int, settled_megabytes: int) -> None:
    follow_parent(0, by_main_thread=False)
    if hasattr(signal, "SIGTERM"):
        signal.signal(signal.SIGTERM, signal.SIG_IGN)  # a service manager tells all; we end when the pipe does
    _stays.append(True)
    limit_data(megabytes)
    module, function = work.split(":")
    does = getattr(import_module(module), function)
    while True:
        try:
            arguments = pipe.recv()
        except EOFError:
            return
        limit_seconds(seconds)
        kind, value = _outcome(does, arguments)
        try:
            pipe.send((kind, value, _held_megabytes() > settled_megabytes))
        except MemoryError:
            pipe.send(("memory", None, True))
        except OSError:  # nobody waits any more
            return


def _outcome(does: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[str, Any]:
    try:
        return "value", does(*arguments)
    except GuidegenError as error:
        return "told", error
    except MemoryError:
        return "memory", None
    except Exception:  # noqa: BLE001  the other process has nobody else to tell
        return "defect", traceback.format_exc()


def _held_megabytes() -> float:
    """Return how much memory this process holds now (Linux; 0 elsewhere)."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:  # noqa: PTH123
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    except (OSError, ValueError):
        return 0.0


def limit_data(megabytes: int) -> None:
    """Bound the memory this process may have from now on; a failed request for more is a ``MemoryError``."""
    if sys.platform == "win32":
        return
    import resource

    bounds = [
        (resource.RLIMIT_DATA, megabytes * 1_000_000),
        (resource.RLIMIT_AS, 2 * megabytes * 1_000_000),  # libraries claim more than they use
    ]
    for what, bound in bounds:
        _, hard = resource.getrlimit(what)
        limit = bound if hard == resource.RLIM_INFINITY else min(bound, hard)
        resource.setrlimit(what, (limit, hard))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def limit_seconds(seconds: float) -> None:
    """Let the system end this process (SIGXCPU) when it has used so much more processor time, in s, rounded up."""
    if sys.platform == "win32":
        return
    import resource

    used = resource.getrusage(resource.RUSAGE_SELF)
    bound = math.ceil(used.ru_utime + used.ru_stime + seconds) + 1
    _, hard = resource.getrlimit(resource.RLIMIT_CPU)
    resource.setrlimit(resource.RLIMIT_CPU, (bound if hard == resource.RLIM_INFINITY else min(bound, hard), hard))
