"""A bank card lying on a page, found by its outline alone: its size is known, so it tells what the printer does.

A card of the size ID-1 (ISO/IEC 7810) is 85.60 x 53.98 mm with rounded corners, 0.76 mm thick. Its upper face is so
much nearer to a camera than the paper, and looks larger by 0.76 mm over the distance: 0.2 to 0.5 %. Nothing that is
printed on a card is looked at, but for where it ends.

Places on the card are those of the page's block in mm as the file has them (x right, y down), lifted by its thickness.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.scan.camera import FlatMap, LensMap, PageMap, in_mm, lifted, local_px
from guidegen.scan.card_fit import CardSides, fit_card
from guidegen.scan.grid import FoundBlock
from guidegen.scan.light import linear_of
from guidegen.scan.pictures import Photograph
from guidegen.sheets.parts.swatch_block import RING_MM

CARD_MM = (85.60, 53.98)
THICKNESS_MM = 0.76
_TOLERANCE_MM = (0.125, 0.055)
"""Half of what the standard allows: 85.47 to 85.72 by 53.92 to 54.03 mm."""
_PER_MM = 2.0
"""Points of the coarse look at the page to a millimetre."""
_AROUND_MM = 150.0
_OPEN_MM = 2.4
"""What is thinner than twice this is no card: rings, strokes and words. Less than a card's corner, which stays."""
_RING_REACH_MM = RING_MM / 2 + 0.4
_APART = (0.6, 0.35, 0.2, 0.12)
"""By how much of the light (natural logarithm) something differs from paper, tried from the plainest down."""
_FILLED = 0.955
_ASPECT, _ROUGH_ASPECT = 0.035, 0.08
"""By how much a card's shape may be off: by a scan, and by the rings of a photograph, which lie beside it."""
_MOST_OFF = 0.06
_CORNER_MM = 7.0
"""So much of each side's ends is left out: corners are rounded with 2.88 to 3.48 mm."""
_STATIONS = 90
_COARSE_REACH_MM, _FINE_REACH_MM = 3.0, 0.9
_LEAST_KEPT = 0.6
_MOST_ROUGH_MM = 0.12
_STRAYED_MM = 0.4
"""A station further from a side's line shows something else."""
_EDGE_PX = 0.12
"""Standard error of the place of a side, in pixels: its edge is rounded and casts a shadow."""
_MOST_MISSED = 6.0
"""By how much of that error the sides may miss what camera and card together make of them."""
_UNEVEN_SHARE = 0.004
"""Standard error by which a printer's two axes differ, before a card is looked at."""
_FIX = "lay the card flat beside the block, whole, clear of print, on paper that it stands out from, without shadow"


@dataclass(frozen=True, slots=True)
class FoundCard:
    """What a card tells: true mm to a printed mm across and down, and the standard error as a share."""

    printer: tuple[float, float]
    share: float
    corners: tuple[complex, ...]
    """Where its sides meet, in mm of the page as the file has them."""


def find_card(picture: Photograph, page: FlatMap | LensMap, block: FoundBlock, name: str) -> FoundCard:
    """Return what the card beside a block tells of the printer.

    Raises:
        GuidegenError: no card, or something that is none; one line that says what to do.
    """
    around = np.array(block.block.rings)
    corners = _coarse_corners(picture, lifted(page, THICKNESS_MM, picture.focal, around.mean(keepdims=True)), around)
    if corners is None:
        raise _refused(name, "nothing of a bank card's shape")
    face = lifted(page, THICKNESS_MM, picture.focal, np.array(corners))
    for reach in (_COARSE_REACH_MM, _FINE_REACH_MM):
        sides = [_side(picture, face, corners, n, reach) for n in range(4)]
        if any(side is None for side in sides):
            raise _refused(name, "a card whose sides are not seen clearly")
        lines = [side for side in sides if side is not None]
        corners = tuple(_meeting(lines[n - 1], lines[n]) for n in range(4))
    if max(line.rough_mm for line in lines) > _MOST_ROUGH_MM:
        raise _refused(name, "a card whose sides are not straight")
    if not _rounded(picture, face, corners):
        raise _refused(name, "something with square corners")
    if isinstance(page, FlatMap):
        return _told(page, corners, name)
    return _told_by_photograph(page, face, lines, corners, (picture, block), name)


def _refused(name: str, found: str) -> GuidegenError:
    return bad_input(name, "", Plain(found), "a bank card (85.60 x 53.98 mm) beside the block", _FIX)


def _coarse_corners(picture: Photograph, face: PageMap, rings: Any) -> tuple[complex, ...] | None:
    """Return the corners of the region that a card may be, in order; None for none.

    The picture is looked at straight from above. Paper is what lies in the block, and what is like it further out.
    """
    from scipy import ndimage

    low = complex(rings.real.min() - _AROUND_MM, rings.imag.min() - _AROUND_MM)
    wide, high = (np.ptp(side) + 2 * _AROUND_MM for side in (rings.real, rings.imag))
    mm = low + (np.arange(int(wide * _PER_MM))[None, :] + 1j * np.arange(int(high * _PER_MM))[:, None]) / _PER_MM
    px = face.to_px(np.asarray(mm, dtype=np.complex128))
    factor = max(1, int(1 / (_PER_MM * 1.5) * min(abs(z) for z in local_px(face, complex(rings.mean())))))
    small = picture.image.reduce(factor) if factor > 1 else picture.image
    light = np.log(0.004 + linear_of(np.asarray(small), linear=picture.linear))
    at = np.rint((px - (factor - 1) / 2 * (1 + 1j)) / factor)
    inside = (at.real >= 0) & (at.imag >= 0) & (at.real < small.size[0]) & (at.imag < small.size[1])
    seen = light[np.where(inside, at.imag, 0).astype(int), np.where(inside, at.real, 0).astype(int)]
    apart = _apart(seen, inside, mm, rings)
    for ring in rings:  # a card may touch one, and none lies under it
        apart[abs(mm - ring) < _RING_REACH_MM] = 0.0
    for least in _APART:
        region = ndimage.binary_fill_holes((apart > least) & inside)
        opened = _opened(region, _OPEN_MM * _PER_MM)
        labels, _ = ndimage.label(opened)
        found = []
        for number, place in enumerate(ndimage.find_objects(labels), start=1):
            corners = _rectangle(labels[place] == number, low + complex(place[1].start, place[0].start) / _PER_MM)
            if corners is not None and not _covers(corners, rings):
                found.append(corners)
        if len(found) == 1:
            return found[0]
    return None


def _apart(seen: Any, inside: Any, mm: Any, rings: Any) -> Any:
    """Return how far each point is from paper, by the channel that differs most; light falls off as a quadratic."""
    block = inside & (mm.real > rings.real.min()) & (mm.real < rings.real.max())
    block &= (mm.imag > rings.imag.min()) & (mm.imag < rings.imag.max())
    green = seen[..., 1]
    keep = block & (green > np.quantile(green[block], 0.5) - 0.1)
    middle, size = complex(rings.mean()), float(abs(rings - rings.mean()).max())
    x, y = (mm.real - middle.real) / size, (mm.imag - middle.imag) / size
    terms = [np.ones_like(x), x, y]
    level = np.zeros_like(seen)
    for turn in range(4):
        if turn == 2:
            terms += [x * x, x * y, y * y]
        own = np.flatnonzero(keep)[:: max(1, int(keep.sum()) // 20_000)]
        matrix = np.stack([term.ravel()[own] for term in terms], axis=1)
        solved, *_ = np.linalg.lstsq(matrix, seen.reshape(-1, 3)[own], rcond=None)
        level = sum(term[..., None] * part for term, part in zip(terms, solved, strict=True))
        keep = inside & (abs(seen - level).max(axis=2) < 0.12)
    return abs(seen - level).max(axis=2)


def _opened(region: Any, reach: float) -> Any:
    """Return a region without what is thinner than twice ``reach``."""
    from scipy import ndimage

    padded = np.pad(region, 1)
    core = ndimage.distance_transform_edt(padded) > reach
    if not core.any():
        return np.zeros_like(region)
    return (ndimage.distance_transform_edt(~core) <= reach)[1:-1, 1:-1]


def _rectangle(own: Any, low: complex) -> tuple[complex, ...] | None:
    """Return the corners of the smallest rectangle round a region that may be a card; None for another shape."""
    from scipy.spatial import ConvexHull

    area = own.sum() / _PER_MM**2
    if not 0.85 < area / (CARD_MM[0] * CARD_MM[1]) < 1.2:
        return None
    rows, columns = np.nonzero(own)
    points = np.stack([columns, rows], axis=1)
    hull = points[ConvexHull(points).vertices] @ np.array([1, 1j])
    best: tuple[float, complex, float, float, float, float] | None = None
    for along in np.roll(hull, -1) - hull:
        turned = hull * np.conj(along / abs(along))
        left, right, top, bottom = turned.real.min(), turned.real.max(), turned.imag.min(), turned.imag.max()
        size = (right - left + 1) * (bottom - top + 1)
        if best is None or size < best[0]:
            best = (float(size), complex(along / abs(along)), left, right, top, bottom)
    if best is None:
        return None
    size, along, left, right, top, bottom = best
    sides = sorted(((right - left + 1) / _PER_MM, (bottom - top + 1) / _PER_MM), reverse=True)
    off = [side / true - 1 for side, true in zip(sides, CARD_MM, strict=True)]
    if max(abs(share) for share in off) > 0.1 or abs(off[0] - off[1]) > 0.06 or own.sum() / size < _FILLED:
        return None
    corners = [along * complex(*z) for z in ((left, top), (right, top), (right, bottom), (left, bottom))]
    if right - left < bottom - top:
        corners = corners[1:] + corners[:1]
    return tuple(low + z / _PER_MM for z in corners)


def _covers(corners: tuple[complex, ...], rings: Any) -> bool:
    """Tell whether a rectangle lies on a ring, which the picture shows: then it is no card."""
    z = rings - corners[0]
    u, v = in_mm(corners[1] - corners[0], corners[3] - corners[0], z.real, z.imag)  # as shares of the sides
    return bool(((u > 0) & (u < 1) & (v > 0) & (v < 1)).any())


@dataclass(frozen=True, slots=True)
class _Line:
    """A fitted side: a point of it, its direction, how far its stations stray."""

    point: complex
    along: complex
    rough_mm: float
    end: complex
    at: tuple[float, float]
    """Where point and end lie along the side, as shares of its length."""


def _side(
    picture: Photograph, face: PageMap, corners: tuple[complex, ...], number: int, reach_mm: float
) -> _Line | None:
    """Return the line of the side from a corner to the next, looked for ``reach_mm`` to either side of it."""
    from scipy import ndimage

    a, b = corners[number], corners[(number + 1) % 4]
    along = (b - a) / abs(b - a)
    outward = -1j * along  # corners run as the hands of a clock do, y down
    px_mm = 1 / min(abs(z) for z in local_px(face, (a + b) / 2))
    step = px_mm / 2
    s = np.linspace(_CORNER_MM, abs(b - a) - _CORNER_MM, _STATIONS)
    count = int(reach_mm / step)
    t = np.arange(-count, count + 1) * step
    light = _light_at(picture, face, a + s[:, None] * along + t[None, :] * outward)
    if light is None:
        return None
    window = max(3, round(_STATIONS * 2.0 / abs(b - a))) | 1
    light = ndimage.uniform_filter1d(light, window, axis=0, mode="nearest")
    steep = np.sqrt((ndimage.gaussian_filter1d(light, 2.0, axis=1, order=1) ** 2).sum(axis=2))
    steep[:, :4] = steep[:, -4:] = 0.0
    most = steep.max(axis=1)
    # the outermost step that is no trifle is the card's own edge; those further in are printed on it
    peaks = (steep >= 0.45 * most[:, None]) & (steep >= np.roll(steep, 1, axis=1))
    peaks &= steep > np.roll(steep, -1, axis=1)
    at = len(t) - 1 - np.argmax(peaks[:, ::-1], axis=1)
    rows = np.arange(len(s))
    before, here, after = steep[rows, at - 1], steep[rows, at], steep[rows, np.minimum(at + 1, len(t) - 1)]
    bend = before - 2 * here + after
    place = t[at] + step * np.where(bend < 0, 0.5 * (before - after) / np.where(bend < 0, bend, -1), 0)
    # print beside the card draws some stations away: the median of slopes and places is not moved by them
    half = len(s) // 2
    slope = float(np.median((place[half:] - place[: len(s) - half]) / (s[half:] - s[: len(s) - half])))
    line = np.polynomial.Polynomial([float(np.median(place - slope * s)), slope])
    for _ in range(4):
        left = abs(place - line(s))
        keep = left < min(max(3.5 * 1.4826 * float(np.median(left)), 0.5 * step), _STRAYED_MM)
        if keep.mean() < _LEAST_KEPT:
            return None
        line = np.polynomial.Polynomial.fit(s[keep], place[keep], 1)
    ends = [a + at_s * along + float(line(at_s)) * outward for at_s in (s[0], s[-1])]
    rough = float(np.std((place - line(s))[keep]))
    return _Line(ends[0], (ends[1] - ends[0]) / abs(ends[1] - ends[0]), rough, ends[1],
                 (float(s[0] / abs(b - a)), float(s[-1] / abs(b - a))))  # fmt: skip


def _light_at(picture: Photograph, face: PageMap, mm: Any) -> Any | None:
    """Return the light (0..1, three channels) at places of the card's plane; None where the picture ends."""
    from scipy import ndimage

    px = face.to_px(np.asarray(mm, dtype=np.complex128))
    left, top = int(px.real.min()) - 1, int(px.imag.min()) - 1
    right, bottom = int(px.real.max()) + 3, int(px.imag.max()) + 3
    if min(left, top) < 0 or right > picture.size[0] or bottom > picture.size[1]:
        return None
    light = linear_of(np.asarray(picture.image.crop((left, top, right, bottom))), linear=picture.linear)
    at = [px.imag - top, px.real - left]
    return np.stack([ndimage.map_coordinates(light[..., n], at, order=1) for n in range(3)], axis=-1)


def _meeting(one: _Line, other: _Line) -> complex:
    """Return where two lines meet."""
    across = (one.along.conjugate() * other.along).imag
    share = ((other.point - one.point) * other.along.conjugate()).imag / -across
    return one.point + share * one.along


def _rounded(picture: Photograph, face: PageMap, corners: tuple[complex, ...]) -> bool:
    """Tell whether just inside the corners there is ground: a radius of 3 mm leaves 1.2 mm of it along a diagonal."""
    votes = 0
    for n in range(4):
        inward = (corners[n - 1] - corners[n]) / abs(corners[n - 1] - corners[n])
        inward = inward + (corners[(n + 1) % 4] - corners[n]) / abs(corners[(n + 1) % 4] - corners[n])
        inward /= abs(inward)
        light = _light_at(picture, face, corners[n] + np.array([-1.2, -0.9, 0.5, 0.6, 2.4, 2.8]) * inward)
        if light is None:
            continue
        ground, corner, card = light[:2].mean(axis=0), light[2:4].mean(axis=0), light[4:].mean(axis=0)
        votes += bool(np.abs(corner - ground).sum() < np.abs(corner - card).sum())
    return votes >= 2


def _sides_of(corners: tuple[complex, ...], most: float, name: str) -> tuple[complex, complex, float]:
    """Return a card's long and short side, in mm as printed, and the printer's scale they point to."""
    long = (corners[1] - corners[0] + corners[2] - corners[3]) / 2
    short = (corners[3] - corners[0] + corners[2] - corners[1]) / 2
    mean = float(np.sqrt(CARD_MM[0] * CARD_MM[1] / abs((long.conjugate() * short).imag)))
    aspect = abs(long) / abs(short) / (CARD_MM[0] / CARD_MM[1]) - 1
    skew = float(np.angle(short / long)) - np.pi / 2
    if abs(aspect) > most or abs(skew) > most or abs(mean - 1) > _MOST_OFF + most - _ASPECT:
        raise _refused(name, f"something of {abs(long):.1f} x {abs(short):.1f} mm as printed")
    return long, short, mean


def _told(page: FlatMap, corners: tuple[complex, ...], name: str) -> FoundCard:
    """Return the printer's two axes by the sides of a card on a scanner's glass."""
    long, short, _ = _sides_of(corners, _ASPECT, name)
    px_mm = float(1 / min(abs(z) for z in local_px(page, sum(corners) / 4)))
    # a side along (x, y) is across * x and down * y long: linear for small differences from one
    rows, wanted, doubt = [[1.0, -1.0]], [0.0], [_UNEVEN_SHARE]
    for side, true, tolerance in zip((long, short), CARD_MM, _TOLERANCE_MM, strict=True):
        rows.append([side.real**2 / abs(side) ** 2, side.imag**2 / abs(side) ** 2])
        wanted.append(float(np.log(true / abs(side))))
        doubt.append(float(np.hypot(_EDGE_PX * px_mm * np.sqrt(2), tolerance / np.sqrt(3))) / true)
    weighted = np.array(rows) / np.array(doubt)[:, None]
    solved, *_ = np.linalg.lstsq(weighted, np.array(wanted) / np.array(doubt), rcond=None)
    spread = np.diag(np.linalg.inv(weighted.T @ weighted))
    return FoundCard((float(np.exp(solved[0])), float(np.exp(solved[1]))), float(np.sqrt(spread.max())), corners)


def _told_by_photograph(
    page: LensMap, face: PageMap, lines: list[_Line], corners: tuple[complex, ...],
    shown: tuple[Photograph, FoundBlock], name: str,
) -> FoundCard:  # fmt: skip
    """Return the printer's two axes by a card that a camera sees."""
    long, _, mean = _sides_of(corners, _ROUGH_ASPECT, name)
    picture, block = shown
    px = face.to_px(np.array([[line.point, line.end] for line in lines]))
    sides = CardSides(px, np.array([line.at for line in lines]), _EDGE_PX)
    rings = np.array(block.block.rings), np.array(block.rings)
    first = sum(corners) / 4, long / abs(long), mean
    card = CARD_MM, _TOLERANCE_MM, THICKNESS_MM
    fit = fit_card(page, rings, sides, first, card, picture.focal, _UNEVEN_SHARE)
    if fit.off > _MOST_MISSED or max(abs(side - 1) for side in fit.printer) > _MOST_OFF:
        raise _refused(name, "a card that does not fit the page: one of them is bent or lifted")
    return FoundCard(fit.printer, fit.share, corners)
