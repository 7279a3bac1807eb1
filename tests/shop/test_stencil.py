"""Stencils: bridges hold every counter, stand where sign makers put them, and leave letters that can be read."""

from __future__ import annotations

import io
import math
import shutil
import subprocess

import cairosvg
import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.geometry.blade.nesting import parents
from guidegen.geometry.blade.stencil import CARRIED, bridged
from guidegen.geometry.measure import area, bounds, signed_area
from guidegen.geometry.path import Path, polyline, reverse
from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line
from guidegen.sheets.write import written_text
from guidegen.shop.cutting import CutOptions, prepare_for_cut
from guidegen.writers.svg import path_data

WORDS = [
    "tide", "boat", "harbour", "lantern", "quiet", "weather", "anchor", "island", "morning", "evening", "water",
    "river", "bridge", "storm", "cloud", "silver", "garden", "window", "letter", "paper", "pencil", "bottle",
    "kitchen", "market", "village", "winter", "summer", "autumn", "spring", "thunder", "rain", "sailor", "captain",
    "compass", "rope", "timber", "beach", "sand", "shell", "gull", "fish", "net", "light", "house", "tower", "stone",
    "wall", "path", "field", "meadow", "horse", "wagon", "wheel", "journey", "north", "south", "east", "west",
    "bread", "apple", "1868", "1986", "8080", "600", "908", "Boat 8", "Pier 6", "Dock 9", "Quay 4", "Berth 80",
    "Bay", "Dune", "Gate", "Port", "Reef", "Deep", "Ebb", "Flood", "Buoy", "Pond", "Bridge", "Open", "Closed",
    "PORT", "BOARD", "GARAGE", "DOOR", "PARADE", "ROAD", "PARK", "QUAD", "baggage", "package", "padded", "bobbed",
    "egged", "goods", "appeal", "opaque", "beget",
]  # fmt: skip


def lettered(marker: str, hand: str, text: str) -> tuple[Path, ...]:
    tool, style = load_marker(marker), load_hand(hand)
    return ink_line(set_line(Lettering(tool, style, right_size(tool, style).x_height_mm), text))


def picture(paths, px_per_mm: float, pad: float = 4.0) -> bytes:
    low, high = bounds(paths)
    width, height = (high - low).real + 2 * pad, (high - low).imag + 2 * pad
    data = path_data(tuple(paths), height, complex(pad, pad) - low)
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        f'<path d="{data}" fill="black" fill-rule="evenodd"/></svg>'
    )
    return cairosvg.svg2png(
        bytestring=drawing.encode(), background_color="white", output_width=round(width * px_per_mm)
    )


def sheet_pieces(paths, px_per_mm: float = 40) -> int:
    """How many pieces the sheet falls into, by flood filling a raster; specks under 0.005 mm2 are a notch's tip."""
    sheet = np.asarray(Image.open(io.BytesIO(picture(paths, px_per_mm))).convert("L")) > 127
    pieces, _ = ndimage.label(sheet)
    return int((np.bincount(pieces.ravel())[1:] > 0.005 * px_per_mm**2).sum())


def counters(paths) -> list[Path]:
    return [path for path, around in zip(paths, parents(paths, 0.02), strict=True) if len(around) % 2 == 1]


def read(pictures, folder) -> list[str]:
    """What tesseract (Debian) reads in each picture, taken as one line."""
    names = []
    for number, data in enumerate(pictures):
        names.append(folder / f"{number}.png")
        names[-1].write_bytes(data)
    listing = folder / "words.txt"
    listing.write_text("\n".join(map(str, names)))
    command = ["tesseract", str(listing), "-", "--psm", "7", "-l", "eng"]
    settings = {"OMP_THREAD_LIMIT": "1", "PATH": "/usr/local/bin:/usr/bin:/bin"}
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=settings)
    return [text.strip() for text in done.stdout.split("\f")][: len(names)]


def test_there_are_a_hundred_words():
    assert len(WORDS) == len(set(WORDS)) == 100


def rights(found) -> int:
    return sum(text.lower() == word.lower() for text, word in zip(found, WORDS, strict=True))


@pytest.mark.skipif(not shutil.which("tesseract"), reason="tesseract is not installed")
@pytest.mark.parametrize(("marker", "hand", "width"), [("flint", "print", 0.4), ("slate", "italic", 0.8)])
def test_stencilled_words_are_read_as_well_as_whole_ones(marker, hand, width, tmp_path):
    tool, style = load_marker(marker), load_hand(hand)
    px_per_mm = 24 / right_size(tool, style).x_height_mm
    whole = [lettered(marker, hand, word) for word in WORDS]
    cut = [bridged(paths, width, 0.01)[0] for paths in whole]
    (tmp_path / "whole").mkdir()
    (tmp_path / "cut").mkdir()
    plain = rights(read([picture(paths, px_per_mm) for paths in whole], tmp_path / "whole"))
    stencil = rights(read([picture(paths, px_per_mm) for paths in cut], tmp_path / "cut"))
    print(f"{hand}: {plain} whole, {stencil} stencilled of {len(WORDS)}")
    assert plain >= 60
    assert stencil >= plain - 5


@pytest.mark.parametrize(
    ("marker", "hand", "width"), [("flint", "print", 0.4), ("slate", "italic", 0.8), ("cobble", "joined", 1.0)]
)
def test_every_counter_is_tied_by_two_necks_and_the_sheet_stays_one(marker, hand, width):
    for text in ("8", "B", "a", "e", "g", "@", "&", "O"):
        whole = lettered(marker, hand, text)
        result, bridges = bridged(whole, width, 0.01)
        assert counters(result) == []
        assert sheet_pieces(result) == 1
        for hole in counters(whole):
            ends = [z for bridge in bridges for z in (bridge.start, bridge.end)]
            assert sum(inside(hole, z) for z in ends) >= 2, text


def inside(path: Path, z: complex) -> bool:
    import shapely

    from guidegen.geometry.measure import flatten

    spots = flatten(path, 1e-3)
    return bool(shapely.Polygon(np.stack([spots.real, spots.imag], axis=-1)).contains(shapely.Point(z.real, z.imag)))


def test_long_counters_get_more_necks():
    """No neck carries more than CARRIED widths of the counter."""
    ring = (rectangle(0, 0, 200, 40), reverse(rectangle(5, 5, 195, 35)))
    result, bridges = bridged(ring, 2.0, 0.01)
    assert len(bridges) >= 190 / (CARRIED * 2.0)
    assert counters(result) == []


def rectangle(left: float, low: float, right: float, top: float) -> Path:
    corners = [complex(left, low), complex(right, low), complex(right, top), complex(left, top)]
    return polyline(corners, closed=True)


def test_the_same_letter_is_bridged_the_same():
    result, bridges = bridged(lettered("flint", "print", "aoe aoe"), 0.4, 0.01)
    middles = [(bridge.start + bridge.end) / 2 for bridge in bridges]
    first, second = middles[: len(middles) // 2], middles[len(middles) // 2 :]
    by = second[0] - first[0]
    assert len(bridges) == 12
    assert [z + by for z in first] == pytest.approx(second, abs=1e-3)
    assert len(result) > 6


@pytest.mark.parametrize("slant", [90.0, 60.0])
def test_bridges_stand_upright_or_along_the_slant(slant):
    axis = complex(math.cos(math.radians(slant)), math.sin(math.radians(slant)))
    ring = (rectangle(10, 10, 40, 40), reverse(rectangle(14, 14, 36, 36)))
    result, bridges = bridged(ring, 2.0, 0.001, axis)
    assert len(bridges) == 2
    for bridge in bridges:
        assert abs(((bridge.end - bridge.start) / axis).imag) < 1e-6
    # a strip of 2 mm across 4 mm of ink, along its way: the two cross 4 / sin(slant) each
    assert area(ring) - area(result) == pytest.approx(2 * 2.0 * 4.0 / math.sin(math.radians(slant)), abs=0.02)


def cut(text: str, marker: str = "flint", hand: str = "print", **options):
    tool, style = load_marker(marker), load_hand(hand)
    plain = written_text(Lettering(tool, style, right_size(tool, style).x_height_mm), [text], None, proof=True)
    return prepare_for_cut(plain, CutOptions(slant_deg=style.slant_deg, **options))


def cut_paths(prepared) -> list[Path]:
    layers = (layer for layer in prepared.pages[0].layers if layer.id == "cut")
    return [path for layer in layers for item in layer.items for path in item.paths]


def test_a_bridge_wider_than_half_its_counter_is_told_with_its_letter():
    notes = " ".join(cut("tie boat", bridges_mm=2.0).notes)
    assert "8 bridges are wider than half of the white they hold in e, b, o, a:" in notes
    assert "wider than half" not in " ".join(cut("tie boat", bridges_mm=0.4).notes)


def test_a_letter_that_stands_alone_is_named_too():
    """On a sample page each of the three letters is a shape of its own."""
    notes = " ".join(gg.letter("cobble", char="o").for_cut(bridges_mm=3.0).notes)
    assert "wider than half of the white they hold in o:" in notes


def test_a_bridge_that_eats_the_letter_is_refused():
    with pytest.raises(GuidegenError, match="`bridges_mm`"):
        cut("eo", bridges_mm=40.0)


@pytest.mark.parametrize(("bridges", "sign"), [(None, 1), (0.5, -1)])
def test_kerf_leaves_what_is_kept_at_its_size(bridges, sign):
    """A beam of that width, following the path, burns to the letter's edge: outside letters, inside stencils."""
    import shapely

    from guidegen.geometry.blade.narrow import region

    true = region(cut_paths(cut("Bo8", bridges_mm=bridges)), 0.001)
    run = region(cut_paths(cut("Bo8", bridges_mm=bridges, kerf_mm=0.2)), 0.001)
    burnt = run.boundary.buffer(0.1)
    kept = run.difference(burnt) if sign > 0 else run.union(burnt)
    corners = 0.03 * len(shapely.get_parts(true)) * 8  # a beam is round: inside corners stay round
    assert kept.symmetric_difference(true).area < 0.012 * true.length + corners * 0.1
    assert run.area > true.area if sign > 0 else run.area < true.area


def test_a_weed_box_and_register_marks_are_cut_and_keep_every_rule():
    from guidegen.inspect.preflight import preflight
    from guidegen.readers import read_bytes
    from guidegen.writers import render

    prepared = cut("Bo8", weed_box_mm=4.0, register=True, kerf_mm=0.1)
    plain = bounds(tuple(cut_paths(cut("Bo8", kerf_mm=0.1))))
    page = prepared.pages[0]
    frame = next(path for path in cut_paths(prepared) if abs(bounds((path,))[0] - (plain[0] - 4 - 4j)) < 0.01)
    assert abs(bounds((frame,))[1] - (plain[1] + 4 + 4j)) < 0.01
    squares = [bounds((path,))[0] for path in cut_paths(prepared) if abs(abs(signed_area(path)) - 16) < 1e-6]
    assert sorted(squares, key=abs) == pytest.approx(
        sorted([2 + 2j, complex(page.width_mm - 6, 2), complex(2, page.height_mm - 6)], key=abs)
    )
    for file_format in ("svg", "dxf"):
        read_back = read_bytes(dict(render(prepared, file_format))[""], f"x.{file_format}")
        assert [f.rule for f in preflight(read_back, "cut") if f.status == "fail"] == []


def test_register_marks_want_room():
    tool, style = load_marker("flint"), load_hand("print")
    plain = written_text(Lettering(tool, style, 6.0), ["Bo"], None, margin_mm=1.0)
    with pytest.raises(GuidegenError, match="`margin_mm`"):
        prepare_for_cut(plain, CutOptions(register=True))


def test_the_summary_tells_how_long_the_machine_runs():
    from guidegen.scene import BLACK, Document, Layer, Page, Shape, Style

    square = Layer("ink", (Shape((rectangle(10, 10, 60, 60),), Style(fill=BLACK)),))
    prepared = prepare_for_cut(Document((Page(100.0, 80.0, (square,)),), "square"))
    assert prepared.notes == ("cut 0.20 m in 1 path",)
