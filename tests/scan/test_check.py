"""Letters of known white and downstroke on simulated pages, judged from the file alone.

Written letters are the hand's own e at several sizes, whose ratio the sizing's own rule says from the outlines, and
letters with faults: a bowl that is filled, one with a gap.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace

import letters_page
import numpy as np
import pytest
import simulate
from PIL import Image

import guidegen as gg
from guidegen.errors import GuidegenError

PLAIN = simulate.Look(dpi=300, gamma=0, blur_px=0.6)


@pytest.mark.parametrize(
    ("seed", "marker", "factor", "photo", "verdict"),
    [
        (8001, "pebble", 1.0, False, "right"),
        (8002, "cobble", 0.7, False, "too small"),
        (8003, "cobble", 1.5, True, None),
    ],
)
def test_white_over_downstroke_is_that_of_the_letter(tmp_path, seed, marker, factor, photo, verdict):
    rng = np.random.default_rng(seed)
    look = simulate.ruffled(rng, "photo" if photo else "scan", 600)
    rings, counter, lettering = letters_page.hand_letter(marker, factor)
    path = tmp_path / "letters.png"
    path.write_bytes(letters_page.letters_page(rng, look, rings, {"marker": marker}))
    sides = "x".join(f"{100 * side:.3f}" for side in look.printer)
    found = gg.check(path, marker, printer=sides if photo else None).as_dict()
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)
    assert found["x_height_mm"] == pytest.approx(lettering.x_height_mm, rel=0.02)
    assert found["counter_mm"] == pytest.approx(counter.width_mm, rel=0.04)
    assert found["downstroke_mm"] == pytest.approx(counter.downstroke_mm, rel=0.04)
    assert found["size_to_write_mm"] == pytest.approx(gg.right_size(marker).x_height_mm)
    assert found["verdict"] == (verdict or ("too large" if counter.ratio > 1.5 else "right"))
    assert abs(found["slant_deg"] - found["hand_slant_deg"]) < 4


def page_of(tmp_path, rings, name="letters.png", look=PLAIN):
    path = tmp_path / name
    path.write_bytes(letters_page.letters_page(np.random.default_rng(3), look, rings, {"marker": "pebble"}))
    return path


def test_a_filled_bowl_is_closed_and_has_no_ratio(tmp_path):
    rings, _, _ = letters_page.hand_letter("pebble")
    outer = max(rings, key=lambda ring: abs(letters_page.signed(ring)))
    holes = [ring for ring in rings if letters_page.signed(ring) < 0]
    bowl = max(holes, key=lambda ring: ring[:, 1].mean())
    filled = [ring for ring in rings if ring is not bowl]
    assert any(ring is outer for ring in filled)
    found = gg.check(page_of(tmp_path, filled), "pebble").as_dict()
    assert found["verdict"] == "closed"
    assert found["ratio"] is None


@pytest.mark.parametrize(("gap", "measured"), [(0.2, True), (1.2, False)])
def test_a_small_gap_is_taken_for_closed_and_a_wide_one_gives_no_ratio(tmp_path, gap, measured):
    """A slit cut through the thin right side of the bowl, as wide as that share of a downstroke."""
    rings, counter, lettering = letters_page.hand_letter("pebble", 1.3)
    middle = (counter.chord.left + counter.chord.right) / 2
    wide, high = 0.65 * counter.width_mm + 4 * lettering.marker.hairline_mm, gap * counter.downstroke_mm
    slit = np.array([(0.0, -high / 2), (0.0, high / 2), (wide, high / 2), (wide, -high / 2)])
    cut = [*rings, slit + np.array([middle.real, middle.imag])]
    path = page_of(tmp_path, cut)
    found = gg.check(path, "pebble")
    if not measured:
        assert found.as_dict()["ratio"] is None
        return
    assert found.as_dict()["ratio"] == pytest.approx(counter.ratio, rel=0.05)
    assert any("gap" in note for note in found.notes)


def test_another_downstroke_than_the_markers_is_told(tmp_path):
    rings, _, _ = letters_page.hand_letter("pebble")
    wider = [ring * 1.25 for ring in rings]
    found = gg.check(page_of(tmp_path, wider), "pebble")
    assert found.as_dict()["verdict"] == "right"
    assert any("% thicker" in note for note in found.notes)


def test_a_class_makes_one_table_and_one_picture(cli, home):
    rings, _, _ = letters_page.hand_letter("pebble")
    page_of(home, rings, "anna.png")
    page_of(home, rings, "leif.png", replace(PLAIN, ink=simulate.INKS["blue"]))
    Image.new("RGB", (400, 300), (230, 230, 225)).save(home / "tom.png")
    result = cli("check", "anna.png", "leif.png", "tom.png", "--marker", "pebble", "--report", "class.png")
    assert result.code == 0, result.err
    assert result.out.splitlines()[0].split()[0] == "picture"
    assert [line.split()[0] for line in result.out.splitlines()[1:4]] == ["anna.png", "leif.png", "tom.png"]
    with Image.open(home / "class.png") as picture:
        assert not picture.info
        assert not picture.getexif()
    told = json.loads(cli("check", "anna.png", "--marker", "pebble", "--json").out)
    assert {"marker", "letters", "counter_mm", "downstroke_mm", "ratio", "ratio_95", "x_height_mm", "verdict",
            "size_to_write_mm"} <= set(told)  # fmt: skip


def test_pages_of_the_other_kind_are_told(tmp_path):
    data, _ = simulate.scan(np.random.default_rng(1), (2.4, 0.5), PLAIN)
    path = tmp_path / "strokes.png"
    path.write_bytes(data)
    with pytest.raises(GuidegenError, match="page of strokes"):
        gg.check(path, "pebble")
    rings, _, _ = letters_page.hand_letter("pebble")
    with pytest.raises(GuidegenError, match="page of letters"):
        gg.measure(page_of(tmp_path, rings), "tidepen")


def test_nothing_of_the_photograph_stands_in_the_report(tmp_path):
    """A photograph with words in its metadata: none of them is in the picture that is made."""
    rings, _, _ = letters_page.hand_letter("pebble")
    image = Image.open(io.BytesIO(page_of(tmp_path, rings).read_bytes()))
    exif = Image.Exif()
    exif[0x010E] = "harbour-school-secret"
    path = tmp_path / "said.jpg"
    image.convert("RGB").save(path, "JPEG", quality=95, dpi=(300, 300), exif=exif, comment=b"harbour-school-secret")
    assert b"harbour-school-secret" in path.read_bytes()
    assert b"harbour-school-secret" not in gg.check(path, "pebble").report("jpg")
