"""By how much a picture's sharpening moves edges of ink: read from the left edges of the downstrokes of a sheet.

A page of ours has rings for that; on any sheet the letters themselves have straight dark edges with paper beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from guidegen.geometry.cubic import Complexes
from guidegen.scan.cells import BrightnessTable
from guidegen.scan.light import coded_of
from guidegen.scan.sharpness import FittedEdge, fitted_edge

_INWARD_PX, _OUTWARD_PX = 4.0, 6.0
_BIN_PX = 0.25
_LEAST_PER_BIN = 4
"""Pixels of all letters together."""
_MOST_EDGES = 12


def edge_shift_px(grey: Any, edges: Sequence[Complexes], table: BrightnessTable, *, linear: bool) -> float:
    """Return how far inside the ink half its darkness is reached, in pixels; 0 where nothing tells.

    Args:
        grey: the picture's brightness.
        edges: the left edges of downstrokes from their top, in pixels (the middle of the first one is 0).
        table: the darkness of brightness for this ink and paper.
        linear: the picture's values are proportional to light: nobody sharpens those.
    """
    if linear:
        return 0.0
    count = int((_INWARD_PX + _OUTWARD_PX) / _BIN_PX)
    total, each = np.zeros(count), np.zeros(count)
    for edge in edges[:_MOST_EDGES]:
        bins, values = _beside(grey, edge)
        total += np.bincount(bins, values, count)
        each += np.bincount(bins, minlength=count)
    known = each >= _LEAST_PER_BIN
    if known.sum() < 0.8 * count:
        return 0.0
    places = (np.arange(count) + 0.5) * _BIN_PX - _INWARD_PX
    found = fitted_edge(places[known], total[known] / each[known] / 255, 1.0)
    plain = replace(found, amount=0.0)
    return _half_dark(plain, table) - _half_dark(found, table)


def _half_dark(edge: FittedEdge, table: BrightnessTable) -> float:
    """Return where an edge has half the ink's darkness, in pixels outward."""
    places = np.arange(-2 * _INWARD_PX, 2 * _OUTWARD_PX, 1 / 8)
    share = edge.coded(places) / float(coded_of(np.array(edge.paper)))
    dark = np.interp(share, np.linspace(0.0, 1.5, len(table.dark)), table.dark)
    half = (float(dark[:4].mean()) + float(dark[-4:].mean())) / 2
    n = int(np.flatnonzero(dark[:-1] >= half)[-1])
    return float(places[n] + (dark[n] - half) / max(1e-9, dark[n] - dark[n + 1]) / 8)


def _beside(grey: Any, edge: Complexes) -> tuple[Any, Any]:
    """Return the bins and values of the pixels beside an edge, by their distance from it: outward to the left."""
    along = (edge[-1] - edge[0]) / abs(edge[-1] - edge[0])
    low = np.array([edge.real.min(), edge.imag.min()]) - _OUTWARD_PX
    high = np.array([edge.real.max(), edge.imag.max()]) + _OUTWARD_PX
    left, top = (max(0, int(side)) for side in low)
    right, end = (min(most, int(side) + 2) for most, side in zip(grey.size, high, strict=True))
    coded = np.asarray(grey.crop((left, top, max(right, left + 1), max(end, top + 1))))
    columns, rows = np.arange(coded.shape[1])[None, :] + left, np.arange(coded.shape[0])[:, None] + top
    turned = (columns + 1j * rows - edge[0]) * np.conj(along)
    own = (edge - edge[0]) * np.conj(along)
    slope = np.gradient(own.imag, own.real)
    across = (np.interp(turned.real, own.real, own.imag) - turned.imag) / np.sqrt(
        1 + np.interp(turned.real, own.real, slope) ** 2
    )
    outward = -across  # y runs down, so that left of the way down lies at greater values
    bins = np.floor((outward + _INWARD_PX) / _BIN_PX).astype(int)
    count = int((_INWARD_PX + _OUTWARD_PX) / _BIN_PX)
    inside = (bins >= 0) & (bins < count) & (turned.real > own.real[0]) & (turned.real < own.real[-1])
    return bins[inside], coded[inside]
