"""How much room there is between marks and ink, everything taken as discs.

A disc stroke is a run of discs anyway; a swept nib and a drawn line are filled with discs so densely that the
scallops between them stay under a tenth of a step.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from guidegen.geometry import cubic as cb
from guidegen.geometry.cubic import Complexes, Floats
from guidegen.geometry.path import Path
from guidegen.geometry.stroke.radius_spans import width_at
from guidegen.geometry.stroke.stroke import AnyStroke, NibStroke

_GRID = np.linspace(0.0, 1.0, 129)


class Crowd:
    """A growing set of discs, asked how far new discs would stay from it."""

    def __init__(self, centres: Complexes | None = None, radii: Floats | None = None) -> None:
        self._centres = np.zeros(0, np.complex128) if centres is None else centres
        self._radii = np.zeros(0) if radii is None else radii

    @property
    def centres(self) -> Complexes:
        return self._centres

    @property
    def radii(self) -> Floats:
        return self._radii

    def add(self, points: Sequence[complex], radius: float) -> None:
        """Add a disc of ``radius`` at each of ``points``."""
        self._centres = np.concatenate((self._centres, np.asarray(points, np.complex128)))
        self._radii = np.concatenate((self._radii, np.full(len(points), radius)))


def crowd_of(strokes: Sequence[AnyStroke], step: float) -> Crowd:
    """Return the ink of ``strokes`` as discs about ``step`` apart along each centreline."""
    centres, radii = [], []
    for stroke in strokes:
        s, points, _ = along(stroke.path, step)
        if isinstance(stroke, NibStroke):
            half = stroke.nib.thickness / 2
            reach = max(0.0, stroke.nib.width / 2 - half)
            across = np.linspace(-reach, reach, max(2, int(np.ceil(2 * reach / max(step, half)))))
            edge = np.exp(1j * np.radians(stroke.nib.angle_deg)) * across
            centres.append((points[:, None] + edge[None, :]).ravel())
            radii.append(np.full(len(points) * len(across), half * 2**0.5 + step / 10))
        else:
            centres.append(points)
            radii.append(width_at(stroke.widths, s) / 2)
    if not centres:
        return Crowd()
    return Crowd(np.concatenate(centres), np.concatenate(radii))


def along(path: Path, step: float) -> tuple[Floats, Complexes, Complexes]:
    """Return points about ``step`` apart along ``path``: arc lengths, points, unit tangents.

    Both ends of every segment are among them; at a corner the point stands twice, with either tangent.
    """
    lengths, points, tangents, total = [], [], [], 0.0
    for segment in path.segments:
        curve = cb.as_cubics([segment])
        running = _running_lengths(curve)
        length = float(running[-1])
        s = np.linspace(0.0, length, max(1, int(np.ceil(length / step))) + 1)
        t = np.interp(s, running, _GRID)
        rows = np.repeat(curve, len(t), axis=0)
        points.append(cb.point(rows, t))
        tangents.append(cb.tangent(rows, t))
        lengths.append(total + s)
        total += length
    return np.concatenate(lengths), np.concatenate(points), np.concatenate(tangents)


def _running_lengths(curve: Complexes) -> Floats:
    """Return the arc lengths from the start of one cubic to each point of the grid, by Simpson's rule."""
    middles = (_GRID[1:] + _GRID[:-1]) / 2
    at = np.sort(np.concatenate((_GRID, middles)))
    speed = np.abs(cb.derivative(np.repeat(curve, len(at), axis=0), at))
    steps = (speed[:-2:2] + 4 * speed[1:-1:2] + speed[2::2]) * np.diff(_GRID) / 6
    return np.concatenate((np.zeros(1), np.cumsum(steps)))


def width_of(stroke: AnyStroke, s: float) -> float:
    """Return how far ink reaches across a stroke at arc length ``s``: its width, or the nib's whole edge."""
    if isinstance(stroke, NibStroke):
        return stroke.nib.width
    return float(width_at(stroke.widths, s))


def reach_across(strokes: Sequence[AnyStroke], step: float) -> tuple[float, float] | None:
    """Return the least and greatest x that the ink of ``strokes`` reaches; None for no strokes.

    Found on samples ``step`` apart; the extreme between two of them is at most step^2/8 times the curvature out.
    """
    lows, highs = [], []
    for stroke in strokes:
        s, points, _ = along(stroke.path, step)
        if isinstance(stroke, NibStroke):
            edge = np.exp(1j * np.radians(stroke.nib.angle_deg))
            half = np.full(len(s), abs(stroke.nib.width * edge.real) + abs(stroke.nib.thickness * edge.imag)) / 2
        else:
            half = width_at(stroke.widths, s) / 2
        lows.append(float((points.real - half).min()))
        highs.append(float((points.real + half).max()))
    return (min(lows), max(highs)) if lows else None
