"""A person's own folder: profiles of their markers, and what their printers measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from guidegen.errors import Plain, bad_input, did_you_mean
from guidegen.hands.library import read_toml
from guidegen.profiles.markers import Marker, check_name, marker_to_toml
from guidegen.profiles.tables import to_toml
from guidegen.saving import locked, new_folders, write_files

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
