"""Camera, page, printer and card in one fit: what makes both the rings and a card's sides lie where they are seen.

A card lies beside the rings, where the page's own map is not held by anything; that a card is a rectangle of known
sides holds it. Left and right sides of the paper's plane must also be square and alike to a lens whose pixels are
square, which tells the focal length where the page is tilted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from guidegen.geometry.cubic import Complexes
from guidegen.scan.camera import FOCAL, RING_PX, USUAL_K1, LensMap, lens_columns, seen_by

_USUAL_BEND_MM = 0.5
"""How far paper usually goes that a card lies flat on: it is hardly bent."""
_SQUARE = 0.002
"""How well two directions of the page are seen to be square and alike, by lens and rings."""


@dataclass(frozen=True, slots=True)
class CardSides:
    """A card as a picture shows it: two points on each of its four sides, and where they are on the card.

    ``px``: (4, 2) pixels. ``at``: (4, 2) places along the sides, as shares of their lengths. Sides follow each other
    round the card as the hands of a clock do, a long one first.
    """

    px: Any
    at: Any
    error_px: float


@dataclass(frozen=True, slots=True)
class Fit:
    """What a printer makes of a mm across and down, the standard error, how far off the sides are in their errors."""

    printer: tuple[float, float]
    share: float
    off: float


def fit_card(
    page: LensMap, rings: tuple[Complexes, Complexes], sides: CardSides, first: tuple[complex, complex, float],
    card: tuple[tuple[float, float], tuple[float, float], float], focal: float | None, uneven: float,
) -> Fit:  # fmt: skip
    """Return the printer's axes that a card tells in a photograph.

    Args:
        page: the map through the rings alone.
        rings: their places on the page (mm) and in the picture (pixels).
        sides: of the card.
        first: about where the card's middle is (mm of the page), the direction of its long sides, the printer's scale.
        card: its sides, half of their tolerance, its thickness, mm.
        focal: the lens' focal length over the picture's longer side, where it is known.
        uneven: standard error by which a printer's axes differ.
    """
    from scipy.optimize import least_squares

    size_mm, tolerance, thickness = card
    middle, along, scale = first
    sd_focal = 0.06 if focal else 0.25
    start = np.array([
        *page.h, page.k1, *page.bends, middle.real / page.half_mm, middle.imag / page.half_mm, np.angle(along),
        np.log(scale), np.log(scale), np.log(focal or FOCAL), 0.0, 0.0,
    ])  # fmt: skip
    across = (sides.px[:, 1] - sides.px[:, 0]) / abs(sides.px[:, 1] - sides.px[:, 0]) * 1j

    def on_card(v: Any) -> Any:
        wide, high = (side + more for side, more in zip(size_mm, v[17:19], strict=True))
        corners = np.array([-wide - 1j * high, wide - 1j * high, wide + 1j * high, -wide + 1j * high]) / 2
        ahead = np.roll(corners, -1) - corners
        true = (corners[:, None] + sides.at * ahead[:, None]) * np.exp(1j * v[13])
        return true.real / np.exp(v[14]) + 1j * true.imag / np.exp(v[15]) + (v[11] + 1j * v[12]) * page.half_mm

    def card_misses(v: Any) -> Any:
        mm = on_card(v)
        z = (mm - page.middle_mm) / page.half_mm
        height = thickness + float(np.mean(v[9] * z.real**2 + v[10] * z.imag**2))
        px = seen_by(np.array([*v[:9], 0.0, 0.0]), mm, page, height, float(np.exp(v[16])))
        return (((px - sides.px) * np.conj(across)[:, None]).real / sides.error_px).ravel()

    def misses(v: Any) -> Any:
        apart = (seen_by(v[:11], rings[0], page, 0.0, float(np.exp(v[16]))) - rings[1]) / RING_PX
        right, down = lens_columns(v[:8], float(np.exp(v[16])))
        right, down = right / np.exp(v[14]), down / np.exp(v[15])
        lengths = np.linalg.norm(right), np.linalg.norm(down)
        held = [
            v[8] / USUAL_K1, v[9] / _USUAL_BEND_MM, v[10] / _USUAL_BEND_MM, (v[14] - v[15]) / uneven,
            (v[16] - start[16]) / sd_focal, *(v[17:19] / np.array(tolerance) * np.sqrt(3)),
            float(right @ down) / (lengths[0] * lengths[1]) / _SQUARE, np.log(lengths[0] / lengths[1]) / _SQUARE,
        ]  # fmt: skip
        return np.concatenate([apart.real, apart.imag, card_misses(v), held])

    found = least_squares(misses, start, method="lm", x_scale="jac", max_nfev=2000)
    spread = np.linalg.inv(found.jac.T @ found.jac)[14:16, 14:16]
    printer = float(np.exp(found.x[14])), float(np.exp(found.x[15]))
    return Fit(printer, float(np.sqrt(np.diag(spread).max())), float(np.sqrt(np.mean(card_misses(found.x) ** 2))))
