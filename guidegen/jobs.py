"""Many pages or files at once: worker processes, results in order, progress for whoever wants to show it.

Work goes to the processes in small batches, each a batch ahead of what is taken, so that memory holds a few
batches however long the list is. With one process, or little to do, everything runs here.

A worker ends with the process that started it, however that ends, and leaves Ctrl-C to it.
"""

from __future__ import annotations

import contextlib
import copyreg
import itertools
import multiprocessing
import os
import pickle
import signal
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from types import MappingProxyType
from typing import Any, TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")
Progress = Callable[[int], Any]
"""Called with the number of tasks finished since the last call."""

BATCH = 16
_AHEAD = 3


def usable_processes() -> int:
    """Return how many processes may run at once: the processors this process may use."""
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


def _pickled_mapping(mapping: MappingProxyType[Any, Any]) -> tuple[Any, ...]:
    return _mapping, (dict(mapping),)


def _mapping(entries: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(entries)


copyreg.pickle(MappingProxyType, _pickled_mapping)  # hands hold them, pickle cannot
