"""Our hands beside published open faces, same words, same reader, same size: an upright handwriting face and a script.

The faces come from the packages fontpkg-kalam and fontpkg-dancing-script (SIL Open Font License), which the test
extra installs.
"""

from importlib.resources import files

import pytest
from PIL import Image, ImageDraw, ImageFont
from test_legibility import WORDS, X_HEIGHT_PX, picture, read

from guidegen.library import load_hand, load_marker
from guidegen.sizing import right_size

FACES = {
    "hand": ("fontpkg_kalam", "Kalam-Regular.ttf"),
    "script": ("fontpkg_dancing_script", "DancingScript[wght].ttf"),
}


def face_picture(font, word, path):
    left, top, right, bottom = font.getbbox(word)
    pad = round(0.7 * X_HEIGHT_PX)
    image = Image.new("L", (right - left + 2 * pad, bottom - top + 2 * pad), 255)
    ImageDraw.Draw(image).text((pad - left, pad - top), word, font=font, fill=0)
    image.save(path)


def font_at_x_height(package, name):
    """The face at the size at which its x is X_HEIGHT_PX high."""
    path = str(files(package) / "files" / name)
    big = ImageFont.truetype(path, 1000)
    top, bottom = big.getbbox("x")[1::2]
    return ImageFont.truetype(path, round(1000 * X_HEIGHT_PX / (bottom - top)))


def words_read(paths, folder):
    return sum(word == got.lower() for word, got in zip(WORDS, read(paths, folder), strict=True))


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("hand_name", "marker_name", "face"),
    [("print", "flint", "hand"), ("italic", "slate", "hand"), ("joined", "cobble", "script")],
)
def test_no_worse_than_a_published_face(tmp_path, hand_name, marker_name, face):
    font = font_at_x_height(*FACES[face])
    theirs = [tmp_path / f"face-{word}.png" for word in WORDS]
    for word, path in zip(WORDS, theirs, strict=True):
        face_picture(font, word, path)
    hand, marker = load_hand(hand_name), load_marker(marker_name)
    x = right_size(marker, hand).x_height_mm
    ours = [tmp_path / f"{word}.png" for word in WORDS]
    for word, path in zip(WORDS, ours, strict=True):
        picture(hand, marker, x, word, path)
    found = words_read(ours, tmp_path), words_read(theirs, tmp_path)
    print(f"{hand_name}: {found[0]} of {len(WORDS)} words read, the published face {found[1]}")
    assert found[0] >= found[1]
