"""Cut files: closed, united, ordered, nothing twice; bridges, thin places, mirror; nodes against another fitter."""

from __future__ import annotations

import io
import itertools
import math
import re
import subprocess

import cairosvg
import numpy as np
import pytest
import shapely
from PIL import Image
from scipy import ndimage

from guidegen.errors import GuidegenError
from guidegen.geometry import cubic as cb
from guidegen.geometry.blade import defects
from guidegen.geometry.blade.narrow import thickest, thin_places
from guidegen.geometry.blade.nesting import parents
from guidegen.geometry.blade.stencil import bridged, united
from guidegen.geometry.blade.tidy import tidied
from guidegen.geometry.measure import area, bounds, flatten, signed_area
from guidegen.geometry.path import Path, polyline, reverse, translate
from guidegen.hands.library import hand_names, list_markers, load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import ink, letter
from guidegen.lettering.sizing import right_size
from guidegen.readers import read_bytes
from guidegen.scene import BLACK, WHITE, Document, Ink, Layer, Line, Page, Placed, Purpose, Shape, Style, Symbol
from guidegen.sheets.write import written_text
from guidegen.shop.cutting import CutOptions, clean, prepare_for_cut
from guidegen.shop.orders import cut_files
from guidegen.writers import render
from guidegen.writers.dxf import dxf_bytes

FILLED = Style(fill=BLACK)


def box(left: float, low: float, right: float, top: float) -> Path:
    """A rectangle, anticlockwise."""
    corners = [complex(left, low), complex(right, low), complex(right, top), complex(left, top)]
    return polyline(corners, closed=True)


def document(*layers: Layer, size: tuple[float, float] = (100.0, 80.0)) -> Document:
    return Document((Page(*size, layers),), "test")


def ink_layer(*outlines) -> Layer:
    return Layer("ink", tuple(Shape(outline, FILLED) for outline in outlines))


def layer_of(prepared: Document, name: str):
    return next((layer for layer in prepared.pages[0].layers if layer.id == name), None)


def cut_paths(prepared: Document) -> list[Path]:
    found = layer_of(prepared, Purpose.CUT)
    return [path for item in found.items for path in item.paths]


def written(marker: str, hand: str, text: str) -> Document:
    tool, style = load_marker(marker), load_hand(hand)
    return written_text(Lettering(tool, style, right_size(tool, style).x_height_mm), [text], None, proof=True)


def faults(paths: list[Path]) -> dict[str, int]:
    selves, others = defects.crossings(paths, 0.002)
    found = {
        "open": defects.open_paths(paths, 0.002),
        "duplicate": defects.duplicates(paths, 0.002),
        "no length": defects.zero_length(paths, 0.0005),
        "overlap": defects.overlaps(paths, 0.0005),
        "self-crossing": selves,
        "crossing": others,
    }
    return {name: len(spots) for name, spots in found.items() if spots}


def pairs_of(hand):
    """Every letter of a hand with every marker that suits it, (marker, letter); marker by marker in turn."""
    markers = [entry.marker for entry in list_markers(())[0] if entry.marker.tip in hand.tips]
    assert markers
    count, letters = len(markers), sorted(hand.letters)
    return [(markers[(k + turn) % count], char) for turn in range(count) for k, char in enumerate(letters)]


def unclean(hand, pairs):
    """Return the faults of letters prepared for cutting, by marker and letter."""
    wrong = {}
    for marker, char in pairs:
        outline = ink([letter(Lettering(marker, hand, right_size(marker, hand).x_height_mm), char)])
        if not outline:
            continue
        low, high = bounds(outline)
        size = (high.real - low.real + 10, high.imag - low.imag + 10)
        prepared = prepare_for_cut(document(ink_layer(translate(outline, 5 + 5j - low)), size=size))
        if found := faults(cut_paths(prepared)):
            wrong[marker.name, char] = found
    return wrong


@pytest.mark.parametrize("hand_name", hand_names())
def test_every_letter_of_every_hand_cuts_clean(hand_name):
    """Each with one marker, another for the next letter; with every marker below."""
    hand = load_hand(hand_name)
    assert unclean(hand, pairs_of(hand)[: len(hand.letters)]) == {}


@pytest.mark.benchmark
@pytest.mark.parametrize("hand_name", hand_names())
def test_every_letter_of_every_hand_with_every_marker_cuts_clean(hand_name):
    hand = load_hand(hand_name)
    assert unclean(hand, pairs_of(hand)) == {}


def test_the_faults_are_found_where_there_are_some():
    square = box(0, 0, 10, 10)
    bow = polyline([0, 10 + 10j, 10, 10j], closed=True)
    assert faults([polyline([0, 5, 5 + 5j])]) == {"open": 1}
    assert faults([square, reverse(square)])["duplicate"] == 1
    assert faults([Path((*square.segments[:1], (10 + 0j, 10 + 0j), *square.segments[1:]), True)]) == {"no length": 1}
    assert faults([bow]) == {"self-crossing": 1}
    assert faults([square, box(5, 5, 15, 15)]) == {"crossing": 1}
    assert faults([square, box(10, 2, 20, 8)])["overlap"] == 1


def test_touching_shapes_become_one_and_others_stay_as_they_were():
    curve = reverse(Path(((0j, 4j, 8 + 4j, 8 + 0j), (8 + 0j, 0j)), True))
    far = translate((curve,), 60 + 60j)
    result = united([(box(0, 0, 10, 10),), (box(5, 5, 15, 15),), far], 0.01)
    assert area(result) == pytest.approx(175 + area(far), abs=1e-3)
    assert far[0] in result
    assert len(result) == 2


def test_symbols_are_taken_apart_and_united_too():
    dot = Symbol("dot", (Shape((box(0, 0, 6, 6),), FILLED),))
    prepared = prepare_for_cut(document(Layer("ink", (Placed(dot, 10 + 10j), Placed(dot, 14 + 10j)))))
    assert [bounds((path,)) for path in cut_paths(prepared)] == [(10 + 10j, 20 + 16j)]


def test_outer_contours_turn_left_holes_right_and_inner_ones_come_first():
    ring = (reverse(box(10, 10, 50, 50)), box(20, 20, 40, 40))
    prepared = prepare_for_cut(document(ink_layer(ring, (reverse(box(25, 25, 35, 35)),), (box(60, 10, 70, 20),))))
    paths = cut_paths(prepared)
    assert [round(signed_area(path)) for path in paths] == [100, -400, 1600, 100]
    for k, around in enumerate(parents(paths, 0.01)):
        assert all(j > k for j in around)


def test_each_operation_has_its_layer_and_colour():
    area, white = Shape((box(60, 60, 70, 62),), FILLED), Shape((box(80, 60, 90, 62),), Style(fill=WHITE))
    label = Shape((box(60, 70, 70, 72),), FILLED)
    guide = Line(5 + 5j, 95 + 5j, Style(stroke_mm=0.2), "baseline", 1)
    prepared = prepare_for_cut(
        document(
            ink_layer((box(10, 10, 50, 50),)),
            Layer("lines", (guide, guide)),
            Layer("trace", (area, white)),
            Layer("labels", (label,)),
            Layer("proof", (Line(5 + 1j, 25 + 1j, Style(stroke_mm=0.2)),)),
        ),
        CutOptions(colours={Purpose.SCORE: Ink((0.1, 0.2, 0.3))}),
    )
    names = [layer.id for layer in prepared.pages[0].layers]
    assert names == [Purpose.ENGRAVE, Purpose.SCORE, Purpose.CUT, Purpose.PROOF]
    assert len(layer_of(prepared, Purpose.ENGRAVE).items) == 1  # white marks nothing
    assert len(layer_of(prepared, Purpose.SCORE).items) == 1  # and a line is scored once
    assert layer_of(prepared, Purpose.SCORE).items[0].style.stroke.rgb == (0.1, 0.2, 0.3)
    assert len(layer_of(prepared, Purpose.PROOF).items) == 2  # words are not cut
    assert [layer.id for layer in prepared.pages[0].layers if not layer.shown] == [Purpose.PROOF]
    drawn = [layer for layer in prepared.pages[0].layers if layer.id in (Purpose.SCORE, Purpose.CUT)]
    inks = {item.style.stroke for layer in drawn for item in layer.items}
    assert len(inks) == 2
    assert all(item.style.fill is None for item in layer_of(prepared, Purpose.CUT).items)


def test_a_plan_s_contours_are_cut_where_there_is_no_ink():
    contour = Shape((box(10, 10, 50, 50),), Style(stroke_mm=0.1))
    assert len(cut_paths(prepare_for_cut(document(Layer("trace", (contour,)))))) == 1


def test_a_page_without_ink_is_refused_in_a_line():
    with pytest.raises(GuidegenError, match="nothing to cut"):
        prepare_for_cut(document(Layer("lines", (Line(0j, 9 + 0j, Style(stroke_mm=0.1)),))))


def test_clean_joins_lines_and_drops_what_has_no_length():
    rough = polyline([0, 4, 4.0005, 10, 10 + 10j, 10j], closed=True)
    path = clean(rough)
    assert len(path.segments) == 4
    assert path.closed
    assert path.start == path.end
    assert abs(signed_area(path)) == pytest.approx(100)
    assert clean(polyline([0, 0.001, 0.001j], closed=True)) is None


def test_mirror_turns_everything_but_the_proof_bar():
    outline = (polyline([10 + 10j, 40 + 10j, 10 + 30j], closed=True),)
    marks = Layer("proof", (Line(5 + 1j, 25 + 1j, Style(stroke_mm=0.2)),))
    prepared = prepare_for_cut(document(ink_layer(outline), marks), CutOptions(mirror=True))
    path = cut_paths(prepared)[0]
    assert {s[0] for s in path.segments} == {90 + 10j, 60 + 10j, 90 + 30j}
    assert signed_area(path) > 0
    assert layer_of(prepared, Purpose.PROOF).items[0].start == 5 + 1j


# Discs and strips of known width: a disc of the asked width fits or does not.
@pytest.mark.parametrize(("width", "count"), [(1.0, 1), (1.9, 1), (2.1, 0), (3.0, 0)])
def test_a_stroke_thinner_than_asked_is_found(width, count):
    found = thin_places([box(10, 10, 10 + width, 40)], 2.0)
    assert len(found) == count
    assert all(not place.is_gap and place.width == pytest.approx(width, rel=0.15) for place in found)


@pytest.mark.parametrize(("gap", "count"), [(0.5, 1), (1.9, 1), (2.1, 0)])
def test_a_gap_narrower_than_asked_is_found(gap, count):
    found = thin_places([box(10, 10, 30, 40), box(30 + gap, 10, 60, 40)], 2.0)
    assert len(found) == count
    assert all(place.is_gap and place.width == pytest.approx(gap, rel=0.15) for place in found)


def test_a_small_counter_and_a_neck_are_found_and_corners_are_not():
    assert thin_places([box(10, 10, 40, 40)], 2.0) == []
    assert [p.is_gap for p in thin_places([box(10, 10, 40, 40), reverse(box(20, 20, 21, 21))], 2.0)] == [True]
    neck = polyline(
        [0, 10, 10 + 4.5j, 11 + 4.5j, 11, 21, 21 + 10j, 11 + 10j, 11 + 5.5j, 10 + 5.5j, 10 + 10j, 10j], closed=True
    )
    assert [p.is_gap for p in thin_places([neck], 2.0) if not p.is_gap] == [False]


def test_the_thickest_stroke_is_measured():
    assert thickest([box(10, 10, 13.2, 60), box(30, 10, 31, 60)], 0.01) == pytest.approx(3.2, abs=0.02)


def test_thin_places_are_told_and_ringed():
    prepared = prepare_for_cut(document(ink_layer((box(10, 10, 11, 40),))), CutOptions(min_feature_mm=2.0))
    assert len(prepared.notes) == 2
    assert "1 stroke and 0 gaps narrower than 2 mm" in prepared.notes[0]
    ring = layer_of(prepared, Purpose.THIN).items[0].paths[0]
    assert ring.closed
    assert prepare_for_cut(document(ink_layer((box(10, 10, 15, 40),)))).notes == ("cut 0.07 m in 1 path",)


def sheets(prepared: Document, px_per_mm: float) -> int:
    """How many pieces the sheet falls into when the letters are cut out, by flood filling a raster.

    The last pixels of a notch's tip may stand alone in a raster, so specks under 0.005 mm2 are not counted.
    """
    data = "".join(
        re.findall(r' d="([^"]*)"', dict(render(prepared, "svg"))[""].decode().split('id="cut"')[1].split("</g>")[0])
    )
    page = prepared.pages[0]
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {page.width_mm} {page.height_mm}">'
        f'<path d="{data}" fill="black" fill-rule="evenodd"/></svg>'
    )
    picture = cairosvg.svg2png(
        bytestring=drawing.encode(), background_color="white", output_width=round(page.width_mm * px_per_mm)
    )
    sheet = np.asarray(Image.open(io.BytesIO(picture)).convert("L")) > 127
    pieces, _ = ndimage.label(sheet)
    return int((np.bincount(pieces.ravel())[1:] > 0.005 * px_per_mm**2).sum())


@pytest.mark.parametrize(
    ("marker", "hand", "text", "width"),
    [("cobble", "joined", "edge", 1.0), ("slate", "italic", "boat age", 1.5), ("flint", "print", "B8 aego &%", 0.5)],
)
def test_bridges_leave_one_connected_sheet(marker, hand, text, width):
    if any(char != " " and char not in load_hand(hand).letters for char in text):
        text = "boat age"
    plain = written(marker, hand, text)
    assert sheets(prepare_for_cut(plain), 40) > 3
    prepared = prepare_for_cut(plain, CutOptions(bridges_mm=width))
    assert sheets(prepared, 40) == 1
    assert faults(cut_paths(prepared)) == {}


def test_a_bridge_is_as_wide_as_asked():
    ring = (box(10, 10, 40, 40), reverse(box(15, 14, 35, 36)))
    result, bridges = bridged(ring, 2.0, 0.001)
    assert len(bridges) == 2
    assert len(result) == 2
    assert area(ring) - area(result) == pytest.approx(2 * 2.0 * 4.0, abs=0.01)  # above and below, 4 mm each


def test_white_in_white_is_tied_as_well():
    nested = (box(0, 0, 60, 60), reverse(box(10, 10, 50, 50)), box(15, 15, 45, 45), reverse(box(20, 20, 40, 40)))
    result, bridges = bridged(nested, 2.0, 0.01)
    assert len(bridges) == 4
    assert all(signed_area(path) > 0 for path in result)


def test_a_bridge_that_cannot_be_is_refused_in_a_line():
    ring = (box(10, 10, 12, 12), reverse(box(10.5, 10.5, 11.5, 11.5)))
    with pytest.raises(GuidegenError, match="`bridges_mm`"):
        prepare_for_cut(document(ink_layer(ring)), CutOptions(bridges_mm=40.0))


# Nodes: at most 1.5 times what kurbopy's fit_to_bezpath needs for the same outline at the same measured error.


class ByLength:
    """A chain of cubics as the curve that kurbopy asks for, by arc length."""

    def __init__(self, cubics: np.ndarray) -> None:
        self.cubics = cubics
        self.grid = np.linspace(0, 1, 201)
        spots = cb.point(cubics, np.tile(self.grid, (len(cubics), 1)))
        steps = np.abs(np.diff(spots, axis=1))
        self.run = np.concatenate([np.zeros((len(cubics), 1)), np.cumsum(steps, axis=1)], axis=1)
        self.starts = np.concatenate([[0.0], np.cumsum(self.run[:, -1])])

    def _spot(self, t: float):
        import kurbopy

        s = min(max(t, 0.0), 1.0) * self.starts[-1]
        k = min(max(int(np.searchsorted(self.starts, s, side="right")) - 1, 0), len(self.cubics) - 1)
        u = np.array([np.interp(s - self.starts[k], self.run[k], self.grid)])
        z, d = cb.point(self.cubics[k : k + 1], u)[0], cb.tangent(self.cubics[k : k + 1], u)[0]
        return kurbopy.Point(z.real, z.imag), d

    def sample_pt_tangent(self, t: float, _sign: float):
        import kurbopy

        spot, d = self._spot(t)
        return spot, kurbopy.Vec2(d.real, d.imag)

    def sample_pt_deriv(self, t: float):
        import kurbopy

        spot, d = self._spot(t)
        d *= self.starts[-1]
        return spot, kurbopy.Vec2(d.real, d.imag)

    def break_cusp(self, *_):
        return None


def smooth_parts(path: Path) -> list[np.ndarray]:
    """A closed path's cubics, split where it turns by more than 3 degrees."""
    cubics = cb.as_cubics(path.segments)
    n = len(cubics)
    turn = np.abs(np.angle(np.roll(cb.tangent(cubics, np.zeros(n)), -1) / cb.tangent(cubics, np.ones(n))))
    corners = np.flatnonzero(turn > math.radians(3))
    if not len(corners):
        return [cubics]
    order = np.roll(np.arange(n), -(corners[0] + 1))
    ends = np.cumsum(np.isin(order, corners))
    return [cubics[order[np.concatenate([[0], ends[:-1]]) == k]] for k in range(len(corners))]


def kurbo_nodes(cubics: np.ndarray, error: float) -> int:
    """How many segments kurbopy needs for a part at a measured error of at most ``error``."""
    import kurbopy
    from fontTools.pens.recordingPen import RecordingPen

    on = cb.point(cubics, np.tile(np.linspace(0, 1, 17), (len(cubics), 1))).ravel()
    chord = on[-1] - on[0]
    if abs(chord) > 0 and np.abs(((on - on[0]) * np.conj(chord)).imag).max() <= error * abs(chord):
        return 1  # a line would do
    if np.abs(on - on[0]).max() <= error:
        return 1
    truth = line_of(cb.point(cubics, np.tile(np.linspace(0, 1, 65), (len(cubics), 1))).ravel())
    for accuracy in (4 * error, 2 * error, error, error / 2, error / 4):
        pen = RecordingPen()
        kurbopy.fit_to_bezpath(ByLength(cubics), accuracy).draw(pen)
        spots, count, now = [], 0, 0j
        for name, points in pen.value:
            z = [complex(*p) for p in points]
            if name in ("curveTo", "lineTo"):
                c = cb.as_cubics([(now, *z)])
                spots.append(cb.point(c, np.linspace(0, 1, 65)[None, :])[0])
                count += 1
            now = z[-1] if z else now
        on = np.concatenate(spots)
        if shapely.distance(shapely.points(on.real, on.imag), truth).max() <= error * 1.02:
            return count
    return count


def line_of(points: np.ndarray):
    return shapely.linestrings(np.stack([points.real, points.imag], axis=-1))


def rings_of(paths: list[Path]):
    closed = [flatten(path, 1e-5) for path in paths]
    return shapely.multilinestrings([line_of(np.append(points, points[0])) for points in closed]), np.concatenate(
        closed
    )


@pytest.mark.parametrize(("marker", "hand"), [("cobble", "joined"), ("slate", "italic"), ("flint", "print")])
def test_nodes_are_few(marker, hand):
    tool, style = load_marker(marker), load_hand(hand)
    x_height = right_size(tool, style).x_height_mm
    ours = theirs = 0
    for char in "eos":
        strokes = [letter(Lettering(tool, style, x_height), char)]
        low = bounds(ink(strokes))[0]
        prepared = prepare_for_cut(document(ink_layer(translate(ink(strokes), 5 + 5j - low))))
        mine = cut_paths(prepared)
        true = [path for path in (clean(p) for p in translate(ink(strokes, 1e-4), 5 + 5j - low)) if path]
        (lines, points), (true_lines, true_points) = rings_of(mine), rings_of(true)
        error = max(
            shapely.distance(shapely.points(points.real, points.imag), true_lines).max(),
            shapely.distance(shapely.points(true_points.real, true_points.imag), lines).max(),
        )
        error = max(error, 1e-3)  # a nib's outline is exact, which no fitter can be
        ours += sum(len(path.segments) for path in mine)
        theirs += sum(kurbo_nodes(part, float(error)) for path in true for part in smooth_parts(path))
    assert ours <= 1.5 * theirs, (ours, theirs)


def test_scored_centrelines_have_few_nodes_within_the_tolerance():
    # a circle drawn as 40 small arcs; one cubic spans a quarter at 2.7e-4 of the radius (check: computed)
    turns = np.exp(1j * np.linspace(0, 2 * math.pi, 41))
    handle = 4 / 3 * math.tan(math.pi / 80)
    small = [(a, a * (1 + 1j * handle), b * (1 - 1j * handle), b) for a, b in itertools.pairwise(turns)]
    drawn = Path(tuple(tuple(50 + 40j + 20 * z for z in segment) for segment in small))
    zigzag = polyline([complex(5 * k, 3 * (k % 2)) for k in range(9)])
    lines = Layer("ink", (Shape((drawn, zigzag), Style(stroke_mm=0.2, stroke=BLACK)),))
    prepared = prepare_for_cut(document(ink_layer((box(80, 5, 90, 15),)), lines), CutOptions(tolerance_mm=0.01))
    scored, corners = (item.paths[0] for item in layer_of(prepared, Purpose.SCORE).items)
    assert corners == zigzag
    assert len(scored.segments) <= 8
    assert max(abs(abs(z - (50 + 40j)) - 20) for z in flatten(scored, 1e-4)) <= 0.01


# What is left to cut is only what is to be cut.


@pytest.fixture(scope="module")
def regatta():
    plain = written_text(
        Lettering(load_marker("boulder"), load_hand("joined"), 30.0), ["Regatta"], None, proof=True, guides=True
    )
    return prepare_for_cut(plain)


def test_marks_and_words_are_on_layers_that_no_machine_plots(regatta):
    """SVG 1.1, 11.5: display none is not rendered. DXF reference: layer flag 1 is frozen, group 290 plots (memory)."""
    import xml.etree.ElementTree as ET

    import ezdxf

    groups = ET.fromstring(dict(render(regatta, "svg"))[""]).findall("{http://www.w3.org/2000/svg}g")
    assert {g.get("id"): g.get("display") for g in groups} == {
        "score": None, "cut": None, "proof": "none", "thin": "none"
    }  # fmt: skip
    for splines in (True, False):
        read = ezdxf.read(io.StringIO(dxf_bytes(regatta.pages[0], splines=splines).decode()))
        layers = {name: read.layers.get(name) for name in ("score", "cut", "proof", "thin")}
        assert {name: layer.is_frozen() for name, layer in layers.items()} == {
            "score": False, "cut": False, "proof": True, "thin": True
        }  # fmt: skip
        if splines:
            assert {name: bool(layer.dxf.plot) for name, layer in layers.items()} == {
                "score": True, "cut": True, "proof": False, "thin": False
            }  # fmt: skip


@pytest.mark.parametrize("file_format", ["pdf", "eps"])
def test_formats_without_layers_hold_one_operation(regatta, file_format):
    def colours(operation):
        ((_, data),) = cut_files(regatta, file_format, operation=operation)
        path = f"cut.{file_format}"
        found = read_bytes(eps_as_pdf(data) if file_format == "eps" else data, path)
        return {d.stroke.name for d in found.pages[0].drawn if d.stroke} | {
            d.fill.name for d in found.pages[0].drawn if d.fill and d.fill.name not in ("#ffffff", "gray 1")
        }

    assert colours(None) == colours("cut") == {"#c21a6b"}
    assert colours("score") == {"#00786b"}
    with pytest.raises(GuidegenError, match="nothing to engrave"):
        list(cut_files(regatta, file_format, operation="engrave"))


def eps_as_pdf(data: bytes) -> bytes:
    """EPS as Ghostscript sees it."""
    made = subprocess.run(
        ["gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-dEPSCrop", "-sDEVICE=pdfwrite", "-sOutputFile=-", "-"],
        input=data, capture_output=True, check=True,
    )  # fmt: skip
    return made.stdout


def test_a_layered_file_of_one_operation_has_no_other(regatta):
    ((_, data),) = cut_files(regatta, "svg", operation="score")
    assert b'id="score"' in data
    assert b'id="cut"' not in data


def test_a_notch_is_not_thin_and_a_slit_is():
    wedge = polyline([0, 30, 30 + 30j, 18 + 30j, 15 + 5j, 12 + 30j, 30j], closed=True)
    slit = polyline([0, 30, 30 + 30j, 15.5 + 30j, 15.5 + 5j, 14.5 + 5j, 14.5 + 30j, 30j], closed=True)
    assert thin_places([wedge], 2.0) == []
    assert [place.is_gap for place in thin_places([slit], 2.0)] == [True]
    two = [box(0, 0, 10, 10), box(11, 0, 20, 10)]
    assert [place.is_gap for place in thin_places(two, 2.0)] == [True]


def test_thin_marks_may_be_left_out_and_are_told_all_the_same():
    thin = document(ink_layer((box(10, 10, 11, 40),)))
    prepared = prepare_for_cut(thin, CutOptions(thin_marks=False))
    assert layer_of(prepared, Purpose.THIN) is None
    assert prepared.notes == prepare_for_cut(thin).notes


def arc_length(segment) -> float:
    spots = cb.point(cb.as_cubics([segment]), np.linspace(0, 1, 200)[None, :])[0]
    return float(np.abs(np.diff(spots)).sum())


def corners_of(paths) -> list[tuple[complex, float]]:
    found = []
    for path in paths:
        cubics = cb.as_cubics(path.segments)
        n = len(cubics)
        turn = np.angle(np.roll(cb.tangent(cubics, np.zeros(n)), -1) / cb.tangent(cubics, np.ones(n)))
        found += [(complex(cubics[k][3]), math.degrees(abs(turn[k]))) for k in range(n)]
    return found


@pytest.mark.parametrize(
    ("marker", "hand", "text", "bridges"),
    [
        ("cobble", "joined", "high tide", None),
        ("slate", "italic", "boats", None),
        ("cobble", "joined", "edge 8", 1.0),
        ("thorn", "copperplate", "fair", None),
    ],
)
def test_no_segment_is_a_crumb_and_no_kink_is_new(marker, hand, text, bridges):
    """Every corner of what is cut is one of the drawing, a crossing of two of its letters, or a bridge's."""
    plain = written(marker, hand, text)
    paths = cut_paths(prepare_for_cut(plain, CutOptions(bridges_mm=bridges)))
    assert min(arc_length(segment) for path in paths for segment in path.segments) >= 0.0499
    own = [item for layer in plain.pages[0].layers if layer.purpose.is_ink for item in layer.items]
    spots = np.array([z for item in own for z, turn in corners_of(item.paths) if turn > 0.5] or [1e9])
    edges = [rings_of([p for p in item.paths if p.closed])[0] for item in own]
    new = []
    for z, turn in corners_of(paths):
        near = sorted(shapely.distance(edge, shapely.points(z.real, z.imag)) for edge in edges)
        if 1.0 < turn < (60 if bridges else 180) and np.abs(spots - z).min() > 0.06 and near[1:2] > [0.03]:
            new.append((z, turn))
    assert new == []


def test_a_kink_is_rounded_and_a_corner_stays():
    curves = (0j, 10 + 0j, 20 + 0j, 30 + 0j), (30 + 0j, 40 + 1j, 50 + 2j, 60 + 3j)
    bent = Path((*curves, (60 + 3j, 60 + 40j), (60 + 40j, 0j)), closed=True)
    round_ = tidied(bent, 0.05, 0.005)
    turns = sorted(turn for _, turn in corners_of([round_]))
    assert turns[-3:] == pytest.approx(sorted(turn for _, turn in corners_of([bent]))[-3:], abs=1e-6)
    assert all(turn < 0.01 or turn > 30 for turn in turns)
    lines, points = rings_of([bent])[0], rings_of([round_])[1]
    assert shapely.distance(shapely.points(points.real, points.imag), lines).max() <= 0.005
