"""Our hands beside published open faces, same words, same reader, same size: an upright handwriting face and a script.

The faces come from the packages fontpkg-kalam and fontpkg-dancing-script (SIL Open Font License), which the test
extra installs.
"""

from importlib.resources import files

import pytest
import test_legibility
from PIL import Image, ImageDraw, ImageFont
from test_legibility import WORDS, picture, read

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.sizing import right_size

FACES = {
    "hand": ("fontpkg_kalam", "Kalam-Regular.ttf"),
    "script": ("fontpkg_dancing_script", "DancingScript[wght].ttf"),
}
SIZES_PX = (24, 28, 32)


def face_picture(font, x_height_px, word, path):
    left, top, right, bottom = font.getbbox(word)
    pad = round(0.7 * x_height_px)
    image = Image.new("L", (right - left + 2 * pad, bottom - top + 2 * pad), 255)
    ImageDraw.Draw(image).text((pad - left, pad - top), word, font=font, fill=0)
    image.save(path)


def font_at_x_height(package, name, x_height_px):
    """The face at the size at which its x is ``x_height_px`` high."""
    path = str(files(package) / "files" / name)
    big = ImageFont.truetype(path, 1000)
    top, bottom = big.getbbox("x")[1::2]
    return ImageFont.truetype(path, round(1000 * x_height_px / (bottom - top)))


def words_read(paths, folder):
    return sum(word == got.lower() for word, got in zip(WORDS, read(paths, folder), strict=True))


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("hand_name", "marker_name", "face"),
    [("print", "flint", "hand"), ("italic", "slate", "hand"), ("joined", "cobble", "script")],
)
def test_no_worse_than_a_published_face(tmp_path, monkeypatch, hand_name, marker_name, face):
    """Over three sizes together: at a single one a pixel more or less changes three or four words of a script."""
    hand, marker = load_hand(hand_name), load_marker(marker_name)
    x = right_size(marker, hand).x_height_mm
    ours, theirs = [], []
    for x_height_px in SIZES_PX:
        monkeypatch.setattr(test_legibility, "X_HEIGHT_PX", x_height_px)
        font = font_at_x_height(*FACES[face], x_height_px)
        paths = [tmp_path / f"{word}-{x_height_px}.png" for word in WORDS]
        for word, path in zip(WORDS, paths, strict=True):
            picture(hand, marker, x, word, path)
        ours.append(words_read(paths, tmp_path))
        for word, path in zip(WORDS, paths, strict=True):
            face_picture(font, x_height_px, word, path)
        theirs.append(words_read(paths, tmp_path))
    told = f"{ours} of {len(WORDS)} words read, the published {face} face {theirs}"
    print(f"\n{hand_name} at {SIZES_PX} px to the x-height: {told}")
    assert sum(ours) >= sum(theirs)
