"""Many pages or files at once: worker processes, results in order, progress for whoever wants to show it.

Work goes to the processes in small batches, each a batch ahead of what is taken, so that memory holds a few
batches however long the list is. With one process, or little to do, everything runs here.
"""

from __future__ import annotations

import itertools
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
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
        work: a function of a module (it is sent to other processes by name), with results that can be pickled.
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
    with ProcessPoolExecutor(count) as pool:
        waiting: deque[Future[list[Result]]] = deque(
            pool.submit(_run_batch, work, part) for part in itertools.islice(batches, count * _AHEAD)
        )
        try:
            while waiting:
                done = waiting.popleft().result()
                for part in itertools.islice(batches, 1):
                    waiting.append(pool.submit(_run_batch, work, part))
                yield from done
                if progress:
                    progress(len(done))
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _run_batch(work: Callable[[Task], Result], tasks: Sequence[Task]) -> list[Result]:
    return [work(task) for task in tasks]
