"""What is measured of the ink of hands whose letters are joined."""

import math
from itertools import pairwise

import numpy as np
import shapely
from hand_measures import holes, polygon, setting

from guidegen.hands.library import load_hand


def across(shape, hand_name):
    """The shape with the slant axis turned upright about the origin, so that level cuts run across it."""
    return shapely.affinity.rotate(shape, 90 - load_hand(hand_name).slant_deg, origin=(0, 0))


def longest_across(hole, hand_name):
    """The longest chord of a hole across the slant axis, by 400 cuts."""
    turned = across(hole, hand_name)
    low, high = turned.bounds[1::2]
    left, right = turned.bounds[0] - 1, turned.bounds[2] + 1
    cuts = (shapely.LineString([(left, y), (right, y)]) for y in np.linspace(low, high, 402)[1:-1])
    return max(turned.intersection(cut).length for cut in cuts)


def dense(path, steps=200):
    t = np.linspace(0, 1, steps)
    pieces = []
    for segment in path.segments:
        if len(segment) == 2:
            pieces.append(segment[0] + (segment[1] - segment[0]) * t)
        else:
            a, b, c, d = segment
            pieces.append(a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t * t * (1 - t) + d * t**3)
    return np.concatenate(pieces)


def outer_rings(outline):
    return sum(signed_area(path) > 0 for path in outline)


def signed_area(path):
    z = dense(path, 24)
    return float(np.sum(z.real * np.roll(z.imag, -1) - z.imag * np.roll(z.real, -1)))


def closed_white(hand_name, marker_name, char):
    """The narrowest of the closed whites between baseline and x-height line, each by its longest chord."""
    x = setting(hand_name, marker_name).x_height_mm
    found = [hole for hole in holes(hand_name, marker_name, char) if 0.2 * x < hole.centroid.y < 0.85 * x]
    return min(longest_across(hole, hand_name) for hole in found if hole.area > 0.002 * x * x)


def widest_gap(hand_name, marker_name, char):
    """The longest stretch of white across the slant axis that has ink at both ends, between the two lines."""
    one = setting(hand_name, marker_name)
    hand, x = one.hand, one.x_height_mm
    lean = math.radians(90 - hand.slant_deg)
    turned = across(polygon(hand_name, marker_name, char), hand_name)
    left, low, right, high = turned.bounds
    widest = 0.0
    for y in np.linspace(low, high, 402)[1:-1]:
        cut = turned.intersection(shapely.LineString([(left - 1, y), (right + 1, y)]))
        inked = sorted(part.bounds[0::2] for part in getattr(cut, "geoms", [cut]) if part.length)
        for (_, start), (end, _) in pairwise(inked):
            height = y * math.cos(lean) - (start + end) / 2 * math.sin(lean)
            if 0.1 * x < height < 0.9 * x:
                widest = max(widest, end - start)
    return widest


def shape_of(outline):
    shape = shapely.Polygon()
    for path in sorted(outline, key=signed_area, reverse=True):
        z = dense(path, 24)
        ring = shapely.Polygon(np.c_[z.real, z.imag]).buffer(0)
        shape = shape.union(ring) if signed_area(path) > 0 else shape.difference(ring)
    return shape
