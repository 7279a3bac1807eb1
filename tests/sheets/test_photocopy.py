"""A copy of a copy: pages with guides for the copier at 600 dpi, blurred and thresholded twice, and what is left.

A copier's optics are a blur of about a pixel; a pale or a dark setting is a gain on the darkness before the threshold.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image, ImageFilter
from scipy import ndimage

import guidegen as gg
from guidegen.writers import render

DPI = 600
BLUR_PX = 1.2
PALE, DARK = 0.85, 1.15


def seen(document):
    """The first page as a scanner of 600 dpi sees a print of it, 255 for paper."""
    data = next(iter(render(document, "png", ppi=DPI)))[1]
    return Image.open(io.BytesIO(data)).convert("L")


def copy_of_a_copy(picture, gain):
    for _ in range(2):
        blurred = picture.filter(ImageFilter.GaussianBlur(BLUR_PX))
        picture = blurred.point([0 if (255 - level) * gain >= 127.5 else 255 for level in range(256)])
    return picture


def black(picture):
    return np.asarray(picture) < 128


@cache
def page(kind):
    if kind == "worksheet":
        return gg.worksheet("pebble", "tide", paper="a6", proof="none", guide_style="copy")
    wisp = gg.marker("wisp", tip="brush", downstroke_mm=0.55, hairline_mm=0.1)
    return gg.sheet(wisp if kind == "tiny" else kind, paper="a7", proof="none", guide_style="copy")


@cache
def printed(kind):
    return seen(page(kind).document)


@cache
def printed_ink():
    """The worksheet without anything but what is written on it."""
    document = page("worksheet").document
    (drawn, *_) = document.pages
    kept = tuple(layer for layer in drawn.layers if layer.id in ("ink", "trace"))
    return seen(replace(document, pages=(replace(drawn, layers=kept),)))


def along(line, mask, height_mm):
    """Which columns of a level line are black, within a tenth of a millimetre of it."""
    scale = DPI / 25.4
    row = round((height_mm - line.start.imag) * scale)
    left, right = (round(x * scale) + 2 for x in sorted((line.start.real, line.end.real)))
    return mask[row - 2 : row + 3, left : right - 4].any(axis=0)


@pytest.mark.parametrize("gain", [PALE, DARK])
@pytest.mark.parametrize("kind", ["tiny", "pebble"])
def test_every_baseline_stays_whole_and_every_other_line_keeps_its_dashes(kind, gain):
    (drawn, *_) = page(kind).document.pages
    mask = black(copy_of_a_copy(printed(kind), gain))
    lines = [line for layer in drawn.layers if layer.id == "lines" for line in layer.items]
    assert len(lines) >= 8
    for line in lines:
        marks = along(line, mask, drawn.height_mm)
        if line.role == "baseline":
            assert marks.mean() > 0.995
            continue
        mark, gap = line.style.dash_mm
        dashes = np.count_nonzero(np.diff(marks.astype(int)) == 1)
        assert dashes >= 0.85 * (abs(line.end - line.start) / (mark + gap) - 1), line.role
        assert 0.5 * mark / (mark + gap) < marks.mean() < 0.97, line.role


@pytest.mark.parametrize("gain", [PALE, DARK])
def test_ink_stays_and_every_dot_stays_a_dot(gain):
    copied = black(copy_of_a_copy(printed("worksheet"), gain))
    ink = black(printed_ink())
    parts, count = ndimage.label(ink)
    sizes = np.bincount(parts.ravel())[1:]
    left = ndimage.sum_labels(copied, parts, np.arange(1, count + 1)) / sizes
    assert count > 80  # letters, contours, dots, rings
    assert left.min() > 0.5
    # what lies apart on the print lies apart on the copy: no two dots have run together
    alone = black(copy_of_a_copy(printed_ink(), gain))
    assert ndimage.label(alone)[1] == count


@pytest.mark.skipif(not shutil.which("tesseract"), reason="tesseract is not installed")
def test_labels_are_still_read(tmp_path):
    copied = copy_of_a_copy(printed("worksheet"), PALE)
    copied.crop((0, 0, copied.width, round(0.45 * copied.height))).reduce(2).save(tmp_path / "copy.png")
    command = ["tesseract", str(tmp_path / "copy.png"), "-", "--psm", "11", "-l", "eng", "--dpi", "300"]
    read = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout
    for words in ("Pebble, small brush", "Joined brush script", "Look", "Name", "Date"):
        assert words in read, read
