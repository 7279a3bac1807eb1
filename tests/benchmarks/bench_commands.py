"""Whole commands against ``python -c "import click"``, the least that any of them can cost, run in turns.

Time is the processor time of the command and its children (user and system), so that what else the machine does
hardly matters. Bytecode is compiled before the clock starts, as it is wherever a package has been installed: click's
was when it was installed, a checkout's may not be.
"""

import os
import resource
import statistics
import subprocess
import sys

import pytest

pytestmark = pytest.mark.benchmark
ROUNDS = 15
BARE = [sys.executable, "-c", "import click"]


@pytest.fixture(scope="module")
def compiled(tmp_path_factory):
    """Return an environment that keeps bytecode in a folder of its own."""
    folder = str(tmp_path_factory.mktemp("bytecode"))
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": folder}


def cpu_seconds(command, folder, environment):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True, cwd=folder, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def ratio(command, folder, environment):
    """Return the median of command over bare, the two run one after the other."""
    for each in (command, BARE):  # the first run fills the disk cache and compiles
        cpu_seconds(each, folder, environment)
    return statistics.median(
        cpu_seconds(command, folder, environment) / cpu_seconds(BARE, folder, environment) for _ in range(ROUNDS)
    )


@pytest.mark.parametrize(
    ("arguments", "most"),
    [
        (["--help"], 2.0),
        (["sheet", "--help"], 2.5),
        (["markers"], 8.0),
        (["size", "cobble"], 5.0),
        (["sheet", "cobble", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "slate", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "flint", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "cobble", "-o", "sheet.pdf", "--force"], None),
        (["sheet", "cobble", "-o", "sheet.png", "--force"], None),
    ],
)
def test_a_command_against_the_import_of_click(arguments, most, tmp_path, compiled):
    found = ratio([sys.executable, "-m", "guidegen", *arguments], tmp_path, compiled)
    bound = f"at most {most:g}" if most else "reported only"
    print(f"\nguidegen {' '.join(arguments)}: {found:.2f} x ({bound})")
    assert most is None or found <= most
