"""Pictures that the examples of README and of ``--help`` take for granted, made once."""

from __future__ import annotations

from functools import cache

import letters_page
import numpy as np
import simulate

PLAIN = simulate.Look(dpi=300, gamma=0, blur_px=0.5)


@cache
def strokes_page(copies: int = 1) -> bytes:
    """A scan at 300 dpi of a page with strokes of 2.4 and 0.5 mm."""
    rng = np.random.default_rng(1)
    options = {"copies": copies} if copies > 1 else {}
    return simulate.scan(rng, (2.4, 0.5), PLAIN, options, markers=range(copies))[0]


@cache
def page_with_card() -> bytes:
    """A scan of a page with a bank card beside its block; the printer makes 0.99 mm of one."""
    look = simulate.Look(dpi=300, gamma=0, blur_px=0.5, printer=(0.99, 0.99), card=simulate.Card(52 + 150j, 3))
    return simulate.scan(np.random.default_rng(1), (2.4, 0.5), look, {"paper": "a6"})[0]


@cache
def written_page(count: int | None = None) -> bytes:
    """A scan at 300 dpi of a page of e, written as pebble's hand has it, in the first ``count`` boxes."""
    rings, _, _ = letters_page.hand_letter("pebble")
    return letters_page.letters_page(np.random.default_rng(1), PLAIN, rings, {"marker": "pebble"}, count)


def write_pictures(folder) -> None:
    for name in ("scan.png", "one.jpg", "two.jpg"):
        (folder / name).write_bytes(strokes_page())
    (folder / "card.jpg").write_bytes(page_with_card())
    (folder / "four.png").write_bytes(strokes_page(4))
    for name in ("letters.png", "other.png"):
        (folder / name).write_bytes(written_page())
