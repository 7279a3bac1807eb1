"""The stroke engine against its own bound and against other libraries: one table.

Run with ``pytest -m benchmark -s tests/benchmarks/bench_stroke.py`` (an hour on one core; ``-k speed`` and the
like for a part). Errors are areas by which the tolerance test fails (0 passes), times are ratios within one
process against shapely's dense union of the same discs and kurbopy's offsets of the same centrelines.
"""

from __future__ import annotations

import time

import bounds_check
import dense
import hershey
import kurbopy
import nasty
import numpy as np
import pytest

from guidegen.geometry.measure import path_length
from guidegen.geometry.path import Path
from guidegen.geometry.stroke.expand import expand, expand_all, raw_drawing
from guidegen.geometry.stroke.stroke import NibStroke, Stroke, Widths
from guidegen.geometry.union.curves_back import is_clean

pytestmark = pytest.mark.benchmark


def row(*cells):
    print("| " + " | ".join(str(c) for c in cells) + " |", flush=True)


def timed(job, *arguments):
    start = time.process_time()
    result = job(*arguments)
    return result, time.process_time() - start


def nodes(outline):
    return sum(len(path.segments) for path in outline)


def crosses_itself(outline, tolerance):
    """Chords of two curves that nearly touch may cross at one fineness; curves that cross do so at every one."""
    return not any(is_clean(outline, tolerance / share) for share in (50, 400, 3000, 12000))


@pytest.mark.parametrize("tolerance", [0.05, 0.01, 0.001])
def test_nasty_shapes(tolerance):
    row("class", "tolerance", "strokes", "worst excess", "worst error / tolerance", "nodes each", "dense union / ours")
    failed = []
    for group, items in nasty.shapes().items():
        count, worst, margin, total, ours, theirs = 0, 0.0, 0.0, 0, 0.0, 0.0
        for name, path in items:
            size = path_length(path)
            discs = [Stroke(path, w) for w in nasty.profiles(size).values()]
            cut = [Stroke(path, w, 75.0, 20.0) for w in list(nasty.profiles(size).values())[:3]] if size > 0 else []
            for stroke in [*discs, *cut, *(NibStroke(path, nib) for nib in nasty.NIBS.values())]:
                outline, seconds = timed(expand, [stroke], tolerance)
                areas, reference = timed(dense.excess, outline, [stroke], tolerance)
                ours, theirs = ours + seconds, theirs + reference / 2  # two unions
                if stroke in discs and outline:
                    off = bounds_check.depth(bounds_check.samples(outline), [stroke], 0.02 * tolerance)
                    margin = max(margin, float(np.abs(off).max()) / tolerance)
                count, worst, total = count + 1, max(worst, *areas), total + nodes(outline)
                if max(areas) >= 1e-6 or crosses_itself(outline, tolerance):
                    failed.append((group, name, stroke))
        row(group, tolerance, count, f"{worst:.1g}", f"{margin:.2f}", f"{total / count:.1f}", f"{theirs / ours:.0f}")
    assert not failed


@pytest.mark.parametrize("marker", hershey.MARKERS)
def test_hershey_glyphs(marker):
    tolerance = 0.01
    failed, total = [], 0
    glyphs = [(name, hershey.strokes(lines, marker)) for name, lines in hershey.glyphs()]
    glyphs = [(name, strokes) for name, strokes in glyphs if strokes]
    outlines, ours = timed(expand_all, [strokes for _, strokes in glyphs], tolerance)
    for k, ((name, strokes), outline) in enumerate(zip(glyphs, outlines, strict=True)):
        total += nodes(outline)
        wrong = bounds_check.malformed(outline)
        if not wrong and marker != "slate":
            wrong = bounds_check.complaint(outline, strokes, tolerance)
        if not wrong and crosses_itself(outline, tolerance):
            wrong = "crosses itself"
        if not wrong and k % 10 == 0 and max(dense.excess(outline, strokes, tolerance)) >= 1e-6:
            wrong = "tolerance"
        if wrong:
            failed.append((name, wrong))
    count = len(hershey.glyphs())
    row("marker", "glyphs", "failed", "nodes each", "ms each")
    row(marker, count, len(failed), f"{total / count:.1f}", f"{1e3 * ours / count:.1f}")
    assert not failed


def random_stroke(seed):
    """One to three lines and cubics on a coarse or fine grid, one to four widths, eased or not."""
    rng = np.random.default_rng(seed)
    grid = rng.choice([100, 4, 1])

    def point():
        return complex(*(np.round(rng.uniform(-3, 3, 2) * grid) / grid))

    here, segments = point(), []
    for _ in range(rng.integers(1, 4)):
        rest = [point() for _ in range(rng.choice([1, 3]))]
        segments.append((here, *rest))
        here = rest[-1]
    count = rng.integers(1, 5)
    places, widths = np.sort(rng.integers(0, 61, count) / 10), rng.integers(0, 201, count) / 100
    knots = tuple(zip(places.tolist(), widths.tolist(), strict=True))
    return Stroke(Path(tuple(segments)), Widths(knots, bool(rng.integers(2))))


@pytest.mark.parametrize("start", range(0, 100_000, 10_000))
def test_random_strokes(start):
    tolerance = 0.02
    failed = []
    for first in range(start, start + 10_000, 250):
        strokes = [random_stroke(seed) for seed in range(first, first + 250)]
        outlines = expand_all([[stroke] for stroke in strokes], tolerance)
        for seed, (stroke, outline) in enumerate(zip(strokes, outlines, strict=True), first):
            wrong = bounds_check.complaint(outline, [stroke], tolerance)
            if not wrong and crosses_itself(outline, tolerance):
                wrong = "crosses itself"
            if wrong:
                failed.append((seed, wrong))
    row("random strokes", "failed")
    row(f"{start} to {start + 9999}", len(failed))
    print(failed)
    assert not failed


def alphabet():
    """Twenty-six letters' worth of strokes: smooth chains of four cubics with eased widths, two a letter."""
    rng = np.random.default_rng(5)
    letters = []
    for _ in range(26):
        strokes = []
        for _ in range(2):
            steps = np.cumsum(rng.uniform(0.5, 3, 5) * np.exp(1j * np.cumsum(rng.uniform(-1.2, 1.2, 5))))
            path = nasty.smooth([complex(z) for z in steps])
            size = path_length(path)
            knots = ((0.0, 0.6), (0.35 * size, 0.6), (0.5 * size, 3.2), (0.7 * size, 3.2), (size, 0.6))
            strokes.append(Stroke(path, Widths(knots, eased=True)))
        letters.append(strokes)
    return letters


def test_speed():
    letters = alphabet()
    everything = [s for letter in letters for s in letter]
    expand(letters[0], 0.005)
    row("job", "tolerance", "against", "ratio", "at least or at most")
    measured = []
    for tolerance, least in ((0.005, 10), (0.001, 20)):
        _, ours = timed(expand_all, letters, tolerance)
        _, theirs = timed(lambda t=tolerance: [dense.dense(letter, 0.0, 0.02 * t) for letter in letters])
        row("expand an alphabet", tolerance, "dense union", f"{theirs / ours:.0f} times as fast", least)
        assert theirs / ours >= least
    cubics = [kurbo(segment) for s in everything for segment in s.path.segments]
    constant = [Stroke(s.path, Widths(((0.0, 2.0),))) for s in everything]
    for tolerance in (0.005, 0.001):
        theirs = min(timed(offsets, cubics, tolerance)[1] for _ in range(9))
        for name, strokes in (("constant", constant), ("by pressure", everything)):
            ours = min(timed(raw_drawing, strokes, tolerance)[1] for _ in range(9))
            ratio = f"{ours / theirs:.0f} times its time"
            row(f"contours before union, width {name}", tolerance, "constant offset, kurbopy", ratio, 40)
            measured.append(ours / theirs)
    assert max(measured) <= 40  # at both tolerances


def kurbo(segment):
    return kurbopy.CubicBez(*(kurbopy.Point(z.real, z.imag) for z in segment))


def offsets(cubics, tolerance, distance=1.0):
    return [list(kurbopy.offset_cubic(c, d, tolerance).segments()) for c in cubics for d in (distance, -distance)]


def test_cost_is_linear():
    row("segments", "ms a segment")
    each = []
    for count in (100, 400, 1600):
        wave = nasty.smooth([complex(0.7 * k, np.sin(0.9 * k)) for k in range(count + 1)])
        stroke = Stroke(wave, Widths(((0.0, 0.2), (path_length(wave), 0.6))))
        seconds = min(timed(expand, [stroke], 0.01)[1] for _ in range(2))
        each.append(1e3 * seconds / count)
        row(count, f"{each[-1]:.2f}")
    assert each[-1] <= 1.5 * each[0]


def test_nodes_of_outlines():
    row("tolerance", "nodes of a wave's outline", "kurbopy fit_to_bezpath", "ratio")
    for tolerance in (0.05, 0.01, 0.001):
        wave = nasty.smooth([complex(k, np.sin(k)) for k in range(13)])
        ours = nodes(expand([Stroke(wave, Widths(((0.0, 0.8),)))], tolerance))
        theirs = 4 + sum(len(side) for side in offsets([kurbo(s) for s in wave.segments], tolerance, 0.4))
        row(tolerance, ours, theirs, f"{ours / theirs:.2f}")
        assert ours <= 1.3 * theirs
