"""From a marker and a hand to a face: glyphs, measures, names and features, in the font's units."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass

from guidegen.fonts.alphabet import Alphabet, alphabet
from guidegen.fonts.draw import SPACES, FaceProgress, drawn
from guidegen.fonts.faces import FaceStyle, Fineness, fineness
from guidegen.fonts.features import feature_code
from guidegen.fonts.glyphs import FontFace, Metrics, Names
from guidegen.fonts.naming import described, panose
from guidegen.geometry.stroke.stroke import NibStroke
from guidegen.lettering.free_ends import SPACE, unjoined_table
from guidegen.lettering.spacing import kern_table
from guidegen.profiles.markers import marker_to_toml
from guidegen.sheets.parts.phrases import phrases

__all__ = ["Alphabet", "Labels", "alphabet", "font_face"]


def _silent(what: str, done: int, total: int) -> None:
    """Report nothing."""


@dataclass(frozen=True, slots=True)
class Labels:
    """What the owner decides: the family's name, a licence and a credit line for the name table."""

    family: str
    licence: str | None = None
    credit: str | None = None


def font_face(letters: Alphabet, style: FaceStyle, labels: Labels, progress: FaceProgress = _silent) -> FontFace:
    """Return one face of an alphabet.

    Raises:
        GuidegenError: nothing of the hand can be written.
    """
    fine = fineness(letters.lettering)
    glyphs = drawn(letters, style, fine, progress)
    kerning = {} if style.ruled else _kerning(letters)
    return FontFace(
        names=_names(letters, style, labels),
        size=letters.size,
        metrics=_metrics(letters, fine),
        glyphs=glyphs,
        features=feature_code(letters.hand, letters.items, letters.units, kerning, list(SPACES)),
        panose=panose(letters.lettering.marker, letters.hand.slant_deg, connected=bool(letters.hand.joins)),
        ruled=style.ruled,
        slant_deg=letters.hand.slant_deg,
    )


def _kerning(letters: Alphabet) -> dict[tuple[str, str], float]:
    """Return the kerning (mm) by pairs of characters, as text is set on a page."""
    hand, chars = letters.hand, list(dict.fromkeys(item.char for item in letters.items))
    if hand.joins:
        chars.append(SPACE)
    table = unjoined_table if hand.joins else kern_table
    return table(letters.lettering, chars, chars)


def _metrics(letters: Alphabet, fine: Fineness) -> Metrics:
    """Return vertical measures that hold all ink of all faces of the family, and at least the hand's row pitch."""
    hand, x = letters.hand, letters.lettering.x_height_mm
    highest, lowest = (hand.ascender + hand.row_gap) * x, hand.descender * x
    for item in letters.items:
        for stroke in item.strokes:
            if isinstance(stroke, NibStroke):
                reach = math.hypot(stroke.nib.width, stroke.nib.thickness) / 2
            else:
                reach = max(width for _, width in stroke.widths.knots) / 2
            reach = max(reach, 1.1 * fine.dot_mm)
            ys = [z.imag for segment in stroke.path.segments for z in segment]
            highest, lowest = max(highest, max(ys) + reach), max(lowest, reach - min(ys))
    units = letters.size.units
    return Metrics(
        round(units(x)), round(units(hand.capital * x)),
        round(units(hand.ascender * x)), round(units(hand.descender * x)),
        math.ceil(units(highest)) + 1, math.ceil(units(lowest + fine.baseline_mm)) + 1,  # each place is rounded
    )  # fmt: skip


def _names(letters: Alphabet, style: FaceStyle, labels: Labels) -> Names:
    marker, hand, x = letters.lettering.marker, letters.hand, letters.lettering.x_height_mm
    seed = f"{marker_to_toml(marker)}\n{hand.name}\n{hand.slant_deg!r}\n{x!r}"
    digest = hashlib.sha256(seed.encode()).hexdigest()
    version = f"Version 1.{int(digest[:8], 16) % 1000:03d}; profile {digest[:8]}"
    text = described(letters, phrases())
    return Names(labels.family, style.style_name, version, text, labels.licence, labels.credit)
