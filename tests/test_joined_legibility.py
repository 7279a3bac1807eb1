"""Can a reader that knows nothing of us read joined words? Tesseract (Debian), one word a picture, read as one line.

Measured once, 60 words at four sizes: 34 to 43 as written, at 64 degrees; 46 to 48 with the slant taken back to 78
degrees, which is usual before handwriting is read, since the reader's models are of type that leans little. Only
letters are compared, in either case, since the last upstroke of a word is often taken for a comma.
"""

import math
import shutil

import pytest
import test_legibility
from test_legibility import WORDS, picture, read

from guidegen.geometry.path import affine
from guidegen.library import load_hand, load_marker
from guidegen.sizing import right_size
from guidegen.text import ink_line


def words_read(folder, monkeypatch, x_height_px, upright_to_deg):
    hand, marker = load_hand("joined"), load_marker("cobble")
    x = right_size(marker, hand).x_height_mm
    back = 1 / math.tan(math.radians(hand.slant_deg)) - 1 / math.tan(math.radians(upright_to_deg))
    monkeypatch.setattr(test_legibility, "X_HEIGHT_PX", x_height_px)
    monkeypatch.setattr(
        test_legibility, "ink_line", lambda line: tuple(affine(path, 1, 1j - back, 0) for path in ink_line(line))
    )
    paths = [folder / f"{word}.png" for word in WORDS]
    for word, path in zip(WORDS, paths, strict=True):
        picture(hand, marker, x, word, path)
    found = ["".join(filter(str.isalpha, got.lower())) for got in read(paths, folder)]
    return sum(got == word for word, got in zip(WORDS, found, strict=True))


@pytest.mark.skipif(not shutil.which("tesseract"), reason="tesseract is not installed")
@pytest.mark.parametrize(("x_height_px", "upright_to_deg", "least"), [(24, 78, 40), (20, 64, 34)])
def test_joined_words_are_read(tmp_path, monkeypatch, x_height_px, upright_to_deg, least):
    assert words_read(tmp_path, monkeypatch, x_height_px, upright_to_deg) >= least
