"""The pages of one class as one file, from a small list that a teacher can edit."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from guidegen.api import sheets, texts
from guidegen.api.nouns import MarkerLike
from guidegen.api.packet_values import checked
from guidegen.api.page_setup import PaperLike, PrinterLike
from guidegen.api.pages import FilePath, Pages, bound
from guidegen.api.words import names_of
from guidegen.errors import BadInputError, GuidegenError, Plain, bad_input, did_you_mean
from guidegen.hands.library import is_path, read_toml, templates_folder, toml_files
from guidegen.sheets.parts.frame import Proof

_MAKERS: dict[str, Callable[..., Pages]] = {
    "alphabet": sheets.alphabet,
    "sheet": sheets.sheet,
    "letter": sheets.letter,
    "handout": sheets.handout,
    "compare": sheets.compare,
    "trial": sheets.trial,
    "worksheet": texts.worksheet,
}
_MOST_PAGES = 100
_OWN_KEYS = ("title", "markers", "names")


def packet(
    source: FilePath,
    *,
    markers: MarkerLike | Sequence[MarkerLike] | None = None,
    names: FilePath | Sequence[str] | None = None,
    paper: PaperLike | None = None,
    landscape: bool | None = None,
    margin_mm: float | None = None,
    proof: Proof | None = None,
    credit: str | None = None,
    printer: PrinterLike | None = None,
    language: str | None = None,
    usual: Mapping[str, Any] | None = None,
) -> Pages:
    """Make the pages of one class: model, strokes, letters, names, guides, in the order that a file lists them.

    Every page is made before any is written, so that a mistake in the last one costs nothing.

    Args:
        source: the path of a ``.toml`` file, or the name of one in ``templates/sheets``, whose head explains it.
        markers: in place of those that the file names.
        names: the class: names, or a file with one a line; for pages with ``names = true``.
        paper, landscape, margin_mm, proof, credit, printer, language: see :func:`guidegen.sheet`; in place of what the
            file says.
        usual: any of those for what neither says.

    Raises:
        GuidegenError: no such file, an entry that its page does not take (file and page are named), or any error of a
            page.
    """
    path = _file(source)
    head, entries = _read(path)
    over = {
        "paper": paper, "landscape": landscape, "margin_mm": margin_mm, "proof": proof, "credit": credit,
        "printer": printer, "language": language,
    }  # fmt: skip
    given = {key: value for key, value in over.items() if value is not None}
    people = _people(names if names is not None else head.get("names"), path)
    if names is not None and not any(entry.get("names") is True for entry in entries):
        fix = "add `names = true` to a page, or leave it out"
        raise bad_input("`names`", "", Plain("no page for them"), f"a page of {path} that takes the names", fix)
    common = dict(usual or {}) | {key: value for key, value in head.items() if key not in _OWN_KEYS}
    tools = _tools(markers, head.get("markers"), path)
    parts, left_out = [], 0
    for number, entry in enumerate(entries, start=1):
        where = f"{path}: page {number}"
        if entry.get("names") is True and people is None:
            left_out += 1
            continue
        try:
            parts.append(_made(entry, common, given, tools, people, path))
            len(parts[-1])  # pages of names are made when they are asked for
        except GuidegenError as error:
            raise GuidegenError(f"{where}: {error}") from None
    if not parts:
        raise bad_input(str(path), "", Plain("no page to make"), "at least one page", "add `names`")
    made = bound(f"packet-{path.stem}", parts, str(head.get("title", path.stem)))
    if not left_out:
        return made
    told = f"{left_out} of {len(entries)} pages are for names and left out; add `names` FILE"
    return bound(made.name, [made, Pages(made.name, _empty(made, told))], made.document.title)


def _empty(made: Pages, note: str) -> Any:
    from dataclasses import replace

    return replace(made.document, pages=(), notes=(note,), description="")


def _made(
    entry: Mapping[str, Any],
    common: Mapping[str, Any],
    given: Mapping[str, Any],
    tools: Any,
    people: Sequence[str] | None,
    path: Path,
) -> Pages:
    name = entry.get("make")
    if not isinstance(name, str) or name not in _MAKERS:
        known = ", ".join(_MAKERS)
        fix = did_you_mean(name, _MAKERS) if isinstance(name, str) else ""
        raise bad_input("", "make", name if name is not None else Plain("nothing"), f"one of {known}", fix)
    make = _MAKERS[name]
    takes = inspect.signature(make).parameters
    own = {key: value for key, value in entry.items() if key != "make"}
    for key in own:
        if key not in takes and key != "markers":
            raise bad_input("", key, Plain("an unknown option"), f"an option of {name}", did_you_mean(key, takes))
    own = checked(own)
    shared = {key: value for key, value in {**common}.items() if key in takes}
    values = {**shared, **own, **{key: value for key, value in given.items() if key in takes}}
    place = next((key for key in ("marker", "markers") if key in takes), None)
    chosen = own.get("markers", own.get("marker", tools))
    values = {key: value for key, value in values.items() if key not in {"marker", "markers"}}
    if place is not None:
        if chosen is None:
            raise bad_input("", "markers", Plain("nothing"), "at least one marker")
        values[place] = _located(chosen, path) if chosen is not tools else chosen
    if values.get("names") is True:
        values["names"] = people
    elif isinstance(values.get("names"), str):
        values["names"] = path.parent / values["names"]
    try:
        return make(**values)
    except TypeError as error:
        raise GuidegenError(f"{name}: a value of the wrong kind: {error}") from None


def _tools(markers: Any, listed: Any, path: Path) -> Any:
    return markers if markers is not None else None if listed is None else _located(listed, path)


def _located(markers: Any, path: Path) -> Any:
    """Return markers as a file names them, paths taken from where the file lies."""
    listed = markers if isinstance(markers, list) else [markers]
    if not all(isinstance(one, str) for one in listed):
        raise bad_input("", "markers", markers, 'names of markers, such as ["pebble", "cobble"]')
    return [str(path.parent / one) if is_path(one) else one for one in listed]


def _people(names: Any, path: Path) -> Sequence[str] | None:
    if names is None or (isinstance(names, str) and not names):
        return None
    given = path.parent / names if isinstance(names, str) and not Path(names).is_file() else names
    return names_of(given)[0]


def _file(source: FilePath) -> Path:
    text = str(source)
    if is_path(text):
        return Path(text)
    shipped = {path.stem: path for path in toml_files(templates_folder() / "sheets")}
    if text not in shipped:
        fix = did_you_mean(text, shipped) or "known: " + ", ".join(shipped)
        raise bad_input("packet", "", text, "a packet's name or the path of its .toml file", fix)
    return shipped[text]


def _read(path: Path) -> tuple[Mapping[str, Any], list[Mapping[str, Any]]]:
    tables = read_toml(path)
    for key in tables:
        if key not in {"packet", "page"}:
            raise bad_input(str(path), key, Plain("an unknown table"), "[packet] and [[page]]")
    head, entries = tables.get("packet", {}), tables.get("page")
    if not isinstance(head, Mapping):
        raise bad_input(str(path), "packet", head, "a table [packet]")
    if not isinstance(entries, list) or not all(isinstance(entry, Mapping) for entry in entries) or not entries:
        found = Plain("nothing") if entries is None else entries
        raise bad_input(str(path), "page", found, "at least one table [[page]]")
    if len(entries) > _MOST_PAGES:
        raise bad_input(str(path), "page", Plain(f"{len(entries)} tables"), f"at most {_MOST_PAGES}")
    takes = {key for make in _MAKERS.values() for key in inspect.signature(make).parameters} | set(_OWN_KEYS)
    for key in head:
        if key not in takes:
            raise bad_input(str(path), f"packet.{key}", Plain("an unknown option"), "an option of its pages",
                            did_you_mean(key, takes))  # fmt: skip
    if isinstance(head.get("names"), bool):
        raise bad_input(str(path), "packet.names", head["names"], "the path of a file of names, or a list of them")
    try:
        return checked(head), entries
    except BadInputError as error:
        raise error.at(str(path), f"packet.{error.field}") from None
