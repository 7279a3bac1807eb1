"""PNG files: pixels, resolution (pHYs), and where the ink is.

Without a pHYs chunk in metres the file does not say how large it is, and neither do we.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from guidegen.errors import bad_input
from guidegen.limits import MAX_PIXELS
from guidegen.readers.budget import damaged
from guidegen.readers.contents import Contents, PageContents

DARK = 0.02
"""A pixel counts as ink when it is at least this much darker than paper white."""
_STRIP = 2_000_000
"""Pixels looked at in one go."""
MOST_SKEW_DEG = 5.0
"""A scan lies no more askew than this."""
LEAST_SKEW_DEG = 0.03
_LEAST_SKEWED_PX = 100
_COLUMNS = 60
"""In how many strips a picture is looked at for its skew."""
LINE_SHARE = 0.5
"""A row of pixels belongs to a horizontal line when so much of its width (between the ink's ends) is dark."""


def read_png(data: bytes, name: str) -> Contents:
    """Return what stands in a PNG file; ``facts`` hold pixels, ppi, ink box and the heights of horizontal lines.

    Raises:
        GuidegenError: for a damaged file or one with too many pixels.
    """
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None  # our own limit stands below
    try:
        with Image.open(io.BytesIO(data), formats=["PNG"]) as image:
            width, height = image.size
            if width * height > MAX_PIXELS:
                raise bad_input(name, "", f"{width} x {height} pixels", f"at most {MAX_PIXELS} pixels")
            dots = _pixels_per_metre(data)
            mode = image.mode
            description = str(getattr(image, "text", {}).get("Description", ""))[:2000]
            image.load()
            darkness = _darkness(image)
            skew_deg = skew(darkness)
            if skew_deg:
                turned = Image.fromarray(darkness).rotate(skew_deg, resample=Image.Resampling.BICUBIC)
                darkness = np.asarray(turned)
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise damaged(name, "PNG", error) from None
    size = None if dots is None else (width / dots[0] * 1000, height / dots[1] * 1000)
    facts: dict[str, Any] = {
        "pixels": [width, height],
        "ppi": None if dots is None else [side * 0.0254 for side in dots],
        "mode": mode,
        "description": description,
        "skew_deg": skew_deg,
        "transparent": mode in ("RGBA", "LA"),
        **_ink(darkness, dots),
    }
    return Contents("png", (PageContents(size),), facts)


def _pixels_per_metre(data: bytes) -> tuple[float, float] | None:
    """Return the pHYs chunk's resolution (PNG, 3rd edition, 11.3.4.3); None when absent or without unit."""
    place = 8
    while place + 12 <= len(data):
        size, kind = int.from_bytes(data[place : place + 4], "big"), data[place + 4 : place + 8]
        if kind == b"IDAT":
            return None
        if kind == b"pHYs" and size == 9:
            body = data[place + 8 : place + 17]
            across, down = int.from_bytes(body[:4], "big"), int.from_bytes(body[4:8], "big")
            return (float(across), float(down)) if body[8] == 1 and across and down else None
        place += 12 + size
    return None


def _darkness(image: Any) -> Any:
    """Return 0 (paper) to 255 (black) of every pixel, on white paper; made in strips, for a picture may be large."""
    from PIL import Image

    width, height = image.size
    see_through = image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info
    made = np.empty((height, width), dtype=np.uint8)
    rows = max(1, _STRIP // max(1, width))
    for top in range(0, height, rows):
        strip = image.crop((0, top, width, min(height, top + rows)))
        if see_through:
            shown = strip.convert("RGBA")
            strip = Image.alpha_composite(Image.new("RGBA", shown.size, "white"), shown)
        np.subtract(255, np.asarray(strip.convert("L"), dtype=np.uint8), out=made[top : top + strip.size[1]])
    return made


def skew(darkness: Any) -> float:
    """Return by how many degrees the lines of a picture rise to the left: what to turn it by, anticlockwise.

    0.0 where no angle up to ``MOST_SKEW_DEG`` gathers the ink in clearly fewer rows than none does. Found by the
    projection profile (after Postl, 1986): the sum of squares of the ink in each row, sheared, is greatest along lines.
    """
    height, width = darkness.shape
    if min(height, width) < _LEAST_SKEWED_PX:
        return 0.0
    step = max(1, width // _COLUMNS)
    columns = [darkness[:, k : k + step].mean(axis=1, dtype=np.float64) for k in range(0, width - step + 1, step)]
    middles = (np.arange(len(columns)) + 0.5) * step - width / 2
    spots = np.arange(height)

    def gathered(angle_deg: float) -> float:
        shift = np.tan(np.radians(angle_deg)) * middles
        rows = sum(np.interp(spots + by, spots, column) for column, by in zip(columns, shift, strict=True))
        return float(np.square(rows).sum())

    upright = gathered(0.0)
    if upright <= 0:
        return 0.0
    best, reach = 0.0, MOST_SKEW_DEG
    for _ in range(4):
        tried = best + np.linspace(-reach, reach, 25)
        best = float(max(tried, key=lambda angle: (gathered(float(angle)), -abs(angle))))
        reach /= 10
    clear = gathered(best) > 1.2 * upright and abs(best) >= LEAST_SKEW_DEG and abs(best) < MOST_SKEW_DEG
    return round(best, 3) if clear else 0.0


def _ink(darkness: Any, dots: tuple[float, float] | None) -> dict[str, Any]:
    dark = darkness > DARK * 255
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    if not len(rows):
        return {"ink_px": None, "ink_mm": None, "line_heights_mm": [], "line_shares": []}
    box = [int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1]
    if dots is None:
        return {"ink_px": box, "ink_mm": None, "line_heights_mm": [], "line_shares": []}
    across, down = dots[0] / 1000, dots[1] / 1000
    height = darkness.shape[0] / down
    mm = [box[0] / across, height - box[3] / down, box[2] / across, height - box[1] / down]
    lines = _lines(darkness, dark, box, down, height)
    heights, shares = [line[0] for line in lines], [line[1] for line in lines]
    return {"ink_px": box, "ink_mm": mm, "line_heights_mm": heights[::-1], "line_shares": shares[::-1]}


def _lines(darkness: Any, dark: Any, box: list[int], down: float, height_mm: float) -> list[tuple[float, float]]:
    """Return the lines across at least half of the ink, from the top.

    Each as its height above the page's lower edge, by the centre of its darkness, and the share of the ink's width.
    """
    inside = slice(box[0], box[2])
    share = dark[:, inside].mean(axis=1)
    full = share >= LINE_SHARE
    edges = np.flatnonzero(np.diff(np.concatenate(([False], full, [False])).astype(int)))
    weight = darkness[:, inside].mean(axis=1) / 255
    spots = np.arange(len(weight)) + 0.5
    return [
        (float(height_mm - (spots[a:b] * weight[a:b]).sum() / weight[a:b].sum() / down), float(share[a:b].max()))
        for a, b in zip(edges[::2], edges[1::2], strict=True)
        if (b - a) / down < 3.0
    ]
