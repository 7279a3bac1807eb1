"""Many pages or files at once: worker processes, results in order, progress for whoever wants to show it.

Work goes to the processes in small batches, each a batch ahead of what is taken, so that memory holds a few
batches however long the list is. With one process, or little to do, everything runs here.
"""

from __future__ import annotations

import copyreg
import itertools
import os
import pickle
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
    with ProcessPoolExecutor(count, initializer=_learn, initargs=(pickle.dumps(work),)) as pool:
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
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


_work: list[Callable[[Any], Any]] = []
"""In a worker process: what it does with a task. Sent once, so that what it holds is the same for every batch."""


def _learn(work: bytes) -> None:
    _work[:] = [pickle.loads(work)]  # noqa: S301  (our own bytes, from the parent process)


def _run_batch(tasks: Sequence[Any]) -> list[Any]:
    (work,) = _work
    return [work(task) for task in tasks]


def _pickled_mapping(mapping: MappingProxyType[Any, Any]) -> tuple[Any, ...]:
    return _mapping, (dict(mapping),)


def _mapping(entries: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(entries)


copyreg.pickle(MappingProxyType, _pickled_mapping)  # hands hold them, pickle cannot
