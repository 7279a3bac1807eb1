"""Picture files: JPEG, PNG, TIFF, WebP, a scan in a PDF, and HEIC where the library that reads it is installed.

Only pixels, resolution and what says how the pixels are coded are read. Nothing of a picture is kept.
"""

from __future__ import annotations

import contextlib
import io
import re
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from guidegen.errors import GuidegenError, Plain, bad_input
from guidegen.limits import MAX_JPEG_WORK, MAX_SCAN_BYTES, MAX_SCAN_PIXELS
from guidegen.scan.light import Rendering, coded_of

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
_CAMERA_TAGS = (0x010F, 0x0110, 0x829A, 0x920A)
"""EXIF: maker, model, exposure time, focal length. Only whether one is there is asked."""
_FOCAL_35_TAG = 0xA405
"""EXIF: the focal length that sees as much on film of 36 x 24 mm, by the diagonal; the one number that is read."""
_COLOUR_SPACE_TAG = 0xA001
"""EXIF: 1 for sRGB."""
_FILM_DIAGONAL_MM = 43.27
_EXIF_IFD = 0x8769
_COARSEST_JPEG = 100
"""The mean step of a JPEG's brightness: 58 at the quality that is called 50, 100 at 29 (from ITU-T T.81, annex K)."""
_USUAL_GAMMA = 0.45455
"""What a PNG states whose values follow the curve of sRGB."""
_SAME_LEVELS = 3
"""Profiles called sRGB differ by so much in what they make of a level, of 255."""
_SCAN, _END = 0xDA, 0xD9
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
"""A marker that ends a JPEG's coded pixels: none of those that stand among them."""
_BAND = 256
"""Rows of a picture that are worked on at once."""
_SCREEN_DPI = (72.0, 96.0, 1.0)
"""What programs write that do not know: no scanner is that coarse."""


@dataclass(frozen=True, slots=True)
class Photograph:
    """A picture, upright, 8 bits a channel in red, green and blue.

    ``dpi`` is what the file states (None: nothing, or only a screen's); ``camera`` whether a camera wrote it;
    ``rendering`` says how its values came from light; ``assumed`` whether that was taken for granted; ``focal`` is the
    lens' focal length over the picture's longer side, where the file states it.
    """

    image: Any
    dpi: float | None
    camera: bool
    rendering: Rendering
    assumed: bool
    focal: float | None = None

    @property
    def linear(self) -> bool:
        return self.rendering.linear

    @property
    def size(self) -> tuple[int, int]:
        """Return width and height in pixels."""
        width, height = self.image.size
        return int(width), int(height)


def open_picture(source: Path | bytes, name: str = "") -> Photograph:
    """Read a picture from a file, or from the bytes of one; ``name`` is what messages call it (empty: its path).

    Raises:
        GuidegenError: no picture, an animated or a huge one, a damaged one, one of a kind that cannot be read here.
        OSError: there is no such file, or it may not be read.
    """
    if isinstance(source, bytes):
        return _from_bytes(source, name or "picture")
    path, where = source, name or str(source)
    if path.is_dir():
        raise bad_input(where, "", Plain("a folder"), "a picture file")
    if not path.exists():
        raise bad_input(where, "", Plain("no such file"), "a picture file")
    if not path.is_file():
        raise bad_input(where, "", Plain("no ordinary file"), "a picture file")
    if path.stat().st_size > MAX_SCAN_BYTES:
        raise _too_many_bytes(path.stat().st_size, where)
    with path.open("rb") as file:
        return _from_bytes(file.read(MAX_SCAN_BYTES + 1), where)


def _too_many_bytes(count: int, where: str) -> GuidegenError:
    limit = f"at most {MAX_SCAN_BYTES // 1_000_000} MB"
    return bad_input(where, "", Plain(f"{count // 1_000_000} MB"), limit, "scan the block alone")


def _from_bytes(data: bytes, where: str) -> Photograph:
    if len(data) > MAX_SCAN_BYTES:
        raise _too_many_bytes(len(data), where)
    if not data.strip(b"\0"):
        raise bad_input(where, "", Plain("an empty file"), "a picture file")
    if data[:1024].lstrip()[:5] == b"%PDF-":
        return _from_pdf(data, where)
    return _from_image(data, where)


def smaller(pixels: Any, factor: int, *, grey: bool) -> Any:
    """Return pixels (rows, columns, 3) averaged in squares of ``factor``; ``grey``: their brightness alone."""
    import numpy as np
    from PIL import Image

    image = Image.fromarray(pixels)
    image = image.convert("L") if grey else image
    return np.asarray(image.reduce(factor) if factor > 1 else image)


Turn = tuple[float, float, float, float, float, float]
"""Where a place (x, y) of a turned picture lies in the picture: a x + b y + c across, d x + e y + f down; pixels."""


def brightness_of(pixels: Any) -> Any:
    """Return the brightness (rows, columns) of pixels (rows, columns, 3), 0..255."""
    import numpy as np
    from PIL import Image

    return np.asarray(Image.fromarray(np.ascontiguousarray(pixels)).convert("L"))


def turned_values(values: Any, size: tuple[int, int], turn: Turn, *, smooth: bool) -> Any:
    """Return values (rows, columns) seen turned, ``size`` wide and high, 0 outside; not ``smooth``: nearest ones."""
    import numpy as np
    from PIL import Image

    way = Image.Resampling.BILINEAR if smooth else Image.Resampling.NEAREST
    return np.asarray(Image.fromarray(values).transform(size, Image.Transform.AFFINE, turn, way))


def turned_part(image: Any, size: tuple[int, int], turn: Turn) -> Any:
    """Return pixels (rows, columns, 3) of a picture seen turned, white outside.

    They are taken twice as fine and averaged: faster than weighing neighbours, and as smooth.
    """
    import numpy as np
    from PIL import Image

    a, b, c, d, e, f = turn
    fine = 2 * size[0], 2 * size[1]
    half = (a / 2, b / 2, c, d / 2, e / 2, f)
    made = image.transform(fine, Image.Transform.AFFINE, half, Image.Resampling.NEAREST, fillcolor=(255, 255, 255))
    return np.asarray(made.reduce(2))


def _from_image(data: bytes, where: str) -> Photograph:
    from PIL import Image, UnidentifiedImageError

    formats = [*FORMATS, "HEIF"] if _with_heif(data) else list(FORMATS)
    Image.MAX_IMAGE_PIXELS = None  # our own limit stands below
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data), formats=formats) as image:
                return _decoded(image, data, where)
    except GuidegenError:
        raise
    except MemoryError:
        raise
    except Exception as error:
        expected = "a picture: JPEG, PNG, TIFF, WebP or a scan in a PDF"
        if data[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypheim"):
            fix = "save it as JPEG, or install pillow-heif"
            raise bad_input(where, "", Plain("a HEIC photograph"), expected, fix) from error
        found = "no picture" if isinstance(error, UnidentifiedImageError) else "a damaged picture"
        raise bad_input(where, "", Plain(found), expected, "scan or photograph it again") from error


def _with_heif(data: bytes) -> bool:
    if data[4:8] != b"ftyp":
        return False
    try:
        import pillow_heif
    except ImportError:
        return False
    pillow_heif.register_heif_opener()
    return True


def _decoded(image: Any, data: bytes, where: str) -> Photograph:
    from PIL import ImageOps

    width, height = image.size
    check_pixels(width, height, where)
    if getattr(image, "is_animated", False) and image.format != "MPO":
        found = Plain("several pages" if image.format == "TIFF" else "an animated picture")
        raise bad_input(where, "", found, "one still picture", "save its page alone")
    if image.mode == "1":
        raise two_colours(where)
    check_passes(image, data, where)
    tables = getattr(image, "quantization", None) or {}
    if tables and sum(tables[min(tables)]) > _COARSEST_JPEG * 64:
        fix = "save it at a quality of 85 or more"
        raise bad_input(where, "", Plain("a JPEG of so low a quality that edges are lost"), "a better one", fix)
    exif = image.getexif()
    camera = any(tag in exif or tag in exif.get_ifd(_EXIF_IFD) for tag in _CAMERA_TAGS)
    focal = _focal(exif.get_ifd(_EXIF_IFD).get(_FOCAL_35_TAG), width, height)
    stated = image.info.get("dpi")
    dpi = _dpi(stated)
    gamma = image.info.get("gamma")
    profile = image.info.get("icc_profile")
    ImageOps.exif_transpose(image, in_place=True)  # a copy would take the picture's memory again
    if image.mode.startswith(("I;16", "I", "F")):
        image = _eight_bits(image, where)
    coarse = _coarse_colour(image)
    if image.mode in ("RGBA", "LA", "PA") or (image.mode == "P" and "transparency" in image.info):
        image = _on_white(image)
    turned = image
    said = profile or gamma or camera or "srgb" in image.info or exif.get_ifd(_EXIF_IFD).get(_COLOUR_SPACE_TAG) == 1
    linear, assumed = False, not said
    if profile:
        turned = _through_profile(turned, profile)
    elif gamma is not None and gamma > 0.9:
        linear = True
    if turned.mode != "RGB":
        turned = turned.convert("RGB")
    turned.load()
    if gamma is not None and not (profile or linear) and abs(gamma / _USUAL_GAMMA - 1) > 0.05:
        turned = turned.point(_from_gamma(gamma) * 3)
    return Photograph(turned, dpi, camera, Rendering(linear, coarse), assumed, focal)


def _on_white(image: Any) -> Any:
    """Return a picture with transparency as it looks on white paper, made in bands: it takes much memory as it is."""
    from PIL import Image

    image.load()
    shown = Image.new("RGB", image.size, "white")
    for top in range(0, image.height, _BAND):
        band = image.crop((0, top, image.width, min(top + _BAND, image.height))).convert("RGBA")
        white = Image.new("RGBA", band.size, "white")
        shown.paste(Image.alpha_composite(white, band).convert("RGB"), (0, top))
    shown.info = dict(image.info)
    return shown


def _from_gamma(gamma: float) -> list[int]:
    """Return what sRGB has for each level of a file that says which power of light its values are (PNG's gAMA)."""
    import numpy as np

    light = (np.arange(256) / 255) ** (1 / max(gamma, 0.1))
    return [int(level) for level in np.rint(255 * coded_of(light))]


def _focal(stated: Any, width: int, height: int) -> float | None:
    """Return a lens' focal length over the picture's longer side from what EXIF states for film; None for nonsense."""
    if not isinstance(stated, int | float) or not 10 <= stated <= 200:
        return None
    return float(stated) / _FILM_DIAGONAL_MM * float((width * width + height * height) ** 0.5) / max(width, height)


def _coarse_colour(image: Any) -> bool:
    """Tell whether a file keeps colour more coarsely than brightness: most JPEG, and what was made of video."""
    if image.format in ("WEBP", "HEIF"):
        return True
    layers = getattr(image, "layer", None) or []
    return any(layer[1:3] != layers[0][1:3] for layer in layers[1:])


def check_pixels(width: int, height: int, where: str) -> None:
    """Raise when a picture has more pixels than are read, or so few that nothing can be seen."""
    if width * height > MAX_SCAN_PIXELS:
        found = Plain(f"{width} x {height} pixels")
        fix = "scan at 600 dpi, and the block alone"
        raise bad_input(where, "", found, f"at most {MAX_SCAN_PIXELS // 1_000_000} million pixels", fix)
    if min(width, height) < 100:
        fix = "scan it at 600 dpi"
        raise bad_input(where, "", Plain(f"{width} x {height} pixels"), "a picture of a whole page", fix)


def check_passes(image: Any, data: bytes, where: str) -> None:
    """Raise for a progressive JPEG of so many passes over its pixels that reading it would take minutes."""
    if image.format in ("JPEG", "MPO") and (passes := _passes(data)) * image.width * image.height > MAX_JPEG_WORK:
        raise bad_input(where, "", Plain(f"a JPEG of {passes} passes"), "one of ten", "save it anew")


def _passes(data: bytes) -> int:
    """Count the scans of a JPEG file (ITU-T T.81, annex B), which a progressive one has several of."""
    count, at = 0, 2
    while at + 4 <= len(data) and data[at] == 0xFF and data[at + 1] != _END:
        if data[at + 1] == 0xFF:  # fill
            at += 1
            continue
        scan = data[at + 1] == _SCAN
        at += 2 + int.from_bytes(data[at + 2 : at + 4])
        if scan:
            count += 1
            found = _MARKER.search(data, at)
            at = found.start() if found else len(data)
    return count


def two_colours(where: str) -> GuidegenError:
    """Return the error for a picture of black and white alone."""
    found = Plain("a picture of two colours, without the greys by which an edge is placed")
    return bad_input(where, "", found, "a picture in colour or grey", "scan in colour")


def _dpi(stated: Any) -> float | None:
    """Return the resolution a file states; None for none, a screen's, or one that differs along the axes."""
    try:
        across, down = (float(side) for side in stated)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not (0 < across < 1e5 and abs(across - down) < 0.005 * across):
        return None
    # pHYs holds whole pixels per metre, so that 600 dpi is read as 599.9988
    near = round(across)
    dpi = float(near) if abs(across - near) < 0.03 else across
    return None if dpi in _SCREEN_DPI else dpi


def _eight_bits(image: Any, where: str) -> Any:
    """Return a grey picture of 16 or 32 bits with 8, which is a tenth of what paper's grain needs."""
    import numpy as np
    from PIL import Image

    if image.mode == "F":
        raise bad_input(where, "", Plain("a picture of floating-point numbers"), "8 or 16 bits a channel")
    image.load()
    made = Image.new("L", image.size)
    for top in range(0, image.height, _BAND):
        values = np.asarray(image.crop((0, top, image.width, min(top + _BAND, image.height))))
        made.paste(Image.fromarray((np.clip(values, 0, 65535) / 257).astype(np.uint8)), (0, top))
    made.info, made.format = dict(image.info), image.format
    return made


def _through_profile(image: Any, profile: bytes) -> Any:
    """Return the picture in sRGB by its own colour profile; as it is where that is sRGB or cannot be used.

    What a profile does tells whether it is sRGB, not what it is called: linear ones are called so too.
    """
    from PIL import Image, ImageCms

    with contextlib.suppress(ImageCms.PyCMSError, OSError, ValueError, TypeError):
        own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        mode = image.mode if image.mode in ("RGB", "L", "CMYK") else "RGB"
        to_srgb = ImageCms.buildTransform(own, ImageCms.createProfile("sRGB"), mode, "RGB")
        ramp = _ramp().convert(mode)
        ramp_made = ImageCms.applyTransform(ramp, to_srgb)
        if mode != "CMYK" and _differ(ramp_made, ramp.convert("RGB")) <= _SAME_LEVELS:
            return image
        source = image if image.mode == mode else image.convert(mode)
        if mode == "RGB":  # where it stands: a copy would take the picture's memory again
            ImageCms.applyTransform(source, to_srgb, inPlace=True)
            return source
        made = ImageCms.applyTransform(source, to_srgb)
        if isinstance(made, Image.Image):
            return made
    return image


def _ramp() -> Any:
    """Return a picture of every level of grey, red, green and blue."""
    import numpy as np
    from PIL import Image

    levels = np.arange(256, dtype=np.uint8)[None, :, None]
    colours = np.array([[1, 1, 1], [1, 0, 0], [0, 1, 0], [0, 0, 1]], dtype=np.uint8)[:, None, :]
    return Image.fromarray(levels * colours)


def _differ(one: Any, other: Any) -> int:
    """Return by how many levels two pictures differ at most."""
    import numpy as np
    from PIL import ImageChops

    return int(np.asarray(ImageChops.difference(one, other)).max())


def _from_pdf(data: bytes, where: str) -> Photograph:
    """Return the picture that a scanner put on a PDF's one page, with the resolution its place there states."""
    import pypdfium2
    from PIL import Image

    from guidegen.readers.pdf_streams import check_content

    check_content(data, where)
    try:
        document = pypdfium2.PdfDocument(data)
        if len(document) != 1:
            raise bad_input(where, "", Plain(f"{len(document)} pages"), "a PDF of one scanned page", "save it alone")
        page = document[0]
        pictures = [thing for thing in page.get_objects(max_depth=2) if isinstance(thing, pypdfium2.PdfImage)]
        if not pictures:
            raise bad_input(where, "", Plain("a PDF without a picture"), "a scan", "print it, draw on it and scan it")

        def shown(thing: Any) -> float:
            left, bottom, right, top = thing.get_bounds() if hasattr(thing, "get_bounds") else thing.get_pos()
            return float((right - left) * (top - bottom))

        largest = max(pictures, key=shown)
        left, bottom, right, top = largest.get_bounds() if hasattr(largest, "get_bounds") else largest.get_pos()
        width, height = largest.get_px_size()
        check_pixels(width, height, where)
        image = largest.get_bitmap(render=False).to_pil()
        across, down = width / (right - left) * 72, height / (top - bottom) * 72
    except GuidegenError:
        raise
    except (pypdfium2.PdfiumError, ValueError, OSError, AttributeError, ZeroDivisionError) as error:
        raise bad_input(where, "", Plain("a damaged PDF"), "a PDF of one scanned page") from error
    if image.mode == "1":
        raise two_colours(where)
    image = image.convert("RGB") if image.mode != "RGB" else image
    rotation = page.get_rotation()
    if rotation:
        image = image.transpose({90: Image.Transpose.ROTATE_270, 180: Image.Transpose.ROTATE_180}.get(
            rotation, Image.Transpose.ROTATE_90))  # fmt: skip
    return Photograph(image, _dpi((across, down)), camera=False, rendering=Rendering(coarse_colour=True), assumed=True)
