"""Scans and photographs of swatch pages with strokes whose widths are known, made without the code that measures them.

The printed page is drawn by pdfium from our PDF. Strokes are exact distances to a wandering centreline, with edges
that wander too, so that their coverage of a pixel is analytic. Then come light, lens, sensor, processing and file, in
that order. Everything is drawn from one seed. Nothing here is imported from ``guidegen.scan``, and the assumptions are
others: blur is a Gaussian convolved with a disc or a pixel box, ink darkens by a power law of its coverage, paper has
grain, bleed is a halo along the fibres, and noise grows with light.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace

import numpy as np
from PIL import Image
from scipy import ndimage

import guidegen as gg

INKS = {
    "black": (0.03, 0.03, 0.035),
    "grey": (0.19, 0.19, 0.20),
    "blue": (0.04, 0.08, 0.38),
    "red": (0.52, 0.05, 0.06),
    "green": (0.05, 0.27, 0.10),
    "violet": (0.18, 0.06, 0.32),
    "brown": (0.16, 0.08, 0.04),
    "orange": (0.75, 0.26, 0.04),
}
"""Reflectance in linear red, green and blue."""


@dataclass(frozen=True)
class Card:
    """A bank card lying on the page: where its middle is (true mm), its turn, colours, how it shades the paper."""

    middle: complex
    turn_deg: float = 0.0
    colour: tuple = (0.05, 0.09, 0.30)
    stripe: tuple = (0.55, 0.50, 0.20)
    """Of the band along its middle."""
    size: tuple = (85.60, 53.98)
    radius: float = 3.18
    thickness_mm: float = 0.76
    shadow: float = 0.15
    soft_mm: float = 1.5
    fall: complex = 0.5 + 0.3j
    """By how much the shadow lies beside the card."""

    def depth(self, x, y, away=0j):
        """How far inside its outline places of its own plane lie, mm (negative: outside)."""
        z = (x - self.middle.real - away.real) + 1j * (y - self.middle.imag - away.imag)
        z = z * np.exp(-1j * np.radians(self.turn_deg))
        u = abs(z.real) - self.size[0] / 2 + self.radius
        v = abs(z.imag) - self.size[1] / 2 + self.radius
        return self.radius - np.hypot(np.maximum(u, 0), np.maximum(v, 0)) - np.minimum(np.maximum(u, v), 0), z


@dataclass(frozen=True)
class Look:
    """What lies between the strokes and the file."""

    dpi: float = 600.0
    photo: bool = False
    blur_px: float = 0.7
    box_px: float = 1.0
    noise: float = 0.004
    paper: tuple = (0.80, 0.79, 0.76)
    ink: tuple = INKS["black"]
    gamma: float = 2.2
    """0 for the curve of sRGB; a scanner's own may be a plain power."""
    sharpen: float = 0.0
    jpeg: int | None = None
    subsampling: int = 2
    bleed_mm: float = 0.0
    bleed_shape: str = "even"
    ragged_mm: float = 0.004
    dry: float = 0.0
    turn_deg: float = 0.0
    printer: tuple = (1.0, 1.0)
    scanner: tuple = (1.0, 1.0)
    gain_mm: float = 0.01
    light: float = 0.0
    tilt_deg: float = 0.0
    tilt_way_deg: float = 0.0
    lens_k1: float = 0.0
    curl_mm: float = 0.0
    denoise: float = 0.0
    pixels: tuple = (4000, 3000)
    distance_mm: float = 260.0
    card: Card | None = None


@dataclass(frozen=True)
class Drawn:
    """What was drawn: widths of each stroke by the definition, true to the paper, in the cells' order."""

    downstrokes: list = field(default_factory=list)
    hairlines: list = field(default_factory=list)


@dataclass
class Stroke:
    """One stroke in page millimetres: ``left`` and ``right`` are half widths at stations along its axis."""

    middle: complex
    along: complex
    s: np.ndarray
    bend: np.ndarray
    left: np.ndarray
    right: np.ndarray
    dry: np.ndarray
    streaks: np.ndarray

    def width(self):
        """The definition: the median over the longest run above 0.92 of the stroke's own 90 % quantile."""
        width = (self.left + self.right) / np.sqrt(1 + np.gradient(self.bend, self.s) ** 2)
        good = width > 0.92 * np.quantile(width[width > 0], 0.9)
        edges = np.flatnonzero(np.diff(np.r_[0, good.astype(int), 0]))
        runs = edges.reshape(-1, 2)
        a, b = runs[np.argmax(runs[:, 1] - runs[:, 0])]
        return float(np.median(width[a:b]))


def wander(rng, count, reach, size):
    """Smooth noise of standard deviation ``size``, correlated over ``reach`` stations."""
    if size <= 0:
        return np.zeros(count)
    noise = ndimage.gaussian_filter1d(rng.standard_normal(count + 8 * int(reach) + 8), reach, mode="wrap")[:count]
    return size * noise / max(1e-9, noise.std())


def stroke_in(rng, cell, width_mm, look, *, spread):
    """A stroke as a hand draws it in a cell: swelling in and out, a little bent, its width wandering."""
    slant = np.radians(cell.slant_deg + rng.normal(0, 3))
    along = np.exp(1j * slant)
    own = width_mm * (1 + spread * rng.standard_normal())
    reach = [(cell.width_mm - own * abs(along.imag) - 1.6) / max(abs(along.real), 1e-6),
             (cell.height_mm - own * abs(along.real) - 1.6) / abs(along.imag)]  # fmt: skip
    length = min(reach) * rng.uniform(0.82, 0.98)
    count = max(60, int(length / 0.04))
    s = np.linspace(-length / 2, length / 2, count)
    t = (s - s[0]) / length
    swell = np.clip(np.minimum(t / rng.uniform(0.05, 0.14), (1 - t) / rng.uniform(0.05, 0.2)), 0, 1)
    shape = np.sin(np.pi / 2 * swell) ** 0.7
    slow = 1 + wander(rng, count, count / 5, 0.012)
    half = own / 2 * shape * slow
    bend = rng.uniform(-0.02, 0.02) * (s**2 - length**2 / 12) / length * 2
    rough = [wander(rng, count, 1.5, look.ragged_mm) + wander(rng, count, 8, look.ragged_mm) for _ in range(2)]
    middle = complex(cell.x_mm + cell.width_mm / 2, cell.y_mm + cell.height_mm / 2)
    dry = np.clip((t - 0.75) / 0.25, 0, 1) * look.dry
    sides = [np.where(half > 0.02, np.maximum(half + one, 0), 0) for one in rough]
    return Stroke(middle, along, s, bend, *sides, dry, rng.random(160))


def coverage(stroke, x, y, px_mm, look):
    """How much of each pixel at page places ``x``, ``y`` (mm, y down) the ink covers."""
    if not isinstance(stroke, Stroke):
        return stroke.coverage(x, y, px_mm)
    z = (x - stroke.middle.real) - 1j * (y - stroke.middle.imag)
    z = z * np.conj(stroke.along)
    s, t = z.real, z.imag
    inside = (s > stroke.s[0] - 1) & (s < stroke.s[-1] + 1) & (np.abs(t) < 12)
    s, t = s[inside], t[inside]
    t = t - np.interp(s, stroke.s, stroke.bend)
    left = np.interp(s, stroke.s, stroke.left, left=-1, right=-1)
    right = np.interp(s, stroke.s, stroke.right, left=-1, right=-1)
    depth = np.minimum(left - t, right + t)
    if look.bleed_mm:
        if look.bleed_shape == "even":
            found = np.clip(0.5 + depth / px_mm, 0, 1)
        else:  # a halo that fades outwards and takes from the inside what it gives
            found = 1 / (1 + np.exp(np.clip(-depth / (0.4 * look.bleed_mm), -60, 60)))
    else:
        found = np.clip(0.5 + depth / px_mm, 0, 1)
    # narrower than a pixel: no more than its width is covered
    found = np.where(left + right > 0, found * np.clip((left + right) / px_mm, 0, 1) ** (left + right < px_mm), 0)
    if look.dry:
        streaks = np.interp(t, np.linspace(-4, 4, 160), stroke.streaks)
        found = found * (streaks > np.interp(s, stroke.s, stroke.dry) * 0.6)
    made = np.zeros(inside.shape)
    made[inside] = np.clip(found, 0, 1)
    return made


def printed(page, dpi):
    """The printed page as darkness 0 to 255, drawn by pdfium."""
    import pypdfium2

    (_, data), *_ = page.files("pdf")
    document = pypdfium2.PdfDocument(data)
    width, height = page.page_mm[0]
    size = round(width / 25.4 * dpi), round(height / 25.4 * dpi)
    bitmap = pypdfium2.PdfBitmap.new_native(*size, pypdfium2.raw.FPDFBitmap_BGRx)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, *size)
    sheet = document[0]
    pypdfium2.raw.FPDF_RenderPageBitmap(bitmap, sheet, 0, 0, *size, 0, 0)
    grey = bitmap.to_numpy()[:, :, 1]
    made = 255 - grey
    sheet.close()
    document.close()
    return made


_PRINTED = {}


def print_of(options, dpi):
    key = (tuple(sorted(options.items())), dpi)
    if key not in _PRINTED:
        page = gg.swatch(**options)
        _PRINTED.clear()
        _PRINTED[key] = (page, printed(page, dpi))
    return _PRINTED[key]


def draw(rng, page, widths, look, spread=0.02, marker=0):
    """Strokes in every cell of one marker; ``widths`` are (downstroke, hairline) in mm on paper."""
    strokes, drawn = [], Drawn([], [])
    for cell in page.cells:
        if cell.marker != marker:
            continue
        where = replace(
            cell, x_mm=cell.x_mm * look.printer[0], y_mm=cell.y_mm * look.printer[1],
            width_mm=cell.width_mm * look.printer[0], height_mm=cell.height_mm * look.printer[1],
        )  # fmt: skip
        stroke = stroke_in(rng, where, widths[cell.kind == "hairline"], look, spread=spread)
        strokes.append(stroke)
        (drawn.hairlines if cell.kind == "hairline" else drawn.downstrokes).append(stroke.width())
    return strokes, drawn


def scan(rng, widths, look, options=None, spread=0.02, markers=(0,)):
    """A scanned block and what was drawn on it, as ``(bytes of the file, Drawn)``; the scan holds the block only."""
    page, dark = print_of(options or {}, 600)
    made = [draw(rng, page, widths, look, spread, marker) for marker in markers]
    return scanned(rng, page, dark, [stroke for strokes, _ in made for stroke in strokes], look), made[0][1]


def seen(rng, page, dark, strokes, look):
    """The file that a scanner or a camera makes of a page."""
    return (photographed if look.photo else scanned)(rng, page, dark, strokes, look)


def scanned(rng, page, dark, strokes, look):
    box = block_box(page, look)
    px = 25.4 / look.dpi
    turn = np.exp(1j * np.radians(look.turn_deg))
    size = (int((box[3] - box[1]) / px), int((box[2] - box[0]) / px))
    centre = complex((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

    def to_page(column, row, height=0.0):  # a scanner sees a card as large as the page it lies beside
        z = (column - size[1] / 2) * px / look.scanner[0] + 1j * (row - size[0] / 2) * px / look.scanner[1]
        z = z * turn + centre
        return z.real.astype(np.float32), z.imag.astype(np.float32)

    return encode(exposed(rng, size, to_page, px, dark, strokes, look), look, look.dpi)


def block_box(page, look, air=7.0):
    xs = [c.x_mm for c in page.cells], [c.x_mm + c.width_mm for c in page.cells]
    ys = [c.y_mm for c in page.cells], [c.y_mm + c.height_mm for c in page.cells]
    left, right, top, low = min(xs[0]), max(xs[1]), min(ys[0]), max(ys[1])
    left, right = left * look.printer[0] - air, right * look.printer[0] + air
    top, low = top * look.printer[1] - air - 7, low * look.printer[1] + air + 7
    if not any(c.kind == "hairline" for c in page.cells) and all(c.kind == "downstroke" for c in page.cells):
        low += 44
    if look.card:
        reach = max(look.card.size) * 0.52 + 4
        middle = look.card.middle
        left, right = min(left, middle.real - reach), max(right, middle.real + reach)
        top, low = min(top, middle.imag - reach * 0.7), max(low, middle.imag + reach * 0.7)
    return left, top, right, low


def photo(rng, widths, look, options=None, spread=0.02):
    """A photograph of the block by a pinhole with a lens, and what was drawn. Returns ``(bytes, Drawn)``."""
    page, dark = print_of(options or {}, 600)
    strokes, drawn = draw(rng, page, widths, look, spread)
    return photographed(rng, page, dark, strokes, look), drawn


def photographed(rng, page, dark, strokes, look):
    box = block_box(page, look, air=4.0)
    wide, high = look.pixels
    centre = complex((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    across = max(box[2] - box[0], (box[3] - box[1]) * wide / high if look.card else 0)
    focal = 0.88 * wide * look.distance_mm / across
    tilt, way = np.radians(look.tilt_deg), np.radians(look.tilt_way_deg)
    axis = np.array([np.cos(way), np.sin(way), 0.0])
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    rotation = np.eye(3) + np.sin(tilt) * cross + (1 - np.cos(tilt)) * cross @ cross
    roll = np.radians(look.turn_deg)
    rotation = rotation @ np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    away = np.array([0.0, 0.0, look.distance_mm * (1 + 0.9 * np.sin(tilt))])
    # ray meets the paper's plane
    n = rotation[:, 2]

    def bent(x):
        return look.curl_mm * (x / (box[2] - box[0]) * 2) ** 2

    def to_page(column, row, height=None):
        u, v = (column - wide / 2) / focal, (row - high / 2) / focal
        undone = 1 / (1 + look.lens_k1 * (u * u + v * v) * (focal / (wide / 2)) ** 2)
        u, v = u * undone, v * undone
        depth = ((n @ away) - (height or 0.0)) / (u * n[0] + v * n[1] + n[2])
        for _ in range(2 if look.curl_mm and height is None else 1):
            px_, py_, pz_ = u * depth - away[0], v * depth - away[1], depth - away[2]
            x = px_ * rotation[0, 0] + py_ * rotation[1, 0] + pz_ * rotation[2, 0]
            y = px_ * rotation[0, 1] + py_ * rotation[1, 1] + pz_ * rotation[2, 1]
            if look.curl_mm and height is None:
                depth = ((n @ away) - bent(x)) / (u * n[0] + v * n[1] + n[2])
        return (x + centre.real).astype(np.float32), (y + centre.imag).astype(np.float32)

    if look.card and look.curl_mm:  # a stiff card on bent paper rests on its ends
        ends = look.card.middle.real - centre.real + np.array([-0.5, 0.5]) * look.card.size[0]
        look = replace(look, card=replace(look.card, thickness_mm=look.card.thickness_mm + float(bent(ends).max())))
    px = look.distance_mm / focal
    return encode(exposed(rng, (high, wide), to_page, px, dark, strokes, look), look, 72)


TILE = 384
"""Pictures are made in squares of so many pixels, which stay in a processor's cache."""


def exposed(rng, size, to_page, px, dark, strokes, look):
    """The picture's pixels as they are coded; ``to_page`` takes columns and rows (their middles at halves) to mm."""
    air = int(np.ceil(4 * look.blur_px + 4 * max(look.bleed_mm, look.gain_mm) / px + (6 if look.sharpen else 1)))
    pixels = np.empty((*size, 3), dtype=np.uint8)
    grain = ndimage.gaussian_filter(rng.standard_normal((1200, 1200), dtype=np.float32), 1.2, mode="wrap")
    corners = to_page(np.array([0.0, size[1]])[None, :], np.array([0.0, size[0]])[:, None])
    middle = [float(side.mean()) for side in corners], [float(np.ptp(side)) for side in corners]
    for top in range(0, size[0], TILE):
        for left in range(0, size[1], TILE):
            low, end = min(top + TILE, size[0]), min(left + TILE, size[1])
            rows = np.arange(top - air, low + air)[:, None] + 0.5
            columns = np.arange(left - air, end + air)[None, :] + 0.5
            x, y = to_page(columns, rows)
            at = rng.integers(0, 1200 - rows.size), rng.integers(0, 1200 - columns.size)
            own = grain[at[0] : at[0] + rows.size, at[1] : at[1] + columns.size]
            face = to_page(columns, rows, look.card.thickness_mm) if look.card else None
            seen = coded(expose(rng, x, y, px, dark, strokes, look, own, middle, face), look)
            pixels[top:low, left:end] = seen[air : air + low - top, air : air + end - left]
    return pixels


def expose(rng, x, y, px, dark, strokes, look, grain, middle, face=None):
    """A tile in linear light, float32, as the sensor has it."""
    k = 600 / 25.4
    print_ = None
    if dark is not None:
        at = np.stack([y * (k / look.printer[1]) - 0.5, x * (k / look.printer[0]) - 0.5])
        low, high = at.reshape(2, -1).min(axis=1).astype(int) - 1, at.reshape(2, -1).max(axis=1).astype(int) + 2
        if dark[max(0, low[0]) : max(0, high[0]), max(0, low[1]) : max(0, high[1])].any():
            print_ = ndimage.map_coordinates(dark, at, output=np.float32, order=1, mode="constant") / 255
            if look.gain_mm:
                print_ = np.clip(ndimage.gaussian_filter(print_, max(0.2, look.gain_mm / px)) * 1.15, 0, 1)
    ink = np.zeros_like(x)
    for stroke in strokes:
        near = boxed(x, y, stroke.middle, (stroke.s[-1] - stroke.s[0]) / 2 + 1.0)
        if near is not None:
            ink[near] = np.maximum(ink[near], coverage(stroke, x[near], y[near], px, look))
    inked = bool(ink.any())
    if inked and look.bleed_mm and look.bleed_shape == "even":
        ink = ndimage.gaussian_filter(ink, look.bleed_mm / px)
    (x0, y0), (wide, high) = middle
    light = 1 + 0.006 * grain
    light *= 1 + look.light * ((x - x0) / wide * 0.8 + (y - y0) / high * 0.6)
    cover = None
    if look.card:
        light, cover, on_band, lit = carded(look.card, x, y, face, px, light)
    if print_ is not None:
        light *= 1 - 0.96 * print_
    if cover is not None:
        light *= 1 - cover
        body, band = (blurred(lit * part, look) for part in (cover * (1 - on_band), cover * on_band))
    # all channels see the same paper and cover, so that two blurs do for three channels
    taken = blurred(light * ink, look) if inked else None
    light = blurred(light, look)
    picture = np.empty((*x.shape, 3), dtype=np.float32)
    for channel in range(3):
        seen = light if taken is None else light - (1 - look.ink[channel] / 0.95) * taken
        seen = look.paper[channel] * seen
        if cover is not None:
            seen = seen + look.card.colour[channel] * body + look.card.stripe[channel] * band
        seen += look.noise * np.sqrt(np.maximum(seen, 0.02)) * rng.standard_normal(seen.shape, dtype=np.float32)
        picture[..., channel] = seen
    return picture


def carded(card, x, y, face, px, light):
    """The light with the card's shadow on it, how much of each pixel the card covers and its band, the light on it."""
    shade, _ = card.depth(x, y, card.fall)
    lit = light.copy()
    light = light * (1 - card.shadow / (1 + np.exp(np.clip(-4 * shade / card.soft_mm, -60, 60))))
    depth, z = card.depth(*face)
    if depth.max() < -2 * px:
        return light, None, None, lit
    return light, np.clip(0.5 + depth / px, 0, 1), (abs(z.imag + 6) < 5).astype(np.float32), lit


def blurred(light, look):
    made = ndimage.gaussian_filter(light, look.blur_px, truncate=3.5)
    return box(made, look.box_px) if look.box_px > 1 else made


def box(image, size):
    return ndimage.uniform_filter(image, round(size))


def boxed(x, y, middle, reach):
    """The rows and columns of a tile that hold a place of the page and what lies round it; None for none."""
    step = 8
    near = (np.abs(x[::step, ::step] - middle.real) < reach + 1) & (np.abs(y[::step, ::step] - middle.imag) < reach + 1)
    rows, columns = np.flatnonzero(near.any(axis=1)), np.flatnonzero(near.any(axis=0))
    if not len(rows):
        return None
    return (slice(max(0, (rows[0] - 1) * step), (rows[-1] + 2) * step),
            slice(max(0, (columns[0] - 1) * step), (columns[-1] + 2) * step))  # fmt: skip


def coded(linear, look):
    """Processing: denoising, the curve, sharpening, 8 bits."""
    linear = np.clip(linear, 0, 1)
    if look.denoise:
        linear = linear + look.denoise * (median_of_nine(linear) - linear)
    if look.gamma:
        made = linear ** np.float32(1 / look.gamma)
    else:
        made = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** np.float32(1 / 2.4) - 0.055)
    if look.sharpen:
        made = made + look.sharpen * (made - ndimage.gaussian_filter(made, (1.2, 1.2, 0)))
    return np.clip(np.rint(made * 255), 0, 255).astype(np.uint8)


def median_of_nine(image):
    """The median of each pixel and its eight neighbours: columns of three sorted, then their own extremes."""

    def sorted3(a, b, c):
        low, high = np.minimum(a, b), np.maximum(a, b)
        return np.minimum(low, c), np.maximum(low, np.minimum(high, c)), np.maximum(high, c)

    wide = np.pad(image, ((1, 1), (1, 1), (0, 0)), mode="edge")
    low, middle, high = sorted3(wide[:-2], wide[1:-1], wide[2:])
    of_lows = np.maximum(np.maximum(low[:, :-2], low[:, 1:-1]), low[:, 2:])
    of_middles = sorted3(middle[:, :-2], middle[:, 1:-1], middle[:, 2:])[1]
    of_highs = np.minimum(np.minimum(high[:, :-2], high[:, 1:-1]), high[:, 2:])
    return sorted3(of_lows, of_middles, of_highs)[1]


def encode(pixels, look, dpi):
    """The file: JPEG or PNG with its resolution."""
    file = io.BytesIO()
    image = Image.fromarray(pixels)
    if look.jpeg:
        image.save(file, "JPEG", quality=look.jpeg, subsampling=look.subsampling, dpi=(round(dpi), round(dpi)))
    else:
        image.save(file, "PNG", dpi=(dpi, dpi), compress_level=1)
    return file.getvalue()


def ruffled(rng, kind, dpi=600.0):
    """A random look of one kind: ``scan`` at ``dpi``, or ``photo``."""
    inks = list(INKS.values())
    ink = inks[rng.integers(len(inks))]
    common = {
        "ink": ink,
        "paper": tuple(np.array((0.80, 0.79, 0.76)) * rng.uniform(0.85, 1.12) * (1 + 0.03 * rng.standard_normal(3))),
        "gamma": 0,
        "bleed_mm": rng.choice([0.0, 0.0, rng.uniform(0.005, 0.03)]),
        "bleed_shape": rng.choice(["even", "fading"]),
        "ragged_mm": rng.uniform(0.001, 0.008),
        "dry": rng.choice([0.0, 0.0, 0.0, rng.uniform(0.1, 0.5)]),
        "printer": tuple(1 + rng.uniform(-0.02, 0.02, 2)),
        "gain_mm": rng.uniform(0.003, 0.02),
    }
    if kind == "scan":
        return Look(
            dpi=dpi,
            blur_px=rng.uniform(0.5, 1.1) * (dpi / 600) ** 0.5,
            noise=rng.uniform(0.002, 0.007),
            sharpen=rng.choice([0.0, 0.0, rng.uniform(0.1, 0.5)]),
            jpeg=[None, 92, 85][rng.integers(3)],
            subsampling=int(rng.choice([0, 2])),
            turn_deg=rng.uniform(-2, 2) + rng.choice([0, 180]),
            light=rng.uniform(0, 0.03),
            **common,
        )
    return Look(
        photo=True,
        blur_px=rng.uniform(0.8, 1.6),
        noise=rng.uniform(0.005, 0.012),
        sharpen=rng.uniform(0.0, 0.5),
        jpeg=int(rng.integers(85, 97)),
        turn_deg=rng.uniform(-8, 8) + rng.choice([0, 180]),
        tilt_deg=abs(rng.normal(0, 10)) % 25,
        tilt_way_deg=rng.uniform(0, 360),
        lens_k1=rng.uniform(-0.008, 0.008),
        curl_mm=rng.choice([0.0, rng.uniform(0, 1.5)]),
        light=rng.uniform(0, 0.2),
        denoise=rng.uniform(0, 0.5),
        distance_mm=rng.uniform(190, 280),
        **common,
    )
