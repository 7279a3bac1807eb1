"""The width of one stroke, from the rows of the picture that cut it.

An edge lies where the ink, were it all at its full depth, would end: the row's darkness summed over the edge, divided
by the depth. That is right for any blur that is alike on both sides, it is linear in the pixels, so that noise cannot
move it one way, and what sharpening adds on one side of an edge it takes on the other. A stroke thinner than some blurs
does not reach its ink's depth; width and depth are then fitted to its mean profile, a bar seen through the edges of the
marker's wide strokes, with the depth held near theirs.

The width of a stroke is the median over the longest run above 0.92 of its own 90 % quantile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from guidegen.scan.camera import PageMap, in_mm, local_px
from guidegen.scan.cells import InkColours, darkness_by_brightness
from guidegen.scan.light import Rendering
from guidegen.scan.strokes import AIR_MM, LEAST_RUN_MM, PALE, Fault, StrokePixels

_LONGEST_MM = 500.0
_STEP_MM = 0.05
"""Widths are taken at such steps along a stroke."""
_RUN_SHARE, _RUN_QUANTILE = 0.92, 0.9
_LEAST_RUN = 2.0
"""A run is at least so many widths long."""
_SMOOTH_MM, _SMOOTH_PX = 0.12, 2.0
_MORE_MM = (0.0, 0.25, 0.5)
_WIDE = 8.0
"""A stroke wider than so many blurs reaches its ink's depth."""
_REACH = 3.5
"""An edge's softness is summed over so many blurs on either side."""
_SOFTEST_PX = 15.0
_DEPTH_HELD, _PAPER_HELD = 0.04, 0.004
"""How near a thin stroke's depth is to that of wide ones, as a share, and how well the paper's level is known."""
_UNSHARPENED_RADII = 10.0
"""How far sharpening is undone; what is left beyond is less than a millionth."""
_BIN = 0.25
"""Profiles are kept in steps of so many pixels."""


@dataclass(frozen=True, slots=True)
class EdgeBlur:
    """How edges look: standard deviation of their softness (mm), how dark the ink is where it is whole (0..1).

    ``profile``: the share of the depth that is reached at each of ``places`` (mm, inwards), None where not known.
    """

    sigma_mm: float
    depth: float
    places: Any = None
    profile: Any = None


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


def usual_blur(strokes: list[MeasuredStroke]) -> EdgeBlur | None:
    """Return what a marker's wide strokes say of edges and ink, in pixels in place of mm; None where there are none.

    A camera softens every edge by as many pixels, whichever part of a tilted page it is on.
    """
    good = [
        (stroke.blur, stroke.px_mm) for stroke in strokes if stroke.blur is not None and stroke.blur.profile is not None
    ]
    if not good:
        return None
    places = good[0][0].places / good[0][1]
    profile = np.mean([np.interp(places, one.places / px_mm, one.profile) for one, px_mm in good], axis=0)
    return EdgeBlur(
        float(np.median([one.sigma_mm / px_mm for one, px_mm in good])),
        float(np.median([one.depth for one, _ in good])),
        places,
        profile,
    )


def measure_stroke(
    found: StrokePixels,
    cell: int,
    kind: str,
    page: PageMap,
    seen: tuple[InkColours, Rendering],
    printer: tuple[float, float],
    usual: EdgeBlur | None,
) -> MeasuredStroke:
    """Return the stroke's width in true mm.

    ``printer`` says what the printer makes of a millimetre across and down; ``usual`` what the marker's wide strokes
    say of edges and ink, else None.
    """
    if usual is not None:
        own = usual.sigma_mm * found.px_mm, usual.depth, usual.places * found.px_mm, usual.profile
        usual = EdgeBlur(*own)
    heading = float(np.degrees(np.angle(np.conj(found.along))) % 180)  # y runs down in the block, angles count upwards
    plain = MeasuredStroke(cell, kind, 0.0, heading_deg=heading, px_mm=found.px_mm)
    dark = _darkness(found, *seen)
    if dark is None:
        return replace(plain, fault="light changes across it")
    step = found.px_mm * found.slope
    depth = _depth(dark)
    if depth < PALE:
        return replace(plain, fault="pale")
    window = 2 * int(max(_SMOOTH_MM, _SMOOTH_PX * found.px_mm) / found.row_mm / 2) + 1  # odd: an even one moves rows
    # rows begin at whole pixels: what is smooth along the stroke is the distance from its line
    left, right = (found.line + _smoothed(side - found.line, window) for side in _crossings(dark, depth / 2))
    run = _run(right - left)
    if run is None:
        return replace(plain, fault="too short")
    rough = float(np.median((right - left)[run]))
    sigma = _softness(dark, (left, right), run, depth)
    soft = max(sigma, usual.sigma_mm / step) if usual else sigma
    core = _core(dark, (left, right), run, _REACH * sigma)
    if rough > _WIDE * soft and len(core) > 20:
        depth = float(np.median(core))
        left, right = (
            found.line + _smoothed(side - found.line, window)
            for side in _summed_edges(dark, (left, right), depth, _REACH * soft)
        )
        places, profile = _edge_profile(dark, (left, right), run, depth, 2.5 * _REACH * sigma)
        blur = EdgeBlur(sigma * step, depth, places * step, profile)
    else:
        blur, middle, summed = _thin(dark, (left, right), run, depth, sigma, usual, step)
        summed = _smoothed(summed, window)
        left, right = middle - summed / 2, middle + summed / 2
    widths, sides = _across(found, page, printer, left, right)
    for more_mm in _MORE_MM:
        # the raggedness of a very thin stroke breaks its run: it is then looked at more smoothly
        run = _run(_smoothed(widths, 2 * round(more_mm / _STEP_MM / 2) + 1))
        if run is None:
            return replace(plain, fault="too short")
        width = float(np.median(widths[run]))
        if (run.stop - run.start) * _STEP_MM >= max(_LEAST_RUN * width, LEAST_RUN_MM) * 0.8:
            break
    else:
        return replace(plain, fault="too short")
    kept = slice(run.start, run.stop, max(1, (run.stop - run.start) // 40))
    edges = [tuple(complex(z) for z in side[kept]) for side in sides]
    return replace(plain, width_mm=width, left=edges[0], right=edges[1], blur=blur)


def _across(
    found: StrokePixels, page: PageMap, printer: tuple[float, float], left: Any, right: Any
) -> tuple[Any, tuple[Any, Any]]:
    """Return the width square to the stroke's line at every ``_STEP_MM`` along it, true mm, and edges in the block."""
    inked = np.flatnonzero(right > left)
    if len(inked) < 8:
        return np.zeros(0), (np.zeros(0), np.zeros(0))
    inked = np.arange(inked[0], inked[-1] + 1)
    block = [_to_mm(page, (found.start_px + found.step_px * side)[inked], found.middle) for side in (left, right)]

    def true(z: Any) -> Any:
        return z.real * printer[0] + 1j * z.imag * printer[1]

    along = true(found.along)
    along /= abs(along)
    # ends that are cut at a slant turn the axis of a short, wide stroke: the second time it is that of its run
    for last in (False, True):
        s, a, b = _square_to([true(z) - true(found.middle) for z in block], along)
        if len(s) < 8:
            return np.zeros(0), (np.zeros(0), np.zeros(0))
        run = _run(abs(b - a))
        if run is None or run.stop - run.start < 8:
            return np.zeros(0), (np.zeros(0), np.zeros(0))
        span = s[run.start], s[run.stop - 1]
        line = np.polynomial.Polynomial.fit(s[run], ((a + b) / 2)[run], 2 if last else 1).deriv()
        if not last:
            turn = complex(1, float(line(0.0)))
            along *= turn / abs(turn)
    widths = abs(b - a) / np.hypot(1, np.clip(line(np.clip(s, *span)), -0.7, 0.7))
    sides = []
    for t in (a, b):
        z = (s + 1j * t) * along
        sides.append(found.middle + z.real / printer[0] + 1j * z.imag / printer[1])
    return widths, (sides[0], sides[1])


def _square_to(sides: Sequence[Any], along: complex) -> tuple[Any, Any, Any]:
    """Return steps along an axis and where both edges lie across it there.

    A row near an end cuts the end itself, so that its edge there belongs to the other side: the outline is parted anew
    where it reaches furthest.
    """
    loop = np.concatenate([sides[0], sides[1][::-1]]) * np.conj(along)
    first, last = int(np.argmin(loop.real)), int(np.argmax(loop.real))
    loop, last = np.roll(loop, -first), (last - first) % len(loop)
    lines = loop[: last + 1], np.concatenate([loop[last:], loop[:1]])[::-1]
    s = np.arange(loop[0].real, min(loop[last].real, loop[0].real + _LONGEST_MM), _STEP_MM)
    a, b = (np.interp(s, np.maximum.accumulate(line.real), line.imag) for line in lines)
    return s, a, b


def _to_mm(page: PageMap, px: Any, near: complex) -> Any:
    """Return places of the picture in the block, by Newton's steps from a place nearby."""
    mm = np.full(px.shape, near)
    for _ in range(4):
        middle = complex(mm.mean())
        a, b = local_px(page, middle)
        off = px - page.to_px(mm)
        x, y = in_mm(a, b, off.real, off.imag)
        mm = mm + x + 1j * y
    return mm


def _darkness(found: StrokePixels, colours: InkColours, how: Rendering) -> Any | None:
    """Return 0 on paper and about 1 for no light at all; None where light differs too much between a stroke's sides."""
    by_brightness = found.coded.shape[2] == 1
    plain = _unsharpened(found.coded, how, found.slope)
    values = plain[..., 0] if by_brightness else how.light(plain) @ colours.weights.astype(np.float32)
    paper = _paper_beside(values, found)
    allowed = 0.93 if by_brightness else 0.85
    if np.quantile(paper.min(axis=0) / np.maximum(paper.max(axis=0), 1e-6), 0.1) < allowed:
        return None
    place = np.linspace(0, 1, values.shape[1], dtype=np.float32)
    share = values / np.maximum(paper[0][:, None] * (1 - place) + paper[1][:, None] * place, 1e-4)
    return darkness_by_brightness(share, colours) if by_brightness else 1 - share


def _unsharpened(coded: Any, how: Rendering, slope: float) -> Any:
    """Return rows as they were before the picture was sharpened.

    A stroke is alike along itself, so that a Gaussian in two dimensions is one along the row, longer by the slant.
    """
    if not how.is_sharpened:
        return coded
    from scipy import ndimage

    reach = int(np.ceil(_UNSHARPENED_RADII * how.radius_px / slope))
    at = np.arange(-2 * reach, 2 * reach + 1)
    gauss = np.exp(-0.5 * ((at[:, None] - at[None, :]) * slope / how.radius_px) ** 2)
    gauss /= gauss.sum(axis=1, keepdims=True)
    undone = np.linalg.inv((1 + how.sharpened) * np.eye(len(at)) - how.sharpened * gauss)
    kernel = undone[2 * reach, reach : 3 * reach + 1]  # what undoes it falls off as fast as the Gaussian does
    return ndimage.correlate1d(coded.astype(np.float32), kernel / kernel.sum(), axis=1, mode="nearest")


def _paper_beside(values: Any, found: StrokePixels) -> Any:
    """Return the level of the paper at the first and the last pixel of each row."""
    from scipy import ndimage

    count = values.shape[1]
    share = max(3, round(min(0.18 * count, AIR_MM * 0.6 / (found.px_mm * found.slope))))
    sides = np.stack([np.median(values[:, :share], axis=1), np.median(values[:, -share:], axis=1)])
    return ndimage.median_filter(sides, size=(1, 2 * max(2, len(values) // 12) + 1), mode="nearest")


def _smoothed(values: Any, window: int) -> Any:
    from scipy import ndimage

    return ndimage.uniform_filter1d(values, window, axis=0, mode="nearest") if window > 1 else values


def _depth(dark: Any) -> float:
    """Return a first depth of the ink: the median over rows of what the middle of a stroke reaches."""
    quarter = dark.shape[1] // 4
    peaks = np.partition(dark[:, quarter:-quarter], -2, axis=1)[:, -2]
    return float(np.median(peaks[peaks > 0.5 * np.quantile(peaks, 0.8)]))


def _crossings(dark: Any, level: float) -> tuple[Any, Any]:
    """Return for each row where it first rises above ``level`` from either side, in pixels; equal for no ink."""
    above = dark > level
    any_ink = above.any(axis=1)
    rows = np.arange(len(dark))
    first = np.clip(np.argmax(above, axis=1), 1, None)
    last = np.clip(dark.shape[1] - 1 - np.argmax(above[:, ::-1], axis=1), None, dark.shape[1] - 2)

    def crossing(inner: Any, outer: Any) -> Any:
        a, b = dark[rows, outer], dark[rows, inner]
        share = np.clip((level - a) / np.where(abs(b - a) < 1e-9, 1e-9, b - a), 0, 1)
        return outer + (inner - outer) * share

    left, right = crossing(first, first - 1), crossing(last, last + 1)
    middle = dark.shape[1] / 2
    return np.where(any_ink, left, middle), np.where(any_ink, right, middle)


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


def _core(dark: Any, edges: tuple[Any, Any], run: slice, reach: float) -> Any:
    """Return the darkness of the pixels that lie further than ``reach`` inside both edges."""
    at = np.arange(dark.shape[1])[None, :]
    left, right = (side[run][:, None] for side in edges)
    return dark[run][(at > left + reach) & (at < right - reach)]


def _softness(dark: Any, edges: tuple[Any, Any], run: slice, depth: float) -> float:
    """Return the standard deviation of an edge's softness along the row, in pixels, from its slope at half depth."""
    steep = []
    for side, sign in zip(edges, (1.0, -1.0), strict=True):
        profile = _binned(dark, side, sign, run, -1.5, 1.5, 0.5)
        slopes = np.diff(profile)
        steep.append(float(np.nanmax(slopes) / 0.5) if np.isfinite(slopes).any() else 0.0)
    return float(np.clip(depth / (max(float(np.mean(steep)), 1e-6) * np.sqrt(2 * np.pi)), 0.2, _SOFTEST_PX))


def _binned(dark: Any, side: Any, sign: float, run: slice, low: float, high: float, size: float) -> Any:
    """Return the mean darkness in bins of the distance inward (``sign`` 1: to the right) from an edge, NaN for none."""
    at = sign * (np.arange(dark.shape[1])[None, :] - side[run][:, None])
    number = np.floor((at - low) / size).astype(int)
    count = round((high - low) / size)
    inside = (number >= 0) & (number < count)
    total = np.bincount(number[inside], dark[run][inside], count)
    each = np.bincount(number[inside], minlength=count)
    return np.where(each > 0, total / np.maximum(each, 1), np.nan)


def _edge_profile(dark: Any, edges: tuple[Any, Any], run: slice, depth: float, reach: float) -> tuple[Any, Any]:
    """Return places inward from the edge (pixels along the row) and the share of the depth reached there."""
    limit = float(np.median((edges[1] - edges[0])[run])) / 2
    count = int(np.ceil(reach / _BIN))
    places = (np.arange(-count, count) + 0.5) * _BIN
    a, b = (_binned(dark, side, sign, run, -count * _BIN, count * _BIN, _BIN)
            for side, sign in zip(edges, (1.0, -1.0), strict=True))  # fmt: skip
    profile = (a + b) / 2 / depth
    known = np.isfinite(profile) & (places < limit)
    profile = np.interp(places, places[known], profile[known])
    return places, np.where(places < -0.85 * reach, 0.0, np.where(places > min(limit, 0.85 * reach), 1.0, profile))


def _summed_edges(dark: Any, edges: tuple[Any, Any], depth: float, reach: float) -> tuple[Any, Any]:
    """Return the edges by the darkness summed over them."""
    total = np.concatenate([np.zeros((len(dark), 1)), np.cumsum(dark, axis=1, dtype=np.float64)], axis=1)
    rows = np.arange(len(dark))
    left, right = edges

    def up_to(place: Any) -> Any:  # pixel n reaches from n - 0.5 to n + 0.5
        at = np.clip(place + 0.5, 0, dark.shape[1] - 1e-6)
        whole = at.astype(int)
        return total[rows, whole] + (at - whole) * (total[rows, whole + 1] - total[rows, whole])

    for _ in range(2):
        inner = np.minimum(reach, (right - left) / 2)
        a = left + inner - (up_to(left + inner) - up_to(left - reach)) / depth
        b = right - inner + (up_to(right + reach) - up_to(right - inner)) / depth
        thick = (right - left) > reach
        left, right = np.where(thick, a, left), np.where(thick, b, right)
    return left, right


def _thin(
    dark: Any, edges: tuple[Any, Any], run: slice, depth: float, sigma: float, usual: EdgeBlur | None, step: float
) -> tuple[EdgeBlur, Any, Any]:
    """Return blur and depth of a thin stroke, and its middle and width in each row, in pixels along the row."""
    from scipy.optimize import leastsq
    from scipy.special import ndtr

    left, right = edges
    soft = usual.sigma_mm / step if usual else sigma
    rough = float(np.median((right - left)[run]))
    half = rough / 2 + 5 * soft
    middle = (left + right) / 2
    at = np.arange(dark.shape[1])[None, :]
    near = np.clip(half + 0.5 - abs(at - middle[:, None]), 0, 1)
    summed = (dark * near).sum(axis=1)
    count = int(np.ceil(half / _BIN))
    places = (np.arange(-count, count) + 0.5) * _BIN
    profile = _binned(dark, middle, 1.0, run, -count * _BIN, count * _BIN, _BIN)
    known = np.isfinite(profile)
    places, profile = places[known], profile[known]
    level = usual.depth if usual else depth
    mass = float(np.median(summed[run]))

    def edge(x: Any, softness: float) -> Any:
        if usual is not None and usual.profile is not None:
            return np.interp(x, usual.places / step, usual.profile)
        return ndtr(x / softness)

    def misses(v: Any) -> Any:
        width, deep, paper, softness = np.exp(v[0]), level * np.exp(v[1]), v[2], soft * np.exp(v[3])
        shape = edge(places + width / 2, softness) + edge(width / 2 - places, softness) - 1
        held = [v[1] / _DEPTH_HELD, v[2] / _PAPER_HELD, v[3] / 0.1] if usual else [v[1] / 0.5, v[2] / _PAPER_HELD, v[3]]
        return np.concatenate([(deep * shape + paper - profile) / 0.01, held])

    start = [np.log(max(0.3, mass / level)), 0.0, 0.0, 0.0]
    found, *_ = leastsq(misses, start, maxfev=120, full_output=True)  # or it warns where it stops early
    width, deep, paper = float(np.exp(found[0])), float(level * np.exp(found[1])), float(found[2])
    summed = (summed - paper * 2 * half) / deep
    summed = np.maximum(summed, 0.0) * width / max(1e-6, float(np.median(np.maximum(summed[run], 0.0))))
    return EdgeBlur(soft * float(np.exp(found[3])) * step, deep), middle, summed
