"""A run: only what is new is done, whatever happened to files, ledgers and other runs."""

from __future__ import annotations

import os
import sqlite3
from dataclasses import replace

import pytest

from guidegen.batch.ledger import Ledger, shard_name
from guidegen.batch.manifest import BatchJob
from guidegen.batch.places import Folder, place_of
from guidegen.batch.run import BatchRun, Watch, changed_files
from guidegen.batch.tasks import Task, TaskResult
from guidegen.errors import GuidegenError
from guidegen.jobs import WorkerLost


def a_task(name, key="k1"):
    return Task(BatchJob(1, 1, "sheet", (), name), key, (), ())


def made(task):
    """A file called as the result, and for ``two.svg`` two."""
    stem, _, ending = task.job.out.rpartition("/")[2].rpartition(".")
    names = [f"{stem}-1.{ending}", f"{stem}-2.{ending}"] if stem == "two" and task.key == "k1" else [f"{stem}.{ending}"]
    return TaskResult(tuple((name, f"{name} {task.key}".encode()) for name in names), (), None, 0.5)


class Bench:
    """A folder, its ledger, and an engine that counts what it did."""

    def __init__(self, folder):
        self.folder = folder
        self.done, self.told = [], []

    def engine(self, tasks):
        for task in tasks:
            self.done.append(task.job.out)
            yield task, self.result(task)

    result = staticmethod(made)

    def run(self, *tasks, ledger="ledger.sqlite", **options):
        self.done.clear()
        watch = Watch(lambda _: None, self.told.append, lambda *_: None)
        with Ledger(self.folder / ".guidegen", ledger) as book:
            return BatchRun(Folder(self.folder), book, self.engine, watch, **options).all(tasks)


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path / "out")


TASKS = [a_task("a.pdf"), a_task("deep/er/b.pdf"), a_task("two.svg")]


def files(folder):
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*")
                  if path.is_file() and ".guidegen" not in path.parts)  # fmt: skip


def test_again_does_nothing_and_what_changed_is_done(bench):
    first = bench.run(*TASKS)
    assert (first.made, first.kept, first.files) == (3, 0, 4)
    assert files(bench.folder) == ["a.pdf", "deep/er/b.pdf", "two-1.svg", "two-2.svg"]
    again = bench.run(*TASKS)
    assert (again.made, again.kept, bench.done) == (0, 3, [])

    bench.run(replace(TASKS[0], key="k2"), *TASKS[1:])
    assert bench.done == ["a.pdf"]
    assert (bench.folder / "a.pdf").read_bytes() == b"a.pdf k2"


def test_pages_a_job_no_longer_has_go(bench):
    bench.run(TASKS[2])
    bench.run(a_task("two.svg", "k2"))
    assert files(bench.folder) == ["two.svg"]


@pytest.mark.parametrize(
    "harm",
    [
        lambda path: path.unlink(),
        lambda path: path.write_bytes(b""),
        lambda path: path.write_bytes(path.read_bytes() + b"x"),
        lambda path: os.utime(path, ns=(1, 1)),
        lambda path: (path.unlink(), path.mkdir(), path.rmdir()),
    ],
)
def test_what_is_missing_or_changed_is_made_anew(bench, harm):
    bench.run(*TASKS)
    harm(bench.folder / "deep/er/b.pdf")
    assert bench.run(*TASKS).made == 1
    assert bench.done == ["deep/er/b.pdf"]
    assert (bench.folder / "deep/er/b.pdf").read_bytes() == b"b.pdf k1"


def test_a_change_that_size_and_time_hide_is_found_by_hashing(bench):
    bench.run(*TASKS)
    path = bench.folder / "a.pdf"
    before = path.stat()
    path.write_bytes(b"A.PDF K1")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert bench.run(*TASKS).made == 0
    with Ledger(bench.folder / ".guidegen") as book:
        assert [(row.out, name) for row, name, _ in changed_files(book, Folder(bench.folder), lambda _: None)] == [
            ("a.pdf", "a.pdf")
        ]
    assert bench.run(*TASKS).made == 1
    assert path.read_bytes() == b"a.pdf k1"


def test_a_file_that_no_run_made_is_left_alone(bench):
    bench.folder.mkdir()
    (bench.folder / "two-2.svg").write_bytes(b"mine")
    tally = bench.run(*TASKS)
    assert tally.made == 2
    assert "two-2.svg: exists already" in tally.failures[0].reason
    assert files(bench.folder) == ["a.pdf", "deep/er/b.pdf", "two-2.svg"]
    assert bench.run(*TASKS, force=True).made == 1
    assert (bench.folder / "two-2.svg").read_bytes() == b"two-2.svg k1"


def test_failures_are_told_and_the_rest_goes_on(bench):
    bench.result = lambda task: TaskResult((), (), "no ink", 0.1) if task.job.out == "a.pdf" else made(task)
    tally = bench.run(*TASKS)
    assert (tally.made, [one.reason for one in tally.failures]) == (2, ["no ink"])
    bench.result = lambda _: WorkerLost("gone")
    assert "worked on it ended" in bench.run(TASKS[0]).failures[0].reason
    bench.result = made
    assert bench.run(*TASKS).made == 1


def test_stop_stops_at_the_first_failure(bench):
    bench.result = lambda task: TaskResult((), (), "no ink", 0.1) if task.job.out == "a.pdf" else made(task)
    assert (bench.run(*TASKS, stop=True).made, bench.done) == (0, ["a.pdf"])


def test_a_run_ended_between_file_and_ledger_knows_its_files(bench, monkeypatch):
    """The moment a kill is worst: names are taken, the ledger was not told."""
    monkeypatch.setattr(Ledger, "done", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
    with pytest.raises(KeyboardInterrupt):
        bench.run(TASKS[2])
    assert files(bench.folder) == ["two-1.svg", "two-2.svg"]
    monkeypatch.undo()
    assert bench.run(TASKS[2]).made == 1
    assert bench.run(TASKS[2]).kept == 1


def test_a_full_disk_ends_the_run_and_the_next_goes_on(bench, monkeypatch):
    def full(self, some, *, ours):
        raise OSError(28, "No space left on device")

    bench.run(TASKS[0])
    monkeypatch.setattr(Folder, "put", full)
    with pytest.raises(OSError, match="No space"):
        bench.run(*TASKS)
    monkeypatch.undo()
    assert bench.run(*TASKS).made == 2


def test_two_runs_share_the_work(bench):
    """The second begins while the first is at its first task, and is done before it."""
    other = Bench(bench.folder)
    tallies = []

    def slow(task):
        if not tallies:
            tallies.append(None)
            tallies[0] = other.run(a_task("c.pdf"))  # the others are claimed, or it would wait for them
        return made(task)

    bench.result = slow
    assert bench.run(*TASKS).made == 3
    assert (tallies[0].made, other.done) == (1, ["c.pdf"])


def test_the_claims_of_a_run_that_ended_are_free(bench):
    bench.run(TASKS[0])
    with Ledger(bench.folder / ".guidegen") as book:
        book.claim(["deep/er/b.pdf"])
        book.run = "1-dead"  # as if the process had been killed: nobody holds that lock
        book.claim(["two.svg"])
    assert bench.run(*TASKS).made == 2


def test_shards_know_each_others_results_and_merge(bench):
    bench.run(TASKS[0], ledger=shard_name(1, 2))
    bench.run(TASKS[1], ledger=shard_name(2, 2))
    assert bench.run(*TASKS, ledger=shard_name(2, 2)).kept == 2
    with Ledger(bench.folder / ".guidegen") as book:
        assert book.merge() == 3
        assert book.merge() == 0
    for path in (bench.folder / ".guidegen").glob("ledger-*"):
        path.unlink()
    assert bench.run(*TASKS).kept == 3


def test_a_ledger_that_is_none(bench):
    (bench.folder / ".guidegen").mkdir(parents=True)
    (bench.folder / ".guidegen" / "ledger.sqlite").write_bytes(b"no database at all, " * 100)
    with pytest.raises(GuidegenError, match=r"ledger cannot be used: .*move it away"):
        bench.run(*TASKS)


def test_a_ledger_of_a_newer_program(bench):
    bench.run(TASKS[0])
    with sqlite3.connect(bench.folder / ".guidegen" / "ledger.sqlite") as book:
        book.execute("insert into format values (2)")
    book.close()
    with pytest.raises(GuidegenError, match="newer guidegen"):
        bench.run(TASKS[0])


def test_places(tmp_path):
    assert place_of("sub", tmp_path).label == str(tmp_path / "sub")
    assert place_of(str(tmp_path), tmp_path / "x").label == str(tmp_path)
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(GuidegenError, match="expected a folder"):
        place_of("file", tmp_path)
    with pytest.raises(GuidegenError, match="Protocol not known"):
        place_of("harbour://quay", tmp_path)
