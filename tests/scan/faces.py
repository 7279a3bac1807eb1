"""Letters of published open faces as written ones, and what is true of them: measured on outlines, by shapely.

Nothing of ``guidegen`` is used. In a frame in which the slant stands upright every row is cut through the letter: the
white's longest row, and of the ink at its left, followed downwards, the longest row where the stroke runs down.
"""

from __future__ import annotations

import importlib.util
import os
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.ops import polygonize, unary_union

FACES = {
    "dancing-script": "DancingScript[wght].ttf", "kalam": "Kalam-Regular.ttf", "kalam-bold": "Kalam-Bold.ttf",
    "great-vibes": "GreatVibes-Regular.ttf", "satisfy": "Satisfy-Regular.ttf", "yellowtail": "Yellowtail-Regular.ttf",
    "pacifico": "Pacifico-Regular.ttf", "caveat": "Caveat[wght].ttf", "lobster": "Lobster-Regular.ttf",
    "lobster-two": "LobsterTwo-Italic.ttf", "lobster-two-bold": "LobsterTwo-BoldItalic.ttf",
    "oleo-script": "OleoScript-Regular.ttf", "oleo-script-bold": "OleoScript-Bold.ttf",
    "permanent-marker": "PermanentMarker-Regular.ttf", "indie-flower": "IndieFlower-Regular.ttf",
    "shadows-into-light": "ShadowsIntoLight.ttf", "zeyada": "Zeyada.ttf", "delius": "Delius-Regular.ttf",
    "kalam-light": "Kalam-Light.ttf", "playfair-display": "PlayfairDisplay-Italic[wght].ttf",
}  # fmt: skip
"""Faces of the packages ``fontpkg-NAME``: where one is not installed, ``GUIDEGEN_FACES`` is a folder with its files."""
_ROWS = 900


@dataclass(frozen=True)
class FaceLetter:
    """An ``e``: rings in x-heights (y up, ink anticlockwise), its slant, white and downstroke in x-heights."""

    rings: list
    slant_deg: float
    counter: float
    downstroke: float
    height: float

    @property
    def ratio(self):
        return self.counter / self.downstroke


def face_path(name):
    """The file of a face, None where it is not there."""
    own = next((name.removesuffix(end) for end in ("-bold", "-light") if name.endswith(end)), name)
    spec = importlib.util.find_spec(f"fontpkg_{own.replace('-', '_')}")
    folders = [Path(spec.origin).parent] if spec and spec.origin else []
    folders += [Path(os.environ["GUIDEGEN_FACES"])] if "GUIDEGEN_FACES" in os.environ else []
    return next((path for folder in folders for path in folder.rglob("*.ttf") if path.name == FACES[name]), None)


def outline(font, glyph_name):
    """The filled area of a glyph."""
    pen = DecomposingRecordingPen(font.getGlyphSet())
    font.getGlyphSet()[glyph_name].draw(pen)
    rings, own, at = [], [], 0j
    t = np.linspace(0, 1, 25)[1:]
    for verb, points in pen.value:
        z = [complex(*p) for p in points if p is not None]
        if verb == "moveTo":
            own, at = [z[0]], z[0]
        elif verb == "lineTo":
            own.append(z[0])
            at = z[0]
        elif verb == "curveTo":
            a, b, c = z
            own += list((1 - t) ** 3 * at + 3 * (1 - t) ** 2 * t * a + 3 * (1 - t) * t * t * b + t**3 * c)
            at = c
        elif verb == "qCurveTo":
            if points[-1] is None:  # a contour of controls alone
                z.append((z[-1] + z[0]) / 2)
                at, own = z[-1], [z[-1]]
            for k, control in enumerate(z[:-1]):
                end = z[-1] if k == len(z) - 2 else (control + z[k + 1]) / 2
                own += list((1 - t) ** 2 * at + 2 * (1 - t) * t * control + t * t * end)
                at = end
        elif own:
            rings.append(np.array(own))
    return nonzero([ring for ring in rings if len(ring) > 3])


def nonzero(rings):
    """The area in which rings wind, as fonts are filled: every piece between all the lines, by a point inside it."""
    closed = [np.append(ring, ring[0]) for ring in rings]
    lines = unary_union([LineString(np.stack([z.real, z.imag], axis=1)) for z in closed])
    kept = []
    for piece in polygonize(lines):
        if piece.area > 1:
            at = complex(*piece.representative_point().coords[0])
            turns = sum(np.angle((z[1:] - at) / (z[:-1] - at)).sum() for z in closed) / (2 * np.pi)
            if round(turns):
                kept.append(piece)
    return unary_union(kept)


def _slant(font, names):
    """The lean at which upright strokes stand most upright: the projection onto the baseline is the most uneven."""
    areas = [outline_of(font, name) for name in names]

    def unevenness(lean):
        total = 0.0
        for area in areas:
            upright = affinity.skew(area, xs=-lean, origin=(0, 0))
            low, _, high, _ = upright.bounds
            cuts = [upright.intersection(LineString([(x, -3000), (x, 3000)])).length
                    for x in np.linspace(low, high, 60)]  # fmt: skip
            total += np.square(cuts).sum() / max(1e-9, np.sum(cuts) ** 2)
        return total

    rough = max(np.arange(-6, 42, 2.0), key=unevenness)
    return float(90.0 - max(rough + np.arange(-2, 2.1, 0.5), key=unevenness))


@cache
def outline_of(font, name):
    return outline(font, font.getBestCmap()[ord(name)])


def letter_of(area, slant_deg):
    """What is true of a letter's area (any unit): white, downstroke, its height; None without either."""
    upright = affinity.rotate(area, 90 - slant_deg, origin=(0, 0))
    parts = getattr(upright, "geoms", [upright])
    holes = [Polygon(ring) for part in parts for ring in part.interiors]
    size = upright.envelope.area
    holes = [hole for hole in holes if hole.area > 0.004 * size]
    if not holes:
        return None
    bowl = max(holes, key=lambda hole: hole.centroid.y)
    left, low, right, high = upright.bounds
    ys = np.linspace(low, high, _ROWS + 2)[1:-1]
    white = max(_spans(bowl, left, right, y, longest=True)[0] for y in ys if bowl.bounds[1] < y < bowl.bounds[3])
    edges = _left_of(upright, bowl, ys, left, right)
    if edges is None:
        return None
    step = ys[1] - ys[0]
    near = max(1, round(0.12 * np.nanmedian(edges[:, 1] - edges[:, 0]) / step))
    lean = [np.degrees(np.arctan((np.roll(side, -near) - np.roll(side, near)) / (2 * near * step)))
            for side in (edges[:, 0], edges[:, 1], edges.mean(axis=1))]  # fmt: skip
    steep = abs(lean[2]) < 30
    if not steep.any():
        return None
    own = np.median(lean[2][steep])  # in a turn a cut across the slant runs along the stroke
    usual = np.nanmedian(edges[:, 1] - edges[:, 0])
    for middle, side in ((10, 20), (15, 30), (30, 45)):
        runs = steep & (abs(lean[2] - own) < middle) & (abs(lean[0] - own) < side) & (abs(lean[1] - own) < side)
        runs[:near] = runs[-near:] = False
        bounds = np.flatnonzero(np.diff(np.concatenate(([0], runs.astype(int), [0])))).reshape(-1, 2)
        if any((b - a) * step > 0.4 * usual for a, b in bounds):
            break
    widest = [float((edges[a:b, 1] - edges[a:b, 0]).max()) for a, b in bounds if (b - a) * step > 0.3 * usual]
    if not widest:
        return None
    _, foot, _, head = area.bounds
    return white, max(widest), head - foot


def _spans(area, left, right, y, *, longest=False):
    cut = area.intersection(LineString([(left - 1, y), (right + 1, y)]))
    spans = [part.bounds for part in getattr(cut, "geoms", [cut]) if part.length > 0]
    if longest:
        return (max((b[2] - b[0] for b in spans), default=0.0),)
    return sorted((b[0], b[2]) for b in spans)


def _left_of(ink, bowl, ys, left, right):
    """The ends of the ink at the left of the bowl in each row, followed above and below it; NaN where it ends."""
    edges = np.full((len(ys), 2), np.nan)
    inside = [k for k, y in enumerate(ys) if bowl.bounds[1] < y < bowl.bounds[3]]
    for k in inside:
        white = _spans(bowl, left, right, ys[k])
        beside = [span for span in _spans(ink, left, right, ys[k]) if white and span[1] <= white[0][0] + 1e-6]
        if beside:
            edges[k] = beside[-1]
    known = [k for k in inside if np.isfinite(edges[k, 0])]
    if not known:
        return None
    usual = np.nanmedian(edges[:, 1] - edges[:, 0])
    for way, start in ((range(known[0] - 1, -1, -1), known[0]), (range(known[-1] + 1, len(ys)), known[-1])):
        last = edges[start]
        for k in way:
            over = [(min(b, last[1]) - max(a, last[0]), a, b) for a, b in _spans(ink, left, right, ys[k])]
            best = max(over, default=(0.0, 0.0, 0.0))
            if best[0] <= 0:
                break
            edges[k] = best[1:]
            if best[2] - best[1] < 1.4 * usual:
                last = edges[k]
    return edges


@cache
def face_letter(name):
    """The ``e`` of a face; None where the face is not there or its ``e`` has no white."""
    path = face_path(name)
    if path is None:
        return None
    font = TTFont(path)
    if "fvar" in font:
        font = instantiateVariableFont(font, {axis.axisTag: axis.defaultValue for axis in font["fvar"].axes})
    slant = _slant(font, "lit")
    area = outline_of(font, "e")
    true = letter_of(area, slant)
    if true is None:
        return None
    white, stroke, high = true
    made = [ring / high for ring in rings_of(area)]
    return FaceLetter(made, slant, white / high, stroke / high, 1.0)


def _area(letter):
    rings = [(Polygon(ring), np.sign(_twice(ring))) for ring in letter.rings]
    ink = unary_union([area for area, sign in rings if sign > 0])
    return ink.difference(unary_union([area for area, sign in rings if sign < 0]))


def _twice(ring):
    x, y = ring[:, 0], ring[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())


def _bowl_of(area):
    holes = [Polygon(ring) for part in getattr(area, "geoms", [area]) for ring in part.interiors]
    return max(holes, key=lambda hole: hole.centroid.y)


def rings_of(area):
    """The rings of an area, ink anticlockwise and holes clockwise."""
    made = []
    for part in getattr(area, "geoms", [area]):
        for ring, sign in ((part.exterior, 1), *((hole, -1) for hole in part.interiors)):
            points = np.array(ring.coords)[:-1]
            made.append(points if np.sign(_twice(points)) == sign else points[::-1])
    return made


def fill_bowl(letter):
    """The letter's rings with its bowl filled."""
    area = _area(letter)
    return rings_of(unary_union([area, _bowl_of(area).buffer(0.01)]))


def cut_bowl(letter, way_deg, gap):
    """The letter's rings with a slit from the middle of its bowl outwards, its width in downstrokes."""
    area = _area(letter)
    middle = _bowl_of(area).centroid
    way = 2 * np.exp(1j * np.radians(way_deg))
    slit = LineString([(middle.x, middle.y), (middle.x + way.real, middle.y + way.imag)])
    return rings_of(area.difference(slit.buffer(gap * letter.downstroke / 2, cap_style="flat")))
