"""Where each millimetre of a block lies in a picture: a plain map for a scan, a lens and bent paper for a photograph.

Both are fitted to the twelve rings by least squares. The photograph's map is a plane seen through a pinhole (eight
numbers), the first term of a lens' distortion, and paper bent like a part of a wide cylinder: each is held near zero as
far as the rings do not ask for it, for twelve points cannot tell everything.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from guidegen.geometry.cubic import Complexes

FOCAL = 0.8
"""Focal length of a telephone's camera over the longer side of its picture; bent paper needs it roughly."""
RING_PX = 0.08
"""How well a ring is placed, and how far the maps' own terms usually go (k1 at the picture's corner; mm of bend)."""
USUAL_K1, _USUAL_BEND_MM = 0.02, 1.5


class PageMap(Protocol):
    """Where points of a block (mm, x right, y down, as complex numbers) lie in the picture (pixels)."""

    def to_px(self, mm: Complexes) -> Complexes:
        """Return the pixels of points of the block."""
        ...


@dataclass(frozen=True, slots=True)
class FlatMap:
    """``px = a x + b y + c``: a scan."""

    a: complex
    b: complex
    c: complex

    def to_px(self, mm: Complexes) -> Complexes:
        """Return the pixels of points of the block."""
        return self.a * mm.real + self.b * mm.imag + self.c


@dataclass(frozen=True, slots=True)
class LensMap:
    """A plane through a pinhole, a lens with one term, paper bent along x and y."""

    h: tuple[float, ...]
    k1: float
    bends: tuple[float, float]
    middle_mm: complex
    half_mm: float
    centre_px: complex
    half_px: float

    def to_px(self, mm: Complexes) -> Complexes:
        """Return the pixels of points of the block."""
        return seen_by(np.array([*self.h, self.k1, *self.bends]), mm, self)


@dataclass(frozen=True, slots=True)
class LiftedMap:
    """A plane over that of a photographed page, without the paper's bend."""

    page: LensMap
    height_mm: float
    focal: float

    def to_px(self, mm: Complexes) -> Complexes:
        """Return the pixels of points that lie over those of the block."""
        flat = np.array([*self.page.h, self.page.k1, 0.0, 0.0])
        return seen_by(flat, mm, self.page, self.height_mm, self.focal)


def local_px(page: PageMap, mm: complex, step_mm: float = 0.5) -> tuple[complex, complex]:
    """Return what a millimetre to the right and one down are in pixels, at a place of the block."""
    z = np.array([mm + step_mm, mm - step_mm, mm + 1j * step_mm, mm - 1j * step_mm])
    px = page.to_px(z)
    return complex(px[0] - px[1]) / (2 * step_mm), complex(px[2] - px[3]) / (2 * step_mm)


def in_mm(a: complex, b: complex, u: Any, v: Any) -> tuple[Any, Any]:
    """Return pixel offsets (right, down) as millimetres right and down, where those are ``a`` and ``b`` in pixels."""
    area = (a.conjugate() * b).imag
    return (u * b.imag - v * b.real) / area, (v * a.real - u * a.imag) / area


def lifted(page: FlatMap | LensMap, height_mm: float, focal: float | None, over: Complexes) -> PageMap:
    """Return the map of a stiff plane ``height_mm`` over the page, nearer to the camera; to a scanner it is the page.

    ``focal``: the lens' focal length over the picture's longer side; None for a telephone's usual one. ``over``: places
    that the plane lies on; bent paper is as high there as it is on average.
    """
    if isinstance(page, FlatMap):
        return page
    z = (over - page.middle_mm) / page.half_mm
    paper_mm = float(np.mean(page.bends[0] * z.real**2 + page.bends[1] * z.imag**2))
    return LiftedMap(page, height_mm + paper_mm, focal or FOCAL)


def flat_map(mm: Complexes, px: Complexes) -> tuple[FlatMap, float]:
    """Return the plain map through the rings and the root mean square of what it leaves, in pixels."""
    matrix = np.stack([mm.real, mm.imag, np.ones(len(mm))], axis=1).astype(complex)
    solved, *_ = np.linalg.lstsq(matrix, px, rcond=None)
    left = px - matrix @ solved
    return FlatMap(*(complex(part) for part in solved)), float(np.sqrt(np.mean(abs(left) ** 2)))


def lens_map(mm: Complexes, px: Complexes, size_px: tuple[int, int]) -> tuple[LensMap, float]:
    """Return a photograph's map through the rings and the root mean square of what it leaves, in pixels."""
    from scipy.optimize import least_squares

    middle = complex(mm.mean())
    half = float(abs(mm - middle).max())
    centre = complex((size_px[0] - 1) / 2, (size_px[1] - 1) / 2)
    about = LensMap((0.0,) * 8, 0.0, (0.0, 0.0), middle, half, centre, max(size_px) / 2)
    start = np.array([*_homography((mm - middle) / half, (px - centre) / about.half_px), 0.0, 0.0, 0.0])

    def misses(values: Any) -> Any:
        apart = (seen_by(values, mm, about) - px) / RING_PX
        held = np.array([values[8] / USUAL_K1, values[9] / _USUAL_BEND_MM, values[10] / _USUAL_BEND_MM])
        return np.concatenate([apart.real, apart.imag, held])

    found = least_squares(misses, start, method="lm", max_nfev=400).x
    made = LensMap(
        tuple(float(v) for v in found[:8]), float(found[8]), (float(found[9]), float(found[10])), middle, half, centre,
        about.half_px,
    )  # fmt: skip
    left = made.to_px(mm) - px
    return made, float(np.sqrt(np.mean(abs(left) ** 2)))


def tilt_deg(page: LensMap) -> float:
    """Return how far the paper is from square to the view, in degrees: by how much shorter it looks along one way.

    A lens' focal length need not be known for that; a printer that is off by 2 % makes it 11 degrees at most.
    """
    right, down = local_px(page, page.middle_mm)
    sides = np.linalg.svd(np.array([[right.real, down.real], [right.imag, down.imag]]), compute_uv=False)
    return float(np.degrees(np.arccos(sides[1] / sides[0])))


def lens_columns(h: Any, focal: float) -> tuple[Any, Any]:
    """Return the first two columns of a plane's map without the lens: its axes as the camera has them in space."""
    plain = np.array([*h[:8], 1.0]).reshape(3, 3) / np.array([2 * focal, 2 * focal, 1.0])[:, None]
    return plain[:, 0], plain[:, 1]


def _up(h: Any, focal: float) -> Any:
    """Return what a length towards the camera adds to a point seen through a plane's map.

    Lengths are in units of the plane's; ``focal`` is the lens' focal length over the picture's longer side.
    """
    # by hand: numpy's own cross takes ten times as long for two short columns, and this is asked hundreds of times
    (a, b, c), (d, e, f) = (column.tolist() for column in lens_columns(h, focal))
    unit = math.sqrt(math.hypot(a, b, c) * math.hypot(d, e, f))
    return -np.array([2 * focal * (b * f - c * e), 2 * focal * (c * d - a * f), a * e - b * d]) / unit


def seen_by(
    values: Any, mm: Complexes, about: LensMap, lifted_mm: float = 0.0, focal: float = FOCAL
) -> Complexes:
    """Return the pixels of points (mm) by a map's numbers: plane, lens, bends, in the units of ``about``."""
    h = np.array([*values[:8], 1.0]).reshape(3, 3)
    z = (mm - about.middle_mm) / about.half_mm
    x, y = z.real, z.imag
    place = h @ np.stack([x.ravel(), y.ravel(), np.ones(x.size)])
    if values[9] or values[10] or lifted_mm:
        height = (values[9] * x.ravel() ** 2 + values[10] * y.ravel() ** 2 + lifted_mm) / about.half_mm
        place = place + _up(values, focal)[:, None] * height
    u, v = place[0] / place[2], place[1] / place[2]
    far = u * u + v * v
    bent = 1 + values[8] * far
    made: Complexes = ((u * bent + 1j * (v * bent)) * about.half_px + about.centre_px).reshape(mm.shape)
    return made


def _homography(z: Complexes, w: Complexes) -> Any:
    """Return the eight numbers of the plane's map from ``z`` to ``w``, by linear least squares."""
    rows = []
    for p, q in zip(z, w, strict=True):
        x, y, u, v = p.real, p.imag, q.real, q.imag
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    wanted = np.stack([w.real, w.imag], axis=1).ravel()
    solved, *_ = np.linalg.lstsq(np.array(rows), wanted, rcond=None)
    return solved
