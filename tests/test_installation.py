"""``templates/`` is found from a checkout, from a wheel and from an editable install, which lie differently.

Each is tried by a bare interpreter of its own: the reader of profiles needs no other library.
"""

import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).resolve().parent.parent
PROGRAM = """
import pathlib
from guidegen.hands.library import load_marker, load_paper, templates_folder, toml_files
marker = load_marker("cobble")
print(marker.downstroke_mm, load_paper("a4").width_mm, len(toml_files(templates_folder() / "markers")))
print(templates_folder())
"""


@pytest.fixture(scope="module")
def checkout(tmp_path_factory):
    """A copy of the sources, so that building leaves nothing in the work tree."""
    folder = tmp_path_factory.mktemp("checkout")
    for name in ("guidegen", "templates"):
        shutil.copytree(REPOSITORY / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(REPOSITORY / name, folder / name)
    return folder


def build(checkout, hook, folder):
    """Build a wheel through the build backend's own hook (PEP 517, PEP 660), offline."""
    program = f"import hatchling.build; print(hatchling.build.{hook}({str(folder)!r}))"
    done = subprocess.run([sys.executable, "-c", program], cwd=checkout, capture_output=True, text=True, check=True)
    return folder / done.stdout.split()[-1]


def installed(wheel, folder):
    """Return the interpreter of an empty virtual environment with ``wheel`` and nothing else."""
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", folder], check=True)
    python = folder / "bin" / "python"
    pip = [sys.executable, "-m", "pip", "--python", python, "install", "--no-index", "--no-deps", "--quiet", wheel]
    subprocess.run(pip, check=True, env=os.environ | {"PIP_DISABLE_PIP_VERSION_CHECK": "1"})
    return python


def run(python, cwd, **environment):
    clean = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"} | environment
    done = subprocess.run([python, "-c", PROGRAM], cwd=cwd, env=clean, capture_output=True, text=True, check=True)
    figures, folder = done.stdout.splitlines()
    assert figures == "3.2 210.0 7"
    return Path(folder)


def test_checkout(checkout, tmp_path):
    assert run(sys.executable, tmp_path, PYTHONPATH=str(checkout)) == checkout / "templates"


def test_wheel(checkout, tmp_path):
    wheel = build(checkout, "build_wheel", tmp_path)
    names = zipfile.ZipFile(wheel).namelist()
    for path in (REPOSITORY / "templates").rglob("*.toml"):
        assert f"guidegen/templates/{path.relative_to(REPOSITORY / 'templates').as_posix()}" in names
    folder = run(installed(wheel, tmp_path / "environment"), tmp_path)
    assert folder.parts[-2:] == ("guidegen", "templates")
    assert tmp_path / "environment" in folder.parents


def test_editable(checkout, tmp_path):
    wheel = build(checkout, "build_editable", tmp_path)
    assert run(installed(wheel, tmp_path / "environment"), tmp_path) == checkout / "templates"


def test_the_wheel_carries_nothing_but_the_package(checkout, tmp_path):
    wheel = build(checkout, "build_wheel", tmp_path)
    tops = {name.split("/")[0] for name in zipfile.ZipFile(wheel).namelist()}
    version = tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["project"]["version"]
    assert tops == {"guidegen", f"guidegen-{version}.dist-info"}


def test_the_version_is_one():
    import guidegen

    assert tomllib.loads((REPOSITORY / "pyproject.toml").read_text())["project"]["version"] == guidegen.__version__


def test_without_templates_it_says_so(checkout, tmp_path):
    shutil.copytree(checkout / "guidegen", tmp_path / "guidegen")
    program = "import guidegen.hands.library as l\ntry: l.templates_folder()\nexcept Exception as e: print(e)"
    done = subprocess.run([sys.executable, "-c", program], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert "templates is missing" in done.stdout
