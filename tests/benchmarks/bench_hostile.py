"""All of the table of bad inputs, and good files damaged by chance: what takes longest and most memory."""

from __future__ import annotations

import os
import shutil

import pytest
from damaged import KINDS, damaged_rows
from rows import FAMILIES
from tried import tried

PER_KIND = int(os.environ.get("GUIDEGEN_DAMAGED", "500"))


@pytest.mark.benchmark
@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.__name__)
def test_every_bad_input_is_told_in_one_line(tmp_path, family):
    _all_right(family.__name__, list(family()), tmp_path, (2,))


@pytest.mark.benchmark
@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_read_or_told_in_one_line(tmp_path, kind):
    _all_right(kind, damaged_rows(kind, PER_KIND), tmp_path, (0, 2))


def _all_right(name, rows, folder, codes):
    wrong, slowest, largest = [], (0.0, ""), (0.0, "")
    for row in rows:
        answer = tried(row, folder / "work")
        shutil.rmtree(folder / "work")
        told = "" if answer.code == 0 and 0 in codes else answer.wrong(codes)
        if not told and (answer.seconds > 10 or answer.megabytes > 1500):
            told = f"took {answer.seconds:.1f} s and {answer.megabytes:.0f} MB"
        if told:
            wrong.append(f"{row.name}: {told}")
        slowest, largest = max(slowest, (answer.seconds, row.name)), max(largest, (answer.megabytes, row.name))
    print(f"\n{name}: {len(rows)} rows, {len(wrong)} wrong; slowest {slowest[0]:.1f} s ({slowest[1]}),"
          f" largest {largest[0]:.0f} MB ({largest[1]})")  # fmt: skip
    assert wrong == [], "\n".join(wrong)
