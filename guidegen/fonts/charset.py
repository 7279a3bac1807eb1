"""Which characters a font holds: what the hand can write of Latin Core, and whatever else its files have.

The list is that of GF Latin Core (glyphsets project, 319 code points).
"""

from __future__ import annotations

import unicodedata
from string import ascii_lowercase

from guidegen.errors import GuidegenError
from guidegen.hands.accents import find_letter
from guidegen.hands.hand import Hand

SPACE, NO_BREAK_SPACE, DOTLESS_J = " ", "\u00a0", "\u0237"

_RANGES = (
    (0x21, 0x7E), (0xA1, 0xA3), (0xA5, 0xA5), (0xA7, 0xAB), (0xAE, 0xB0), (0xB4, 0xB4), (0xB6, 0xB8), (0xBA, 0xBB),
    (0xBF, 0x107), (0x10A, 0x113), (0x116, 0x11B), (0x11E, 0x123), (0x126, 0x127), (0x12A, 0x12B), (0x12E, 0x131),
    (0x136, 0x137), (0x139, 0x13E), (0x141, 0x148), (0x150, 0x155), (0x158, 0x15B), (0x15E, 0x161), (0x164, 0x165),
    (0x16A, 0x16B), (0x16E, 0x17E), (0x218, 0x21B), (0x237, 0x237), (0x2C6, 0x2C7), (0x2D8, 0x2DD), (0x300, 0x304),
    (0x306, 0x308), (0x30A, 0x30C), (0x326, 0x328), (0x1E80, 0x1E85), (0x1E9E, 0x1E9E), (0x1EF2, 0x1EF3),
    (0x2013, 0x2014), (0x2018, 0x201A), (0x201C, 0x201E), (0x2022, 0x2022), (0x2026, 0x2026),
    (0x2039, 0x203A), (0x20AC, 0x20AC),
    (0x2122, 0x2122), (0x2212, 0x2212),
)  # fmt: skip


def latin_core() -> list[str]:
    """Return the inked characters of Latin Core and the dotless j, in code point order."""
    return [chr(code) for low, high in _RANGES for code in range(low, high + 1)]


def characters(hand: Hand) -> list[str]:
    """Return the characters of a font in this hand, in code point order, spaces left out.

    Raises:
        GuidegenError: when the hand lacks one of a to z: a font without it would fail its readers in mid-word.
    """
    missing = [char for char in ascii_lowercase if find_letter(hand, char) is None]
    if missing:
        none = len(missing) == len(ascii_lowercase)
        what = "it has no letters yet" if none else f"it lacks {' '.join(missing)}"
        raise GuidegenError(f"hand {hand.name}: {what}, so no font can be made; choose another `hand`")
    wanted = dict.fromkeys([*latin_core(), *(char for char in hand.letters if len(char) == 1)])
    return sorted(char for char in wanted if not char.isspace() and find_letter(hand, char) is not None)


def is_mark(char: str) -> bool:
    """Tell whether a character combines with the one before it."""
    return unicodedata.combining(char) != 0
