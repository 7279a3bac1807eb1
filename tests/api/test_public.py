"""What is public is listed in one place; names and signatures are compared with ``public.txt``.

A change that is meant: ``python tests/api/test_public.py`` writes the list anew.
"""

import ast
import inspect
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import guidegen

MADE_BY_HAND = (guidegen.Marker, guidegen.Lettering, guidegen.Paper, guidegen.Printer)
LISTED = Path(__file__).with_name("public.txt")


def signature(function):
    return str(inspect.signature(function)).replace("guidegen.", "")


def members(cls):
    """Yield a line for each public method and property that a class of ours defines, dataclass fields too."""
    for name in dir(cls):
        owner = next(base for base in cls.__mro__ if name in vars(base))
        if not owner.__module__.startswith("guidegen") or (name.startswith("_") and name != "_repr_svg_"):
            continue
        value = inspect.getattr_static(cls, name)
        yield f"    {name}{signature(value)}" if inspect.isfunction(value) else f"    {name}"


def listing():
    """Return every public name with its signature, a line each."""
    lines = []
    for name in guidegen.__all__:
        value = getattr(guidegen, name)
        if not inspect.isclass(value):
            lines.append(f"{name}{signature(value)}")
        elif issubclass(value, Exception):
            lines.append(f"class {name}")
        elif value in MADE_BY_HAND:
            lines += [f"class {name}{signature(value)}", *members(value)]
        else:  # comes from a function; how it is made is not promised
            lines += [f"class {name}", *(() if value is guidegen.Hand else members(value))]
    return "\n".join(lines) + "\n"


def test_names_and_signatures_are_those_of_the_list():
    assert listing() == LISTED.read_text(encoding="utf-8")


def test_what_is_listed_is_found_and_imported_for_checkers_too():
    tree = ast.parse(Path(guidegen.__file__).read_text(encoding="utf-8"))
    checked = {
        (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module.startswith("guidegen.")
        for alias in node.names
    }
    assert checked == {(room, name) for room, names in guidegen._ROOMS.items() for name in names}
    assert sorted(name for _, name in checked) == sorted(guidegen.__all__)
    assert set(guidegen.__all__) < set(dir(guidegen))


def test_no_public_name_is_a_rooms_name():
    """An import of a room of that name would hide it."""
    assert {module.name for module in pkgutil.iter_modules(guidegen.__path__)} & set(guidegen.__all__) == set()


def test_an_unknown_name_is_none():
    with pytest.raises(AttributeError, match="no attribute 'shete'"):
        guidegen.shete  # noqa: B018


def test_the_import_alone_loads_nothing():
    code = "import sys; before = set(sys.modules); import guidegen; print(sorted(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-I", "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "['guidegen']"


def test_every_public_thing_is_explained():
    for name in guidegen.__all__:
        value = getattr(guidegen, name)
        assert value.__doc__, name
        if inspect.isfunction(value):
            told = value.__doc__
            missing = [arg for arg in inspect.signature(value).parameters if f"{arg}" not in told]
            assert missing == [] or "as for :func:" in told, name
            assert "Raises:" in told or "as for :func:" in told or name == "markers", name


def test_types_are_shipped():
    assert (Path(guidegen.__file__).parent / "py.typed").is_file()


if __name__ == "__main__":
    LISTED.write_text(listing(), encoding="utf-8")
