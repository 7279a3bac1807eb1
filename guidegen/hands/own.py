"""A person's own folder: profiles of their markers, and what their printers measured."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from guidegen.errors import GuidegenError, Plain, bad_input, did_you_mean
from guidegen.hands.library import read_toml, toml_files
from guidegen.profiles.markers import Marker, check_name, marker_from_table, marker_to_toml, usual_label
from guidegen.profiles.tables import to_toml
from guidegen.saving import locked, new_folders, remove_files, write_files

if TYPE_CHECKING:
    from guidegen.profiles.printers import Printer

_FIX = "mend the file or remove it, and keep the measures again"


def own_folder() -> Path:
    """Return the person's own folder for this program's data, where the system keeps such things.

    ``$XDG_CONFIG_HOME/guidegen`` or ``~/.config/guidegen`` on Linux, ``~/Library/Application Support/guidegen`` on
    macOS, the roaming ``AppData`` on Windows. It may not be there yet.
    """
    from click import get_app_dir

    return Path(get_app_dir("guidegen"))


def own_markers() -> Path:
    """Return the folder of the person's own marker profiles. It may not be there yet."""
    return own_folder() / "markers"


def keep_marker(marker: Marker, path: Path | None = None, *, force: bool = False) -> Path:
    """Write a marker's profile to ``path``, by default under its name in :func:`own_markers`; return the path.

    Raises:
        GuidegenError: the file exists (without ``force``), is a folder, or has no folder.
        OSError: it cannot be written.
    """
    target = path or own_markers() / f"{marker.name}.toml"
    with new_folders(*(() if path else (target.parent,))):
        write_files([(target, marker_to_toml(marker).encode())], force=force)
    return target


def remove_marker(name: str, folder: Path | None = None) -> Path:
    """Remove the person's own profile of a marker, and return the path it had. What ships is never removed.

    Args:
        name: the marker's.
        folder: where it lies; None for :func:`own_markers`.

    Raises:
        GuidegenError: no profile of that name of the person's own.
        OSError: it cannot be removed.
    """
    place = folder or own_markers()
    with locked(place) if place.is_dir() else nullcontext():
        path = _own_profile(name, place)[0]
        remove_files([path])
    return path


def rename_marker(name: str, new: str, folder: Path | None = None) -> Path:
    """Give the person's own profile another name, in the file and of the file, and return its new path.

    A label that was made of the old name follows; one of the person's own stays. The new file is whole before the
    old one goes. Arguments and errors as for :func:`remove_marker`; the new name is taken, or is none.
    """
    check_name(new, "`new`")
    place = folder or own_markers()
    with locked(place) if place.is_dir() else nullcontext():
        old, marker = _own_profile(name, place)
        if any(found.name == new for _, found in _profiles(place)):
            raise bad_input(str(place), "", Plain(f"a marker named {new!r}"), "a name that is free", "choose another")
        label = usual_label(new) if marker.label == usual_label(name) else marker.label
        path = old.with_name(f"{new}.toml")
        write_files([(path, marker_to_toml(replace(marker, name=new, label=label)).encode())], force=False)
        remove_files([old])
    return path


def _own_profile(name: str, folder: Path) -> tuple[Path, Marker]:
    found = dict(_profiles(folder)) if folder.is_dir() else {}
    own = [(path, marker) for path, marker in found.items() if marker.name == name]
    if not own:
        names = sorted(marker.name for marker in found.values())
        known = f"your own: {', '.join(names)}" if names else "you have none of your own yet"
        raise bad_input("marker", "", name, "a profile of your own", did_you_mean(name, names) or known)
    return own[0]


def _profiles(folder: Path) -> Iterator[tuple[Path, Marker]]:
    """Yield the profiles of a folder; files that are none are passed over."""
    for path in toml_files(folder):
        try:
            yield path, marker_from_table(read_toml(path), str(path))
        except (GuidegenError, OSError):
            continue


def kept_printer(name: str) -> Printer:
    """Return the printer kept as ``name``.

    Raises:
        GuidegenError: none of that name was kept (near names are suggested), or the file is not as it was written.
    """
    check_name(name, "`printer`")
    kept = _read(_file())
    if name not in kept:
        fix = did_you_mean(name, kept) or "add `measured` ACROSSxDOWN once to keep it"
        raise bad_input("`printer`", "", name, "a printer whose measures were kept", fix)
    return kept[name]


def check_can_keep(name: str) -> None:
    """Raise when no printer can be kept as ``name``: no name, or the file with those kept before is not as written."""
    check_name(name, "`printer`")
    _read(_file())


def keep_printer(name: str, printer: Printer) -> None:
    """Keep a printer as ``name``. Several processes may do so at once: none loses what another kept.

    Raises:
        GuidegenError: the file with those kept before is not as it was written; it is left alone.
        OSError: it cannot be written.
    """
    check_name(name, "`printer`")
    path = _file()
    with new_folders(path.parent), locked(path.parent):
        kept = _read(path) | {name: printer}
        table = {key: f"{one.across_mm:.12g}x{one.down_mm:.12g}" for key, one in sorted(kept.items())}
        write_files([(path, to_toml({"printers": table}).encode())], force=True)


def _file() -> Path:
    return own_folder() / "printers.toml"


def _read(path: Path) -> dict[str, Printer]:
    if not path.exists():
        return {}
    from guidegen.profiles.printers import parse_measured

    where, tables = str(path), read_toml(path)
    entries = tables.get("printers", Plain("nothing"))
    if not isinstance(entries, dict) or set(tables) - {"printers"}:
        found = entries if not isinstance(entries, dict) else Plain("other tables")
        raise bad_input(where, "printers", found, "one table [printers]", _FIX)
    kept = {}
    for name, text in entries.items():
        check_name(name, where, f"printers.{name}")
        if not isinstance(text, str):
            raise bad_input(where, f"printers.{name}", text, 'two measures in quotes, such as "98.6x99.1"', _FIX)
        kept[name] = parse_measured(text, f"{where}: printers.{name}")
    return kept
