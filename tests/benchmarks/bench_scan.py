"""Simulated pages by the hundred, of seeds nobody tuned on: errors of the widths, intervals, time and memory.

``GUIDEGEN_PAGES`` says how many of each kind; a page takes 1 s of processor time at 300 dpi, 4 s at 600 dpi and as a
photograph, 15 s at 1200 dpi (a quarter as many, of A5), nearly all of it the simulation. Errors are those of reading
the picture: a scanner's own scale (drawn within 0.2 %) and the tenth of a millimetre to which somebody reads a ruler
count where intervals are asked whether they hold the truth.
"""

import io
import os
import time

import numpy as np
import pytest
import simulate
from PIL import Image

from guidegen.errors import GuidegenError
from guidegen.scan.measure import ReadOptions, measure_files
from guidegen.scan.statistics import marker_width

pytestmark = pytest.mark.benchmark
PAGES = int(os.environ.get("GUIDEGEN_PAGES", "20"))
KINDS = {
    "600 dpi": ("scan", 600, 810_000),
    "300 dpi": ("scan", 300, 820_000),
    "1200 dpi": ("scan", 1200, 830_000),
    "photo": ("photo", 0, 840_000),
}
WIDTHS = [(1.0, 0.2), (1.6, 0.35), (3.2, 0.6), (0.9, 0.25), (6.8, 1.2), (2.4, 0.12), (4.5, 0.45)]


@pytest.mark.parametrize("kind", KINDS)
def test_errors_of_many_pages(kind, tmp_path):
    what, dpi, seed = KINDS[kind]
    rows, held, refused, ratios = [], [], 0, []
    for number in range(PAGES if dpi != 1200 else max(1, PAGES // 4)):
        rng = np.random.default_rng(seed + number)
        look = simulate.ruffled(rng, what, dpi)
        widths = WIDTHS[number % len(WIDTHS)]
        options = {"paper": "a5"} if dpi == 1200 else {}
        data, drawn = (simulate.scan if what == "scan" else simulate.photo)(rng, widths, look, options)
        path = tmp_path / "page"
        path.write_bytes(data)
        began = time.process_time()
        with Image.open(io.BytesIO(data)) as image:
            image.convert("RGB").load()
        decoding = time.process_time() - began
        began = time.process_time()
        try:
            _, (found,) = measure_files([path], ReadOptions(printer=look.printer if what == "photo" else None))
        except GuidegenError as error:
            refused += 1
            print(f"{kind} {number} {widths}: {error}")
            continue
        ratios.append((time.process_time() - began) / decoding)
        for name, width, true in (
            ("down", found.downstroke, drawn.downstrokes),
            ("hair", found.hairline, drawn.hairlines),
        ):
            own = [stroke for _, stroke in found.strokes if stroke.kind.startswith(name)]
            kept = np.mean([w for stroke, w in zip(own, true, strict=True) if not stroke.fault])
            rows.append((name, widths[name == "hair"], 1000 * (width.mm - kept)))
            off = kept * (1 + (rng.uniform(-0.002, 0.002) if what == "scan" else rng.uniform(-0.0005, 0.0005)))
            held.append(width.measuring_mm[0] <= off <= width.measuring_mm[1])
            told = f"{rows[-1][2]:.1f} {'held' if held[-1] else 'missed'} {ratios[-1]:.1f}"
            print(f"{kind} {number} {name} {widths} {told}", flush=True)
    for name, low, high in (("down", 0, 99), ("hair", 0.2, 99), ("hair", 0, 0.2)):
        errors = np.array([error for who, width, error in rows if who == name and low <= width < high])
        if len(errors):
            near = np.mean(abs(errors) <= 12)
            print(f"RESULT {kind} {name} from {low} mm: {len(errors)} pages, bias {errors.mean():.1f}, sd "
                  f"{errors.std():.1f}, worst {abs(errors).max():.1f} um, {100 * near:.0f} % within 12")  # fmt: skip
    print(f"RESULT {kind}: measuring interval holds {100 * np.mean(held):.0f} %; refused {refused}; "
          f"{np.median(ratios):.1f} times decoding")  # fmt: skip


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
