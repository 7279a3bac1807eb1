"""Hostile files: one line, bounded time and memory, never a traceback."""

from __future__ import annotations

import resource
import struct
import time
import zlib

import pytest
from foreign import SVG_HEAD, ezdxf_dxf, made_font, matplotlib_file, pillow_png, reportlab_pdf, svg

from guidegen import limits
from guidegen.errors import GuidegenError
from guidegen.readers import read_bytes

SECONDS = 20.0
MEGABYTES = 1500


def bomb(levels: int = 12) -> bytes:
    entities = '<!ENTITY a0 "tide">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, levels))
    return f"<!DOCTYPE svg [{entities}]>{SVG_HEAD}><text>&a{levels - 1};</text></svg>".encode()


def use_bomb(levels: int = 30) -> bytes:
    body = '<g id="g0"><rect width="1" height="1"/></g>'
    body += "".join(f'<g id="g{n}">{f"""<use href="#g{n - 1}"/>""" * 10}</g>' for n in range(1, levels))
    return svg(body)


def flate_bomb() -> bytes:
    """A page whose content is 10 zip layers' worth of zeros: 2 GB from 2 MB."""
    packed = zlib.compressobj(9)
    data = b"".join(packed.compress(b"0 0 m 9 9 l S " * 70_000) for _ in range(100)) + packed.flush()
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]/Contents 4 0 R/Resources<<>>>>",
        b"<</Filter/FlateDecode/Length %d>>stream\n%s\nendstream" % (len(data), data),
    ]
    return assembled(objects)


def assembled(objects: list[bytes]) -> bytes:
    out, places = b"%PDF-1.4\n", []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj %s endobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    return out + b"xref\n0 %d\n0000000000 65535 f \n%strailer<</Size %d/Root 1 0 R>>startxref\n%d\n%%%%EOF" % (
        len(objects) + 1, table, len(objects) + 1, len(out)
    )  # fmt: skip


def form_loop() -> bytes:
    form = b"<</Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources<</XObject<</F 5 0 R>>>>"
    form += b"/Length 12>>stream\n/F Do /F Do \nendstream"
    return assembled([
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]/Contents 4 0 R/Resources<</XObject<</F 5 0 R>>>>>>",
        b"<</Length 5>>stream\n/F Do\nendstream",
        form,
    ])  # fmt: skip


def page_loop() -> bytes:
    return assembled([
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[2 0 R 3 0 R]/Parent 2 0 R/Count 2>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]>>",
    ])  # fmt: skip


def nested_arrays() -> bytes:
    deep = b"[" * 50_000 + b"]" * 50_000
    return assembled([
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 99 99]/Contents 4 0 R>>",
        b"<</Length %d>>stream\n%s\nendstream" % (len(deep), deep),
    ])  # fmt: skip


def png_chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_bomb(side: int = 60_000) -> bytes:
    rows = zlib.compress(b"\0" * 1_000_000, 9)
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", header) + png_chunk(b"IDAT", rows) + png_chunk(b"IEND", b"")


def dxf_loop() -> bytes:
    lines = "0 SECTION 2 BLOCKS"
    for name, inner in (("A", "B"), ("B", "A")):
        lines += f" 0 BLOCK 8 0 2 {name} 70 0 10 0 20 0 30 0"
        lines += f" 0 INSERT 8 0 2 {inner} 10 0 20 0" * 10 + " 0 ENDBLK 8 0"
    lines += " 0 ENDSEC 0 SECTION 2 ENTITIES 0 INSERT 8 0 2 A 10 0 20 0 0 ENDSEC 0 EOF"
    return ("\n".join(lines.split()) + "\n").encode()


def dxf_array() -> bytes:
    lines = "0 SECTION 2 BLOCKS 0 BLOCK 8 0 2 A 70 0 10 0 20 0 30 0 0 LINE 8 0 10 0 20 0 11 1 21 1 0 ENDBLK 8 0"
    lines += " 0 ENDSEC 0 SECTION 2 ENTITIES 0 INSERT 8 0 2 A 10 0 20 0 70 30000 71 30000 44 1 45 1 0 ENDSEC 0 EOF"
    return ("\n".join(lines.split()) + "\n").encode()


HOSTILE = {
    "entity bomb": bomb,
    "outside entity": lambda: b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + svg("<text>&x;</text>"),
    "use bomb": use_bomb,
    "deep groups": lambda: svg("<g>" * 100_000 + "</g>" * 100_000),
    "nowhere": lambda: svg('<path d="M1e999 0L-1e999 5"/>'),
    "huge numbers": lambda: svg('<path d="M1e300 0L-1e300 5"/>'),
    "no page": lambda: svg("", "0mm", "0mm"),
    "endless page": lambda: svg("", "1e300mm", "1e300mm"),
    "not a drawing": lambda: b"<html><body/></html>",
    "unknown encoding": lambda: b'<?xml version="1.0" encoding="tide-8"?><svg/>',
    "flate bomb": flate_bomb,
    "form loop": form_loop,
    "page loop": page_loop,
    "picture bomb": png_bomb,
    "block loop": dxf_loop,
    "block array": dxf_array,
    "nothing": lambda: b"",
    "noise": lambda: bytes(range(256)) * 50,
    "font of nothing": lambda: b"OTTO" + b"\xff" * 300,
    "font tables everywhere": lambda: b"\0\1\0\0\0\x05" + b"\xff" * 5000,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files_are_refused_in_one_line(name):
    began, before = time.process_time(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(GuidegenError) as caught:
        read_bytes(HOSTILE[name](), "tide.file")
    message = str(caught.value)
    assert message.startswith("tide.file: ")
    assert "\n" not in message
    assert len(message) < 400
    assert time.process_time() - began < SECONDS
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1000 < MEGABYTES


def outcome(data: bytes, name: str) -> str:
    """Return ``read`` or the line that refuses the file; anything else that is raised fails the test."""
    try:
        read_bytes(data, name)
    except GuidegenError as error:
        return str(error)
    return "read"


def test_uses_that_go_round_end_and_draw_nothing():
    body = '<g id="a"><use href="#b"/><use href="#b"/></g><g id="b"><use href="#a"/><use href="#a"/></g>'
    assert read_bytes(svg(body), "x.svg").pages[0].drawn == ()


def test_arrays_in_arrays_do_not_overflow():
    told = outcome(nested_arrays(), "x.pdf")
    assert told == "read" or "\n" not in told


WHOLE = {
    "svg": lambda: matplotlib_file("svg"),
    "pdf": reportlab_pdf,
    "matplotlib.pdf": lambda: matplotlib_file("pdf"),
    "png": pillow_png,
    "dxf": ezdxf_dxf,
    "ttf": made_font,
    "eps": lambda: matplotlib_file("eps"),
}


@pytest.mark.parametrize("kind", WHOLE)
def test_a_file_cut_short_anywhere_is_told_in_one_line(kind):
    data = WHOLE[kind]()
    assert read_bytes(data, kind).format
    for part in range(20):
        piece = data[: len(data) * part // 20]
        with pytest.raises(GuidegenError) as caught:
            read_bytes(piece, kind)
        assert "\n" not in str(caught.value), part


@pytest.mark.parametrize("kind", WHOLE)
def test_flipped_bytes_never_raise_anything_else(kind):
    data = bytearray(WHOLE[kind]())
    for place in range(0, len(data), max(1, len(data) // 60)):
        harmed = bytearray(data)
        harmed[place] ^= 0x5A
        assert "\n" not in outcome(bytes(harmed), kind), place


def test_a_file_above_the_limit_is_not_read(monkeypatch):
    monkeypatch.setattr("guidegen.limits.MAX_FILE_BYTES", 100)
    with pytest.raises(GuidegenError, match="MB"):
        read_bytes(svg(""), "x.svg")


def test_too_many_segments_are_counted_as_they_come(monkeypatch):
    monkeypatch.setattr(limits, "MAX_SEGMENTS", 1000)
    with pytest.raises(GuidegenError, match="more segments"):
        read_bytes(svg('<path d="M0 0' + "h1v1" * 600 + '"/>'), "x.svg")
