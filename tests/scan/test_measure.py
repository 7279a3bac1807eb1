"""Strokes of known width on simulated pages, read back from the file alone; and what cannot be measured, refused.

The bounds are those asked of 200 pages each in ``bench_scan.py``; here a few pages stand for them.
"""

from __future__ import annotations

import io
import json
import re
import struct
from dataclasses import replace

import numpy as np
import pytest
import simulate
from PIL import Image, ImageFilter, ImageOps
from simulate import INKS, Look
from unfit_pictures import coins, spot

import guidegen as gg
from guidegen.errors import GuidegenError

PLAIN = Look(dpi=300, gamma=0)
SMALL = {"paper": "a6"}
NEAR = Look(photo=True, gamma=0, pixels=(1800, 1500), distance_mm=150, noise=0.006, blur_px=1.0, jpeg=92)


def saved(folder, data, name="page.png"):
    path = folder / name
    path.write_bytes(data)
    return path


def errors_um(found, drawn):
    """How far the means are from those of the strokes that were kept, and whether the measuring interval holds them."""
    (marker,) = found._found
    made = []
    for kind, width, true in (
        ("downstroke", marker.downstroke, drawn.downstrokes),
        ("hairline", marker.hairline, drawn.hairlines),
    ):
        own = [stroke for _, stroke in marker.strokes if stroke.kind == kind]
        kept = [w for stroke, w in zip(own, true, strict=True) if not stroke.fault]
        made.append(1000 * (width.mm - np.mean(kept)))
    return made


@pytest.mark.parametrize(
    ("seed", "widths", "dpi", "bounds"),
    [(7001, (3.2, 0.6), 600, (12, 14)), (7002, (1.1, 0.3), 600, (12, 14)), (7003, (1.6, 0.35), 300, (16, 20))],
)
def test_a_scan_tells_the_widths(tmp_path, seed, widths, dpi, bounds):
    rng = np.random.default_rng(seed)
    data, drawn = simulate.scan(rng, widths, simulate.ruffled(rng, "scan", dpi), {"paper": "a5"})
    found = gg.measure(saved(tmp_path, data), "tidepen")
    assert found.as_dict()["kind"] == "scan"
    assert found.as_dict()["scale"]["from"] == "resolution"
    assert all(abs(error) < bound for error, bound in zip(errors_um(found, drawn), bounds, strict=True))


def test_a_photograph_tells_the_widths_when_the_print_was_measured(tmp_path):
    rng = np.random.default_rng(7010)
    look = simulate.ruffled(rng, "photo")
    data, drawn = simulate.photo(rng, (3.2, 0.6), look)
    path = saved(tmp_path, data, "page.jpg")
    found = gg.measure(path, "tidepen", printer="x".join(f"{100 * side:.3f}" for side in look.printer))
    assert found.as_dict()["kind"] == "photo"
    assert found.as_dict()["scale"]["from"] == "ruler"
    assert all(abs(error) < 15 for error in errors_um(found, drawn))
    guessed = gg.measure(path, "tidepen")
    low, high = guessed.as_dict()["downstroke_95_mm"]
    assert guessed.as_dict()["scale"]["from"] == "none"
    assert (high - low) / 2 >= 0.02 * guessed.as_dict()["downstroke_mm"]
    assert any("2 %" in note for note in guessed.notes)
    told = [note for note in found.notes if "the usual curve (sRGB) was assumed" in note]
    assert len(told) == 1
    assert "scanner" not in told[0]


@pytest.mark.parametrize("way", [0, 180])
def test_thin_strokes_of_a_tilted_page_are_fitted_with_the_edges_of_their_own_pixels(tmp_path, way):
    """Pixels of the lower row are larger or smaller than those of the upper one; an edge is as many of them soft."""
    look = replace(NEAR, tilt_deg=22, tilt_way_deg=way, blur_px=1.5, gain_mm=0.004)
    data, drawn = simulate.photo(np.random.default_rng(7081), (1.2, 0.25), look, SMALL)
    found = gg.measure(saved(tmp_path, data, "page.jpg"), "tidepen", printer="100x100")
    assert abs(errors_um(found, drawn)[1]) < 8


@pytest.fixture(scope="module")
def plain_page():
    rng = np.random.default_rng(7020)
    return simulate.scan(rng, (2.4, 0.5), replace(PLAIN, printer=(0.99, 1.012)), SMALL)


def test_the_rings_tell_what_the_printer_makes(tmp_path, plain_page):
    found = gg.measure(saved(tmp_path, plain_page[0]), "tidepen")
    assert found.as_dict()["scale"]["printer"] == pytest.approx([0.99, 1.012], abs=4e-4)
    assert any("99.0 across and 101.2 down" in note for note in found.notes)


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_a_page_may_lie_any_way(tmp_path, plain_page, turn):
    image = Image.open(io.BytesIO(plain_page[0]))
    turned = io.BytesIO()
    image.rotate(90 * turn, expand=True).save(turned, "PNG", dpi=(300, 300))
    straight = gg.measure(saved(tmp_path, plain_page[0]), "tidepen")
    found = gg.measure(saved(tmp_path, turned.getvalue(), "turned.png"), "tidepen")
    assert found.markers[0].downstroke_mm == pytest.approx(straight.markers[0].downstroke_mm, abs=0.001)


@pytest.mark.parametrize("kind", ["TIFF", "WEBP", "PDF", "JPEG"])
def test_every_kind_of_file_gives_the_same(tmp_path, plain_page, kind):
    image = Image.open(io.BytesIO(plain_page[0])).convert("RGB")
    path = tmp_path / f"page.{kind.lower()}"
    more = {"lossless": True} if kind == "WEBP" else {"quality": 95} if kind != "TIFF" else {}
    image.save(path, kind, **({"resolution": 300} if kind == "PDF" else {"dpi": (300, 300)}), **more)
    straight = gg.measure(saved(tmp_path, plain_page[0]), "tidepen")
    found = gg.measure(path, "tidepen", dpi=300 if kind == "WEBP" else None)
    assert found.markers[0].downstroke_mm == pytest.approx(straight.markers[0].downstroke_mm, abs=0.003)


def test_linear_light_that_the_file_states_is_taken_for_what_it_is(tmp_path):
    """The same page coded by the curve of sRGB, and as plain light in a PNG whose gAMA chunk says 1.0."""
    rng = np.random.default_rng(7030)
    look = replace(PLAIN, ink=INKS["blue"])
    data, drawn = simulate.scan(rng, (2.4, 0.5), look, SMALL)
    rng = np.random.default_rng(7030)
    plain, _ = simulate.scan(rng, (2.4, 0.5), replace(look, gamma=1.0), SMALL)
    head, chunk = plain[:33], b"gAMA" + (100000).to_bytes(4, "big")
    import zlib

    stated = head + (4).to_bytes(4, "big") + chunk + zlib.crc32(chunk).to_bytes(4, "big") + plain[33:]
    coded = gg.measure(saved(tmp_path, data), "tidepen")
    found = gg.measure(saved(tmp_path, stated, "linear.png"), "tidepen")
    assert errors_um(coded, drawn)[0] == pytest.approx(0, abs=6)
    assert errors_um(found, drawn)[0] == pytest.approx(0, abs=9)  # plain light in 8 bits is coarse in the dark


def icc_profile(name, gamma):
    """A colour profile with the primaries of sRGB (adapted to D50) and a pure power, laid out as ICC.1:2001-04 says."""

    def xyz(*values):
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(65536 * value)) for value in values)

    text = name.encode() + b"\0"
    desc = b"desc\0\0\0\0" + struct.pack(">I", len(text)) + text + bytes(78)
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(256 * gamma))
    tags = {
        b"desc": desc, b"wtpt": xyz(0.9642, 1.0, 0.8249), b"rXYZ": xyz(0.4361, 0.2225, 0.0139),
        b"gXYZ": xyz(0.3851, 0.7169, 0.0971), b"bXYZ": xyz(0.1431, 0.0606, 0.7141),
        b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    table, body = struct.pack(">I", len(tags)), b""
    for tag, value in tags.items():
        table += tag + struct.pack(">II", 128 + 4 + 12 * len(tags) + len(body), len(value))
        body += value + bytes(-len(value) % 4)
    head = struct.pack(">I4sI4s4s4s12x4s", 128 + len(table) + len(body), bytes(4), 0x02200000, b"scnr", b"RGB ",
                       b"XYZ ", b"acsp")  # fmt: skip
    return (head + bytes(28) + xyz(0.9642, 1.0, 0.8249)[8:]).ljust(128, b"\0") + table + body


@pytest.mark.parametrize(("name", "gamma"), [("plain light", 1.0), ("sRGB gamma 1", 1.0), ("1.8", 1.8)])
def test_light_is_read_as_the_profile_says_whatever_its_name(tmp_path, name, gamma):
    rng = np.random.default_rng(7031)
    data, drawn = simulate.scan(rng, (2.4, 0.5), replace(PLAIN, gamma=gamma), SMALL)
    path = saved(tmp_path, changed(data, lambda image: image, icc_profile=icc_profile(name, gamma)))
    found = gg.measure(path, "tidepen")
    assert errors_um(found, drawn)[0] == pytest.approx(0, abs=9)
    assert not any("sRGB" in note for note in found.notes)


def test_a_profile_of_the_usual_curve_changes_nothing(tmp_path, plain_page):
    from PIL import ImageCms

    usual = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    straight = gg.measure(saved(tmp_path, plain_page[0]), "tidepen")
    stated = changed(plain_page[0], lambda image: image, icc_profile=usual)
    found = gg.measure(saved(tmp_path, stated, "stated.png"), "tidepen")
    assert found.markers == straight.markers
    assert any("sRGB" in note for note in straight.notes)
    assert not any("sRGB" in note for note in found.notes)


@pytest.mark.parametrize(("kind", "stated"), [("JPEG", False), ("TIFF", False), ("JPEG", True)])
def test_a_curve_that_the_file_does_not_state_is_said_to_be_assumed(tmp_path, plain_page, kind, stated):
    exif = Image.Exif()
    if stated:
        exif.get_ifd(0x8769)[0xA001] = 1  # ColorSpace: sRGB, as EXIF 2.3 has it
    path = tmp_path / "page"
    Image.open(io.BytesIO(plain_page[0])).convert("RGB").save(path, kind, dpi=(300, 300), exif=exif)
    found = gg.measure(path, "tidepen")
    told = [note for note in found.notes if "(sRGB) was assumed, which is wrong where a scanner" in note]
    (_, page), *_ = found.report().files("svg")
    drawn = page.decode()
    assert (len(told), "(sRGB) was assumed" in drawn) == ((0, False) if stated else (1, True))


def test_the_report_says_what_the_marker_draws_and_which_size_suits_it(tmp_path, plain_page):
    found = gg.measure(saved(tmp_path, plain_page[0]), "tidepen")
    told = found.as_dict()
    thick, thin = told["downstroke_mm"], told["hairline_mm"]
    (_, page), *_ = found.report().files("svg")
    words = re.findall(r"<title[^>]*>([^<]*)</title>", page.decode())
    drawn = " ".join(words)
    assert "Marker: Tidepen" in words
    assert f"Pressed it draws {thick:.2f} mm, light {thin:.2f} mm: thick is {thick / thin:.1f} times thin." in drawn
    assert f"such as e, {gg.right_size(found.markers[0]).x_height_mm:.1f} mm high" in drawn
    named = re.findall(r"thinnest ([0-9.]+) mm \(stroke (\d)\), thickest ([0-9.]+) mm \(stroke (\d)\)", drawn)
    assert len(named) == 2  # a row of pressed strokes and a row of light ones
    singles = {word.removesuffix(" mm") for word in words}
    for low, low_at, high, high_at in named:
        assert float(low) < float(high)
        assert {low, high} <= singles
        assert low_at != high_at


def test_pictures_of_one_marker_are_pooled(tmp_path, plain_page):
    rng = np.random.default_rng(7040)
    second, _ = simulate.scan(rng, (2.4, 0.5), PLAIN, SMALL)
    paths = [saved(tmp_path, plain_page[0]), saved(tmp_path, second, "second.png")]
    found = gg.measure(paths, "tidepen").as_dict()
    assert found["samples"]["downstroke"] + found["dropped"].get("far off", 0) > 4


def test_four_markers_on_one_page_have_a_name_each(tmp_path):
    rng = np.random.default_rng(7050)
    data, _ = simulate.scan(rng, (2.0, 0.5), PLAIN, {"copies": 4}, markers=(0, 1, 2, 3))
    path = saved(tmp_path, data)
    found = gg.measure(path, ("quay", "buoy", "mole", "pier"))
    assert [marker.name for marker in found.markers] == ["quay", "buoy", "mole", "pier"]
    assert all(marker.downstroke_mm == pytest.approx(2.0, rel=0.04) for marker in found.markers)
    assert len(found.as_dict()["markers"]) == 4
    with pytest.raises(GuidegenError, match="1 name for a page of 4"):
        gg.measure(path, "quay")


def test_tips_of_other_kinds(tmp_path):
    rng = np.random.default_rng(7060)
    data, _ = simulate.scan(rng, (3.0, 0.35), PLAIN, {"tip": "broad", "nib_angle_deg": 35})
    (marker,) = gg.measure(saved(tmp_path, data), "quay").markers
    assert (marker.tip, marker.nib_angle_deg) == ("broad", pytest.approx(35, abs=2.5))
    data, _ = simulate.scan(rng, (0.8, 0.8), PLAIN, {"tip": "round", **SMALL})
    (marker,) = gg.measure(saved(tmp_path, data), "buoy").markers
    assert marker.tip == "round"
    assert marker.downstroke_mm == marker.hairline_mm == pytest.approx(0.8, abs=0.03)


def test_strokes_of_nine_millimetres_are_measured_in_wide_boxes(tmp_path):
    rng = np.random.default_rng(7065)
    data, drawn = simulate.scan(rng, (9.3, 2.1), PLAIN, {"wide": True, "paper": "a5"})
    found = gg.measure(saved(tmp_path, data), "quay")
    assert all(abs(error) < 16 for error in errors_um(found, drawn))
    data, _ = simulate.scan(rng, (9.3, 2.1), PLAIN, {"paper": "a5"})
    with pytest.raises(GuidegenError, match=r"too short.*swatch --wide"):
        gg.measure(saved(tmp_path, data), "quay")


def changed(data, change, **options):
    file = io.BytesIO()
    change(Image.open(io.BytesIO(data))).save(file, "PNG", **{"dpi": (300, 300), **options})
    return file.getvalue()


def brighter(image):
    return Image.fromarray(np.clip(np.asarray(image).astype(float) * 1.35, 0, 255).astype(np.uint8))


def spotted(image):
    across, down = np.meshgrid(*(np.linspace(-1, 1, side) for side in image.size))
    light = 255 * np.exp(-6 * (across**2 + (down + 0.3) ** 2))
    return Image.fromarray(np.clip(np.asarray(image) + light[..., None], 0, 255).astype(np.uint8))


def shaded(image):
    """Shadows with edges of a millimetre across the strokes, half as light."""
    across, down = np.meshgrid(*(np.arange(side) for side in image.size))
    edge = np.clip(0.5 + 3 * np.sin((across + 0.6 * down) / 45), 0, 1)
    return Image.fromarray((np.asarray(image) * (1 - 0.5 * edge[..., None])).astype(np.uint8))


UNFIT = {
    "mirror": (lambda i: i.transpose(Image.Transpose.FLIP_LEFT_RIGHT), {}, "mirror"),
    "cut-off": (lambda i: i.crop((300, 0, *i.size)), {}, "the picture ends before those at the left"),
    "lit-rings": (spot(0.5, 0.0), {}, "10 of the twelve rings: light hides those at the top"),
    "hidden-ring": (coins, {}, "11 of the twelve rings: something hides the one at the left"),
    "blank": (lambda i: Image.new("RGB", i.size, (230, 230, 228)), {}, "no rings"),
    "no-resolution": (lambda i: i, {"dpi": None}, "states no resolution"),
    "at-odds": (lambda i: i, {"dpi": (350, 350)}, "where the rings say about 30"),
    "two-colours": (lambda i: i.convert("L").point(lambda v: 255 * (v > 120)).convert("RGB"), {}, "two colours"),
    "one-bit": (lambda i: i.convert("1"), {}, "two colours"),
    "overexposed": (brighter, {}, "overexposed"),
    "coarse": (lambda i: i.reduce(4), {"dpi": (75, 75)}, "µm a pixel"),
    "blurred": (lambda i: i.filter(ImageFilter.GaussianBlur(3)), {}, "blurred"),
    "dark": (lambda i: i.point(lambda v: v // 5), {}, "a dark picture"),
    "few-greys": (lambda i: i.point(lambda v: 36 * round(v / 36)), {}, "levels of grey"),
    "inverted": (ImageOps.invert, {}, "no rings"),
    "stretched": (lambda i: i.resize((i.width, i.height * 11 // 10)), {}, "fitted to the page"),
    "glare": (spotted, {}, "without shadow or glare"),
    "shadow": (shaded, {}, "without shadow or glare"),
    "tiny": (lambda i: i.resize((40, 30)), {}, "40 x 30 pixels"),
}  # fmt: skip


@pytest.mark.parametrize("name", UNFIT)
def test_what_cannot_be_measured_is_refused_in_one_line(tmp_path, plain_page, name):
    change, options, told = UNFIT[name]
    data = changed(plain_page[0], change, **options)
    with pytest.raises(GuidegenError, match=told) as raised:
        gg.measure(saved(tmp_path, data), "tidepen")
    assert "\n" not in str(raised.value)


@pytest.mark.parametrize(
    ("look", "told"),
    [
        (replace(NEAR, tilt_deg=41, tilt_way_deg=30), r"tilted by (39|4\d)°"),
        (replace(NEAR, blur_px=6.0), "blurred"),
        (replace(NEAR, distance_mm=150, pixels=(640, 540)), "µm a pixel"),
    ],
)
def test_photographs_that_show_too_little_are_refused(tmp_path, look, told):
    data, _ = simulate.photo(np.random.default_rng(7080), (1.6, 0.35), look, SMALL)
    with pytest.raises(GuidegenError, match=told) as raised:
        gg.measure(saved(tmp_path, data, "page.jpg"), "tidepen", printer="100x100")
    assert "\n" not in str(raised.value)


def test_a_jpeg_of_low_quality_is_refused(tmp_path, plain_page):
    path = tmp_path / "page.jpg"
    Image.open(io.BytesIO(plain_page[0])).convert("RGB").save(path, quality=12, dpi=(300, 300))
    with pytest.raises(GuidegenError, match="quality of 85 or more"):
        gg.measure(path, "tidepen")


def test_a_page_without_strokes_or_with_pale_ones_is_refused(tmp_path):
    rng = np.random.default_rng(7070)
    data, _ = simulate.scan(rng, (2.4, 0.5), replace(PLAIN, ink=(0.92, 0.91, 0.9)), SMALL)
    with pytest.raises(GuidegenError, match="0 downstrokes"):
        gg.measure(saved(tmp_path, data), "tidepen")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "an empty file"),
        (b"no picture at all", "no picture"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "picture"),
        (b"%PDF-1.4 nothing", "damaged PDF"),
        (b"\0\0\0\x18ftypheic" + b"\0" * 40, "HEIC"),
        (b"GIF89a" + b"\0" * 40, "no picture"),
    ],
)
def test_files_that_are_no_pictures_are_refused(tmp_path, content, told):
    with pytest.raises(GuidegenError, match=told):
        gg.measure(saved(tmp_path, content), "tidepen")


def test_a_huge_picture_is_refused_before_it_is_decoded(tmp_path):
    file = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(file, "PNG")
    with pytest.raises(GuidegenError, match="at most 150 million pixels"):
        gg.measure(saved(tmp_path, file.getvalue()), "tidepen")


def test_the_command_writes_the_profile_once_and_a_report(cli, home, plain_page):
    (home / "scan.png").write_bytes(plain_page[0])
    result = cli("measure", "scan.png", "--name", "tidepen", "--report", "seen.svg", "-o", "tidepen.toml", "--json")
    assert result.code == 0, result.err
    told = json.loads(result.out)
    assert {"name", "kind", "downstroke_mm", "downstroke_95_mm", "downstroke_sd_mm", "hairline_mm", "hairline_95_mm",
            "hairline_sd_mm", "samples", "scale", "profile"} <= set(told)  # fmt: skip
    assert told["profile"] == "tidepen.toml"
    marker = gg.marker("tidepen.toml")
    assert marker.downstroke_mm == pytest.approx(told["downstroke_mm"], abs=1e-3)
    assert (home / "seen.svg").read_text().startswith("<?xml")
    again = cli("measure", "scan.png", "--name", "tidepen", "-o", "tidepen.toml")
    assert again.code == 2
    assert "exists already" in again.err
    assert cli("size", "tidepen.toml").code == 0
