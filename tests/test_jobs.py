"""Work in processes: results in order, errors where they belong, a few batches in memory, never a hang."""

from __future__ import annotations

import itertools
import os
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from types import MappingProxyType

import pytest

from guidegen.errors import GuidegenError
from guidegen.jobs import (
    PoolBusyError,
    TaskEndedError,
    TaskFailedError,
    WorkerLost,
    Workers,
    run_as_done,
    run_in_order,
    usable_processes,
)


class Work:
    """Holds a read-only mapping, as a hand does, which pickle alone refuses."""

    def __init__(self):
        self.table = MappingProxyType({"factor": 3})

    def __call__(self, number):
        if number == 1234:
            raise ValueError(f"no {number}")
        return os.getpid(), number * self.table["factor"]


@pytest.mark.parametrize("processes", [1, 2, 3])
@pytest.mark.parametrize("count", [0, 1, 5, 16, 17, 200])
def test_results_come_in_order(processes, count):
    done = []
    found = list(run_in_order(Work(), range(count), processes=processes, progress=done.append))
    assert [value for _, value in found] == [3 * number for number in range(count)]
    assert sum(done) == count


def slow(number):
    time.sleep(0.01)  # long enough for the second process to have started before the first has done it all
    return os.getpid(), number


def test_several_processes_take_part():
    found = {pid for pid, _ in run_in_order(slow, range(400), processes=2)}
    assert len(found) == 2
    assert os.getpid() not in found


def test_an_error_is_raised_after_the_results_before_it():
    results = run_in_order(Work(), range(1200, 1300), processes=2)
    assert len(list(itertools.islice(results, 16))) == 16
    with pytest.raises(ValueError, match="no 1234"):
        list(results)


def test_an_endless_list_is_taken_only_as_needed():
    taken = itertools.count()
    results = run_in_order(Work(), taken, processes=2)
    for _ in range(40):
        next(results)
    results.close()
    assert next(taken) < 400


def test_what_cannot_be_sent_is_an_error_and_no_hang():
    with pytest.raises((AttributeError, TypeError)):
        list(run_in_order(lambda number: number, range(100), processes=2))


def test_there_is_a_processor_to_use():
    assert usable_processes() >= 1


def deadly(task):
    """Return the task doubled; ``kill`` ends the process always, ``once`` where it finds no mark of having done so."""
    kind, value = task
    if kind == "kill" or (kind == "once" and not os.path.exists(value)):  # noqa: PTH110
        if kind == "once":
            open(value, "x").close()  # noqa: PTH123
        os.kill(os.getpid(), signal.SIGKILL)
    return value * 2


@pytest.mark.parametrize("processes", [1, 2])
def test_tasks_come_as_they_are_done(processes):
    tasks = [("n", k) for k in range(100)]
    assert dict(run_as_done(deadly, iter(tasks), processes=processes)) == {task: task[1] * 2 for task in tasks}


@pytest.mark.filterwarnings("ignore")
def test_of_a_lost_process_only_the_deadly_task_fails(tmp_path):
    mark = str(tmp_path / "mark")
    harmless = [("n", k) for k in range(60)]
    tasks = [*harmless[:30], ("kill", 0), ("once", mark), ("kill", 1), *harmless[30:]]
    found = list(run_as_done(deadly, iter(tasks), processes=2))
    assert len(found) == len(tasks)  # each once
    came = dict(found)
    assert isinstance(came.pop(("kill", 0)), WorkerLost)
    assert isinstance(came.pop(("kill", 1)), WorkerLost)
    assert came == {task: task[1] * 2 for task in tasks if task[0] != "kill"}


def test_an_endless_list_of_tasks_is_taken_only_as_needed():
    taken = itertools.count()
    results = run_as_done(slow, taken, processes=2)
    for _ in range(20):
        next(results)
    results.close()
    assert next(taken) < 100


def processes_inside(_):
    return usable_processes()


def test_a_worker_starts_no_workers_of_its_own():
    assert {count for _, count in run_as_done(processes_inside, range(8), processes=2)} == {1}


def asked(what, *arguments):
    """What the processes that stay do in these tests."""
    if what == "work":
        return os.getpid(), sum(arguments)
    if what == "wrong":
        raise GuidegenError("tide: found out, expected in")
    if what == "defect":
        raise ZeroDivisionError(*arguments)
    if what == "loop":
        while True:
            pass
    if what == "memory":
        return len(bytearray(900_000_000))
    if what == "processes":
        return usable_processes()
    if what == "wait":
        time.sleep(arguments[0])
        return os.getpid()
    return os._exit(3)


@pytest.fixture(scope="module")
def workers():
    made = Workers("test_jobs:asked", processes=2, waiting=1, seconds=1, megabytes=700)
    yield made
    made.close()


def test_processes_that_stay_answer_many_times(workers):
    found = {workers.run("work", 1, number)[0] for number in range(20)}
    assert len(found) == 1  # the one whose memory is warm
    assert os.getpid() not in found
    assert workers.run("work", 2, 3)[1] == 5


def test_what_a_task_may_not_do_ends_its_process_and_no_more(workers):
    for what, why in (("loop", "late"), ("leave", "died"), ("memory", "memory")):
        with pytest.raises(TaskEndedError) as told:
            workers.run(what)
        assert told.value.why == why
        assert workers.run("work", 1, 1)[1] == 2


def test_errors_come_back_as_they_are_and_defects_with_their_trace(workers):
    with pytest.raises(GuidegenError, match="tide: found out"):
        workers.run("wrong")
    with pytest.raises(TaskFailedError, match="ZeroDivisionError: ebb"):
        workers.run("defect", "ebb")


def test_a_process_that_stays_starts_no_further_ones(workers):
    assert workers.run("processes") == 1
    assert usable_processes() >= 1


def test_no_more_wait_than_may(workers):
    with ThreadPoolExecutor(8) as threads:
        waits = [threads.submit(workers.run, "wait", 0.5) for _ in range(8)]
        busy = [wait for wait in waits if isinstance(wait.exception(), PoolBusyError)]
    assert len(busy) == 5  # two at work, one waits
    assert len({wait.result() for wait in waits if wait not in busy}) == 2
