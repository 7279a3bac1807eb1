"""``batch``: many jobs from one list."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import click

from guidegen.cli.given import Given, GivenPath
from guidegen.cli.options import json_option, print_json
from guidegen.cli.params import Whole, marker_folders
from guidegen.cli.progress import Bar, bar
from guidegen.cli.wording import in_options
from guidegen.errors import GuidegenError, Plain, bad_input, printable

if TYPE_CHECKING:
    from guidegen.batch.ledger import Ledger
    from guidegen.batch.manifest import BatchJob, Manifest
    from guidegen.batch.places import ResultPlace
    from guidegen.batch.run import Engine, Failure, Tally
    from guidegen.batch.tasks import Task, TaskResult
    from guidegen.cli.job_words import JobWords

CHECK_FAILED = 1
_SHARD = re.compile(r"([0-9]{1,5})/([0-9]{1,5})", re.ASCII)
_MOST_TOLD = 50
_OF_A_RUN = ("processes", "scheduler", "stop", "force")


class Shard(click.ParamType):
    """One part of several, as ``3/16``."""

    name = "shard"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:  # noqa: ARG002
        return "K/N"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:  # noqa: ARG002
        if isinstance(value, tuple):
            return value
        match = _SHARD.fullmatch(value)
        shard, of = (int(part) for part in match.groups()) if match else (0, 0)
        if not 1 <= shard <= of:
            raise bad_input("--shard", "", value, "a part such as 3/16: the third of sixteen")
        return shard, of


@click.command()
@click.argument("manifest", type=GivenPath(path_type=Path))
@click.option("--folder", type=Given(), metavar="PATH|URL", help="Where results go, instead of the manifest's.")
@click.option("--processes", type=Whole(1, 256), help="How many at once; default one a processor.")
@click.option("--scheduler", type=Given(), metavar="ADDRESS", help="A Dask cluster does the work: tcp://host:8786.")
@click.option("--shard", type=Shard(), help="Do the K-th of N parts: for job arrays, with no cluster.")
@click.option("--merge", is_flag=True, help="Put the ledgers of the shards together, and do nothing else.")
@click.option("--plan", is_flag=True, help="Say how many, how large and how long, and make nothing.")
@click.option("--check", is_flag=True, help="Hash every file made so far; those that changed are made anew next time.")
@click.option("--stop", is_flag=True, help="Stop at the first job that fails.")
@click.option("--force", is_flag=True, help="Overwrite files that an earlier run did not make.")
@click.option("--ledger", type=GivenPath(path_type=Path), metavar="FOLDER", help="Where it is noted what was made.")
@json_option
@click.pass_context
def batch(ctx: click.Context, /, manifest: Path, as_json: bool, **asked: Any) -> int:
    """Do many jobs from one list, in parallel; done again, make only what changed or is missing.

    MANIFEST is a TOML file of tables [[job]]: a command, its options with _ for -, and out, where the result goes.
    A list of values makes a job of each. All jobs are checked before the first is done.

    \b
    Examples:
      guidegen batch evening.toml
      guidegen batch evening.toml --plan
      guidegen batch evening.toml --folder sheets --processes 2
      guidegen batch evening.toml --shard 3/16
      guidegen batch evening.toml --check
    """
    import sqlite3

    from guidegen.batch.ledger import Ledger, ledger_error, shard_name
    from guidegen.batch.manifest import read_manifest
    from guidegen.batch.places import place_of
    from guidegen.cli.job_words import JobWords

    _refuse_pairs(asked)
    folders = marker_folders(ctx)
    words = JobWords(manifest.parent, folders[0] if len(folders) > 1 else None)
    read = _all_told(partial(read_manifest, manifest, words.takes, words.all_markers), manifest)
    if read is None:
        return 2
    place = place_of(asked["folder"] or read.folder or "output", Path() if asked["folder"] else manifest.parent)
    if not _checked(read, words):
        return 2
    shard = asked["shard"]
    folder, name = _ledger_folder(asked["ledger"], place, manifest), shard_name(*shard) if shard else "ledger.sqlite"
    _refuse_nothing_there(asked, folder, name)
    with ExitStack() as stack:
        if asked["plan"] and not folder.exists():
            folder = Path(stack.enter_context(TemporaryDirectory()))  # nothing is made, and no ledger either
        engine = _engine(asked, stack)  # before the ledger, so that a cluster that does not answer leaves none behind
        ledger = Ledger(folder, name)
        try:
            return _done(stack.enter_context(ledger), read, words, place, engine, asked, as_json=as_json)
        except sqlite3.Error as error:
            raise ledger_error(ledger.path, error) from None


def _done(
    ledger: Ledger,
    read: Manifest,
    words: JobWords,
    place: ResultPlace,
    engine: Engine,
    asked: dict[str, Any],
    *,
    as_json: bool,
) -> int:
    """Do what was asked for with an open ledger, and return the exit code."""
    if asked["merge"]:
        click.echo(f"{ledger.path}: {ledger.merge()} jobs taken over from the shards")
        return 0
    if asked["check"]:
        return _check(ledger, place, as_json=as_json)
    jobs = partial(_jobs, read, asked["shard"])
    if asked["plan"]:
        _plan(jobs(), words, ledger, place, asked["processes"], as_json=as_json)
        return 0
    return _run(jobs, words, ledger, place, engine, asked, as_json=as_json)


def _refuse_nothing_there(asked: dict[str, Any], folder: Path, name: str) -> None:
    """Refuse to look at, or put together, what no run has left."""
    from guidegen.batch.ledger import shards_in

    if asked["check"] and not (folder / name).is_file():
        fix = "--merge first" if shards_in(folder) else "is it the folder of an earlier run?"
        raise bad_input("--check", "", Plain(f"no {name} in {folder}"), "the ledger of an earlier run", fix)
    if asked["merge"] and not shards_in(folder):
        raise bad_input("--merge", "", Plain(f"no ledger of a shard in {folder}"), "those of runs with --shard")


def _refuse_pairs(asked: dict[str, Any]) -> None:
    alone = [name for name in ("merge", "plan", "check") if asked[name]]
    if len(alone) > 1:
        raise GuidegenError(f"--{alone[0]}: one of --merge, --plan, --check at a time, found --{alone[1]} beside it")
    if asked["scheduler"] and asked["processes"]:
        raise GuidegenError("--processes: the cluster has its own; leave it out beside --scheduler")
    beside = {"merge": (*_OF_A_RUN, "shard"), "check": _OF_A_RUN, "plan": ("scheduler", "stop", "force")}
    for name in alone:
        for other in beside[name]:
            if asked[other]:
                raise GuidegenError(f"--{other}: nothing is made with --{name}; leave it out")


def _all_told(read: Any, manifest: Path) -> Manifest | None:
    """Return the manifest; tell every mistake and return None when there are any."""
    from guidegen.batch.manifest import ManifestError

    try:
        return read()  # type: ignore[no-any-return]
    except ManifestError as error:
        _tell(error.mistakes, manifest)
        return None


def _tell(mistakes: Sequence[str], manifest: Path) -> None:
    from guidegen.errors import one_line

    for line in mistakes[:_MOST_TOLD]:
        click.echo(f"guidegen: {one_line(line, 600)}", err=True)
    if len(mistakes) > _MOST_TOLD:
        click.echo(f"guidegen: {manifest}: {len(mistakes) - _MOST_TOLD} more mistakes", err=True)


def _checked(manifest: Manifest, words: JobWords) -> bool:
    """Check every job and tell every mistake at once: each value by its option, every name only once."""
    mistakes: list[str] = []
    for table in manifest.tables:
        wrong = 0
        for key, values in table.choices:
            for value in values:
                try:
                    words.check(table.command, key, value)
                except (GuidegenError, OSError) as error:
                    mistakes.append(f"{manifest.path}: [[job]] {table.table}: {key}: {_unplaced(error, key)}")
                    wrong += 1
        if not wrong:
            try:
                words.check_whole(next(iter(table.jobs())))
            except GuidegenError as error:
                mistakes.append(f"{manifest.path}: [[job]] {table.table}: {error}")
    mistakes += _told_twice(manifest)
    _tell(mistakes, manifest.path)
    return not mistakes


def _unplaced(error: Exception, key: str) -> str:
    text = str(error)
    for start in (f"--{key.replace('_', '-')}: ", f"`{key}`: ", f"{key}: ", f"{key.upper()}: ", "value: "):
        text = text.removeprefix(start)
    return text


def _told_twice(manifest: Manifest) -> list[str]:
    """Return a line for each table that gives a name which another job has; letters' case makes no other name."""
    seen: dict[int, int] = {}
    mistakes: dict[int, str] = {}
    for job in manifest.jobs():
        name = hash(job.out.casefold())
        if name in seen and job.table not in mistakes:
            first = f"[[job]] {seen[name]}" if seen[name] != job.table else "another job of this table"
            told = f"{job.out!r} is the result of {first} too; put into it what tells them apart, or {{number}}"
            mistakes[job.table] = f"{manifest.path}: [[job]] {job.table}: out: {told}"
        seen.setdefault(name, job.table)
    return list(mistakes.values())


def _ledger_folder(asked: Path | None, place: ResultPlace, manifest: Path) -> Path:
    from guidegen.batch.places import Folder

    if asked is not None:
        return asked
    if isinstance(place, Folder):
        return place.path / ".guidegen"
    return manifest.parent / f"{manifest.stem}.ledger"


def _jobs(manifest: Manifest, shard: tuple[int, int] | None) -> Iterator[BatchJob]:
    """Yield the jobs of a shard: told apart by their results' names, so that a longer list moves none."""
    from hashlib import sha256

    for job in manifest.jobs():
        if shard is None or int.from_bytes(sha256(job.out.encode()).digest()[:8], "big") % shard[1] == shard[0] - 1:
            yield job


def _run(
    jobs: Any,
    words: JobWords,
    ledger: Ledger,
    place: ResultPlace,
    engine: Engine,
    asked: dict[str, Any],
    *,
    as_json: bool,
) -> int:
    from guidegen.batch.run import BatchRun, Watch

    count = sum(1 for _ in jobs())
    with bar("jobs", count) as shown:
        told = _Told(shown)
        watch = Watch(shown.advance, told.failure, told.notes)
        run = BatchRun(place, ledger, engine, watch, force=asked["force"], stop=asked["stop"])
        tally = run.all(words.task(job) for job in jobs())
        told.rest()
    _told(tally, place, count, as_json=as_json)
    return CHECK_FAILED if tally.failures else 0


def _engine(asked: dict[str, Any], stack: ExitStack) -> Engine:
    from guidegen.cli.job_words import make_task

    if asked["scheduler"]:
        from guidegen.batch.cluster import Cluster

        cluster = Cluster(asked["scheduler"])
        stack.callback(cluster.close)
        return partial(cluster.run, make_task)
    from guidegen.jobs import run_as_done

    return partial(run_as_done, make_task, processes=asked["processes"])


class _Told:
    """Tells failures as they come, and what results have to say, the same only once."""

    def __init__(self, shown: Bar) -> None:
        self._shown = shown
        self._notes: dict[str, int] = {}

    def failure(self, failure: Failure) -> None:
        """Tell of a job that failed."""
        reason = in_options(failure.reason, batch.params)
        self._shown.aside(f"guidegen: {failure.task.job.where}: {reason}")

    def notes(self, task: Task, notes: Sequence[str]) -> None:
        """Tell what a result has to say, unless another said it before."""
        for text in notes:
            if text not in self._notes:
                self._shown.aside(f"guidegen: {task.job.where}: {text}")
            self._notes[text] = self._notes.get(text, 0) + 1

    def rest(self) -> None:
        """Tell how many said what was told once."""
        for text, count in self._notes.items():
            if count > 1:
                self._shown.aside(f"guidegen: {count - 1} more: {text}")


def _told(tally: Tally, place: ResultPlace, count: int, *, as_json: bool) -> None:
    left = count - tally.made - tally.kept - len(tally.failures)
    if as_json:
        failed = [{"out": one.task.job.out, "reason": one.reason} for one in tally.failures]
        told = {"folder": place.label, "jobs": count, "made": tally.made, "kept": tally.kept, "left": left}
        print_json(told | {"files": tally.files, "bytes": tally.size, "failed": failed})
        return
    parts = [f"{tally.made} made ({tally.files} files, {_size(tally.size)})", f"{tally.kept} were there already"]
    parts += [f"{len(tally.failures)} failed"] if tally.failures else []
    parts += [f"{left} not begun"] if left else []
    click.echo(f"{place.label}: {', '.join(parts)}")


def _size(count: float) -> str:
    for unit, factor in (("GB", 1e9), ("MB", 1e6), ("kB", 1e3)):
        if count >= factor:
            return f"{count / factor:.3g} {unit}"
    return f"{count:.0f} bytes"


def _check(ledger: Ledger, place: ResultPlace, *, as_json: bool) -> int:
    from guidegen.batch.run import changed_files

    rows = sum(1 for _ in ledger.rows())
    with bar("checking", rows) as shown:
        wrong = list(changed_files(ledger, place, shown.advance))
    if as_json:
        told = [{"file": name, "found": found} for _, name, found in wrong]
        print_json({"folder": place.label, "jobs": rows, "changed": told})
    else:
        for _, name, found in wrong:
            click.echo(f"{place.label}/{printable(name)}: {found}")
        click.echo(f"{place.label}: {rows} jobs checked, {len(wrong)} files are not as they were made"
                   + ("; the next run makes them anew" if wrong else ""))  # fmt: skip
    return CHECK_FAILED if wrong else 0


def _plan(
    jobs: Iterable[BatchJob],
    words: JobWords,
    ledger: Ledger,
    place: ResultPlace,
    processes: int | None,
    *,
    as_json: bool,
) -> None:
    """Tell how many jobs there are, how large and how long: by those done earlier, else by a sample of each command."""
    from guidegen.batch.run import is_done
    from guidegen.cli.job_words import make_task
    from guidegen.jobs import usable_processes

    usual = dict(ledger.usual())
    count = todo = 0
    seconds = size = 0.0
    for job in jobs:
        count += 1
        task = words.task(job)
        if is_done(ledger.row(job.out), task, place):
            continue
        todo += 1
        if job.command not in usual:
            usual[job.command] = _sample(make_task(task))
        seconds += usual[job.command][0]
        size += usual[job.command][1]
    at_once = processes or usable_processes()
    if as_json:
        told = {"folder": place.label, "jobs": count, "todo": todo, "bytes": round(size)}
        print_json(told | {"seconds": seconds / at_once, "processes": at_once})
        return
    click.echo(f"{place.label}: {count} jobs, {todo} to do")
    if todo:
        click.echo(f"about {_size(size)}, {_time(seconds / at_once)} with {at_once} "
                   f"{'process' if at_once == 1 else 'processes'}")  # fmt: skip


def _sample(made: TaskResult) -> tuple[float, float]:
    return made.seconds, float(sum(len(data) for _, data in made.files))


def _time(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.0f} s" if seconds >= 1 else "under a second"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
