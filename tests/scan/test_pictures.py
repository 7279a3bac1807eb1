"""Pictures are converted in bands, which changes no pixel; a JPEG's passes are counted by its markers alone."""

import io

import numpy as np
import pytest
from PIL import Image

from guidegen.scan import pictures

SIZE = (301, 603)


def noise(mode):
    channels = {"L": 1, "LA": 2, "RGB": 3, "RGBA": 4}[mode]
    values = np.random.default_rng(5).integers(0, 256, (SIZE[1], SIZE[0], channels), dtype=np.uint8)
    return Image.fromarray(values.squeeze(), mode)


def saved(image, kind="PNG", **options):
    file = io.BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def paletted():
    image = noise("RGB").quantize(64)
    image.info["transparency"] = 7
    return image


@pytest.mark.parametrize("made", [lambda: noise("RGBA"), lambda: noise("LA"), paletted])
def test_transparent_pictures_lie_on_white(made):
    data = saved(made())
    whole = Image.open(io.BytesIO(data)).convert("RGBA")
    expected = Image.alpha_composite(Image.new("RGBA", SIZE, "white"), whole).convert("RGB")
    assert (pictures.open_picture(data).image.tobytes() == expected.tobytes()) is True


def test_sixteen_bits_become_eight():
    values = np.random.default_rng(5).integers(0, 65536, SIZE[::-1], dtype=np.uint16)
    for kind in ("PNG", "TIFF"):
        shown = np.asarray(pictures.open_picture(saved(Image.fromarray(values), kind)).image)
        assert (shown[..., 0] == values // 257).all()


def test_sixteen_bits_are_turned_as_the_file_says():
    values = np.arange(200 * 300, dtype=np.uint16).reshape(300, 200)
    image = Image.fromarray(values)
    turned = saved(image, "TIFF", tiffinfo={274: 6})  # the picture's first row is shown at the right: EXIF 2.3, 4.6.4
    shown = pictures.open_picture(turned)
    assert shown.size == (300, 200)
    assert (np.asarray(shown.image)[0, ::-1, 0] == values[:, 0] // 257).all()


@pytest.mark.parametrize(("options", "count"), [({}, 1), ({"progressive": True}, 10)])
def test_the_passes_of_a_jpeg(options, count):
    """Ten are what libjpeg's jpeg_simple_progression sets for three components."""
    data = saved(noise("RGB"), "JPEG", quality=92, **options)
    assert pictures._passes(data) == count
    film = b"\xff\xda" * 5000  # what some telephones put behind a photograph
    inside = data[:2] + b"\xff\xe1" + (len(film) + 2).to_bytes(2) + film + data[2:]
    assert pictures._passes(inside + film) == count
    for end in range(0, 700, 7):
        assert pictures._passes(data[:end]) <= count
