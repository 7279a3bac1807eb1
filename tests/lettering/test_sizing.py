"""The right size: against the rule itself, against grey levels, and over the whole range of brush markers."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from grey_levels import counter_and_downstroke_mm, ink_levels

from guidegen.errors import GuidegenError
from guidegen.geometry.path import affine, reverse
from guidegen.geometry.shape.counters import counter_shape
from guidegen.hands.library import load_hand
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import counter_at, right_size, sample_outline
from guidegen.profiles.markers import Marker
from guidegen.scene import BLACK, Document, Layer, Page, Shape, Style
from guidegen.writers import render

DEMO = {
    "grit": Marker("grit", "Grit", "brush", 0.9, 0.25),
    "pebble": Marker("pebble", "Pebble", "brush", 1.6, 0.35),
    "cobble": Marker("cobble", "Cobble", "brush", 3.2, 0.6),
    "boulder": Marker("boulder", "Boulder", "brush", 6.8, 1.2),
    "thorn": Marker("thorn", "Thorn", "pointed", 1.1, 0.12),
}


def brush(downstroke_mm: float, share: float) -> Marker:
    return Marker("test", "Test", "brush", downstroke_mm, downstroke_mm * share)


@pytest.mark.parametrize("name", DEMO)
def test_counter_is_as_wide_as_the_full_downstroke(name: str) -> None:
    size = right_size(DEMO[name], load_hand("joined"))
    assert size.counter is not None
    assert size.counter.width_mm == pytest.approx(size.counter.downstroke_mm, rel=0.002)
    assert size.counter.downstroke_mm == pytest.approx(DEMO[name].downstroke_mm, rel=0.01)


@pytest.mark.parametrize(("edge", "ratio"), [("smallest", 0.6), ("largest", 1.5)])
def test_band_is_where_the_counter_is_nearly_closed_and_too_wide(edge: str, ratio: float) -> None:
    """0.6 and 1.5 downstrokes: common practice, no source."""
    hand, marker = load_hand("joined"), DEMO["cobble"]
    size = right_size(marker, hand)
    counter = counter_at(size.lettering.at(getattr(size, f"{edge}_x_height_mm")))
    assert counter is not None
    assert counter.ratio == pytest.approx(ratio, rel=0.002)


HELD_OUT = [(0.55, 0.1), (1.4, 0.14), (4.45, 1.9), (9.3, 2.1), (12.0, 7.2)]
"""Brush and pointed markers that no profile of the project has: 0.5 to 12 mm, hairline 0.1 to 0.6 of the downstroke."""


@pytest.mark.parametrize("name", [*DEMO, *HELD_OUT])
def test_grey_levels_of_the_written_svg_agree(name: str | tuple[float, float]) -> None:
    """No code of ours measures here: cairosvg paints, scipy finds the enclosed white, widths are sums of grey."""
    marker = DEMO[name] if isinstance(name, str) else Marker("held-out", "Held out", "brush", *name)
    hand = load_hand("joined")
    size = right_size(marker, hand)
    outline = sample_outline(size.lettering)
    moved = tuple(affine(path, 1, 1j, complex(size.x_height_mm, size.x_height_mm)) for path in outline)
    page = Page(4 * size.x_height_mm, 3 * size.x_height_mm, (Layer("letter", (Shape(moved, Style(fill=BLACK)),)),))
    svg = next(iter(render(Document((page,), "e"), "svg")))[1]
    px_per_mm = 64 / marker.downstroke_mm
    white, stroke = counter_and_downstroke_mm(ink_levels(svg, "letter", px_per_mm), hand.slant_deg, px_per_mm)
    assert white == pytest.approx(stroke, rel=0.01)
    assert stroke == pytest.approx(marker.downstroke_mm, rel=0.01)


SHARES = (0.1, 0.2, 0.35, 0.6)
DOWNSTROKES = (0.5, 1.1, 3.2, 8.0, 12.0)


@pytest.mark.parametrize("share", SHARES)
def test_every_brush_has_a_right_size_that_grows_with_its_downstroke(share: float) -> None:
    sizes = [right_size(brush(d, share), load_hand("joined")) for d in DOWNSTROKES]
    for before, after in itertools.pairwise(sizes):
        assert before.x_height_mm < after.x_height_mm
    for size in sizes:
        assert size.smallest_x_height_mm < size.x_height_mm < size.largest_x_height_mm
        # 3.5 to 6.5 downstrokes: measured on published open script fonts near w = d; a thick hairline needs the most
        assert 3.5 <= size.x_height_mm / size.marker.downstroke_mm <= (6 if share <= 0.3 else 6.5)


def test_right_size_grows_with_the_hairline() -> None:
    sizes = [right_size(brush(2.0, share), load_hand("joined")).x_height_mm for share in np.linspace(0.1, 0.6, 11)]
    assert all(before < after for before, after in itertools.pairwise(sizes))


@pytest.mark.parametrize(("downstroke_mm", "hairline_mm"), [(2.2, 0.25), (0.55, 0.1), (3.2, 0.6), (4.45, 1.9)])
def test_ink_stays_between_the_lines_at_every_size_of_the_band(downstroke_mm: float, hairline_mm: float) -> None:
    hand, marker = load_hand("joined"), Marker("some", "Some", "brush", downstroke_mm, hairline_mm)
    size = right_size(marker, hand)
    for x in np.linspace(size.smallest_x_height_mm, size.largest_x_height_mm, 5):
        outline = sample_outline(size.lettering.at(float(x)))
        # of control points too: the outline lies inside their hull
        heights = np.array([z.imag for path in outline for segment in path.segments for z in segment]) / x
        assert heights.min() == pytest.approx(0, abs=0.01)
        assert heights.max() == pytest.approx(1, abs=0.01)


def is_teardrop_as_taught(form: object) -> bool:
    """Point at lower left, blunt end at upper right, skew as measured in published open scripts."""
    return form.shape == "teardrop" and form.skew >= 0.08 and 200 <= form.tip_deg <= 260  # type: ignore[attr-defined]


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("downstroke_mm", DOWNSTROKES)
def test_counter_is_a_teardrop_that_points_to_the_lower_left(downstroke_mm: float, share: float) -> None:
    size = right_size(brush(downstroke_mm, share), load_hand("joined"))
    assert size.counter is not None
    assert is_teardrop_as_taught(size.counter.form)


def test_a_mirrored_drop_is_not_taken_for_one() -> None:
    hand, marker = load_hand("joined"), DEMO["cobble"]
    outline = sample_outline(right_size(marker, hand).lettering)
    for a, b in ((-1, 1j), (1, -1j)):
        mirrored = tuple(reverse(affine(path, a, b, 0)) for path in outline)
        hole = min(mirrored, key=lambda path: counter_shape(path).area)
        assert not is_teardrop_as_taught(counter_shape(hole))


def test_closed_counter_measures_as_none() -> None:
    hand, marker = load_hand("joined"), brush(3.2, 0.5)
    assert counter_at(Lettering(marker, hand, 1.2 * 3.2)) is None


def test_round_marker_follows_iso_3098_type_b() -> None:
    """ISO 3098-0:1997 type B: line h/10, height of lower-case letters 7 lines. Marker line 0.7: x-height 4.9 mm."""
    size = right_size(Marker("flint", "Flint", "round", 0.7, 0.7), load_hand("print"))
    assert (size.rule, size.counter) == ("line height", None)
    assert size.x_height_mm == pytest.approx(4.9, abs=1e-6)
    assert size.ascender_height_mm == pytest.approx(7.0, abs=1e-6)


def test_broad_marker_follows_its_ladder_of_nib_widths() -> None:
    """Italic: x-height 5 nib widths, extenders 3 (calligraphy handbooks; see the shared values)."""
    size = right_size(Marker("slate", "Slate", "broad", 3.0, 0.3, 40.0), load_hand("italic"))
    assert size.rule == "nib widths"
    assert size.x_height_mm == pytest.approx(15.0)
    assert size.ascender_height_mm == pytest.approx(24.0)


def test_verdicts() -> None:
    size = right_size(DEMO["cobble"], load_hand("joined"))
    low, high = size.smallest_x_height_mm, size.largest_x_height_mm
    verdicts = [size.verdict(x) for x in (low - 0.01, low + 0.01, size.x_height_mm, high - 0.01, high + 0.01)]
    assert verdicts == ["too small", "right", "right", "right", "too large"]


def test_a_hand_whose_sample_letter_cannot_open_is_refused_with_the_reason() -> None:
    hand = load_hand("joined")
    without_bowl = replace(hand, letters={**hand.letters, "e": hand.letters["i"]})
    with pytest.raises(GuidegenError, match="stays closed") as raised:
        right_size(brush(3.2, 0.9), without_bowl)
    assert "2.88 mm" in str(raised.value)


def test_a_size_found_by_trial_is_the_right_one_and_carries_its_band() -> None:
    by_rule = right_size(DEMO["cobble"], load_hand("joined"))
    found = right_size(replace(DEMO["cobble"], x_height_mm=9.5), load_hand("joined"))
    assert found.x_height_mm == 9.5
    assert found.smallest_x_height_mm / 9.5 == pytest.approx(by_rule.smallest_x_height_mm / by_rule.x_height_mm)
    assert found.largest_x_height_mm / 9.5 == pytest.approx(by_rule.largest_x_height_mm / by_rule.x_height_mm)
