"""A manifest: tables ``[[job]]`` in the commands' own words, multiplied by every list in them.

A value that is a list where a command takes one makes a job of each; two lists make a job of each pair. Names may come
from a table of CSV. Every job says where its result goes; the jobs of one table share a pattern for that.
"""

from __future__ import annotations

import csv
import io
import itertools
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from guidegen.checks import line
from guidegen.errors import BadInputError, GuidegenError, Plain, bad_input, did_you_mean, one_line
from guidegen.hands.library import read_toml
from guidegen.limits import MAX_JOBS, MAX_TABLE_BYTES
from guidegen.profiles.tables import check_keys

Value = str | int | float | bool | tuple[str | int | float, ...]
"""What an option is given: one value, or the list of an option that takes several."""

_HOLE = re.compile(r"\{([^{}]*)\}")
_NOT_IN_NAMES = re.compile(r'[\x00-\x1f\x7f\s/\\:*?"<>|{}]+')
_LONGEST_NAME = 120
_MOST_COLUMNS = 20
"""That a message names."""
_FOLDER = line(2000, "a folder or an address, in quotes")


@dataclass(frozen=True, slots=True)
class BatchJob:
    """One job: a command, its words and where the result goes.

    ``table`` is the number of its ``[[job]]``, ``number`` its place among that table's jobs, both from 1; ``out`` is a
    path below the folder of the results, with ``/`` between its parts. ``words`` are the command's options by their
    own names with ``_`` for ``-``, in the order of the table.
    """

    table: int
    number: int
    command: str
    words: tuple[tuple[str, Value], ...]
    out: str

    @property
    def where(self) -> str:
        """How messages call the job."""
        return f"[[job]] {self.table}, {self.out}"


@dataclass(frozen=True, slots=True)
class JobTable:
    """One ``[[job]]`` as it stands: what each option may be, and the pattern of the results' names."""

    table: int
    command: str
    choices: tuple[tuple[str, tuple[Value, ...]], ...]
    out: str

    def __len__(self) -> int:
        count = 1
        for _, values in self.choices:
            count *= len(values)
        return count

    def jobs(self) -> Iterator[BatchJob]:
        """Yield the jobs of the table, the last list changing fastest."""
        keys = [key for key, _ in self.choices]
        for number, values in enumerate(itertools.product(*(values for _, values in self.choices)), 1):
            words = tuple(zip(keys, values, strict=True))
            yield BatchJob(self.table, number, self.command, words, self._out(number, dict(words)))

    def _out(self, number: int, words: Mapping[str, Value]) -> str:
        def filled(match: re.Match[str]) -> str:
            if match[1] == "number":
                return str(number)
            return self.command if match[1] == "command" else file_word(words[match[1]])

        return _HOLE.sub(filled, self.out)


@dataclass(frozen=True, slots=True)
class Manifest:
    """A manifest as read: its path, where results go (None: nothing is said), its tables."""

    path: Path
    folder: str | None
    tables: tuple[JobTable, ...]

    def __len__(self) -> int:
        return sum(len(table) for table in self.tables)

    def jobs(self) -> Iterator[BatchJob]:
        """Yield every job, in the order of the file; nothing is kept, so there may be a million."""
        for table in self.tables:
            yield from table.jobs()


def file_word(value: Value) -> str:
    """Return a value as part of a file's name: no spaces, slashes or signs that a system gives a meaning.

    A path stands for its last part without the ending, so a marker's file is called as the marker.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return "-".join(file_word(part) for part in value)
    text = unicodedata.normalize("NFC", f"{value:g}" if isinstance(value, float) else str(value))
    if text.lower().endswith(".toml"):
        text = text.replace("\\", "/").rpartition("/")[2][: -len(".toml")]
    return _NOT_IN_NAMES.sub("-", text).strip("-.")[:_LONGEST_NAME] or "-"


def read_manifest(path: Path, takes: Callable[[str, str], str], all_markers: Callable[[], Sequence[str]]) -> Manifest:
    """Return a manifest.

    Args:
        path: its file.
        takes: told a command and a key: ``"one"`` value or ``"several"``, ``""`` where the command has no such option.
        all_markers: the names that ``marker = "*"`` stands for.

    Raises:
        ManifestError: with every mistake of the tables.
        GuidegenError: no such file, no TOML.
    """
    data = read_toml(path)
    where = str(path)
    check_keys(data, ("batch", "job"), where, "", "table")
    folder = _folder(data.get("batch", {}), where)
    tables = data.get("job")
    if not isinstance(tables, list) or not tables or not all(isinstance(table, dict) for table in tables):
        raise bad_input(where, "job", Plain("nothing" if tables is None else "something else"), "tables [[job]]")
    reader = _Reader(path, takes, all_markers)
    made = [reader.table(number, table) for number, table in enumerate(tables, 1)]
    if reader.mistakes:
        raise ManifestError(reader.mistakes)
    manifest = Manifest(path, folder, tuple(table for table in made if table is not None))
    if len(manifest) > MAX_JOBS:
        raise bad_input(where, "", Plain(f"{len(manifest)} jobs"), f"at most {MAX_JOBS}", "make several manifests")
    return manifest


class ManifestError(GuidegenError):
    """Everything that is wrong with a list of jobs; ``mistakes`` holds a line of each."""

    def __init__(self, mistakes: Sequence[str]) -> None:
        super().__init__("\n".join(mistakes))
        self.mistakes = tuple(mistakes)


def _folder(table: Any, where: str) -> str | None:
    if not isinstance(table, dict):
        raise bad_input(where, "batch", table, "a table [batch]")
    check_keys(table, ("folder",), where, "batch", "key")
    if "folder" not in table:
        return None
    try:
        return str(_FOLDER(table["folder"]))
    except BadInputError as error:
        raise error.at(where, "batch.folder") from None


class _Reader:
    """Reads the tables of one manifest and collects what is wrong with them."""

    def __init__(
        self, path: Path, takes: Callable[[str, str], str], all_markers: Callable[[], Sequence[str]]
    ) -> None:
        self._path, self._takes, self._all_markers = path, takes, all_markers
        self.mistakes: list[str] = []

    def table(self, number: int, table: Mapping[str, Any]) -> JobTable | None:
        """Return a table as choices, None when something is wrong with it."""
        before = len(self.mistakes)
        command = table.get("command", Plain("nothing"))
        try:
            if not isinstance(command, str) or isinstance(command, Plain):
                raise bad_input("", "command", command, "the name of a command, such as sheet")
            self._takes(command, "")
        except GuidegenError as error:
            self._wrong(number, error)
            return None
        choices = []
        for key, value in table.items():
            if key in {"command", "out"}:
                continue
            try:
                choices.append((key, self._values(command, key, value)))
            except (GuidegenError, OSError) as error:
                self._wrong(number, error)
        out = ""
        try:
            out = self._pattern(table.get("out", _usual_out(command, choices)), {key for key, _ in choices})
        except GuidegenError as error:
            self._wrong(number, error)
        return JobTable(number, command, tuple(choices), out) if len(self.mistakes) == before else None

    def _wrong(self, number: int, error: Exception) -> None:
        self.mistakes.append(f"{self._path}: [[job]] {number}: {error}")

    def _values(self, command: str, key: str, value: Any) -> tuple[Value, ...]:
        several = self._takes(command, key) == "several"
        if key in {"marker", "markers"} and value == "*":
            names = tuple(self._all_markers())
            return (names,) if several else names
        if isinstance(value, dict):
            column = self._column(key, value)
            return (column,) if several else column
        if not isinstance(value, list):
            return ((_plain(key, value),) if several and key != "marker" else _plain(key, value),)
        if not value:
            raise bad_input("", key, Plain("an empty list"), "at least one value")
        if several and not any(isinstance(part, list) for part in value):
            return (tuple(_plain(key, part) for part in value),)
        if several:
            parts = (part if isinstance(part, list) else [part] for part in value)
            return tuple(tuple(_plain(key, one) for one in part) for part in parts)
        return _each_once(key, [_plain(key, part) for part in value])

    def _column(self, key: str, table: Mapping[str, Any]) -> tuple[str, ...]:
        """Return the values of a column of a CSV file, or the lines of a file of names."""
        if set(table) - {"csv", "column"} or not isinstance(table.get("csv"), str):
            raise bad_input("", key, Plain("a table"), 'one such as { csv = "class.csv", column = "name" }')
        path = self._path.parent / table["csv"]
        wanted = table.get("column")
        try:
            rows = csv.reader(io.StringIO(_text(path), newline=""))
            at = 0 if wanted is None else _place_of(wanted, next(rows, []), key, path)
            cells = (row[at].strip() for row in rows if len(row) > at)
            values = list(itertools.islice(filter(None, cells), MAX_JOBS + 1))
        except csv.Error as error:
            found = Plain(one_line(str(error), 120))
            raise bad_input(str(path), "", found, "a table as spreadsheets save it (CSV)") from None
        if not values:
            raise bad_input("", key, Plain(f"nothing in {path}"), "at least one value")
        if len(values) > MAX_JOBS:
            raise bad_input(str(path), "", Plain("more rows than that"), f"at most {MAX_JOBS}", "make several tables")
        return _each_once(key, values)

    def _pattern(self, out: Any, known: set[str]) -> str:
        example = 'a pattern such as "{marker}-{paper}.pdf"'
        if not isinstance(out, str) or not out.strip() or len(out) > 1000 or not out.isprintable():
            raise bad_input("", "out", out, example)
        for hole in _HOLE.findall(out):
            if hole not in known | {"number", "command"}:
                fix = did_you_mean(hole, known)
                raise bad_input("", "out", f"{{{hole}}}", "an option that the job states, {command} or {number}", fix)
        if "{" in _HOLE.sub("", out) or "}" in _HOLE.sub("", out):
            raise bad_input("", "out", out, example, "close every brace")
        path = PurePosixPath(out)
        below = bool(path.name) and not path.is_absolute() and ".." not in path.parts
        if not below or "\\" in out or ":" in out or path.parts[0].startswith("."):
            raise bad_input("", "out", out, "a path below the folder of the results")
        return path.as_posix()


def _usual_out(command: str, choices: Sequence[tuple[str, tuple[Value, ...]]]) -> str:
    """Return the pattern where none is given: the command, then whatever tells its jobs apart, as a PDF."""
    telling = [key for key, values in choices if len(values) > 1 or key in {"marker", "text"}]
    ending = "ttf" if command == "font" else "svg" if command == "ink" else "pdf"
    return "-".join(["{command}", *(f"{{{key}}}" for key in telling)]) + f".{ending}"


def _plain(key: str, value: Any) -> str | int | float | bool:
    if not isinstance(value, str | int | float | bool):
        raise bad_input("", key, Plain(f"a {type(value).__name__}"), "text, a number, true or false")
    return value


def _each_once(key: str, values: Sequence[Any]) -> tuple[Any, ...]:
    twice = next((value for number, value in enumerate(values) if value in values[:number]), None) if (
        len(set(values)) < len(values)
    ) else None
    if twice is not None:
        raise bad_input("", key, twice, "each value once")
    return tuple(values)


def _place_of(wanted: Any, heads: Sequence[str], key: str, path: Path) -> int:
    """Return which column is called so."""
    if wanted in heads:
        return heads.index(wanted)
    named = heads[:_MOST_COLUMNS]
    fix = did_you_mean(str(wanted), named)
    raise bad_input("", f"{key}.column", wanted, f"a column of {path.name}: " + ", ".join(named), fix)


def _text(path: Path) -> str:
    if not path.is_file():
        raise bad_input(str(path), "", Plain("no such file"), "a file of CSV, or of one name a line")
    if path.stat().st_size > MAX_TABLE_BYTES:
        found = Plain(f"{path.stat().st_size // 1_000_000} MB")
        raise bad_input(str(path), "", found, f"at most {MAX_TABLE_BYTES // 1_000_000} MB")
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        byte = Plain(f"byte 0x{error.object[error.start]:02x}")
        raise bad_input(str(path), "", byte, "UTF-8 text", "save it as CSV UTF-8") from None
