from pathlib import Path

import pytest

from guidegen.cli.files import write_files
from guidegen.errors import GuidegenError


def test_stdout_takes_one_file(capfdbinary):
    assert write_files([(Path("-"), b"\xff\x00")], force=False) == []
    with pytest.raises(GuidegenError, match="several files"):
        write_files([(Path("-"), b"a"), (Path("b"), b"b")], force=False)
    assert not Path("b").exists()
    assert capfdbinary.readouterr().out == b"\xff\x00"  # of the two refused nothing came out
