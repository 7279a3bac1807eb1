"""Joined words are read at other sizes of picture too, as they are written, leaning.

Tesseract is less steady on joined script than on letters that stand apart: a pixel more or less changes which words
it misses. Measured once at 24, 28 and 32 pixels to the x-height: 50, 47 and 47 of 60; a published open script beside
it (bench_legibility) 43, 43 and 42. The first is held by test_legibility.
"""

import shutil

import pytest
import test_legibility


@pytest.mark.skipif(not shutil.which("tesseract"), reason="tesseract is not installed")
@pytest.mark.parametrize(("x_height_px", "least"), [(28, 46), (32, 43)])
def test_joined_words_are_read_at_other_sizes(tmp_path, monkeypatch, x_height_px, least):
    monkeypatch.setattr(test_legibility, "X_HEIGHT_PX", x_height_px)
    test_legibility.test_words_are_read(tmp_path, "joined", "cobble", least)
