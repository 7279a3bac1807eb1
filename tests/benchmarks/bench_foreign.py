"""Every file of the foreign folder, those that programs make too, and the table of what is missed: the goal is none."""

from __future__ import annotations

import pytest
from foreign_folder import FOLDER, PROGRAMS, misses, there

from guidegen.inspect import measure
from guidegen.profiles.papers import Paper
from guidegen.readers import read_bytes

A5 = Paper("a5", "A5", 148.0, 210.0, "iso-a")
pytestmark = pytest.mark.benchmark


def test_the_table_of_misses():
    table = {}
    for name, foreign in (FOLDER | PROGRAMS).items():
        if there(foreign):
            read = read_bytes(foreign.make(), f"{name}.{foreign.ending}")
            table[name] = misses(foreign, measure(read, papers=[A5]))
    print(f"\n{len(table)} foreign files")
    for name, missed in table.items():
        print(f"{name:28} {'; '.join(missed) or 'right'}")
    assert not any(table.values())
