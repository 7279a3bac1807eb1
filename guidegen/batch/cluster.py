"""Tasks done by a Dask cluster: workers come and go, the scheduler gives a lost one's tasks to others."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

from guidegen.batch.tasks import versions
from guidegen.errors import GuidegenError, bad_input, one_line
from guidegen.jobs import WorkerLost

Task = TypeVar("Task")
Result = TypeVar("Result")
_AT_ONCE = 8
_AHEAD = 3
_CONNECT_S = 10


class Cluster:
    """A connection to a scheduler.

    Raises:
        GuidegenError: nothing answers there, no workers, or workers that have another version of what writes files.
    """

    def __init__(self, address: str) -> None:
        try:
            import distributed
        except ImportError:
            fix = "pip install 'guidegen[cluster]'"
            told = f"a cluster needs dask.distributed: {fix}"
            raise bad_input("scheduler", "", address, "no address", told) from None
        try:
            self._distributed: Any = distributed  # its functions state no types
            self._client = self._distributed.Client(address, timeout=_CONNECT_S)
        except (OSError, ValueError) as error:
            told = one_line(f"{error}", 160) or type(error).__name__
            raise GuidegenError(f"scheduler: {address}: no scheduler answers: {told}") from None
        try:
            self._check_workers(address)
        except BaseException:
            self._client.close()
            raise

    def _check_workers(self, address: str) -> None:
        found = self._client.run(_versions)
        if not found:
            raise GuidegenError(f"scheduler: {address}: no workers there; start some: dask worker {address}")
        ours = dict(versions())
        for worker, theirs in found.items():
            if theirs != ours:
                wrong = next(name for name in ours if theirs.get(name) != ours[name])
                told = f"{wrong} {theirs.get(wrong, 'missing')} there, {ours[wrong]} here"
                raise GuidegenError(f"scheduler: worker {worker} would write other bytes: {told}; install the same")

    def close(self) -> None:
        """Leave the cluster; what it is at is dropped."""
        self._client.close()

    def run(self, work: Callable[[Task], Result], tasks: Iterable[Task]) -> Iterator[tuple[Task, Result | WorkerLost]]:
        """Yield each task with its result, in the order they are finished; memory holds a few of them.

        When workers end again and again, the scheduler gives up whatever they had, for it cannot tell what ended
        them. So those tasks are done once more in the end, each with nothing beside it: the deadly one alone fails.
        """
        todo = iter(tasks)
        sent: dict[str, tuple[Task, ...]] = {}

        def submitted(some: tuple[Task, ...]) -> Any:
            future = self._client.submit(_each, work, some, pure=False)
            sent[future.key] = some
            return future

        lots = iter(lambda: tuple(itertools.islice(todo, _AT_ONCE)), ())
        threads = max(1, sum(self._client.nthreads().values()))
        accused: list[Task] = []
        waiting = self._distributed.as_completed([submitted(some) for some in itertools.islice(lots, threads * _AHEAD)])
        for future in waiting:
            some = sent.pop(future.key)
            error = future.exception()
            if error is None:
                yield from zip(some, future.result(), strict=True)
            else:
                accused.extend(some)
            future.release()
            if (more := next(lots, None)) is not None:
                waiting.add(submitted(more))
        for task in accused:
            future = submitted((task,))
            error = future.exception()
            told = one_line(f"{type(error).__name__}: {error}", 200)
            yield task, WorkerLost(told) if error is not None else future.result()[0]


def _each(work: Callable[[Task], Result], tasks: tuple[Task, ...]) -> list[Result]:
    return [work(task) for task in tasks]


def _versions() -> dict[str, str]:
    return dict(versions())
