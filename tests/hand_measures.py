"""What the tests of the hands measure on finished ink, with shapely: nothing of the engine's own measuring is used."""

from __future__ import annotations

import json
import math
import unicodedata
from functools import cache
from pathlib import Path

import numpy as np
import shapely

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.letters import ink, letter
from guidegen.lettering.sizing import right_size

LATIN_CORE = "".join(map(chr, json.loads((Path(__file__).parent / "data" / "latin_core.json").read_text())["points"]))
"""The 319 code points of GF Latin Core: glyphsets 1.1.3 (Apache 2.0), unicodes_per_glyphset("GF_Latin_Core")."""
INKED = [char for char in LATIN_CORE if not char.isspace()]

CLOSED = dict.fromkeys("abdegopqADOPQR0469#@¢§©ª°¶ºÆÐÞðþđĐĦŒ˚\u030a", 1) | dict.fromkeys("B8&%$®Øøœæ", 2)
"""Counters a character has in the unjoined hands by how it is built; all others, accented ones apart, have none."""


@cache
def setting(hand_name: str, marker_name: str):
    """A marker at its right size in a hand."""
    hand, marker = load_hand(hand_name), load_marker(marker_name)
    return right_size(marker, hand).lettering


@cache
def rings(hand_name: str, marker_name: str, char: str):
    """The closed curves of a letter's ink as (signed area, shapely ring), flattened finely."""
    one = setting(hand_name, marker_name)
    found = []
    for path in ink([letter(one, char)]):
        points = np.concatenate([flat(segment) for segment in path.segments])
        z = points[np.concatenate(([True], np.abs(np.diff(points)) > 0))]
        area = float(np.sum(z.real * np.roll(z.imag, -1) - z.imag * np.roll(z.real, -1))) / 2
        found.append((area, shapely.LinearRing(np.c_[z.real, z.imag])))
    return found


def flat(segment, steps: int = 24):
    """Points of a segment without its end, so that those of a closed path follow on."""
    t = np.linspace(0, 1, steps, endpoint=False)
    if len(segment) == 2:
        return np.array([segment[0]])
    a, b, c, d = segment
    return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3


@cache
def polygon(hand_name: str, marker_name: str, char: str):
    """A letter's ink as one shapely geometry."""
    parts = rings(hand_name, marker_name, char)
    outer = shapely.union_all([shapely.Polygon(ring) for area, ring in parts if area > 0])
    inner = shapely.union_all([shapely.Polygon(ring) for area, ring in parts if area < 0])
    return outer.difference(inner)


def holes(hand_name: str, marker_name: str, char: str):
    """The white a letter encloses, largest first."""
    found = [shapely.Polygon(ring) for area, ring in rings(hand_name, marker_name, char) if area < 0]
    return sorted(found, key=lambda hole: -hole.area)


def counters_by_build(char: str, looped: str = "") -> int:
    """How many counters a character has: its own, or those of base and mark. ``looped`` letters close one more."""
    parts = unicodedata.normalize("NFD", char)
    return sum(CLOSED.get(part, 0) + (part in looped) for part in (char if char in CLOSED else parts))


def heights(hand_name: str, marker_name: str, char: str) -> tuple[float, float]:
    """Lowest and highest ink in x-heights."""
    x = setting(hand_name, marker_name).x_height_mm
    low, high = polygon(hand_name, marker_name, char).bounds[1::2]
    return low / x, high / x


def slices(hand_name: str, marker_name: str, char: str, height: float) -> list[tuple[float, float]]:
    """The stretches of ink on a level line at ``height`` x-heights, in x-heights from the left."""
    x = setting(hand_name, marker_name).x_height_mm
    line = shapely.LineString([(-10 * x, height * x), (20 * x, height * x)])
    cut = polygon(hand_name, marker_name, char).intersection(line)
    parts = getattr(cut, "geoms", [cut])
    return sorted((part.bounds[0] / x, part.bounds[2] / x) for part in parts if part.length)


def stem_slant_deg(hand_name: str, marker_name: str, char: str, which: int, low: float, high: float) -> float:
    """The slant of a stem from its middles at two heights; ``which`` counts stretches of ink from the left."""
    middles = [sum(slices(hand_name, marker_name, char, y)[which]) / 2 for y in (low, high)]
    return math.degrees(math.atan2(high - low, middles[1] - middles[0]))


def bowl_width(hand_name: str, marker_name: str, char: str) -> float:
    """Width of the ink at half the x-height, in x-heights."""
    cuts = slices(hand_name, marker_name, char, 0.5)
    return cuts[-1][1] - cuts[0][0]


def ink_faults(hand_name: str, marker_name: str, char: str, counters: int, least: float = 0.1) -> list[str]:
    """What is wrong with a letter's ink: rings that cross themselves or each other, counters lost, accidental or thin.

    ``counters`` is how many the letter is built with, ``least`` the width of the thinnest one in downstrokes.
    """
    parts = rings(hand_name, marker_name, char)
    if not parts:
        return ["no ink"]
    faults = [] if all(ring.is_simple for _, ring in parts) else ["a ring crosses itself"]
    if any(abs(area) < 1e-4 for area, _ in parts):
        faults.append("a ring without area")
    if any(ring.crosses(other) for number, (_, ring) in enumerate(parts) for _, other in parts[number + 1 :]):
        faults.append("two rings cross")
    found = holes(hand_name, marker_name, char)
    if len(found) != counters:
        faults.append(f"counters: {len(found)}, built with {counters}")
    width = least * setting(hand_name, marker_name).marker.downstroke_mm
    thin = [hole for hole in found if 2 * shapely.maximum_inscribed_circle(hole).length <= width]
    return faults + [f"a counter is thinner than {least} downstrokes"] * bool(thin)


def assert_sound(hand_name: str, marker_name: str, char: str, looped: str = "") -> None:
    """Every ring simple, none crossing another; as many counters as the letter's build has, none of them a sliver."""
    assert not ink_faults(hand_name, marker_name, char, counters_by_build(char, looped), 0.12), char
