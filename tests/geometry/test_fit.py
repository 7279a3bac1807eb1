"""The fitter: its order, its bound, its number of pieces against kurbopy's offset."""

from __future__ import annotations

import kurbopy
import numpy as np
import pytest

from guidegen.geometry.fit import SAMPLES, fit_cubics, fit_pieces
from guidegen.geometry.path import Path
from guidegen.geometry.stroke.centreline import centrelines, law_cuts, stretches
from guidegen.geometry.stroke.envelope import fit_sides
from guidegen.geometry.stroke.radius_spans import radius_laws
from guidegen.geometry.stroke.stroke import Widths

# gentle cubics of 300 to 500 units
GENTLE = [(0, 100 + 200j, 300 + 200j, 400), (0, 276j, 224 + 500j, 500 + 500j), (0, 200, 100 + 300j, 300 + 300j)]


def spiral(piece, t):
    """A curve with everything known: r = exp(t/2), and a second copy twice as large."""
    z = (1 + piece[:, None]) * np.exp((0.5 + 1j) * t)
    along = (0.5 + 1j) * np.exp(1j * t)
    return z, along / abs(0.5 + 1j)


def semicubic(piece, t):
    """A cusp at t = 0, tangents pointing the way the curve goes."""
    return t**2 + 1j * t**3, np.sign(t + 1e-300) * (2 + 3j * t) / np.abs(2 + 3j * t)


def measured(sampler, cubics, low, high):
    """Return the distance of dense samples from dense points on the cubics, first and last piece included."""
    t = np.linspace(low, high, 801)[None, :]
    z, _ = sampler(np.zeros(1, dtype=int), t)
    u = np.linspace(0, 1, 4001)
    v = 1 - u
    on = np.concatenate([v**3 * c[0] + 3 * v * v * u * c[1] + 3 * v * u * u * c[2] + u**3 * c[3] for c in cubics])
    chord = np.diff(on)
    worst = 0.0
    for p in z[0]:
        k = max(0, min(int(np.abs(on - p).argmin()) - 1, len(chord) - 2))
        a, d = on[k : k + 2], chord[k : k + 2]
        share = np.clip(((p - a) * np.conj(d)).real / np.maximum(np.abs(d) ** 2, 1e-300), 0, 1)
        worst = max(worst, float(np.abs(p - a - share * d).min()))
    return worst


@pytest.mark.parametrize("start", [0.0, 0.7, 2.0])
def test_halving_an_interval_cuts_the_error_at_least_40_times(start):
    nodes = (1 - np.cos(np.pi * np.arange(SAMPLES) / (SAMPLES - 1))) / 2
    errors = []
    for size in (1.6, 0.8, 0.4):
        t = (start + size * nodes)[None, :]
        z, along = spiral(np.zeros(1, dtype=int), t)
        errors.append(float(fit_cubics(z, along[:, 0], along[:, -1])[1][0]))
    assert errors[0] / errors[1] > 40
    assert errors[1] / errors[2] > 40


@pytest.mark.parametrize("tolerance", [0.1, 1e-2, 1e-3, 1e-5])
def test_every_piece_is_within_tolerance_the_last_one_too(tolerance):
    cubics, piece, start = fit_pieces(spiral, np.zeros(2), np.full(2, 6.0), tolerance)
    assert set(piece.tolist()) == {0, 1}
    first = cubics[piece == 0]
    assert np.all(np.diff(start[piece == 0]) > 0)
    assert np.abs(first[1:, 0] - first[:-1, 3]).max() < 1e-12
    assert abs(first[-1, 3] - np.exp((0.5 + 1j) * 6)) < 1e-12
    assert measured(spiral, first, 0, 6) <= tolerance + 1e-7


def test_tolerance_may_differ_from_piece_to_piece():
    _, piece, _ = fit_pieces(spiral, np.zeros(2), np.full(2, 3.0), np.array([1e-1, 1e-6]))
    assert (piece == 1).sum() > 3 * (piece == 0).sum()


def test_a_cusp_between_two_pieces_is_met():
    cubics, _, _ = fit_pieces(semicubic, np.array([0.0]), np.array([1.0]), 1e-3)
    assert len(cubics) <= 2
    assert abs(cubics[0, 0]) < 1e-12


@pytest.mark.parametrize(("tolerance", "expected"), [(0.1, 1.33), (0.01, 2.33), (0.001, 4.67), (0.0001, 9.33)])
def test_offsets_of_gentle_cubics_need_no_more_pieces_than_kurbo(tolerance, expected):
    ours, theirs = [], []
    for c in GENTLE:
        cubic = kurbopy.CubicBez(*(kurbopy.Point(complex(z).real, complex(z).imag) for z in c))
        theirs += [len(list(kurbopy.offset_cubic(cubic, d, tolerance).segments())) for d in (20, -20)]
        lines = centrelines([Path((tuple(complex(z) for z in c),))])
        laws = radius_laws([Widths(((0, 40.0),))], lines.length)
        ours += fit_sides(stretches(lines, laws, law_cuts(lines, laws)), tolerance).chains.count.tolist()
    assert np.mean(theirs) == pytest.approx(expected, abs=0.01)
    assert np.mean(ours) <= 1.0 * np.mean(theirs)
