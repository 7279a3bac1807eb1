"""Data flows one way: a module imports only from those before it, and each foreign library has few importers.

The order is the project's design; the second table says which file may import what, and why.
"""

import ast
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "guidegen"

# Each row may import from the rows above it and from its own row.
ORDER = [
    ("errors", "units", "limits", "checks"),
    ("geometry",),
    ("scene", "jobs", "saving"),
    ("profiles",),
    ("hands",),
    ("lettering",),
    ("sheets",),
    ("fonts",),
    ("readers",),
    ("writers",),
    ("shop",),
    ("inspect",),
    ("cli",),
]
RANK = {name: rank for rank, row in enumerate(ORDER) for name in row}

# Library: the only files that may import it, and why it is there.
FOREIGN = {
    "click": ("cli/* hands/own.py", "talks to a person; knows where their own folder is"),
    "numpy": (
        "geometry/* geometry/*/* hands/pressure.py lettering/* fonts/* readers/* inspect/*",
        "arrays of points",
    ),
    "tomli_w": ("profiles/tables.py", "writes TOML; Python itself only reads it"),
    "svgwrite": ("writers/svg.py", "no longer maintained: stays behind one writer"),
    "reportlab": ("writers/pdf.py", "PDF pages"),
    "cairosvg": ("writers/png.py writers/eps.py", "PNG and EPS from our SVG"),
    "pypdfium2": ("writers/png.py readers/pdf.py", "PNG where libcairo is missing; reading PDF"),
    "PIL": ("writers/png.py readers/png.py", "PNG resolution and transparency"),
    "svgpathtools": ("readers/centrelines.py", "parses SVG path data; slow to import"),
    "shapely": (
        "geometry/* geometry/*/*",
        "the union done another way, insets of it, what a blade trips over; on flattened curves",
    ),
    "fontTools": (
        "fonts/* readers/font.py readers/svg_walk.py",
        "building and reading fonts; arcs of SVG as cubics",
    ),
    "uharfbuzz": ("sheets/parts/labels.py", "sets and draws labels; a tenth of fontTools' time for a variable one"),
    "defusedxml": ("readers/svg.py", "XML from strangers: no entities, no bombs"),
    "tinycss2": ("readers/svg_style.py", "style sheets inside a drawing"),
    "cssselect2": ("readers/svg_style.py", "which element a style sheet's rule means"),
    "fontpkg_source_sans_3": ("sheets/parts/labels.py", "the open face of the labels"),
    "ezdxf": ("writers/dxf.py readers/dxf*.py", "DXF with true splines"),
    "pikepdf": ("shop/printshop*.py readers/pdf*.py", "print-shop PDF; reading any PDF"),
}


def imports_of(path):
    """Yield (module, line) for every import, wherever it stands, except for annotations only."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    hidden = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            hidden.update(id(inner) for inner in ast.walk(node))
    for node in ast.walk(tree):
        if id(node) in hidden:
            continue
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            yield node.module, node.lineno


def parts():
    """Return (file, its path inside the package, its part in the order)."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        inside = path.relative_to(PACKAGE)
        if str(inside) not in {"__init__.py", "__main__.py"}:
            found.append((path, inside.as_posix(), inside.parts[0].removesuffix(".py")))
    return found


def test_every_module_has_a_place_in_the_order():
    unknown = {part for _, _, part in parts()} - set(RANK)
    assert not unknown


def test_imports_go_one_way():
    wrong = []
    for path, inside, part in parts():
        for module, line in imports_of(path):
            names = module.split(".")
            if names[0] != "guidegen" or len(names) == 1:
                continue
            other = names[1]
            if RANK[other] > RANK[part]:
                wrong.append(f"{inside}:{line} imports {module}")
    assert wrong == []


def test_nothing_knows_the_command_line():
    wrong = [
        f"{inside}:{line}"
        for path, inside, part in parts()
        if part != "cli"
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


def calls(path):
    """Yield (name, line) for every call: ``print``, ``path.write_text`` as ``.write_text``."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
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
        for path, inside, part in parts()
        for name, node in calls(path)
        if writes(name, node) and part != "cli" and (part != "saving" or name == "print")
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
