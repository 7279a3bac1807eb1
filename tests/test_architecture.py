"""Data flows one way: a module imports only from those before it, and each foreign library has few importers.

The order is the project's design; the second table says which file may import what, and why.
"""

import ast
import sys
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "guidegen"

# A room imports only from itself and from the rooms above it; a folder inside a room is a room of its own.
ORDER = [
    "errors",
    "units",
    "limits",
    "checks",
    "read_only",
    "geometry",
    "geometry/union",
    "geometry/stroke",
    "geometry/shape",
    "geometry/blade",
    "scene",
    "jobs",
    "fence",
    "saving",
    "profiles",
    "hands",
    "lettering",
    "sheets/parts",
    "sheets",
    "fonts",
    "readers",
    "writers",
    "shop",
    "inspect",
    "scan",
    "api",
    "web",
    "batch",
    "cli",
]
RANK = {room: rank for rank, room in enumerate(ORDER)}

# Library: the only files that may import it, and why it is there.
FOREIGN = {
    "click": ("cli/* hands/own.py", "talks to a person; knows where their own folder is"),
    "numpy": (
        ("geometry/* geometry/*/* hands/stroke_widths.py lettering/* fonts/* readers/* inspect/* scan/* "
        "sheets/parts/stroke_order.py"),
        "arrays of points",
    ),
    "scipy": ("scan/*", "edges, blobs and least squares in pictures; svgpathtools brings it anyway"),
    "pillow_heif": ("scan/pictures.py", "photographs in HEIC, where somebody has installed it"),
    "tomli_w": ("profiles/tables.py", "writes TOML; Python itself only reads it"),
    "svgwrite": ("writers/svg_library.py", "no longer maintained: stays behind one writer"),
    "reportlab": ("writers/pdf.py", "PDF pages"),
    "cairosvg": ("writers/png.py writers/eps.py", "PNG and EPS from our SVG"),
    "pypdfium2": ("writers/png.py readers/pdf.py scan/pictures.py", "PNG where libcairo is missing; reading PDF"),
    "PIL": (
        "writers/png.py readers/png.py scan/pictures.py scan/raster.py",
        "PNG resolution and transparency; scans and photographs opened and written",
    ),
    "svgpathtools": ("readers/centrelines.py", "path data of a drawing to ink, without errors; slow to import"),
    "shapely": (
        "geometry/* geometry/*/*",
        "the union done another way, insets of it, what a blade trips over; on flattened curves",
    ),
    "fontTools": (
        "fonts/* readers/font.py readers/svg_walk.py web/face.py",
        "building and reading fonts; path data of any SVG, as far as it goes; a part of the page's face",
    ),
    "uharfbuzz": ("sheets/parts/labels.py", "sets and draws labels; a tenth of fontTools' time for a variable one"),
    "defusedxml": ("readers/svg.py", "XML from strangers: no entities, no bombs"),
    "tinycss2": ("readers/svg_style.py", "style sheets inside a drawing"),
    "cssselect2": ("readers/svg_style.py", "which element a style sheet's rule means"),
    "fontpkg_source_sans_3": ("sheets/parts/labels.py", "the open face of the labels"),
    "flask": ("web/application.py", "the WSGI app; built on click and Jinja"),
    "werkzeug": ("web/application.py", "what Flask raises and reads"),
    "waitress": ("web/serving.py", "a plain WSGI server: the work goes to processes"),
    "ezdxf": ("writers/dxf.py readers/dxf*.py", "DXF with true splines"),
    "distributed": ("batch/cluster.py", "a cluster's scheduler and workers"),
    "fsspec": ("batch/places.py", "places for results that are no folder"),
    "pikepdf": ("shop/printshop*.py readers/pdf*.py", "print-shop PDF; reading any PDF"),
}


@cache
def tree_of(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def import_nodes(path):
    """Yield every import, wherever it stands, except for annotations only."""
    tree = tree_of(path)
    hidden = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            hidden.update(id(inner) for inner in ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom) and id(node) not in hidden:
            assert getattr(node, "level", 0) == 0, f"{path}:{node.lineno}: relative import"
            yield node


def imports_of(path):
    """Yield (module, line) for every import that :func:`import_nodes` finds."""
    for node in import_nodes(path):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else [node.module]
        yield from ((name, node.lineno) for name in names)


def parts():
    """Return (file, its path inside the package, its room)."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        inside = path.relative_to(PACKAGE)
        if str(inside) not in {"__init__.py", "__main__.py"}:
            found.append((path, inside.as_posix(), inside.parent.as_posix() if inside.parent.parts else inside.stem))
    return found


def room_of(module):
    """Return the room of an imported module of ours."""
    names = module.split(".")[1:]
    return next(room for room in ("/".join(names[:2]), names[0]) if room in RANK)


def test_every_module_has_a_place_in_the_order():
    unknown = {room for _, _, room in parts()} - set(RANK)
    assert not unknown


def test_imports_go_one_way():
    wrong = [
        f"{inside}:{line} imports {module}"
        for path, inside, room in parts()
        for module, line in imports_of(path)
        if module.startswith("guidegen.") and RANK[room_of(module)] > RANK[room]
    ]
    assert wrong == []


def test_a_room_inside_a_room_has_a_place_of_its_own():
    assert room_of("guidegen.sheets.parts.frame") == "sheets/parts"
    assert RANK[room_of("guidegen.sheets.tiles")] > RANK[room_of("guidegen.sheets.parts")]


def imports_between(folder, package):
    """Return which of its own modules each module of a package imports, at once or lazily."""
    files = {".".join((package, *path.relative_to(folder).with_suffix("").parts)).removesuffix(".__init__"): path
             for path in folder.rglob("*.py")}  # fmt: skip
    found = {}
    for module, path in files.items():
        told = {name for name, _ in imports_of(path) if name in files}
        # from a.b import c means the module a.b.c where there is one
        inner = {(node.module, f"{node.module}.{alias.name}") for node in import_nodes(path)
                 if isinstance(node, ast.ImportFrom) for alias in node.names
                 if f"{node.module}.{alias.name}" in files}  # fmt: skip
        folders = {name for name, _ in inner}
        found[module] = (told - folders) | {name for _, name in inner} - {module}
    return found


def circle(imports):
    """Return a circle of modules that import each other, [] where there is none."""
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def test_no_files_import_each_other_in_a_circle():
    assert circle(imports_between(PACKAGE, "guidegen")) == []


def test_the_search_for_circles_finds_lazy_ones(tmp_path):
    (tmp_path / "tide.py").write_text("from harbour.boats import boat\n")
    (tmp_path / "boats").mkdir()
    (tmp_path / "boats" / "boat.py").write_text("import harbour.sail\n")
    (tmp_path / "sail.py").write_text("def f():\n    from harbour.tide import f\n")
    assert set(circle(imports_between(tmp_path, "harbour"))) == {"harbour.tide", "harbour.boats.boat", "harbour.sail"}
    tree_of.cache_clear()
    (tmp_path / "sail.py").write_text("from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import harbour.tide\n")
    assert circle(imports_between(tmp_path, "harbour")) == []


def test_nothing_knows_the_command_line():
    wrong = [
        f"{inside}:{line}"
        for path, inside, room in parts()
        if room != "cli"
        for module, line in imports_of(path)
        if module.startswith("guidegen.cli")
    ]
    assert wrong == []


def test_foreign_libraries_stay_where_they_belong():
    wrong = []
    for path, inside, _ in parts():
        for module, line in imports_of(path):
            top = module.split(".")[0]
            if top == "guidegen" or top in sys.stdlib_module_names:
                continue
            allowed, _ = FOREIGN.get(top, ("", ""))
            if not any(Path(inside).match(pattern) for pattern in allowed.split()):
                wrong.append(f"{inside}:{line} imports {top}")
    assert wrong == []


def nouns_of(path):
    """Yield the public names of classes and of kinds of values (``Row = tuple[...]``) at the top of a file.

    Type variables, which stand for anything, are none.
    """
    for node in tree_of(path).body:
        if isinstance(node, ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign | ast.AnnAssign) and "TypeVar(" not in ast.unparse(node):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = [target.id for target in targets if isinstance(target, ast.Name)]
        else:
            names = []
        yield from (name for name in names if name[0].isupper() and not name.isupper())


def test_one_name_means_one_thing():
    places = {}
    for path, inside, _ in parts():
        for name in nouns_of(path):
            places.setdefault(name, []).append(inside)
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_the_search_for_nouns_finds_kinds_of_values_too(tmp_path):
    path = tmp_path / "module.py"
    lines = ("Row = tuple[int, str]", "Wide: type = Row", "MOST = 5", "_Own = int", "sail = 3", "T = TypeVar('T')")
    path.write_text("\n".join((*lines, "class Boat:", "    Mast = 1", "")))
    assert list(nouns_of(path)) == ["Row", "Wide", "Boat"]


def calls(path):
    """Yield (name, line) for every call: ``print``, ``path.write_text`` as ``.write_text``."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Call):
            function = node.func
            if isinstance(function, ast.Name):
                yield function.id, node
            elif isinstance(function, ast.Attribute):
                yield f".{function.attr}", node


def writes(name, node):
    """Tell whether a call writes a file or prints."""
    if name in {"print", ".write_text", ".write_bytes", ".mkdir", ".unlink", ".savefig"}:
        return True
    if name in {"open", ".open"}:
        modes = [argument.value for argument in [*node.args, *[k.value for k in node.keywords if k.arg == "mode"]]
                 if isinstance(argument, ast.Constant) and isinstance(argument.value, str)]  # fmt: skip
        return any(set(mode) & set("wax+") and set(mode) <= set("rwaxbt+") for mode in modes)
    return False


def test_only_the_command_line_prints_and_writes_files():
    """Beside it stands the one module that writes, for the Python face and for it."""
    wrong = [
        f"{inside}:{node.lineno} calls {name}"
        for path, inside, room in parts()
        for name, node in calls(path)
        if writes(name, node) and room != "cli" and (room != "saving" or name == "print")
    ]
    assert wrong == []


@pytest.mark.parametrize(
    "source", ["print(1)", "p.write_text('x')", "open('f', 'w')", "p.open('xb')", "open('f', mode='a')"]
)
def test_the_search_for_writing_finds_it(tmp_path, source):
    path = tmp_path / "module.py"
    path.write_text(source)
    assert any(writes(name, node) for name, node in calls(path))


def test_the_search_for_imports_finds_lazy_ones(tmp_path):
    path = tmp_path / "module.py"
    path.write_text("def f():\n    import shapely\n    from guidegen.cli import app\n")
    assert [module for module, _ in imports_of(path)] == ["shapely", "guidegen.cli"]
