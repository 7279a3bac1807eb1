"""Wild strokes by the hundred thousand: failures of the whole tolerance test, the slowest, the worst error.

``pytest -m benchmark -s tests/benchmarks/bench_wild_strokes.py`` runs 10^5 drawings, a third at each tolerance, in
blocks of one family (some hours on one core; ``-k cusps`` for a part). A longer run goes by blocks of its own:
``WILD_BLOCKS=3:7 pytest -m benchmark -s -k blocks ...`` runs the blocks 3 to 6, of 14,000 drawings each; 72 of them
are 10^6.
"""

from __future__ import annotations

import os
import time

import ink_check
import numpy as np
import pytest
import wild_strokes

from guidegen.geometry.stroke.expand import expand_all

pytestmark = pytest.mark.benchmark

TOLERANCES = (0.05, 0.01, 0.001)
EACH = 2400  # drawings of a family at a tolerance
FIRST = 1000  # the suite has those before
BLOCK = 1000
TOGETHER = 50


def row(*cells):
    print("| " + " | ".join(str(c) for c in cells) + " |", flush=True)


def tried(family, seeds, tolerance):
    """Return the failures [(seed, what)], ms a drawing, the slowest (ms, seed), the worst error in a sample, nodes."""
    failed, slowest, worst, seconds, nodes = [], (0.0, 0), 0.0, 0.0, 0
    for at in range(0, len(seeds), TOGETHER):
        some = seeds[at : at + TOGETHER]
        drawings = [wild_strokes.strokes(family, seed) for seed in some]
        start = time.process_time()
        outlines = expand_all(drawings, tolerance)
        spent = time.process_time() - start
        seconds += spent
        slowest = max(slowest, (1e3 * spent / len(some), some[0]))
        for seed, strokes, outline in zip(some, drawings, outlines, strict=True):
            nodes += sum(len(path.segments) for path in outline)
            wrong = ink_check.complaint(outline, strokes, tolerance)
            if wrong:
                failed.append((seed, wrong))
            elif outline and seed % 20 == 0:
                z, _ = ink_check.samples_of(outline, 20 * tolerance)
                off = ink_check.distance(z, [ink_check.discs_of(s, 0.02 * tolerance) for s in strokes])
                worst = max(worst, float(np.abs(off).max()) / tolerance)
    return failed, 1e3 * seconds / len(seeds), slowest, worst, nodes / len(seeds)


def report(family, seeds, tolerance):
    failed, each, (slow, where), worst, nodes = tried(family, seeds, tolerance)
    slowest = f"{slow:.0f} from seed {where}"
    row(family, tolerance, len(seeds), len(failed), f"{worst:.2f}", f"{each:.1f}", slowest, f"{nodes:.1f}")
    for seed, wrong in failed:
        print(f"  seed {seed}: {wrong}", flush=True)
    return failed


HEAD = ("family", "tolerance", "drawings", "failed", "worst error", "ms each", "slowest fifty, ms each", "nodes each")


@pytest.mark.parametrize("family", wild_strokes.FAMILIES)
def test_wild_strokes(family):
    row(*HEAD)
    each = [range(FIRST + k * EACH, FIRST + (k + 1) * EACH) for k in range(len(TOLERANCES))]
    failed = [wrong for seeds, tol in zip(each, TOLERANCES, strict=True) for wrong in report(family, seeds, tol)]
    assert not failed


def test_scribbles():
    row(*HEAD)
    assert not report("scribbles", range(20), 0.01)


def test_blocks():
    low, high = (int(n) for n in os.environ.get("WILD_BLOCKS", "0:1").split(":"))
    row(*HEAD)
    failed = []
    for block in range(low, high):
        first = 1_000_000 + BLOCK * block
        for family in wild_strokes.FAMILIES:
            failed += report(family, range(first, first + BLOCK), TOLERANCES[block % 3])
    assert not failed
