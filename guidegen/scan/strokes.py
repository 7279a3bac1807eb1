"""The width of one stroke: straightened along its own middle, cut across at every pixel, edges at half the ink's depth.

An edge is where the light is half-way between the paper beside it and the stroke's own ink. That is right for any blur
that is alike on both sides and for strokes wider than some two blurs. In a thinner one the ink's depth is never
reached, so width, depth and blur are fitted together to the stroke's mean profile, a bar convolved with a Gaussian;
blur and depth are held near those of the marker's wide strokes. The width of the stroke is the median over the
longest run above 0.92 of its own 90 % quantile.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from guidegen.scan.camera import PageMap
from guidegen.scan.cells import DEEPEST, INSET_MM, CellPicture, InkColours, darkness_of, stride_of

Fault = Literal[
    "", "empty", "pale", "leaves its box", "several strokes", "too short", "far off", "light changes across it"
]
_AIR_MM = 0.5
_RUN_SHARE, _RUN_QUANTILE = 0.92, 0.9
_LEAST_RUN = 2.0
"""A run is at least so many widths long."""
_LEAST_RUN_MM = 1.5
_PALE = 0.12
_SMOOTH_MM, _SMOOTH_PX = 0.25, 5.0
_WIDE = 7.0
"""A stroke wider than so many blurs reaches its ink's depth."""


@dataclass(frozen=True, slots=True)
class EdgeBlur:
    """How soft edges are (standard deviation, mm) and how dark the ink is where it is whole (0..1)."""

    sigma_mm: float
    depth: float


@dataclass(frozen=True, slots=True)
class MeasuredStroke:
    """One stroke. ``left``, ``right``: its edges in the block (mm) over its run; ``fault``: why it is left out."""

    cell: int
    kind: str
    width_mm: float
    fault: Fault = ""
    left: tuple[complex, ...] = ()
    right: tuple[complex, ...] = ()
    heading_deg: float = 0.0
    blur: EdgeBlur | None = None
    px_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class _Straightened:
    """A stroke's darkness, straightened: rows along it, columns across, in mm."""

    values: Any
    step_along: float
    step_across: float
    across: Any
    """Distance from the middle line of each column."""
    middle: Any
    """The middle line's place in the block at each row, complex."""
    normal: Any
    """The unit vector across it at each row, complex."""


def find_stroke(  # noqa: PLR0911  # one return for each thing that may be wrong
    picture: CellPicture, page: PageMap, colours: InkColours
) -> tuple[_Straightened | None, Fault]:
    """Return the stroke in a cell straightened, or why there is none."""
    from scipy import ndimage

    stride = stride_of(picture)
    dark = darkness_of(picture, colours, stride)
    if min(dark.shape) > 3 * 3:
        dark = ndimage.uniform_filter(dark, 3) if picture.px_mm * stride < 0.05 else dark
    px = (np.arange(dark.shape[1]) * stride + picture.corner_px.real)[None, :] + 1j * (
        np.arange(dark.shape[0]) * stride + picture.corner_px.imag
    )[:, None]
    # a plane map is near enough to tell where in the cell a pixel lies
    mm = _back(px - complex(page.to_px(np.array([picture.cell.centre]))[0]), picture)
    cell = picture.cell
    in_cell = (abs(mm.real) < cell.width_mm / 2 - 0.1) & (abs(mm.imag) < cell.height_mm / 2 - 0.1)
    deep = float(np.quantile(dark[in_cell], DEEPEST))
    if deep < _PALE:
        return None, "pale" if deep > 0.06 else "empty"
    ink = (dark > 0.45 * deep) & in_cell
    labels, count = ndimage.label(ink, structure=np.ones((3, 3), dtype=int))
    if not count:
        return None, "empty"
    sizes = np.bincount(labels.ravel())[1:]
    main = int(np.argmax(sizes)) + 1
    # specks and what a dry tip leaves beside its stroke do not count as strokes of their own
    own = labels == main
    z = mm[own]
    if len(z) < 12:
        return None, "empty"
    edge = (abs(z.real) > cell.width_mm / 2 - INSET_MM) | (abs(z.imag) > cell.height_mm / 2 - INSET_MM)
    if edge.any():
        return None, "leaves its box"
    middle = z.mean()
    along = _axis(z - middle)
    s, t = ((z - middle) * np.conj(along)).real, ((z - middle) * np.conj(along)).imag
    rest = np.sort(sizes)[::-1]
    if len(rest) > 1 and rest[1] > 0.25 * rest[0]:
        others = mm[(labels > 0) & ~own] - middle
        if np.quantile(abs((others * np.conj(along)).imag), 0.5) > 1.5 * np.ptp(t) / 2:
            return None, "several strokes"
    length = float(s.max() - s.min())
    if length < 2 * _LEAST_RUN_MM:
        return None, "too short"
    return _straighten(picture, page, colours, middle, along, (float(s.min()), float(s.max())), float(np.ptp(t))), ""


def _back(px: Any, picture: CellPicture) -> Any:
    """Return pixel offsets from a cell's middle as millimetres, by the map's slope there."""
    a, b = picture.right_px, picture.down_px
    area = (np.conj(a) * b).imag
    return ((px * np.conj(b)).imag * -1 + 1j * (np.conj(a) * px).imag) / area


def _axis(z: Any) -> complex:
    """Return the long axis of points, as a unit vector that runs down the page."""
    xx, yy, xy = (z.real**2).mean(), (z.imag**2).mean(), (z.real * z.imag).mean()
    axis = complex(np.exp(0.5j * np.arctan2(2 * xy, xx - yy)))
    return axis if axis.imag >= 0 else -axis


def _straighten(
    picture: CellPicture,
    page: PageMap,
    colours: InkColours,
    middle: complex,
    along: complex,
    ends: tuple[float, float],
    breadth: float,
) -> _Straightened:
    """Return the stroke's darkness along its own middle line, found on a first straight sampling."""
    from scipy import ndimage

    dark = darkness_of(picture, colours)
    step = picture.px_mm * 0.9
    fine = picture.px_mm * 0.5
    half = breadth / 2 + max(_AIR_MM, 8 * picture.px_mm)
    s = np.arange(ends[0] - 6 * step, ends[1] + 6 * step, step)
    t = np.arange(-half, half + fine, fine)
    origin = picture.cell.centre + middle

    def sampled(base: Any, normal: Any) -> Any:
        z = base[:, None] + normal[:, None] * t[None, :]
        px = page.to_px(z) - picture.corner_px
        return ndimage.map_coordinates(dark, [px.imag, px.real], order=1, mode="nearest")

    base = origin + along * s
    normal = np.full(len(s), 1j * along)
    first = sampled(base, normal)
    weight = np.clip(first - 0.35 * np.quantile(first, 0.98), 0, None)
    total = weight.sum(axis=1)
    good = total > 0.3 * np.quantile(total, 0.8)
    centre = (weight[good] * t).sum(axis=1) / total[good]
    span = max(abs(ends[0]), abs(ends[1]))
    fit = np.polynomial.Polynomial.fit(s[good], centre, min(4, max(1, good.sum() // 20)), domain=[-span, span])
    bend, slope = fit(s), fit.deriv()(s)
    limit = 0.5
    slope = np.clip(slope, -limit, limit)
    tangent = along * (1 + 1j * slope)
    tangent = tangent / abs(tangent)
    base = origin + along * (s + 1j * bend)
    # from row to row along the bent line
    spacing = float(np.mean(abs(np.diff(base)))) if len(base) > 1 else step
    width = breadth - abs(float(np.ptp(bend))) if breadth > np.ptp(bend) else breadth
    half = width / 2 + max(_AIR_MM, 8 * picture.px_mm)
    t = np.arange(-half, half + fine, fine)
    normal = 1j * tangent
    return _Straightened(sampled(base, normal), spacing, fine, t, base, normal)


def measure_stroke(found: _Straightened, cell: int, kind: str, px_mm: float, usual: EdgeBlur | None) -> MeasuredStroke:
    """Return the stroke's width; ``usual`` is what the marker's wide strokes say of blur and ink, else None."""
    from scipy import ndimage

    tangent = -1j * complex(np.mean(found.normal))  # y runs down in the block, angles are counted upwards
    heading = float(np.degrees(np.angle(np.conj(tangent))) % 180)
    plain = MeasuredStroke(cell, kind, 0.0, heading_deg=heading, px_mm=px_mm)
    values = _levelled(found)
    if values is None:
        return replace(plain, fault="light changes across it")
    window = max(1, round(max(_SMOOTH_MM, _SMOOTH_PX * px_mm) / found.step_along))
    smooth = ndimage.uniform_filter1d(values, window, axis=0)
    depth = _depth(smooth, found.across)
    if depth < _PALE:
        return replace(plain, fault="pale")
    left, right = _edges(smooth, found.across, depth / 2)
    run = _run(right - left)
    if run is None:
        return replace(plain, fault="too short")
    rough = float(np.median((right - left)[run]))
    blur = _blur(values, found, left, right, run, depth)
    wide = usual is None or rough > _WIDE * (usual.sigma_mm or blur)
    core = abs(found.across) < max(0.25 * rough, 0.5 * rough - 3.5 * blur)
    offset = 0.0
    sigma = blur
    if wide and rough > 5 * blur and core.any():
        depth = float(np.median(smooth[run][:, core]))
    else:
        depth, sigma, offset = _fitted(values, found, (left, right), run, depth, usual)
    left, right = _edges(smooth, found.across, depth / 2)
    run = _run(right - left)
    if run is None:
        return replace(plain, fault="too short")
    widths = (right - left)[run] + offset
    width = float(np.median(widths))
    length = (run.stop - run.start) * found.step_along
    if length < max(_LEAST_RUN * width, _LEAST_RUN_MM) * 0.8:
        return replace(plain, fault="too short")
    rows = np.arange(run.start, run.stop)[:: max(1, (run.stop - run.start) // 40)]
    edges = [tuple(complex(z) for z in found.middle[rows] + found.normal[rows] * side[rows]) for side in (left, right)]
    return replace(plain, width_mm=width, left=edges[0], right=edges[1], blur=EdgeBlur(sigma, depth))


def _levelled(found: _Straightened) -> Any | None:
    """Return the darkness with the paper on both sides of each row at 0; None where light changes too much there."""
    from scipy import ndimage

    count = len(found.across)
    share = max(3, round(min(0.18 * count, _AIR_MM * 0.6 / found.step_across)))
    sides = np.stack([np.median(found.values[:, :share], axis=1), np.median(found.values[:, -share:], axis=1)])
    sides = ndimage.median_filter(sides, size=(1, 2 * max(2, len(found.values) // 12) + 1), mode="nearest")
    if np.quantile(abs(sides[0] - sides[1]), 0.9) > 0.15:
        return None
    place = (found.across - found.across[0]) / (found.across[-1] - found.across[0])
    level = sides[0][:, None] * (1 - place) + sides[1][:, None] * place
    return (found.values - level) / (1 - np.clip(level, -0.5, 0.5))


def _depth(smooth: Any, across: Any) -> float:
    """Return a first depth of the ink: the median over rows of what the middle of a stroke reaches."""
    middle = abs(across) < 0.35 * across[-1]
    peaks = np.quantile(smooth[:, middle], 0.9, axis=1)
    return float(np.median(peaks[peaks > 0.5 * np.quantile(peaks, 0.8)]))


def _edges(smooth: Any, across: Any, level: float) -> tuple[Any, Any]:
    """Return for each row where it first rises above ``level`` from the left and from the right; equal for no ink."""
    above = smooth > level
    any_ink = above.any(axis=1)
    rows = np.arange(len(smooth))
    first = np.clip(np.argmax(above, axis=1), 1, None)
    last = smooth.shape[1] - 1 - np.argmax(above[:, ::-1], axis=1)
    last = np.clip(last, None, smooth.shape[1] - 2)
    step = across[1] - across[0]

    def crossing(inner: Any, outer: Any) -> Any:
        a, b = smooth[rows, outer], smooth[rows, inner]
        share = np.clip((level - a) / np.where(abs(b - a) < 1e-9, 1e-9, b - a), 0, 1)
        return across[outer] + (inner - outer) * step * share

    left, right = crossing(first, first - 1), crossing(last, last + 1)
    return np.where(any_ink, left, 0.0), np.where(any_ink, right, 0.0)


def _run(widths: Any) -> slice | None:
    """Return the longest run of rows above 0.92 of the widths' 90 % quantile."""
    inked = widths[widths > 0]
    if len(inked) < 8:
        return None
    good = widths > _RUN_SHARE * np.quantile(inked, _RUN_QUANTILE)
    ends = np.flatnonzero(np.diff(np.concatenate(([0], good.astype(int), [0]))))
    starts, stops = ends[::2], ends[1::2]
    longest = int(np.argmax(stops - starts))
    return slice(int(starts[longest]), int(stops[longest]))


def _blur(values: Any, found: _Straightened, left: Any, right: Any, run: slice, depth: float) -> float:
    """Return the standard deviation of the edges' softness, in mm, from how steep they are at half depth."""
    slopes = []
    for side, sign in ((left, 1.0), (right, -1.0)):
        profile, places = _mean_edge(values, found, side, run)
        near = abs(places) < 2.0 * found.step_across
        if near.sum() >= 3:
            slopes.append(sign * float(np.polyfit(places[near], profile[near], 1)[0]))
    steep = float(np.mean(slopes)) if slopes else 0.0
    least = 0.2 * found.step_across
    return float(max(least, depth / (max(steep, 1e-6) * np.sqrt(2 * np.pi))))


def _mean_edge(values: Any, found: _Straightened, side: Any, run: slice) -> tuple[Any, Any]:
    """Return the mean of a run's rows, each moved so that its edge lies at 0."""
    places = np.arange(-14, 15) * found.step_across
    rows = np.arange(run.start, run.stop)[:: max(1, (run.stop - run.start) // 150)]
    made = [np.interp(side[row] + places, found.across, values[row]) for row in rows]
    return np.mean(made, axis=0), places


def _fitted(
    values: Any, found: _Straightened, edges: tuple[Any, Any], run: slice, depth: float, usual: EdgeBlur | None
) -> tuple[float, float, float]:
    """Return depth and blur of a thin stroke, and by how much it is wider than it is at half that depth."""
    from scipy.optimize import least_squares
    from scipy.special import erf

    left, right = edges
    rows = np.arange(run.start, run.stop)[:: max(1, (run.stop - run.start) // 200)]
    middle = (left + right) / 2
    half = float(np.median((right - left)[run])) / 2 + max(0.25, 5 * found.step_across * 2)
    places = np.arange(-half, half + found.step_across, found.step_across)
    profile = np.mean([np.interp(middle[row] + places, found.across, values[row]) for row in rows], axis=0)
    start_width = float(np.median((right - left)[run]))
    sigma = usual.sigma_mm if usual else 0.9 * found.step_across * 2
    level = usual.depth if usual else depth

    def shape(v: Any) -> Any:
        width, deep, soft = v
        a, b = (places + width / 2) / (soft * np.sqrt(2)), (places - width / 2) / (soft * np.sqrt(2))
        return deep / 2 * (erf(a) - erf(b))

    def misses(v: Any) -> Any:
        held = [(v[2] - sigma) / (0.12 * sigma), (v[1] - level) / (0.12 * level)]
        if usual is None:
            held = [(v[2] - sigma) / sigma, 0.0]
        return np.concatenate([(shape(v) - profile) / 0.01, held])

    bounds = ([0.2 * start_width, 0.3 * depth, 0.3 * sigma], [2 * start_width, 1.2, 4 * sigma])
    start = np.clip([start_width, max(depth, level), sigma], np.array(bounds[0]) * 1.01, np.array(bounds[1]) * 0.99)
    width, deep, soft = least_squares(misses, start, bounds=bounds, max_nfev=60).x
    fine = np.linspace(places[0], places[-1], 2001)
    places = fine
    model = shape((width, deep, soft))
    above = fine[model > deep / 2]
    crossing = float(above[-1] - above[0]) if len(above) else 0.0
    if not crossing:  # the peak is below half the depth: take the edges of what is there
        return float(model.max()), float(soft), float(width - start_width)
    return float(deep), float(soft), float(width - crossing)
