"""Whole commands against ``python -c "import click"``, the least that any of them can cost, run in turns."""

import statistics
import subprocess
import sys
import time

import pytest

pytestmark = pytest.mark.benchmark
ROUNDS = 15
BARE = [sys.executable, "-c", "import click"]


def seconds(command, folder):
    started = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, cwd=folder)
    return time.perf_counter() - started


def ratio(command, folder):
    """Return the median of command over bare, the two run one after the other so that both see the same load."""
    seconds(command, folder), seconds(BARE, folder)  # the first run fills the disk cache
    return statistics.median(seconds(command, folder) / seconds(BARE, folder) for _ in range(ROUNDS))


@pytest.mark.parametrize(
    ("arguments", "most"),
    [
        (["--help"], 2.0),
        (["sheet", "--help"], 2.5),
        (["markers"], None),
        (["size", "cobble"], None),
        (["sheet", "cobble", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "slate", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "flint", "-o", "sheet.svg", "--force"], 8.0),
        (["sheet", "cobble", "-o", "sheet.pdf", "--force"], None),
        (["sheet", "cobble", "-o", "sheet.png", "--force"], None),
    ],
)
def test_a_command_against_the_import_of_click(arguments, most, tmp_path):
    found = ratio([sys.executable, "-m", "guidegen", *arguments], tmp_path)
    bound = f"at most {most:g}" if most else "reported only"
    print(f"\nguidegen {' '.join(arguments)}: {found:.2f} x ({bound})")
    assert most is None or found <= most
