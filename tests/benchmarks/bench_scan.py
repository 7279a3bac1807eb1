"""Simulated pages by the hundred, of seeds nobody tuned on: errors of the widths, intervals, sizes, time and memory.

``GUIDEGEN_PAGES`` says how many of each kind; a page takes 1 s of processor time at 300 dpi, 4 s at 600 dpi and as a
photograph, 15 s at 1200 dpi (a quarter as many, of A5), nearly all of it the simulation. ``GUIDEGEN_LINES`` names a
file that keeps a line of JSON for each page; a page it tells of already is not made again, so that a long run may be
stopped and gone on with.

Errors are those of reading the picture: a scanner's own scale (drawn within 0.2 %) and the tenth of a millimetre to
which somebody reads a ruler count where intervals are asked whether they hold the truth. A size is that of a hand for
the measured widths over that for the widths as drawn, of the strokes that were kept.
"""

import io
import json
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import simulate
from PIL import Image

import guidegen as gg
from guidegen.errors import GuidegenError
from guidegen.scan.measure import ReadOptions, measure_files
from guidegen.scan.statistics import marker_width

pytestmark = pytest.mark.benchmark
PAGES = int(os.environ.get("GUIDEGEN_PAGES", "20"))
LINES = os.environ.get("GUIDEGEN_LINES")
KINDS = {
    "300 dpi": ("scan", 300, 820_000),
    "photo": ("photo", 0, 840_000),
    "600 dpi": ("scan", 600, 810_000),
    "1200 dpi": ("scan", 1200, 830_000),
}
WIDTHS = [(1.0, 0.2), (1.6, 0.35), (3.2, 0.6), (0.9, 0.25), (6.8, 1.2), (2.4, 0.12), (4.5, 0.45)]


@pytest.mark.parametrize("kind", KINDS)
def test_errors_of_many_pages(kind, tmp_path):
    known = {row["page"]: row for row in kept_rows() if row["kind"] == kind}
    rows = []
    for number in range(PAGES if kind != "1200 dpi" else max(1, PAGES // 4)):
        row = known.get(number) or page_row(kind, number, KINDS[kind][2], tmp_path / "page")
        if number not in known:
            line = json.dumps(row)
            print(line, flush=True)
            if LINES:
                with Path(LINES).open("a") as file:
                    file.write(line + "\n")
        rows.append(row)
    print("\n".join(summary(kind, rows)))


def kept_rows():
    if not LINES or not Path(LINES).exists():
        return []
    return [json.loads(line) for line in Path(LINES).read_text().splitlines()]


def page_row(kind, number, seed, path):
    """One page drawn, made a picture, measured: what it is, and by how much each width is off."""
    what, dpi, _ = KINDS[kind]
    rng = np.random.default_rng(seed + number)
    look = simulate.ruffled(rng, what, dpi)
    widths = WIDTHS[number % len(WIDTHS)]
    options = {"paper": "a5"} if dpi == 1200 else {}
    data, drawn = (simulate.scan if what == "scan" else simulate.photo)(rng, widths, look, options)
    path.write_bytes(data)
    began = time.process_time()
    with Image.open(io.BytesIO(data)) as image:
        image.convert("RGB").load()
    decoding = time.process_time() - began
    row = {"kind": kind, "page": number, "widths": widths}
    began = time.process_time()
    try:
        _, (found,) = measure_files([path], ReadOptions(printer=look.printer if what == "photo" else None))
    except GuidegenError as error:
        return {**row, "refused": str(error)}
    row["times"] = round((time.process_time() - began) / decoding, 2)
    true_mm = []
    for name, width, true in (
        ("down", found.downstroke, drawn.downstrokes),
        ("hair", found.hairline, drawn.hairlines),
    ):
        own = [stroke for _, stroke in found.strokes if stroke.kind.startswith(name)]
        kept = float(np.mean([w for stroke, w in zip(own, true, strict=True) if not stroke.fault]))
        true_mm.append(kept)
        off = kept * (1 + (rng.uniform(-0.002, 0.002) if what == "scan" else rng.uniform(-0.0005, 0.0005)))
        row[name] = round(1000 * (width.mm - kept), 2)
        row[f"{name}_held"] = bool(width.measuring_mm[0] <= off <= width.measuring_mm[1])
        row[f"{name}_within"] = round(1000 * width.measured_within_mm, 2)
    sizes = [size_mm(*pair) for pair in ((found.downstroke.mm, found.hairline.mm), true_mm)]
    row["size"] = round(100 * (sizes[0] / sizes[1] - 1), 3)
    return row


def size_mm(downstroke_mm, hairline_mm):
    marker = gg.marker("drawn", tip="brush", downstroke_mm=downstroke_mm, hairline_mm=hairline_mm)
    return gg.right_size(marker).x_height_mm


def summary(kind, every):
    rows = [row for row in every if "refused" not in row]
    for name, low, high in (("down", 0, 99), ("hair", 0.2, 99), ("hair", 0, 0.2)):
        errors = np.array([row[name] for row in rows if low <= row["widths"][name == "hair"] < high])
        if len(errors):
            near = np.mean(abs(errors) <= 12)
            yield (f"RESULT {kind} {name} from {low} mm: {len(errors)} pages, bias {errors.mean():+.2f}, sd "
                   f"{errors.std():.2f}, worst {abs(errors).max():.1f} um, {100 * near:.1f} % within 12")  # fmt: skip
    for words, low, high in (("from 1 mm", 1, 99), ("below", 0, 1)):
        off = np.array([abs(row["size"]) for row in rows if low <= row["widths"][0] < high])
        if len(off):
            yield f"RESULT {kind} size, downstrokes {words}: median off {np.median(off):.2f} %, worst {off.max():.2f} %"
    held = [row[f"{name}_held"] for row in rows for name in ("down", "hair")]
    times = np.median([row["times"] for row in rows])
    refused = [f"{row['page']}: {row['refused']}" for row in every if "refused" in row]
    yield (f"RESULT {kind}: measuring interval holds {100 * np.mean(held):.1f} % of {len(held)}; "
           f"{times:.1f} times decoding; refused {len(refused)} {refused}")  # fmt: skip


def whole_page(block):
    """An A4 page at 600 dpi, scanned with noise, the block on it."""
    rng = np.random.default_rng(860_001)
    paper = np.tile(rng.normal(228, 1.5, (1024, 1024, 3)), (7, 5, 1))[:7016, :4960]
    page = Image.fromarray(np.clip(paper, 0, 255).astype(np.uint8))
    page.paste(block, (300, 1200))
    return page


def pictures_of_a_page():
    """Pictures for times and memory: names and bytes."""
    rng = np.random.default_rng(860_000)
    look = replace(simulate.ruffled(rng, "scan", 600), sharpen=0.0, jpeg=None)
    block = Image.open(io.BytesIO(simulate.scan(rng, (1.6, 0.35), look)[0])).convert("RGB")
    page = whole_page(block)
    for name, image, kind, more in (
        ("A4 page at 600 dpi as JPEG", page, "JPEG", {"quality": 92}),
        ("A4 page at 600 dpi as PNG", page, "PNG", {}),
        ("A4 page at 600 dpi as TIFF", page, "TIFF", {}),
        ("its block alone as JPEG", block, "JPEG", {"quality": 92}),
    ):
        file = io.BytesIO()
        image.save(file, kind, dpi=(600, 600), **more)
        yield name, file.getvalue()
    yield "photograph of 12 MP", simulate.photo(rng, (1.6, 0.35), simulate.ruffled(rng, "photo"))[0]


ALONE = """
import re, sys, time
from pathlib import Path
from guidegen.scan.measure import ReadOptions, measure_files
import scipy.ndimage, scipy.optimize, scipy.special, PIL.ImageCms
from PIL import Image
what, path = sys.argv[1], Path(sys.argv[2])
Image.init()
peak = lambda: 1024 * int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1])
Path("/proc/self/clear_refs").write_text("5")  # the peak starts anew
before, began = peak(), time.process_time()
Image.open(path).convert("RGB") if what == "decode" else measure_files([path], ReadOptions())
print(time.process_time() - began, peak() - before)
"""
ROUNDS = 6


def test_time_and_memory_against_decoding(tmp_path):
    """Each decoding and each measuring in a process of its own, in turn, after its imports; means of both."""

    def alone(what, path):
        child = [sys.executable, "-c", ALONE, what, str(path)]
        told = subprocess.run(child, capture_output=True, check=True, text=True).stdout
        return [float(number) for number in told.split()]

    over = []
    for name, data in pictures_of_a_page():
        path = tmp_path / "page"
        path.write_bytes(data)
        decoding, measuring = np.mean([[alone("decode", path), alone("measure", path)] for _ in range(ROUNDS)], axis=0)
        with Image.open(path) as image:
            memory = measuring[1] / (3 * image.width * image.height)
        times = measuring[0] / decoding[0]
        told = f"{measuring[0]:.2f} s, {times:.1f} times decoding; memory {memory:.1f} times the picture"
        print(f"RESULT {name}, {len(data) / 1e6:.1f} MB: {told}", flush=True)
        if "block" not in name and (times > 8 or memory > 3):
            over.append(name)
    assert not over


def test_intervals_of_a_thousand_markers():
    for count in (4, 6, 9, 18, 36):
        rng = np.random.default_rng(850_000 + count)
        held = 0
        for _ in range(2000):
            true = rng.uniform(0.3, 7)
            scale, common = 0.00115 * rng.standard_normal(), 0.0015 * rng.standard_normal()
            errors = 0.0015 * rng.standard_normal(count)
            strokes = true * (1 + 0.05 * rng.standard_normal(count))
            seen = strokes * (1 + scale) + common + errors
            low, high = marker_width(seen.tolist(), [0.0015] * count, 0.00115, 0.0015).interval_mm
            held += low <= true <= high
        print(f"RESULT interval, {count} strokes: {held / 20:.1f} %")
