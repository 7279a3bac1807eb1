"""Pictures that mean harm: heads that promise, chunks that unpack to gigabytes, directories that go round."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable

from PIL import Image

PLACED = b"q 500 0 0 700 40 40 cm /I Do Q"
PIXELS = zlib.compress(bytes(900 * 700 * 3))


def pdf(*objects: bytes) -> bytes:
    out, places = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj %s endobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    end = b"trailer<</Size %d/Root 1 0 R>>startxref\n%d\n%%%%EOF" % (len(objects) + 1, len(out))
    return out + b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1) + table + end


def repeated(unit: bytes, count: int) -> bytes:
    """Return ``unit`` over and over until it is ``count`` bytes, packed, without ever holding them."""
    packer, block = zlib.compressobj(9), unit * (65_536 // len(unit))
    return b"".join(packer.compress(block) for _ in range(count // len(block))) + packer.flush()


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(extra: bytes = b"", *, depth: int = 8, kind: int = 2, size: tuple[int, int] = (900, 700)) -> bytes:
    """Return a grey PNG with chunks of one's own before the pixels."""
    width, height = size
    row = 1 + (width * {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[kind] * depth + 7) // 8
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0))
    body = repeated(b"\0" + b"\xc8" * (row - 1), row * height) if row * height < 65_536 else zlib.compress((b"\0" + b"\xc8" * (row - 1)) * height)
    return b"\x89PNG\r\n\x1a\n" + head + extra + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def packed(name: bytes, body: bytes) -> bytes:
    return chunk(name, b"x\0\0" + body)


def saved(kind: str, image: Image.Image | None = None, **options: object) -> bytes:
    file = io.BytesIO()
    (image or Image.effect_noise((900, 700), 30).convert("RGB")).save(file, kind, **options)  # type: ignore[arg-type]
    return file.getvalue()


def jpeg(segment: bytes = b"") -> bytes:
    """Return a JPEG of noise with segments of one's own at its head."""
    data = saved("JPEG", quality=92)
    return data[:2] + segment + data[2:]


def without_tables() -> bytes:
    data = jpeg()
    return data[:2] + data[data.find(b"\xff\xc0") :]


def segment(mark: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 255, mark, len(body) + 2) + body


def exif(*entries: tuple[int, int, int, int], tail: bytes = b"", after: int = 0) -> bytes:
    """Return a JPEG whose EXIF directory has entries of tag, kind, count and value."""
    table = struct.pack("<H", len(entries)) + b"".join(struct.pack("<HHII", *entry) for entry in entries)
    return jpeg(segment(0xE1, b"Exif\0\0II*\0\x08\0\0\0" + table + struct.pack("<I", after) + tail))


def passes(count: int, side: int) -> bytes:
    """Return a progressive JPEG whose last pass comes again and again."""
    data = saved("JPEG", Image.new("L", (side, side), 200), progressive=True, quality=90)
    at = data.rfind(b"\xff\xda")
    return data[:at] + data[at:-2] * count + data[-2:]


def promised(width: int, height: int, **options: object) -> bytes:
    """Return a small JPEG whose frame says another size."""
    data = bytearray(saved("JPEG", Image.new("RGB", (200, 200), "white"), **options))
    at = max(data.find(b"\xff\xc0"), data.find(b"\xff\xc2"))
    data[at + 5 : at + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def tiff(changed: dict[int, tuple[int, int, int]] | None = None, after: int = 0, body: int = 5_000) -> bytes:
    """Return a TIFF of grey, 900 x 700, with entries changed: tag to kind, count and value."""
    entries = {
        256: (4, 1, 900), 257: (4, 1, 700), 258: (3, 1, 8), 259: (3, 1, 1), 262: (3, 1, 1), 273: (4, 1, 8), 277: (3, 1, 1), 278: (4, 1, 700), 279: (4, 1, 10),
    } | (changed or {})  # fmt: skip
    table = b"".join(struct.pack("<HHII", tag, *entries[tag]) for tag in sorted(entries))
    return b"II*\0\x08\0\0\0" + struct.pack("<H", len(entries)) + table + struct.pack("<I", after) + bytes(body)


def webp(width: int, height: int, *, moves: bool) -> bytes:
    """Return a WebP file with a canvas of any size, of one frame or of two that move."""
    one = saved("WEBP", Image.new("RGB", (16, 16), "red"))[12:]
    three = lambda value: struct.pack("<I", value)[:3]  # noqa: E731
    frame = three(0) * 2 + three(15) * 2 + three(10) + b"\0" + one
    frames = b"ANIM" + struct.pack("<I", 6) + bytes(6) + (b"ANMF" + struct.pack("<I", len(frame)) + frame) * 2
    head = b"VP8X" + struct.pack("<I", 10) + struct.pack("<I", 2 * moves) + three(width - 1) + three(height - 1)
    body = b"WEBP" + head + (frames if moves else one)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def drawn(content: bytes, *more: bytes, page: bytes = b"/MediaBox[0 0 595 842]") -> bytes:
    """Return a PDF of one page whose packed content is ``content`` and whose resource I is the fifth object."""
    return pdf(
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[3 0 R]/Count 1>>", b"<</Type/Page/Parent 2 0 R/Contents 4 0 R/Resources<</XObject<</I 5 0 R>>>>" + page + b">>",
        b"<</Filter/FlateDecode/Length %d>>stream\n%s\nendstream" % (len(content), content), *more,
    )  # fmt: skip


def image(width: int = 900, height: int = 700, data: bytes = PIXELS, unpack: bytes = b"/FlateDecode", space: bytes = b"/DeviceRGB", bits: int = 8, more: bytes = b"") -> bytes:
    head = b"/Width %d/Height %d/ColorSpace%s/BitsPerComponent %d/Filter%s/Length %d%s" % (width, height, space, bits, unpack, len(data), more)
    return b"<</Type/XObject/Subtype/Image" + head + b">>stream\n" + data + b"\nendstream"


def scanned(placed: bytes = PLACED, **options: object) -> bytes:
    return drawn(zlib.compress(placed), image(**options))  # type: ignore[arg-type]


PICTURES: dict[str, Callable[[], bytes]] = {
    "PNG: a profile of 2 GB": lambda: png(packed(b"iCCP", repeated(b"\xc0", 300_000_000))), "PNG: a text of gigabytes": lambda: png(packed(b"zTXt", repeated(b"\xc0", 300_000_000))),
    "PNG: a profile of junk": lambda: png(packed(b"iCCP", zlib.compress(b"\xff" * 5_000))), "PNG: 500 texts": lambda: png(packed(b"zTXt", repeated(b"x", 900_000)) * 500), "PNG: 200,000 texts": lambda: png(chunk(b"tEXt", b"a\0b") * 200_000),
    "PNG: gamma 0": lambda: png(chunk(b"gAMA", bytes(4))), "PNG: the largest gamma": lambda: png(chunk(b"gAMA", b"\xff" * 4)), "PNG: the finest resolution": lambda: png(chunk(b"pHYs", b"\xff" * 8 + b"\1")), "PNG: no resolution": lambda: png(chunk(b"pHYs", bytes(8) + b"\1")),
    "PNG: EXIF of junk": lambda: png(chunk(b"eXIf", b"II*\0" + b"\xff" * 400)), "PNG: EXIF that goes round": lambda: png(chunk(b"eXIf", b"II*\0\x08\0\0\0\x01\0\x69\x87\x04\0\x01\0\0\0\x08\0\0\0\x08\0\0\0")), "PNG: 2^31 frames": lambda: png(chunk(b"acTL", struct.pack(">II", 2**31 - 1, 0))),
    "PNG: 3 bits": lambda: png(depth=3), "PNG: a chunk without a name": lambda: png(chunk(b"\0\0\0\0", b"")), "PNG: 200,000 pieces": lambda: png(chunk(b"IDAT", b"") * 200_000), "PNG: a thread": lambda: png(kind=0, size=(100, 400_000)), "PNG: transparent and grey": lambda: png(kind=4),
    "JPEG: 3,000 passes": lambda: passes(3_000, 2_000), "JPEG: 200 passes of a large one": lambda: passes(200, 6_000), "JPEG: a promise": lambda: promised(12_000, 12_000), "JPEG: a promise, progressive": lambda: promised(9_000, 9_000, progressive=True), "JPEG: no height": lambda: promised(900, 0),
    "JPEG: 12 bits": lambda: jpeg().replace(b"\xff\xc0\0\x11\x08", b"\xff\xc0\0\x11\x0c"), "JPEG: no tables": without_tables, "JPEG: 300,000 comments": lambda: jpeg(segment(0xFE, b"ab") * 300_000), "JPEG: 255 parts of a profile": lambda: jpeg(segment(0xE2, b"ICC_PROFILE\0\1\xff" + b"\xff" * 60_000) * 300),
    "JPEG: several, of junk": lambda: jpeg(segment(0xE2, b"MPF\0" + b"\xff" * 20)), "JPEG: 2^31 pictures": lambda: jpeg(segment(0xE2, b"MPF\0II*\0\x08\0\0\0\x02\0" + struct.pack("<HHIIHHII", 0xB001, 4, 1, 2**31 - 1, 0xB002, 7, 2**31 - 1, 38) + bytes(4))),
    "EXIF: turned 99 ways": lambda: exif((0x112, 3, 1, 99)), "EXIF: turned by words": lambda: exif((0x112, 2, 4, 0x65646974)), "EXIF: a maker of escapes": lambda: exif((0x10F, 2, 4, 0x4A325B1B)), "EXIF: 65,535 entries": lambda: exif((0x112, 3, 1, 1), tail=b"\xff" * 3_000), "EXIF: round": lambda: exif((0x8769, 4, 1, 8), after=8),
    "EXIF: a lens of 0/0": lambda: exif((0x8769, 4, 1, 26), tail=struct.pack("<HHHIII", 1, 0xA405, 5, 1, 48, 0) + bytes(40)), "EXIF: many lenses": lambda: exif((0x8769, 4, 1, 26), tail=struct.pack("<HHHIII", 1, 0xA405, 3, 9, 48, 0) + bytes(60)), "EXIF: a place in words": lambda: exif((0x8769, 2, 9, 26), tail=b"tide tide tide"),
    "EXIF: a resolution of 0/0": lambda: exif((0x11A, 5, 1, 50), (0x11B, 5, 1, 50), (0x128, 3, 1, 2), tail=bytes(80)), "JPEG: 65,535 dpi": lambda: saved("JPEG", dpi=(65_535, 65_535)), "JPEG: 2 dpi": lambda: saved("JPEG", dpi=(2, 2)),
    "TIFF: round": lambda: tiff(after=8), "TIFF: 2^31 wide": lambda: tiff({256: (4, 1, 2**31 - 1), 257: (4, 1, 2**31 - 1)}), "TIFF: far off": lambda: tiff({273: (4, 1, 2**32 - 1), 279: (4, 1, 2**32 - 1)}), "TIFF: a strip a row": lambda: tiff({257: (4, 1, 160_000), 278: (4, 1, 1)}),
    "TIFF: bits": lambda: tiff({258: (3, 1, 65_535)}), "TIFF: no bits": lambda: tiff({258: (3, 1, 0)}), "TIFF: 65,535 channels": lambda: tiff({277: (3, 1, 65_535)}), "TIFF: packed by nobody": lambda: tiff({259: (3, 1, 99)}), "TIFF: LZW of zeros": lambda: tiff({259: (3, 1, 5)}),
    "TIFF: a JPEG of zeros": lambda: tiff({259: (3, 1, 7)}), "TIFF: a fax of zeros": lambda: tiff({259: (3, 1, 4), 258: (3, 1, 1)}), "TIFF: an old JPEG": lambda: tiff({259: (3, 1, 6), 262: (3, 1, 6)}), "TIFF: no size": lambda: tiff({256: (4, 1, 0), 257: (4, 1, 0)}), "TIFF: 50,000 tags": lambda: tiff(dict.fromkeys(range(1000, 51000), (4, 2 ** 28, 8))),
    "TIFF: 2^30 strips": lambda: tiff({273: (4, 2**30, 8), 279: (4, 2**30, 8)}), "TIFF: a resolution of 0/0": lambda: tiff({273: (4, 1, 300), 279: (4, 1, 630_000), 282: (5, 1, 600), 283: (5, 1, 600), 296: (3, 1, 2)}, body=640_000), "TIFF: below zero": lambda: saved("TIFF", Image.new("I", (900, 700), -40_000)),
    "TIFF: 1,000 pages": lambda: saved("TIFF", Image.new("L", (100, 100)), save_all=True, append_images=[Image.new("L", (100, 100))] * 1_000), "TIFF: large": lambda: b"MM\0+\0\x08\0\0" + b"\xff" * 300, "TIFF: Lab": lambda: saved("TIFF", Image.new("LAB", (900, 700))),
    "WebP: a large canvas": lambda: webp(16_383, 16_383, moves=True), "WebP: 2^24 wide": lambda: webp(2**24, 2**24, moves=True), "WebP: a canvas for a stamp": lambda: webp(900, 700, moves=False), "WebP: junk": lambda: b"RIFF\xff\xff\xff\x7fWEBPVP8 " + b"\xff" * 900,
    "PDF: content of gigabytes": lambda: drawn(repeated(b" ", 900_000_000)), "PDF: a form of gigabytes": lambda: drawn(zlib.compress(b"/I Do"), b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Filter/FlateDecode/Length %d>>stream\n%s\nendstream" % (len(body := repeated(b"0 0 m 9 9 l S\n", 200_000_000)), body)),
    "PDF: a picture 200,000 times": lambda: drawn(repeated(b"q 9 0 0 9 0 0 cm /I Do Q\n", 3_000_000), image(200, 200, zlib.compress(bytes(120_000)))), "PDF: a promise": lambda: scanned(width=60_000, height=60_000), "PDF: 2^31 wide": lambda: scanned(width=2**31 - 1, height=2**31 - 1), "PDF: below zero": lambda: scanned(width=-900, height=-700),
    "PDF: no room": lambda: scanned(b"q 0 0 0 0 40 40 cm /I Do Q"), "PDF: room without end": lambda: scanned(b"q 1e39 0 0 1e39 40 40 cm /I Do Q"), "PDF: a JPEG 2000 of junk": lambda: scanned(data=b"\xff" * 900, unpack=b"/JPXDecode"), "PDF: a fax of junk": lambda: scanned(data=b"\xff" * 900, unpack=b"/JBIG2Decode", space=b"/DeviceGray", bits=1),
    "PDF: a JPEG of junk": lambda: scanned(data=b"\xff\xd8\xff" + b"\xff" * 900, unpack=b"/DCTDecode"), "PDF: packed four times": lambda: scanned(data=zlib.compress(zlib.compress(zlib.compress(repeated(b"\xc0", 600_000_000)))), unpack=b"[" + b"/FlateDecode" * 4 + b"]"), "PDF: one bit": lambda: scanned(width=9_000, height=7_000, data=repeated(b"\xaa", 7_875_000), space=b"/DeviceGray", bits=1),
    "PDF: a page of a kilometre": lambda: drawn(zlib.compress(PLACED), image(), page=b"/MediaBox[0 0 595 842]/UserUnit 1e9"), "PDF: a form in itself": lambda: drawn(zlib.compress(b"/I Do"), b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</I 5 0 R>>>>/Length 5>>stream\n/I Do\nendstream"),
    "PDF: 100,000 pages": lambda: pdf(b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[" + b"3 0 R " * 100_000 + b"]/Count 100000>>", b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]>>"),
}  # fmt: skip
