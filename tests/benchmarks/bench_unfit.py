"""Every picture of the table of unfit ones, read by the command: one line, exit 2, under 10 s and 1.5 GB each."""

from __future__ import annotations

import re
import shutil

import pytest
import unfit_pictures
from rows import Row
from tried import tried

pytestmark = pytest.mark.benchmark


def test_every_unfit_picture_is_told_in_one_line(tmp_path):
    wrong, slowest, largest = [], (0.0, ""), (0.0, "")
    every = unfit_pictures.rows()
    for unfit in every:
        answer = tried(Row(unfit.name, unfit.line, {unfit.file: unfit.make()}), tmp_path / "work")
        shutil.rmtree(tmp_path / "work")
        line = answer.told.decode("utf-8", "replace")
        told = answer.wrong((2,))
        if not told and not re.search(unfit.told, line):
            told = f"does not say {unfit.told!r}: {line}"
        if told:
            wrong.append(f"{unfit.name}: {told}")
            print(wrong[-1], flush=True)
        slowest, largest = max(slowest, (answer.seconds, unfit.name)), max(largest, (answer.megabytes, unfit.name))
    print(f"\nRESULT {len(every)} unfit pictures, {len(wrong)} wrong; slowest {slowest[0]:.1f} s ({slowest[1]}), "
          f"largest {largest[0]:.0f} MB ({largest[1]})")  # fmt: skip
    assert wrong == [], "\n".join(wrong)
