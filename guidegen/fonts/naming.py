"""What a font says about itself: names, weight, widths, permissions. All of it true, none of it about a program."""

from __future__ import annotations

from typing import Any

from guidegen.fonts.alphabet import Alphabet
from guidegen.fonts.glyphs import FontFace
from guidegen.profiles.markers import Marker
from guidegen.sheets.parts.figures import stroke_names
from guidegen.sheets.parts.phrases import Phrases
from guidegen.units import shift_per_height

REGULAR_BIT, USE_TYPO_METRICS = 1 << 6, 1 << 7
INSTALLABLE_EMBEDDING = 0
NO_VENDOR = "NONE"
ITALIC_ANGLE = 0
"""Of a slanted hand too: an angle in ``post``, or the italic bits, declare the slanted half of a family, and fontbakery
rightly FAILs a family whose upright half is missing (opentype/STAT/ital_axis). The lean is told where it claims no
such thing: by the caret's slope in ``hhea`` and by PANOSE."""
SCRIPTS = 10
"""IBM font family class "Scripts" (OpenType, OS/2 sFamilyClass)."""


LONGEST_MENU_NAME = 31
"""Older Windows programs know a font by at most 31 characters (LOGFONT's face name)."""
_SHORT = {"Dotted": "Dot", "Hollow": "Hol", "Starts": "St", "Ruled": "Ru"}


def described(letters: Alphabet, say: Phrases) -> str:
    """Return the sentence that tells a font's true size: in English in the font, in a page's language on its page."""
    marker, x = letters.lettering.marker, letters.lettering.x_height_mm
    thick, thin = (say.number(f"{width:g}") for width in (marker.downstroke_mm, marker.hairline_mm))
    one = marker.downstroke_mm == marker.hairline_mm
    return say(
        "font.true_size",
        points=letters.size.point_size,
        x_height=say.number(f"{x:.2f}"),
        ascender=say.number(f"{letters.hand.ascender * x:.2f}"),
        marker=say.label(marker.label),
        widths=say("font.line", width=thick) if one else _widths(marker, thick, thin, say),
    )


def _widths(marker: Marker, thick_width: str, thin_width: str, say: Phrases) -> str:
    thick, thin = stroke_names(marker, say)
    return say("font.widths", thick=thick, thick_width=thick_width, thin=thin, thin_width=thin_width)


def menu_name(family: str, style: str) -> str:
    """Return family and style as one name for programs that know four styles only, shortened where it must be."""
    if style == "Regular":
        return family[:LONGEST_MENU_NAME].rstrip()
    if len(f"{family} {style}") > LONGEST_MENU_NAME:
        style = " ".join(_SHORT.get(word, word) for word in style.split())
    return f"{family[: LONGEST_MENU_NAME - 1 - len(style)].rstrip()} {style}"


def name_strings(face: FontFace) -> dict[str, str]:
    """Return the strings of the name table by fontTools' keys.

    Each face is a family of its own (names 1 and 2): programs that choose by family alone, as those that ask
    fontconfig, would give any of the faces that share one. Names 16 and 17 hold the whole name where older programs
    need a shorter one.
    """
    names = face.names
    menu = menu_name(names.family, names.style)
    strings = {
        "familyName": menu,
        "styleName": "Regular",
        "uniqueFontIdentifier": f"{names.version.split()[1]};{names.postscript}",
        "fullName": f"{names.full} Regular" if names.style == "Regular" else names.full,
        "version": names.version,
        "psName": names.postscript,
        "description": names.description,
    }
    if names.credit:
        strings["copyright"] = names.credit
    if names.licence:
        strings["licenseDescription"] = names.licence
        link = next((word for word in names.licence.split() if word.startswith(("https://", "http://"))), None)
        if link:
            strings["licenseInfoURL"] = link.rstrip(".,;)")
    if menu != names.full:
        strings["typographicFamily"] = names.full
        strings["typographicSubfamily"] = "Regular"
    return strings


def os2_values(face: FontFace) -> dict[str, Any]:
    """Return the OS/2 table's values. Superscripts and the strike-out line follow the letters' own heights."""
    m = face.metrics
    from fontTools.ttLib.tables.O_S_2f_2 import Panose

    panose = Panose(**dict(zip(_PANOSE_FIELDS, face.panose, strict=True)))
    codes = sorted(face.codepoints)
    return {
        "version": 4,
        "usWeightClass": 400,
        "usWidthClass": 5,
        "fsType": INSTALLABLE_EMBEDDING,
        "fsSelection": REGULAR_BIT | USE_TYPO_METRICS,
        "sFamilyClass": SCRIPTS << 8,
        "panose": panose,
        "achVendID": NO_VENDOR,
        "usFirstCharIndex": min(codes[0], 0xFFFF),
        "usLastCharIndex": min(codes[-1], 0xFFFF),
        "sTypoAscender": m.above,
        "sTypoDescender": -m.below,
        "sTypoLineGap": 0,
        "usWinAscent": m.above,
        "usWinDescent": m.below,
        "sxHeight": m.x_height,
        "sCapHeight": m.capital,
        "usDefaultChar": 0,
        "usBreakChar": 32,
        "ySubscriptXSize": round(m.x_height * 0.7),
        "ySubscriptYSize": round(m.x_height * 0.7),
        "ySubscriptXOffset": 0,
        "ySubscriptYOffset": round(m.x_height * 0.3),
        "ySuperscriptXSize": round(m.x_height * 0.7),
        "ySuperscriptYSize": round(m.x_height * 0.7),
        "ySuperscriptXOffset": 0,
        "ySuperscriptYOffset": round(m.x_height * 0.7),
        "yStrikeoutSize": max(1, round(m.x_height / 12)),
        "yStrikeoutPosition": round(m.x_height / 2),
    }


def caret_slope(face: FontFace) -> tuple[int, int]:
    """Return rise and run of the caret (hhea), which leans as the letters do: 1 and 0 where these stand upright."""
    units = face.size.units_per_em
    run = round(shift_per_height(face.slant_deg) * units)
    return (units, run) if run else (1, 0)


_PANOSE_FIELDS = (
    "bFamilyType", "bSerifStyle", "bWeight", "bProportion", "bContrast",
    "bStrokeVariation", "bArmStyle", "bLetterForm", "bMidline", "bXHeight",
)  # fmt: skip


def panose(marker: Marker, slant_deg: float, *, connected: bool) -> tuple[int, ...]:
    """Return the ten PANOSE digits of a handwritten Latin face (family 3); 0 is "any" where nothing was classed.

    PANOSE 1.0 for Latin Hand Written: tool (2 flat nib, 3 pressure point, 5 ball, 6 brush), weight 0, spacing 2
    proportional, aspect 0, contrast (2 none, then by thick to thin ratio), topology (2 Roman disconnected,
    7 cursive connected), form (2 upright, 5 or 6 oblique), finials 0, x-ascent 0. From memory of the published text.
    """
    tool = {"broad": 2, "pointed": 3, "round": 5, "brush": 6}[marker.tip]
    ratio = marker.downstroke_mm / marker.hairline_mm
    contrast = 2 if ratio < 1.05 else 0
    oblique = abs(slant_deg - 90) > 1
    return (3, tool, 0, 2, 0, contrast, 7 if connected else 2, 6 if oblique else 2, 0, 0)
