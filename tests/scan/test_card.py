"""A bank card beside the block tells the scale: simulated photographs and scans whose printer is known."""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
import simulate
from PIL import Image
from simulate import Card, Look

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.scan import card as card_reader
from guidegen.scan.measure import ReadOptions, measure_files

SMALL = {"paper": "a6"}
BELOW = 52 + 150j
UPRIGHT = 52 + 157.5j
"""Where a card that lies and one that stands are clear of the block, whose rings end at 106 mm."""
DARK = Card(BELOW, 4)
LIGHT = Card(BELOW, 177, (0.48, 0.5, 0.55), (0.5, 0.1, 0.1), shadow=0.25, soft_mm=2.5)
GREY = Card(UPRIGHT, 88, (0.25, 0.27, 0.25), (0.6, 0.6, 0.5), shadow=0.0)
NEAR = Look(photo=True, gamma=0, pixels=(1500, 1850), distance_mm=137, noise=0.006, blur_px=1.0, jpeg=92)
"""A telephone's lens: its focal length is 0.78 of the picture's longer side."""
FAR = replace(NEAR, distance_mm=220)
"""The same by a lens of 1.25, stated in the file."""


def pictured(look, seed=7100):
    return simulate.photo(np.random.default_rng(seed), (2.4, 0.5), look, SMALL)


def saved(folder, data, name="card.jpg"):
    path = folder / name
    path.write_bytes(data)
    return path


def with_focal(data, millimetres):
    file = io.BytesIO()
    image = Image.open(io.BytesIO(data))
    exif = image.getexif()
    exif.get_ifd(0x8769)[0xA405] = millimetres
    image.save(file, "JPEG", quality=95, exif=exif)
    return file.getvalue()


@pytest.mark.parametrize(
    ("look", "film_mm"),
    [
        (replace(NEAR, printer=(0.985, 0.985), card=DARK, tilt_deg=9, tilt_way_deg=60), None),
        (replace(NEAR, printer=(1.02, 1.02), card=LIGHT, tilt_deg=12, tilt_way_deg=200, lens_k1=-0.005), None),
        (replace(FAR, printer=(1.01, 0.99), card=GREY, tilt_deg=5, turn_deg=178), 42),
    ],
    ids=["dark", "light", "upright"],
)
def test_a_card_tells_what_the_printer_makes_of_a_millimetre(tmp_path, look, film_mm):
    data, drawn = pictured(look)
    found = gg.measure(saved(tmp_path, with_focal(data, film_mm) if film_mm else data), "tidepen", card=True)
    told = found.as_dict()
    assert (told["kind"], told["scale"]["from"]) == ("photo", "card")
    assert told["scale"]["printer"] == pytest.approx(look.printer, rel=0.003)
    (marker,) = found._found
    for kind, width, true in (
        ("down", marker.downstroke, drawn.downstrokes),
        ("hair", marker.hairline, drawn.hairlines),
    ):
        own = [stroke for _, stroke in marker.strokes if stroke.kind.startswith(kind)]
        mean = np.mean([w for stroke, w in zip(own, true, strict=True) if not stroke.fault])
        assert width.mm == pytest.approx(mean, rel=0.003, abs=0.008)
        assert width.measuring_mm[0] <= mean <= width.measuring_mm[1]
    assert any("this printer makes 100 mm" in note for note in found.notes)
    assert 0.001 < marker.scale.share < 0.003


def test_a_card_on_the_glass_tells_the_scale_of_a_scan_without_resolution(tmp_path):
    look = Look(dpi=240, gamma=0, printer=(0.985, 1.012), card=DARK)
    data, _ = simulate.scan(np.random.default_rng(7110), (2.4, 0.5), look, SMALL)
    bare = io.BytesIO()
    Image.open(io.BytesIO(data)).save(bare, "PNG")
    path = saved(tmp_path, bare.getvalue(), "card.png")
    told = gg.measure(path, "tidepen", card=True).as_dict()
    assert (told["kind"], told["scale"]["from"]) == ("scan", "card")
    assert told["scale"]["printer"] == pytest.approx(look.printer, rel=0.0015)
    with pytest.raises(GuidegenError, match="states no resolution"):
        gg.measure(path, "tidepen")


def test_the_card_is_nearer_to_the_camera_than_the_paper(tmp_path, monkeypatch):
    """Taken to lie in the paper it looks too large, by its thickness over the distance: 0.55 %."""
    path = saved(tmp_path, pictured(replace(NEAR, card=DARK, tilt_deg=2))[0])
    _, (right,) = measure_files([path], ReadOptions(card=True))
    monkeypatch.setattr(card_reader, "THICKNESS_MM", 0.0)
    _, (wrong,) = measure_files([path], ReadOptions(card=True))
    ratio = np.array(wrong.scale.printer) / np.array(right.scale.printer)
    assert ratio == pytest.approx(1 - 0.76 / 137, abs=0.0012)


REFUSED = {
    "none": (replace(DARK, middle=BELOW + 400j), "nothing of a bank card's shape"),
    "square": (replace(DARK, radius=0.05), "square corners"),
    "visiting card": (replace(DARK, size=(85.0, 50.0)), "nothing of a bank card's shape|mm as printed"),
    "playing card": (replace(DARK, size=(88.0, 63.0)), "nothing of a bank card's shape"),
    "like paper": (replace(DARK, colour=(0.79, 0.78, 0.75), stripe=(0.79, 0.78, 0.75), shadow=0.0),
                   "nothing of a bank card's shape"),
    "on the block": (replace(DARK, middle=52 + 82j), "rings"),
    "another scale": (replace(DARK, size=(91.6, 57.8)), "mm as printed|nothing of a bank card"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_card_is_refused_in_one_line(tmp_path, name):
    card, told = REFUSED[name]
    look = Look(dpi=200, gamma=0, card=card)
    at = replace(look, card=replace(card, middle=BELOW))  # the frame stays
    box = simulate.block_box
    simulate.block_box = lambda page, _, air=7.0: box(page, at, air)
    try:
        data, _ = simulate.scan(np.random.default_rng(7120), (2.4, 0.5), look, SMALL)
    finally:
        simulate.block_box = box
    with pytest.raises(GuidegenError, match=told) as raised:
        measure_files([saved(tmp_path, data)], ReadOptions(card=True))
    assert "\n" not in str(raised.value)


def test_a_card_that_the_picture_cuts_off_is_refused(tmp_path):
    image = Image.open(io.BytesIO(pictured(replace(NEAR, card=DARK))[0]))
    file = io.BytesIO()
    image.crop((0, 0, image.width, 0.78 * image.height)).save(file, "JPEG", quality=92)
    with pytest.raises(GuidegenError, match="lay the card flat beside the block, whole"):
        measure_files([saved(tmp_path, file.getvalue())], ReadOptions(card=True))


def test_one_scale_is_enough(cli, home):
    (home / "card.jpg").write_bytes(b"never read")
    result = cli("measure", "card.jpg", "--name", "tidepen", "--card", "--measured", "99x99")
    assert result.code == 2
    assert "one scale" in result.err
