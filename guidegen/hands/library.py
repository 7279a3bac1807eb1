"""The only reader of TOML: finds markers, hands and papers by name or path.

Data ships in ``templates/``. A wheel carries that folder inside the package; an editable install and a
checkout have it beside the package. A person's own folders come first, so that a profile of their own may
replace one that ships.
"""

from __future__ import annotations

import os
import stat
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from guidegen.errors import GuidegenError, Plain, bad_input, did_you_mean, one_line
from guidegen.hands.toml_limits import check_toml
from guidegen.limits import MAX_LENDERS, MAX_TOML_BYTES
from guidegen.profiles.markers import Marker, Tip, marker_from_table

if TYPE_CHECKING:
    from guidegen.hands.hand import Hand
    from guidegen.profiles.papers import Paper

DEFAULT_HANDS: dict[Tip, str] = {"brush": "joined", "pointed": "joined", "broad": "italic", "round": "print"}


class Found(NamedTuple):
    """A marker, the file it came from, and whether that file is the person's own or ships with the package."""

    marker: Marker
    path: Path
    built_in: bool


@cache
def templates_folder() -> Path:
    """Return the folder ``templates``: inside the package (wheel) or beside it (editable install, checkout)."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "templates", package.parent / "templates"):
        if (folder / "markers").is_dir():
            return folder
    raise GuidegenError("the folder templates is missing from this installation: install the package again")


def read_toml(path: Path) -> dict[str, Any]:
    """Return a TOML file's table.

    The size is limited before anything is read, and only ordinary files are opened (a pipe could block).

    Raises:
        GuidegenError: missing, a folder, no ordinary file, too large, empty, not UTF-8, not TOML.
        OSError: the file exists and cannot be read.
    """
    where, expected = str(path), "a TOML file"
    try:
        info = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        raise bad_input(where, "", Plain("no such file"), expected) from None
    except ValueError:
        raise bad_input(where, "", Plain("a path with a null character"), expected) from None
    if stat.S_ISDIR(info.st_mode):
        raise bad_input(where, "", Plain("a folder"), expected)
    if not stat.S_ISREG(info.st_mode):
        raise bad_input(where, "", Plain("no ordinary file"), expected)
    limit = f"at most {MAX_TOML_BYTES // 1000} kB"
    if info.st_size > MAX_TOML_BYTES:
        raise bad_input(where, "", Plain(f"{info.st_size // 1000} kB"), limit)
    with path.open("rb") as file:
        data = file.read(MAX_TOML_BYTES + 1)
    if len(data) > MAX_TOML_BYTES:
        raise bad_input(where, "", Plain("a file that grows"), limit)
    return _parse(data, where)


def _parse(data: bytes, where: str) -> dict[str, Any]:
    if not data.strip():
        raise bad_input(where, "", Plain("an empty file"), "a TOML file")
    try:
        text = data.decode("utf-8-sig")
        check_toml(text, where)
        return tomllib.loads(text)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise bad_input(where, f"line {line}", Plain(f"byte 0x{data[error.start]:02x}"), "UTF-8 text") from None
    except RecursionError:
        raise bad_input(where, "", Plain("brackets nested too deeply"), "a TOML file") from None
    except ValueError as error:  # TOMLDecodeError, and a number of thousands of digits
        raise GuidegenError(f"{where}: not a TOML file: {one_line(str(error), 120)}") from None


def is_path(ref: str) -> bool:
    """Tell whether a reference is a path rather than a name: it ends in .toml or holds a separator."""
    return ref.lower().endswith(".toml") or "/" in ref or os.sep in ref


def load_marker(ref: str, folders: Sequence[Path] = ()) -> Marker:
    """Return the marker that ``ref`` names: a path, or a name looked up in ``folders`` in order, then built in.

    A broken file elsewhere in a folder does not stand in the way of another name.

    Raises:
        GuidegenError: no such marker (near names are suggested), two files of one folder with that name,
            or a profile that is not valid.
    """
    if is_path(ref):
        path = Path(ref)
        return marker_from_table(read_toml(path), str(path))
    names: set[str] = set()
    for folder in _marker_folders(folders):
        found = list(_named(folder, ref, names))
        if len(found) > 1:
            files = " and ".join(entry.path.name for entry in found)
            raise GuidegenError(f"{folder}: {files} both hold a marker named {ref!r}; rename or remove one of them")
        if found:
            return found[0].marker
    expected = "a marker's name or a path to a .toml file"
    raise bad_input("marker", "", ref, expected, did_you_mean(ref, sorted(names)) or "`guidegen markers` lists them")


def _named(folder: Path, name: str, names: set[str]) -> Iterable[Found]:
    """Yield the profiles of ``folder`` called ``name``; collect every name that is seen."""
    for path in toml_files(folder):
        try:
            marker = marker_from_table(read_toml(path), str(path))
        except (GuidegenError, OSError):
            if path.stem == name:
                raise
            continue
        names.add(marker.name)
        if marker.name == name:
            yield Found(marker, path, folder == templates_folder() / "markers")


def list_markers(folders: Sequence[Path] = ()) -> tuple[list[Found], list[str]]:
    """Return all known markers, thinnest first, and one line for each file that could not be used.

    A name found in an earlier folder hides the same name in a later one.
    """
    known: dict[str, Found] = {}
    problems: list[str] = []
    for folder in _marker_folders(folders):
        here: dict[str, Found] = {}
        for path in toml_files(folder):
            try:
                marker = marker_from_table(read_toml(path), str(path))
            except (GuidegenError, OSError) as error:
                problems.append(str(error))
                continue
            if marker.name in here:
                other = here[marker.name].path.name
                problems.append(f"{path}: {other} also holds a marker named {marker.name!r}; rename or remove one")
                continue
            here[marker.name] = Found(marker, path, folder == templates_folder() / "markers")
        known = here | known
    return sorted(known.values(), key=lambda found: (found.marker.downstroke_mm, found.marker.name)), problems


def _marker_folders(folders: Sequence[Path]) -> list[Path]:
    for folder in folders:
        if folder.exists() and not folder.is_dir():
            raise bad_input(str(folder), "", Plain("a file"), "a folder of marker profiles")
    return [folder for folder in folders if folder.is_dir()] + [templates_folder() / "markers"]


@cache
def list_papers() -> Mapping[str, Paper]:
    """Return the built-in papers by name, in the order of their files.

    Raises:
        GuidegenError: a file is not valid, or two papers have one name.
    """
    from guidegen.profiles.papers import paper_from_table

    papers: dict[str, Paper] = {}
    for path in toml_files(templates_folder() / "papers"):
        data = read_toml(path)
        tables = data.get("paper")
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            raise bad_input(str(path), "paper", tables, "tables [[paper]]")
        for table in tables:
            paper = paper_from_table(table, str(data.get("family", path.stem)), str(path))
            if paper.name in papers:
                raise bad_input(str(path), "paper.name", paper.name, "a name no other paper has")
            papers[paper.name] = paper
    return MappingProxyType(papers)


def load_paper(text: str, where: str = "`paper`") -> Paper:
    """Return the paper called ``text``: a name, or a size such as ``210x297mm``.

    Raises:
        GuidegenError: neither; near names are suggested.
    """
    from guidegen.profiles.papers import parse_paper

    papers = list_papers()
    near = did_you_mean(text, papers) if text.strip().lower() not in papers and text[:1].isalpha() else ""
    if near:
        raise bad_input(where, "", text, "a paper's name or WxH", near)
    return parse_paper(text, papers, where)


def toml_files(folder: Path) -> list[Path]:
    """Return the .toml files of a folder in the order of their names (hidden ones left out)."""
    paths = [path for path in folder.iterdir() if path.suffix.lower() == ".toml" and not path.name.startswith(".")]
    return sorted(paths, key=lambda path: path.name)


def hand_names() -> list[str]:
    """Return the names of the hands that ship: the folders of ``templates/hands`` that hold a ``hand.toml``."""
    return sorted(path.parent.name for path in (templates_folder() / "hands").glob("*/hand.toml"))


def load_hand(ref: str) -> Hand:
    """Return the hand that ``ref`` names: a built-in hand's name, or the path of a folder with a ``hand.toml``.

    Raises:
        GuidegenError: no such hand, a file that is not valid, or hands that borrow letters in a circle.
    """
    return _load_hand(_hand_folder(ref), ())


@cache
def _load_hand(folder: Path, borrowers: tuple[Path, ...]) -> Hand:
    from guidegen.hands.files import hand_from_tables

    tables = _merged(folder)
    head = tables.get("hand")
    lender = head.get("letters_from") if isinstance(head, dict) else None
    base = None
    if lender is not None:
        if not isinstance(lender, str):
            raise bad_input(str(folder), "hand.letters_from", lender, "a hand's name")
        beside = folder.parent / lender
        source = beside if (beside / "hand.toml").is_file() else _hand_folder(lender)
        if len(borrowers) + 1 >= MAX_LENDERS:
            found = Plain("a long chain of hands that borrow")
            fix = "borrow from the first of them"
            raise bad_input(str(folder), "hand.letters_from", found, f"at most {MAX_LENDERS} hands", fix)
        if source in (*borrowers, folder):
            raise bad_input(str(folder), "hand.letters_from", lender, "a hand that does not borrow from this one")
        base = _load_hand(source, (*borrowers, folder))
    return hand_from_tables(tables, str(folder), base)


def _merged(folder: Path) -> dict[str, Any]:
    """Return the tables of all files of a hand as one mapping; the same entry twice is an error."""
    merged: dict[str, Any] = {}
    for path in toml_files(folder):
        for name, table in read_toml(path).items():
            if not isinstance(table, dict):
                raise bad_input(str(path), name, table, f"a table [{name}]")
            entries = merged.setdefault(name, {})
            for key, value in table.items():
                if key in entries:
                    raise bad_input(str(path), f"{name}.{key}", Plain("an entry of another file"), "each entry once")
                entries[key] = value
    return merged


def _hand_folder(ref: str) -> Path:
    built_in = templates_folder() / "hands" / ref
    if not is_path(ref) and (built_in / "hand.toml").is_file():
        return built_in
    path = Path(ref)
    folder = path.parent if path.name == "hand.toml" else path
    if ref and (folder / "hand.toml").is_file():
        return folder
    names = hand_names()
    fix = did_you_mean(ref, names) or "known: " + ", ".join(names)
    raise bad_input("hand", "", ref, "a hand's name or a folder with a hand.toml", fix)
