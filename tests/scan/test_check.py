"""Letters of known white and downstroke on simulated pages, judged from the file alone.

Written letters are the hand's own e at several sizes, whose ratio the sizing's own rule says from the outlines, letters
of published faces, whose ratio shapely says, and letters with faults: a bowl that is filled, one with a gap.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache

import faces
import letters_page
import numpy as np
import pytest
import sheets_page
import simulate
from PIL import Image

import guidegen as gg
from guidegen.errors import GuidegenError

PLAIN = simulate.Look(dpi=300, gamma=0, blur_px=0.6)


@cache
def word(text, factor=1.0):
    return sheets_page.word("pebble", text, factor)


def page_of(folder, rings, name="letters.png", look=PLAIN, lines=(), count=3, x=6.5, width_mm=0.2):
    """A picture of some of the same letters, 2.4 x-heights apart, on plain paper or on black lines."""
    size = (2.4 * x * count + 30, 4 * x + 40)
    print_ = sheets_page.ruled(size, [10 + 2.5 * x + y for y in lines], width_mm) if lines else None
    letters = [sheets_page.placed(rings, complex(10 + x + 2.4 * x * n, 10 + 2.5 * x)) for n in range(count)]
    data = sheets_page.seen(np.random.default_rng(3), look, (10, 10, 2.4 * x * count, 3.5 * x), print_, letters)
    path = folder / name
    path.write_bytes(data)
    return path


def without_resolution(path):
    image = Image.open(path)
    image.load()
    image.save(path, "PNG")
    return path


def test_white_over_downstroke_is_that_of_the_letter_on_a_page_of_boxes(tmp_path):
    rng = np.random.default_rng(8001)
    rings, counter, lettering = letters_page.hand_letter("pebble", 1.2)
    path = tmp_path / "letters.png"
    look = simulate.ruffled(rng, "scan", 300)
    path.write_bytes(letters_page.letters_page(rng, look, rings, {"marker": "pebble"}))
    found = gg.check(path, "pebble").as_dict()
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)
    assert found["x_height_mm"] == pytest.approx(lettering.x_height_mm, rel=0.02)
    assert found["counter_mm"] == pytest.approx(counter.width_mm, rel=0.04)
    assert found["downstroke_mm"] == pytest.approx(counter.downstroke_mm, rel=0.04)
    assert found["size_to_write_mm"] == pytest.approx(gg.right_size("pebble").x_height_mm)
    assert found["verdict"] == "right"
    assert abs(found["slant_deg"] - found["hand_slant_deg"]) < 4
    with pytest.raises(GuidegenError, match="page of letters"):
        gg.measure(path, "tidepen")


@pytest.mark.parametrize(
    ("factor", "lines", "turn_deg"),
    [(1.0, (), 1.0), (0.75, (-6.5, 0), -1.3), (1.3, (-9, -6.5, -3.2, 0, 3.2), 0.5)],
    ids=["plain", "between lines", "lines across"],
)
def test_letters_are_found_on_any_paper(tmp_path, factor, lines, turn_deg):
    rings, counter, lettering = word("e", factor)
    path = page_of(tmp_path, rings, lines=lines, look=replace(PLAIN, turn_deg=turn_deg))
    found = gg.check(path, "pebble").as_dict()
    assert found["letters"] == 3
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)
    assert found["downstroke_mm"] == pytest.approx(1.6, rel=0.04)
    assert found["x_height_mm"] == pytest.approx(lettering.x_height_mm, rel=0.06)
    assert found["scale"]["from"] == "resolution"


def test_in_words_only_the_bowl_of_e_counts(tmp_path):
    """d, h and l have bowls or loops too; every e of the words is found, and nothing else."""
    rings, counter, _ = word("helde")
    found = gg.check(page_of(tmp_path, rings, count=1, x=34), "pebble").as_dict()
    assert found["letters"] == 2
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)


def test_a_sheet_of_ours_tells_its_scale_by_its_bar_and_which_way_is_up(tmp_path):
    sheet = gg.sheet("pebble", paper="a6", proof="bar", header=False, model=False)
    rings, counter, lettering = word("e")
    dark = simulate.printed(sheet, 600)
    letters = [sheets_page.placed(rings, complex(22 + 16 * n, 48.5)) for n in range(4)]  # on a line
    look = replace(PLAIN, dpi=250, printer=(1.01, 1.01), turn_deg=181)
    path = tmp_path / "sheet.png"
    path.write_bytes(sheets_page.seen(np.random.default_rng(4), look, (8, 15, 90, 110), dark, letters))
    found = gg.check(without_resolution(path), "pebble", printer="101x101").as_dict()
    assert found["scale"]["from"] == "bar"
    assert found["letters"] == 4
    assert found["x_height_mm"] == pytest.approx(lettering.x_height_mm, rel=0.03)
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)


def test_without_a_scale_the_rows_tell_it_or_the_markers_own_downstroke(tmp_path):
    rings, counter, lettering = word("e", 1.2)
    path = without_resolution(page_of(tmp_path, rings, lines=(-lettering.x_height_mm, 0)))
    rows = gg.check(path, "pebble", x_height_mm=lettering.x_height_mm).as_dict()
    assert rows["scale"]["from"] == "x-height"
    assert rows["downstroke_mm"] == pytest.approx(1.6, rel=0.05)
    none = gg.check(path, "pebble")
    assert none.as_dict()["scale"]["from"] == "profile"
    assert none.as_dict()["downstroke_mm"] == pytest.approx(1.6)
    assert any("nothing tells the scale" in note for note in none.notes)
    assert none.as_dict()["ratio"] == pytest.approx(counter.ratio, rel=0.03)


@pytest.mark.parametrize("name", ["dancing-script", "kalam"])
def test_letters_of_published_faces(tmp_path, name):
    letter = faces.face_letter(name)
    path = page_of(tmp_path, [ring * 8.0 for ring in letter.rings], x=8.0)
    found = gg.check(path, "pebble", slant_deg=letter.slant_deg).as_dict()
    assert found["ratio"] == pytest.approx(letter.ratio, rel=0.03)
    closed = gg.check(page_of(tmp_path, [r * 8.0 for r in faces.fill_bowl(letter)], x=8.0), "pebble").as_dict()
    assert (closed["verdict"], closed["ratio"]) == ("closed", None)
    rings = [ring * 8.0 for ring in faces.cut_bowl(letter, 0, 0.6)]
    told = gg.check(page_of(tmp_path, rings, x=8.0), "pebble")
    assert told.as_dict()["ratio"] is None
    assert told.as_dict()["verdict"] is None
    assert told.as_dict()["left_out"] == {"open": 3}
    assert "open" in told.lines()[0]


def test_a_small_gap_is_taken_for_closed_and_told(tmp_path):
    letter = faces.face_letter("dancing-script")
    found = gg.check(page_of(tmp_path, [r * 8.0 for r in faces.cut_bowl(letter, 40, 0.25)], x=8.0), "pebble",
                     slant_deg=letter.slant_deg)  # fmt: skip
    assert found.as_dict()["ratio"] == pytest.approx(letter.ratio, rel=0.06)
    assert any("small gap" in note for note in found.notes)


def test_closed_letters_that_are_tall_are_not_told_to_be_larger(tmp_path):
    letter = faces.face_letter("kalam")
    tall = gg.check(page_of(tmp_path, [r * 8.0 for r in faces.fill_bowl(letter)], x=8.0), "pebble")
    assert "make the bowl wider" in tall.lines()[0]
    low = gg.check(page_of(tmp_path, [r * 5.0 for r in faces.fill_bowl(letter)], "low.png", x=5.0), "pebble")
    assert "write larger" in low.lines()[0]


def test_a_row_of_e_lying_with_its_head_down_is_turned_and_told(tmp_path):
    rings, counter, _ = word("e")
    look = replace(PLAIN, turn_deg=180.4)
    found = gg.check(page_of(tmp_path, rings, look=look, lines=(-6.5, 0)), "pebble")
    assert found.as_dict()["ratio"] == pytest.approx(counter.ratio, rel=0.03)
    assert any("head down" in note for note in found.notes)


def test_white_of_a_fifth_of_the_stroke_is_seen(tmp_path):
    rings, counter, _ = word("e", 0.45)
    found = gg.check(page_of(tmp_path, rings, look=replace(PLAIN, dpi=600), x=4.5), "pebble").as_dict()
    assert found["verdict"] == "too small"
    assert found["ratio"] == pytest.approx(counter.ratio, abs=0.04)


@pytest.mark.parametrize("way_deg", [0, 90])
def test_a_sheet_photographed_from_the_side_tells_how_rough_its_millimetres_are(tmp_path, way_deg):
    sheet = gg.sheet("pebble", paper="a6", proof="bar", header=False, model=False)
    rings, counter, lettering = word("e")
    dark = simulate.printed(sheet, 600)
    letters = [sheets_page.placed(rings, complex(22 + 16 * n, 48.5)) for n in range(4)]
    look = replace(PLAIN, photo=True, tilt_deg=8, tilt_way_deg=way_deg, pixels=(1800, 2400), distance_mm=200)
    path = tmp_path / "sheet.png"
    path.write_bytes(sheets_page.seen(np.random.default_rng(4), look, (4, 6, 97, 132), dark, letters))
    found = gg.check(path, "pebble", printer="100x100").as_dict()
    assert (found["kind"], found["scale"]["from"]) == ("photo", "bar")
    low, high = found["x_height_95_mm"]
    assert low < lettering.x_height_mm < high
    assert high - low < 0.4 * lettering.x_height_mm
    assert found["ratio"] == pytest.approx(counter.ratio, rel=0.03)


def test_a_card_beside_the_boxes_tells_the_scale(tmp_path):
    rings, _, lettering = letters_page.hand_letter("pebble")
    card = simulate.Card(100 + 227j, 3)
    look = simulate.Look(photo=True, gamma=0, pixels=(2100, 2050), distance_mm=200, noise=0.006, blur_px=1.0,
                         jpeg=92, printer=(0.97, 0.97), card=card, tilt_deg=6)  # fmt: skip
    path = tmp_path / "card.jpg"
    path.write_bytes(letters_page.letters_page(np.random.default_rng(7), look, rings, {"marker": "pebble"}))
    found = gg.check(path, "pebble", card=True).as_dict()
    assert found["scale"]["from"] == "card"
    assert found["scale"]["printer"] == pytest.approx(look.printer, rel=0.004)
    assert found["x_height_mm"] == pytest.approx(lettering.x_height_mm, rel=0.02)
    with pytest.raises(GuidegenError, match="no rings"):
        gg.check(page_of(tmp_path, word("e")[0]), "pebble", card=True)
    with pytest.raises(GuidegenError, match="one scale"):
        gg.check(path, "pebble", card=True, printer="99x99")


def test_another_downstroke_than_the_markers_is_told(tmp_path):
    rings, _, _ = word("e")
    found = gg.check(page_of(tmp_path, [ring * 1.25 for ring in rings]), "pebble")
    assert found.as_dict()["verdict"] == "right"
    assert any("% thicker" in note for note in found.notes)


def test_a_class_makes_one_table_and_one_picture(cli, home):
    rings, _, _ = word("e")
    page_of(home, rings, "anna.png")
    page_of(home, rings, "leif.png", replace(PLAIN, ink=simulate.INKS["blue"]))
    Image.new("RGB", (400, 300), (230, 230, 225)).save(home / "tom.png")
    result = cli("check", "anna.png", "leif.png", "tom.png", "--marker", "pebble", "--report", "class.png",
                 "--language", "de")  # fmt: skip
    assert result.code == 0, result.err
    assert result.out.splitlines()[0].split()[0] == "picture"
    assert [line.split()[0] for line in result.out.splitlines()[1:4]] == ["anna.png", "leif.png", "tom.png"]
    with Image.open(home / "class.png") as picture:
        assert not picture.info
        assert not picture.getexif()
    told = json.loads(cli("check", "anna.png", "--marker", "pebble", "--json").out)
    assert {"marker", "letters", "counter_mm", "downstroke_mm", "ratio", "ratio_95", "x_height_mm", "verdict",
            "size_to_write_mm"} <= set(told)  # fmt: skip


def test_pictures_in_memory_have_the_names_they_are_given(tmp_path):
    rings, _, _ = word("e")
    data = page_of(tmp_path, rings).read_bytes()
    found = gg.check([data, b"nothing"], "pebble", names=["Anna", "Leif"])
    assert [one["image"] for one in found.as_dict()["pictures"]] == ["Anna", "Leif"]
    assert found.as_dict()["pictures"][1]["error"].startswith("Leif: found no picture")
    english, german = (gg.check(data, "pebble", language=language).report() for language in ("en", "de"))
    same = english == german
    assert not same
    with pytest.raises(GuidegenError, match="1 names"):
        gg.check([data, data], "pebble", names=["Anna"])


def test_pages_of_the_other_kind_are_told(tmp_path):
    data, _ = simulate.scan(np.random.default_rng(1), (2.4, 0.5), PLAIN)
    path = tmp_path / "strokes.png"
    path.write_bytes(data)
    with pytest.raises(GuidegenError, match="page of strokes"):
        gg.check(path, "pebble")


def test_nothing_of_the_photograph_stands_in_the_report(tmp_path):
    """A photograph with words in its metadata: none of them is in the picture that is made."""
    rings, _, _ = word("e")
    image = Image.open(io.BytesIO(page_of(tmp_path, rings).read_bytes()))
    exif = Image.Exif()
    exif[0x010E] = "harbour-school-secret"
    path = tmp_path / "said.jpg"
    image.convert("RGB").save(path, "JPEG", quality=95, dpi=(300, 300), exif=exif, comment=b"harbour-school-secret")
    assert b"harbour-school-secret" in path.read_bytes()
    assert b"harbour-school-secret" not in gg.check(path, "pebble").report("jpg")


def noise(size=(900, 700)):
    return Image.fromarray(np.random.default_rng(2).integers(0, 255, (*size[::-1], 3), dtype=np.uint8))


def text_page():
    """A page of small print: its e are letters too, but of no marker."""
    return Image.fromarray(255 - simulate.printed(gg.sheet("pebble", model=False), 150)).convert("RGB")


HOSTILE = {
    "black": lambda: Image.new("RGB", (800, 600)),
    "white": lambda: Image.new("RGB", (800, 600), "white"),
    "half": lambda: Image.fromarray(np.repeat(np.repeat(np.arange(2, dtype=np.uint8) * 200, 400)[None], 600, 0)),
    "noise": noise,
    "text": text_page,
    "gradient": lambda: Image.linear_gradient("L").resize((900, 900)),
    "checkers": lambda: Image.fromarray((np.indices((900, 900)).sum(axis=0) // 20 % 2 * 255).astype(np.uint8)),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_holds_no_letters_is_refused_in_one_line(tmp_path, name):
    path = tmp_path / "picture.png"
    HOSTILE[name]().save(path)
    with pytest.raises(GuidegenError) as raised:
        gg.check(path, "pebble")
    assert "\n" not in str(raised.value)
    assert str(raised.value).startswith(str(path))


def test_a_resolution_that_no_scanner_has_is_refused():
    with pytest.raises(GuidegenError, match="from 50 to 10000"):
        gg.check(b"a picture", "pebble", dpi=5)
