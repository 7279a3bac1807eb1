"""A job of a manifest in the command line's words: checked by the options' own types, done by the command itself."""

from __future__ import annotations

import contextlib
import io
import threading
import time
from collections.abc import Sequence
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click

from guidegen.batch.manifest import BatchJob, Value
from guidegen.batch.tasks import Attached, Task, TaskResult, folder_digest, shipped_digest, task_key
from guidegen.cli.app import Settings, cli, run
from guidegen.cli.commands import COMMANDS
from guidegen.cli.params import MarkerRef, Several, marker_folders
from guidegen.errors import GuidegenError, Plain, bad_input, did_you_mean
from guidegen.hands.library import DEFAULT_HANDS, hand_names, is_path, load_hand, load_marker, load_paper, read_toml

if TYPE_CHECKING:
    from guidegen.profiles.markers import Marker

_NOT_FOR_JOBS = {"out", "force", "json", "help", "version"}
_NOT_JOBS = {"batch", "demo", "serve", "usual", "packet"}
"""No jobs: those that do many things themselves (a packet is a list of its own), and a person's settings."""
_PAPERS = {"paper", "printer_paper"}
_PREFIX = "guidegen: "


class JobWords:
    """What the words of a manifest mean on the command line.

    Args:
        folder: the manifest's, from which relative paths are taken.
        markers: the folder of ``--markers``, if any.
    """

    def __init__(self, folder: Path, markers: Path | None) -> None:
        self._folder = folder.resolve()
        self._context = click.Context(cli, info_name="guidegen", obj=Settings(markers))
        self._commands: dict[str, click.Command] = {}
        self._keys: dict[str, dict[str, tuple[click.Parameter, str]]] = {}
        self._checked: dict[tuple[str, str, Value], _Argument] = {}
        self._attached: dict[Path, bytes] = {}
        self._shipped: dict[str, str] = {}
        self._hands = frozenset(hand_names())

    def takes(self, command: str, key: str) -> str:
        """Tell whether an option takes one value or several; without a key only whether there is such a command.

        Raises:
            GuidegenError: no such command, one that makes no file, no such option.
        """
        keys = self._keys_of(command)
        if not key:
            return ""
        if key not in keys:
            known = sorted(set(keys) - {""})
            raise bad_input("", key, Plain("an unknown option"), f"an option of {command}", did_you_mean(key, known))
        param, _ = keys[key]
        if key == "marker":
            return "one"
        return "several" if param.multiple or (param.nargs == -1 and key.endswith("s")) else "one"

    def all_markers(self) -> list[str]:
        """Return the names of all known markers."""
        from guidegen.hands.library import list_markers

        return [found.marker.name for found in list_markers(marker_folders(self._context))[0]]

    def check(self, command: str, key: str, value: Value) -> None:
        """Raise when an option does not take a value."""
        self._argument(command, key, value)

    def check_whole(self, job: BatchJob) -> None:
        """Raise when a job lacks an argument its command needs."""
        task = self.task(job)
        with TemporaryDirectory() as folder:
            try:
                words = _laid_out(task, Path(folder))
                self._commands[job.command].make_context(job.command, words, parent=self._context)
            except click.UsageError as error:
                raise GuidegenError(error.format_message().rstrip(".")) from None

    def task(self, job: BatchJob) -> Task:
        """Return a job ready to be done.

        Raises:
            GuidegenError: a value that its option does not take; it names the option.
        """
        found = [self._argument(job.command, key, value) for key, value in job.words]
        options = [arg for argument in found for arg in argument.options]
        named = [arg for argument in sorted(found, key=lambda one: one.order) for arg in argument.positional]
        arguments = (*options, "--", *named)
        attached = tuple({name: (name, data) for one in found for name, data in one.attached}.values())
        contents = self._contents(job, found)
        return Task(job, task_key(job, arguments, attached, contents), arguments, attached)

    def _contents(self, job: BatchJob, found: Sequence[_Argument]) -> list[str]:
        """Return digests of what a command reads beside its options: hand, words, papers."""
        told = [content for one in found for content in one.contents]
        if not any(key == "hand" for key, _ in job.words):
            hands = {DEFAULT_HANDS[marker.tip] for one in found for marker in one.markers} or set(self._hands)
            told += [self._hand_digest(hand) for hand in sorted(hands)]
        return [*told, *(self._digest(room) for room in ("words", "papers", "sheets"))]

    def _digest(self, room: str) -> str:
        if room not in self._shipped:
            self._shipped[room] = shipped_digest(room)
        return self._shipped[room]

    def _hand_digest(self, hand: str) -> str:
        """Return a digest of a hand and of those it borrows from, which ship."""
        if hand in self._hands:
            return f"{hand} {self._digest('hands')}"
        return f"{folder_digest(Path(hand))} {self._digest('hands')}"

    def _keys_of(self, name: str) -> dict[str, tuple[click.Parameter, str]]:
        """Return a command's parameters by key, with the option as it is written (``""`` for an argument)."""
        if name not in self._keys:
            command = cli.get_command(self._context, name) if name in COMMANDS and name not in _NOT_JOBS else None
            makers = [other for other in COMMANDS if other not in _NOT_JOBS]
            if command is None or not any("--out" in param.opts for param in command.params):
                raise bad_input("", "command", name, "a command that makes a file", did_you_mean(name, makers))
            self._commands[name] = command
            self._keys[name] = _keys(command)
        return self._keys[name]

    def _argument(self, command: str, key: str, value: Value) -> _Argument:
        known = self._checked.get((command, key, value))
        if known is None or type(known.value) is not type(value):  # 1 == True
            known = self._checked[command, key, value] = self._made(command, key, value)
        return known

    def _made(self, command: str, key: str, value: Value) -> _Argument:
        param, written = self._keys_of(command)[key]
        made = _Argument(value, 0 if written else list(self._commands[command].params).index(param))
        if isinstance(value, bool):
            made.options = _flag(param, written, key, value)
            return made
        for one in value if isinstance(value, tuple) else (value,):
            text = _text(one)
            given = self._checked_value(param, key, text, made)
            if written:
                made.options.append(Attached(f"{written}=", given.name) if isinstance(given, Attached)
                                    else f"{written}={given}")  # fmt: skip
            else:
                made.positional.append(given)
        return made

    def _checked_value(self, param: click.Parameter, key: str, text: str, made: _Argument) -> str | Attached:
        """Return a value as the command is given it; files are attached under their names."""
        kind = param.type
        if isinstance(kind, MarkerRef) or (isinstance(kind, Several) and isinstance(kind.inner, MarkerRef)):
            return self._marker_value(text, made)
        if key == "hand":
            return self._hand_value(text, made)
        if key == "printer":
            raise bad_input("", key, text, "measured", 'say what the bars measured: measured = "98.6x99.1"')
        if isinstance(kind, click.Path):
            return self._file_value(text, made)
        _refused_here(key, text)
        kind(text, param, self._context)
        if key in _PAPERS:
            for name in text.split(","):
                load_paper(name, "`paper`")
        return text

    def _marker_value(self, text: str, made: _Argument) -> str | Attached:
        from guidegen.profiles.markers import marker_to_toml

        names = [word.strip() for word in text.split(",")]
        given: list[str] = []
        for name in names:
            marker = load_marker(str(self._folder / name) if is_path(name) else name, marker_folders(self._context))
            made.markers.append(marker)
            data = marker_to_toml(marker).encode()
            if is_path(name) or not self._ships(marker):
                made.attached.append((f"{marker.name}.toml", data))
                given.append(f"{marker.name}.toml")
            else:
                made.contents.append(data.decode())
                given.append(name)
        if made.attached and len(names) > 1:
            raise bad_input("", "markers", text, "markers that ship, or one job for each")
        return Attached("", given[0]) if made.attached else ",".join(given)

    def _ships(self, marker: Marker) -> bool:
        try:
            return load_marker(marker.name) == marker
        except GuidegenError:
            return False

    def _hand_value(self, text: str, made: _Argument) -> str | Attached:
        if text in self._hands:
            made.contents.append(self._hand_digest(text))
            return text
        folder = self._folder / text
        load_hand(str(folder))
        stem = folder.resolve().name
        lent = read_toml(folder / "hand.toml").get("hand", {}).get("letters_from")
        if isinstance(lent, str) and lent not in self._hands:
            raise bad_input("", "hand", text, "a hand that borrows only from one that ships")
        made.contents.append(self._hand_digest(str(folder)))
        made.attached += [(f"{stem}/{path.name}", path.read_bytes()) for path in sorted(folder.glob("*.toml"))]
        return Attached("", stem)

    def _file_value(self, text: str, made: _Argument) -> Attached:
        path = self._folder / text
        if not path.is_file():
            raise bad_input(str(path), "", Plain("no such file"), "a file")
        if path not in self._attached:
            self._attached[path] = path.read_bytes()
        made.attached.append((path.name, self._attached[path]))
        return Attached("", path.name)


class _Argument:
    """One word of a job as arguments, with what they need beside them."""

    def __init__(self, value: Value, order: int) -> None:
        self.value, self.order = value, order
        self.options: list[str | Attached] = []
        self.positional: list[str | Attached] = []
        self.attached: list[tuple[str, bytes]] = []
        self.contents: list[str] = []
        self.markers: list[Marker] = []


def _keys(command: click.Command) -> dict[str, tuple[click.Parameter, str]]:
    found: dict[str, tuple[click.Parameter, str]] = {}
    for param in command.params:
        if isinstance(param, click.Option):
            for written in (*param.opts, *param.secondary_opts):
                key = written.removeprefix("--").replace("-", "_")
                if written.startswith("--") and key not in _NOT_FOR_JOBS:
                    found[key] = (param, written)
        elif param.name:
            found[param.name] = (param, "")
            if param.name == "markers":  # one or a list of them
                found["marker"] = (param, "")
    return found


def _flag(param: click.Parameter, written: str, key: str, value: bool) -> list[str | Attached]:
    if not isinstance(param, click.Option) or not (param.is_flag or isinstance(param.flag_value, str)):
        raise bad_input("", key, value, "text or a number, not true or false")
    if value:
        return [written]
    other = next((opt for opt in (*param.opts, *param.secondary_opts) if opt.startswith("--no-")), None)
    return [other] if other and written != other and param.secondary_opts else []


def _text(value: str | float) -> str:
    return repr(value) if isinstance(value, float) else str(value)


def _refused_here(key: str, text: str) -> None:
    if key == "format":
        raise bad_input("", key, text, "no such key", "the ending of out sets the format")


_alone = threading.Lock()
"""Standard output is one for all threads, and a cluster's workers may have several."""


def make_task(task: Task) -> TaskResult:
    """Do a task as the command line does it, in a folder of its own, and return what it made."""
    with _alone, TemporaryDirectory(prefix="guidegen-") as name:
        return _made_in(Path(name), task)


def _laid_out(task: Task, folder: Path) -> list[str]:
    """Write a task's attached files into a folder and return its arguments, which name them there."""
    for name, data in task.attached:
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
    return [arg if isinstance(arg, str) else f"{arg.prefix}{folder / arg.name}" for arg in task.arguments]


def _made_in(folder: Path, task: Task) -> TaskResult:
    given, made = folder / "given", folder / "made"
    given.mkdir()
    made.mkdir()
    words = _laid_out(task, given)
    at = words.index("--")
    words.insert(at, f"--out={made / PurePosixPath(task.job.out).name}")
    told, started = io.StringIO(), time.perf_counter()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(told):
        code = run([task.job.command, *words], usual=False)
    seconds = time.perf_counter() - started
    lines = [line.removeprefix(_PREFIX).replace(f"{given}/", "").replace(f"{made}/", "")
             for line in told.getvalue().splitlines() if line.strip()]  # fmt: skip
    if code:
        return TaskResult((), (), " ".join(lines) or f"exit code {code}", seconds)
    files = tuple((path.relative_to(made).as_posix(), path.read_bytes())
                  for path in sorted(made.rglob("*")) if path.is_file())  # fmt: skip
    if not files:
        return TaskResult((), (), "it made no file", seconds)
    return TaskResult(files, tuple(lines), None, seconds)
