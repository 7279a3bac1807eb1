"""What others made is measured right, or not at all."""

from __future__ import annotations

import pytest
from foreign_folder import FOLDER, PROGRAMS, misses

from guidegen.inspect import measure
from guidegen.profiles.papers import Paper
from guidegen.readers import read_bytes

A5 = Paper("a5", "A5", 148.0, 210.0, "iso-a")


def test_the_folder_has_sixty_files_or_more():
    assert len(FOLDER) + len(PROGRAMS) >= 60


@pytest.mark.parametrize("name", FOLDER)
def test_a_foreign_file_is_measured_right_or_left_unsaid(name):
    foreign = FOLDER[name]
    read = read_bytes(foreign.make(), f"{name}.{foreign.ending}")
    assert misses(foreign, measure(read, papers=[A5])) == []
