"""Pictures that cannot be measured or judged, a hundred of them: how each is made and what its one line must say.

A row is a name, the command's words, how the file comes to be, and a pattern of the line. Anybody can add one.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import letters_page
import numpy as np
import simulate
from PIL import Image, ImageDraw, ImageFilter, ImageOps
from simulate import Look

import guidegen as gg

PLAIN = Look(dpi=300, gamma=0)
NEAR = Look(photo=True, gamma=0, pixels=(1800, 1500), distance_mm=150, noise=0.006, blur_px=1.0, jpeg=92)
SMALL = {"paper": "a6"}
MEASURE = ("--name", "tidepen")
PHOTO = ("--kind", "photo")
CHECK = ("--marker", "pebble")


@dataclass(frozen=True)
class Unfit:
    name: str
    command: str
    make: Callable[[], bytes]
    told: str
    words: tuple[str, ...] = ()
    file: str = "page.png"

    @property
    def line(self) -> tuple[str, ...]:
        return self.command, self.file, *(MEASURE if self.command == "measure" else CHECK), *self.words


@cache
def strokes(widths=(2.4, 0.5), **look) -> bytes:
    return simulate.scan(np.random.default_rng(7200), widths, replace(PLAIN, **look), SMALL)[0]


@cache
def unmarked() -> bytes:
    page, dark = simulate.print_of(SMALL, 600)
    return simulate.scanned(np.random.default_rng(7230), page, dark, [], PLAIN)


@cache
def photographed(**look) -> bytes:
    return simulate.photo(np.random.default_rng(7210), (1.6, 0.35), replace(NEAR, **look), SMALL)[0]


@cache
def letters(count: int | None = None, factor: float = 1.0, **look) -> bytes:
    rings, _, _ = letters_page.hand_letter("pebble", factor)
    options = {"marker": "pebble", "paper": "a5"}
    return letters_page.letters_page(np.random.default_rng(7220), replace(PLAIN, **look), rings, options, count)


def picture(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data)).convert("RGB")


def saved(image: Image.Image, kind: str = "PNG", **options) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **{"dpi": (300, 300), **options})
    return file.getvalue()


def changed(base: Callable[[], bytes], change: Callable[[Image.Image], Image.Image], kind: str = "PNG", **options):
    return lambda: saved(change(picture(base())), kind, **options)


def pixels(image: Image.Image, change: Callable[[np.ndarray], np.ndarray]) -> Image.Image:
    return Image.fromarray(np.clip(change(np.asarray(image).astype(float)), 0, 255).astype(np.uint8))


def drawn(image: Image.Image, paint: Callable[[ImageDraw.ImageDraw, int, int], object]) -> Image.Image:
    image = image.copy()
    paint(ImageDraw.Draw(image), image.width, image.height)
    return image


def same(image: Image.Image) -> Image.Image:
    return image


def plain(colour, size=(900, 1200), mode="RGB") -> Image.Image:
    return Image.new(mode, size, colour)


def noise(size=(900, 700)) -> Image.Image:
    return Image.fromarray(np.random.default_rng(1).integers(0, 255, (*size[::-1], 3), dtype=np.uint8))


def gradient() -> Image.Image:
    return Image.fromarray(np.repeat(np.tile(np.linspace(0, 255, 900), (700, 1))[..., None], 3, 2).astype(np.uint8))


def shapes(paint) -> Callable[[], bytes]:
    return lambda: saved(drawn(plain((228, 227, 224)), paint))


def moved(image: Image.Image) -> Image.Image:
    return pixels(image, lambda p: sum(np.roll(p, n, axis=1) for n in range(-9, 10)) / 19)


def light(strength: float, edge: float) -> Callable[[Image.Image], Image.Image]:
    """A shadow whose edge runs slantwise over the strokes, ``edge`` pixels soft."""

    def shade(p: np.ndarray) -> np.ndarray:
        rows, columns = np.mgrid[: p.shape[0], : p.shape[1]]
        wave = np.sin((columns + 0.6 * rows) / 45) * 30 / edge
        return p * (1 - strength / (1 + np.exp(-np.clip(wave, -50, 50))))[..., None]

    return lambda image: pixels(image, shade)


def glare(image: Image.Image) -> Image.Image:
    def band(p: np.ndarray) -> np.ndarray:
        y = np.linspace(-1, 1, p.shape[0])[:, None, None]
        return p + 255 * np.exp(-(((y + 0.34) / 0.09) ** 2))

    return pixels(image, band)


def spot(x: float, y: float) -> Callable[[Image.Image], Image.Image]:
    """A lamp that the page reflects, around a place told in shares of the picture's sides."""

    def shine(p: np.ndarray) -> np.ndarray:
        rows, columns = np.mgrid[: p.shape[0], : p.shape[1]] / p.shape[1]
        away = (columns - x) ** 2 + (rows - y * p.shape[0] / p.shape[1]) ** 2
        return p + 300 * np.exp(-away / 0.25**2)[..., None]

    return lambda image: pixels(image, shine)


def waved(image: Image.Image) -> Image.Image:
    rows, columns = np.mgrid[: image.height, : image.width]
    rows = np.clip(rows + 45 * np.sin(columns / 90), 0, image.height - 1).astype(int)
    return Image.fromarray(np.asarray(image)[rows, columns])


def several(*images: Image.Image, kind: str) -> bytes:
    return saved(images[0], kind, save_all=True, append_images=list(images[1:]))


def claimed(width: int, height: int) -> bytes:
    """A PNG whose head promises more pixels than it has."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IDAT", zlib.compress(bytes(100_000)))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + body + chunk(b"IEND", b"")


def claimed_jpeg() -> bytes:
    data = bytearray(saved(plain("white", (200, 200)), "JPEG"))
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = struct.pack(">HH", 60_000, 60_000)
    return bytes(data)


def swatch_pdf() -> bytes:
    (_, data), *_ = gg.swatch(**SMALL).files("pdf")
    return data


def scribbled(image: Image.Image) -> Image.Image:
    def paint(draw, wide, high):
        for x in range(40, wide, 26):
            draw.line((x, 0.1 * high, x + 60, 0.9 * high), (20, 20, 30), 7)

    return drawn(image, paint)


def crossed(image: Image.Image) -> Image.Image:
    def paint(draw, wide, high):
        for share in (0.33, 0.4, 0.62, 0.7):
            draw.line((0, share * high, wide, (share + 0.02) * high), (25, 25, 30), 22)

    return drawn(image, paint)


def one_ring_less(image: Image.Image) -> Image.Image:
    return drawn(image, lambda draw, wide, high: draw.rectangle((0, 0, 0.19 * wide, 0.17 * high), (229, 227, 222)))


def coins(image: Image.Image) -> Image.Image:
    return drawn(image, lambda draw, wide, high: draw.ellipse((0, 0, 0.22 * wide, 0.2 * high), (150, 120, 60)))


def lower_half_black(image: Image.Image) -> Image.Image:
    return drawn(image, lambda draw, wide, high: draw.rectangle((0, high / 2, wide, high), (8, 8, 8)))


def cropped(*box: float) -> Callable[[Image.Image], Image.Image]:
    return lambda i: i.crop((round(box[0] * i.width), round(box[1] * i.height), round(box[2] * i.width),
                             round(box[3] * i.height)))  # fmt: skip


WHOLE = "rings that make no whole block|no rings"
FITTED = "fitted to the page"
NONE = "no rings|rings that make no whole block"
NOTHING = "nothing written|no e\\b|no letter"


def files_that_are_none(command: str) -> list[Unfit]:
    base = strokes if command == "measure" else letters

    def row(name, make, told, file="page.png"):
        return Unfit(f"{command}: {name}", command, make, told, file=file)

    return [
        row("empty file", lambda: b"", "an empty file"),
        row("zeros", lambda: bytes(5000), "an empty file"),
        row("words", lambda: b"no picture at all", "no picture"),
        row("page of a web site", lambda: b"<!doctype html><html><body>hm</body></html>", "no picture"),
        row("signature of PNG alone", lambda: b"\x89PNG\r\n\x1a\n" + bytes(50), "picture"),
        row("cut PNG", lambda: base()[: len(base()) // 2], "damaged picture"),
        row("cut JPEG", lambda: changed(base, same, "JPEG")()[:9000], "damaged picture", "page.jpg"),
        row("cut TIFF", lambda: changed(base, same, "TIFF")()[:90_000], "picture", "page.tif"),
        row("cut WebP", lambda: changed(base, same, "WEBP")()[:3000], "picture", "page.webp"),
        row("JPEG of noise", lambda: changed(base, same, "JPEG")()[:700] + np.random.default_rng(3).bytes(40_000),
            "picture|rings|nothing written|no e|no letter", "page.jpg"),
        row("PDF of nothing", lambda: b"%PDF-1.4 nothing", "damaged PDF", "page.pdf"),
        row("PDF without picture", swatch_pdf, "a PDF without a picture", "page.pdf"),
        row("PDF of two pages", lambda: several(picture(base()), picture(base()), kind="PDF"), "2 pages", "page.pdf"),
        row("HEIC without its library", lambda: b"\0\0\0\x18ftypheic" + bytes(40), "HEIC", "page.heic"),
        row("GIF", changed(base, same, "GIF"), "no picture", "page.gif"),
        row("BMP", changed(base, same, "BMP"), "no picture", "page.bmp"),
        row("animated WebP", lambda: several(noise(), gradient(), kind="WEBP"), "an animated picture", "page.webp"),
        row("animated PNG", lambda: several(noise(), gradient(), kind="PNG"), "an animated picture"),
        row("TIFF of two pages", lambda: several(noise(), gradient(), kind="TIFF"), "several pages", "page.tif"),
        row("one bit", changed(base, lambda i: i.convert("1")), "two colours"),
        row("one bit TIFF", changed(base, lambda i: i.convert("1"), "TIFF"), "two colours", "page.tif"),
        row("huge promise", lambda: claimed(60_000, 60_000), "at most 150 million pixels"),
        row("huge promise of a JPEG", claimed_jpeg, "at most 150 million pixels", "page.jpg"),
        row("a promise that is not kept", lambda: claimed(9000, 9000), "damaged picture"),
        row("huge", lambda: saved(Image.new("1", (20_000, 20_000))), "at most 150 million pixels"),
        row("tiny", changed(base, lambda i: i.resize((40, 30))), "40 x 30 pixels"),
        row("a strip", lambda: saved(plain("white", (5000, 20))), "5000 x 20 pixels"),
        row("floating point", lambda: saved(Image.new("F", (800, 900), 0.5), "TIFF"), "floating-point", "page.tif"),
        row("low quality", changed(base, same, "JPEG", quality=5), "quality of 85 or more", "page.jpg"),
    ]


def pictures_of_nothing(command: str) -> list[Unfit]:
    told = NONE if command == "measure" else NOTHING + "|two colours|a dark picture"

    def row(name, make):
        return Unfit(f"{command}: {name}", command, make, told)

    return [
        row("white", lambda: saved(plain("white"))),
        row("black", lambda: saved(plain("black"))),
        row("grey", lambda: saved(plain((190, 190, 188)))),
        row("nothing, transparent", lambda: saved(plain((0, 0, 0, 0), mode="RGBA"))),
        row("16 bits of grey", lambda: saved(Image.new("I;16", (900, 900), 40_000))),
        row("noise", lambda: saved(noise())),
        row("gradient", lambda: saved(gradient())),
        row("a disc", shapes(lambda d, *_: d.ellipse((300, 300, 600, 600), (20, 20, 20)))),
        row("stripes", shapes(lambda d, w, h: [d.line((0, y, w, y), (30, 30, 30), 6) for y in range(40, h, 60)])),
        row("hatching", shapes(lambda d, w, h: [d.line((x, 0, x - 300, h), (30, 30, 30), 8)
                                                for x in range(0, 2 * w, 90)])),
        row("dots", shapes(lambda d, w, h: [d.ellipse((x, y, x + 9, y + 9), (30, 30, 30))
                                            for x in range(30, w, 50) for y in range(30, h, 50)])),
        row("a chequered cloth", shapes(lambda d, w, h: [d.rectangle((x, y, x + 49, y + 49), (90, 30, 30))
                                                         for x in range(0, w, 100) for y in range(0, h, 100)])),
    ]  # fmt: skip


def unfit_strokes() -> list[Unfit]:
    def row(name, make, told, *words, file="page.png"):
        return Unfit(f"measure: {name}", "measure", make, told, words, file)

    dark = lambda i: i.point(lambda v: v // 5)  # noqa: E731
    return [
        row("mirrored", changed(strokes, ImageOps.mirror), "mirror"),
        row("mirrored and turned", changed(strokes, ImageOps.flip), "mirror"),
        row("cut off at the left", changed(strokes, cropped(0.25, 0, 1, 1)), "ends before those at the left"),
        row("cut off at the right", changed(strokes, cropped(0, 0, 0.85, 1)), "ends before those at the right"),
        row("cut off at the head", changed(strokes, cropped(0, 0.2, 1, 1)), "ends before those at the top"),
        row("cut off at the foot", changed(strokes, cropped(0, 0, 1, 0.8)), "ends before those at the bottom"),
        row("one ring hidden", changed(strokes, one_ring_less), "something hides the one at the left"),
        row("a coin on a ring", changed(strokes, coins), "something hides the one at the left"),
        row("light on a ring", changed(strokes, spot(1.0, 0.5)), "light hides the one at the right"),
        row("light on two rings", changed(strokes, spot(0.5, 0.0)), "light hides those at the top"),
        row("light in the middle", changed(strokes, spot(0.5, 0.5)), "light hides the others,"),
        row("half of it black", changed(strokes, lower_half_black), WHOLE),
        row("waved paper", changed(strokes, waved), "rings|light|straight|tilted|downstrokes"),
        row("no resolution", changed(strokes, same, dpi=None), "states no resolution"),
        row("a screen's resolution", changed(strokes, same, dpi=(96, 96)), "states no resolution"),
        row("350 dpi", changed(strokes, same, dpi=(350, 350)), "where the rings say about 30"),
        row("600 dpi", changed(strokes, same, dpi=(600, 600)), "where the rings say about 30"),
        row("150 dpi", changed(strokes, same, dpi=(150, 150)), "where the rings say about 30"),
        row("two resolutions", changed(strokes, same, dpi=(300, 200)), "states no resolution"),
        row("stretched down", changed(strokes, lambda i: i.resize((i.width, i.height * 11 // 10))), FITTED),
        row("stretched across", changed(strokes, lambda i: i.resize((i.width * 11 // 10, i.height))), FITTED),
        row("two colours", changed(strokes, lambda i: i.convert("L").point(lambda v: 255 * (v > 120))), "two colours"),
        row("eight greys", changed(strokes, lambda i: i.point(lambda v: 36 * round(v / 36))), "levels of grey"),
        row("four colours, dithered", changed(strokes, lambda i: i.quantize(4)), "levels of grey|two colours|rings"),
        row("overexposed", changed(strokes, lambda i: pixels(i, lambda p: p * 1.35)), "overexposed"),
        row("dark", changed(strokes, dark), "a dark picture"),
        row("inverted", changed(strokes, ImageOps.invert), "no rings"),
        row("blurred", changed(strokes, lambda i: i.filter(ImageFilter.GaussianBlur(3))), "blurred"),
        row("moved", changed(strokes, moved), "blurred|rings|downstrokes"),
        row("coarse", changed(strokes, lambda i: i.reduce(4), dpi=(75, 75)), "µm a pixel"),
        row("made large again", changed(strokes, lambda i: i.reduce(4).resize(i.size)), "blurred|rings"),
        row("shadow across strokes", changed(strokes, light(0.5, 2)), "shadow or glare"),
        row("soft shadows across strokes", changed(strokes, light(0.4, 8)), "shadow or glare"),
        row("glare", changed(strokes, glare), "shadow or glare"),
        row("no strokes", unmarked, "0 downstrokes"),
        row("pale ink", lambda: strokes(ink=(0.92, 0.91, 0.9)), "0 downstrokes"),
        row("strokes from box to box", changed(strokes, crossed), "stroke inside its box"),
        row("scribbles", changed(strokes, scribbled), "stroke inside its box|one stroke in each box|rings"),
        row("a page of letters", letters, "a page of letters"),
        row("two names for one marker", strokes, "2 names for a page of 1", "--name", "quay,buoy"),
        row("tilted", lambda: photographed(tilt_deg=41, tilt_way_deg=30), "tilted by", file="page.jpg"),
        row("camera moved", lambda: photographed(blur_px=6.0), "blurred", *PHOTO, file="page.jpg"),
        row("from far away", lambda: photographed(pixels=(640, 540)), "µm a pixel", *PHOTO, file="page.jpg"),
        row("no card", lambda: photographed(tilt_deg=3), "bank card's shape", "--card", file="page.jpg"),
        row("card and bars", strokes, "one scale", "--card", "--measured", "99x99"),
    ]  # fmt: skip


def unfit_letters() -> list[Unfit]:
    def row(name, make, told):
        return Unfit(f"check: {name}", "check", make, told)

    return [
        row("mirrored", changed(letters, ImageOps.mirror), "mirror"),
        row("a page of strokes", strokes, "a page of strokes"),
        row("empty boxes", lambda: letters(0), "no letter"),
        row("made small", changed(letters, lambda i: i.reduce(14).resize((200, 280))), "pixels wide|" + NOTHING),
        row("pale ink", lambda: letters(ink=(0.92, 0.91, 0.9)), NOTHING),
        row("lines through the letters", changed(letters, crossed), "no letter|inside its box|rings"),
        row("inverted", changed(letters, ImageOps.invert), NOTHING),
    ]  # fmt: skip


def rows() -> list[Unfit]:
    both = [row for command in ("measure", "check")
            for row in (*files_that_are_none(command), *pictures_of_nothing(command))]  # fmt: skip
    return [*both, *unfit_strokes(), *unfit_letters()]
