"""What a person always wants: kept in one file of their own folder, read by the commands and by nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from guidegen.errors import Plain, bad_input, did_you_mean

KEYS = ("paper", "margin", "guide_style", "hand", "credit", "units", "printer", "left_handed", "language")
"""Options by their names in code. Where a command means something else by one, or cannot tell, it stands below."""
_NOT_FOR = {"write": {"paper"}, "planner": {"paper", "margin"}, "font": {"credit"}}
_WITHOUT = ("demo", "batch", "serve", "usual", "markers", "add", "inspect", "ink", "measure")
_HEADING = "[usual]"


def usual_file() -> Path:
    """Return where the settings are kept. It may not be there yet."""
    from guidegen.hands.own import own_folder

    return own_folder() / "usual.toml"


def usuals() -> dict[str, Any]:
    """Return what is kept, by option.

    Raises:
        GuidegenError: the file is not as it was written.
    """
    path = usual_file()
    if not path.exists():
        return {}
    from guidegen.hands.library import read_toml

    tables = read_toml(path)
    entries = tables.get("usual")
    if set(tables) != {"usual"} or not isinstance(entries, Mapping):
        raise bad_input(str(path), "", Plain("other tables"), f"one table {_HEADING}", "mend the file or remove it")
    for key, value in entries.items():
        if key not in KEYS:
            fix = did_you_mean(key, KEYS) or "known: " + ", ".join(KEYS)
            raise bad_input(str(path), key, Plain("an unknown key"), "a setting of `guidegen usual`", fix)
        if not isinstance(value, bool if key == "left_handed" else str):
            expected = "true or false" if key == "left_handed" else "words in quotes"
            raise bad_input(str(path), key, value, expected)
    return dict(entries)


def usuals_of(command: str) -> dict[str, Any]:
    """Return the settings that hold for a command, by its parameters' names."""
    if command in _WITHOUT:
        return {}
    return {key: value for key, value in usuals().items() if key not in _NOT_FOR.get(command, ())}


def keep(changed: Mapping[str, Any]) -> Path:
    """Keep settings beside those kept before; None forgets one. Return the file.

    Raises:
        GuidegenError: the file is not as it was written; it is left alone.
        OSError: it cannot be written.
    """
    from guidegen.profiles.tables import to_toml
    from guidegen.saving import locked, new_folders, write_files

    path = usual_file()
    with new_folders(path.parent), locked(path.parent):
        both = {**usuals(), **changed}
        table = {key: both[key] for key in KEYS if both.get(key) is not None}
        write_files([(path, to_toml({"usual": table}).encode())], force=True)
    return path
