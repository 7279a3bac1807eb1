"""The help page as one HTML file that needs nothing else: the font inside it, text to type in, a ruler in mm."""

from __future__ import annotations

from base64 import b64encode
from html import escape

from guidegen.fonts.alphabet import Alphabet
from guidegen.fonts.faces import guide_heights_mm
from guidegen.fonts.glyphs import FontFace
from guidegen.fonts.naming import described
from guidegen.fonts.setting import filled, set_word, word_span
from guidegen.fonts.specimen import ROWS, WORDS, other_sizes
from guidegen.sheets.parts.phrases import ENGLISH, phrases

_ROOM_MM = 168.0
_PAGE = """<!DOCTYPE html>
<html lang="{lang}">
<head>
<meta charset="utf-8">
<title>{title}</title>
<style>
@font-face {{ font-family: "specimen"; src: url(data:font/woff2;base64,{data}) format("woff2"); }}
@page {{ margin: 12mm; }}
html {{ color: #000; background: #fff; }}
body {{ margin: 12mm; font: 11pt/1.45 sans-serif; max-width: 186mm; }}
@media print {{ body {{ margin: 0; }} .screen {{ display: none; }} }}
h1 {{ font-size: 20pt; margin: 0; display: flex; justify-content: space-between; }}
p {{ margin: 2mm 0; }}
.true {{ position: relative; height: {row_mm:.3f}mm; margin: 4mm 0; overflow: hidden; }}
.bar {{ overflow: hidden; }}
.bar svg {{ display: block; }}
.true .text {{ position: absolute; left: 14mm; right: 0; top: 0; white-space: pre; outline: none; }}
.text, .chart {{ font-family: "specimen"; font-feature-settings: normal; font-kerning: normal; }}
.true .text {{ font-size: {points}pt; line-height: {row_mm:.3f}mm; }}
.true svg {{ position: absolute; left: 0; top: 0; pointer-events: none; }}
.chart {{ font-size: {chart_pt}pt; line-height: 1.25; overflow-wrap: anywhere; overflow: hidden; }}
.chart {{ padding: 0 {chart_side}em; }}
</style>
</head>
<body>
<h1><span>{title}</span><span>{points} pt</span></h1>
<p>{description}</p>
<div class="true">
<svg width="186mm" height="{row_mm:.3f}mm" viewBox="0 0 186 {row_mm:.3f}" aria-hidden="true">{marks}</svg>
<div class="text" contenteditable="true" spellcheck="false" lang="en">{word}</div></div>
<p class="screen">{screen}</p>
<p>{install} {others}</p>
{joining}<div class="bar">
<svg width="124mm" height="8mm" viewBox="0 0 124 8" role="img" aria-label="{bar_words}">{bar}</svg></div>
<p>{ruler}</p>
<div class="chart">{chart}</div>
</body>
</html>
"""


def specimen_html(letters: Alphabet, face: FontFace, woff2: bytes, language: str = ENGLISH) -> bytes:
    """Return the page as UTF-8. ``woff2`` is the compiled face, put into the page as data."""
    say = phrases(language)
    unit = face.size.unit_mm
    row, base = (face.metrics.above + face.metrics.below) * unit, face.metrics.above * unit
    words = [word for word in WORDS if all(ord(char) in face.codepoints for char in word)]
    reach = {word: word_span(face, set_word(letters, face, word))[1] * unit for word in words}
    word = next((word for word in words if reach[word] < _ROOM_MM), words[-1])
    more = len(filled(letters, face, word, _ROOM_MM / unit).glyphs) - len(word)
    rows = ["".join(c for c in line if ord(c) in face.codepoints) for line in ROWS]
    x_height = face.metrics.x_height * unit
    page = _PAGE.format(
        title=escape(face.names.full),
        description=escape(described(letters, say)),
        data=b64encode(woff2).decode("ascii"),
        points=face.size.point_size,
        row_mm=row,
        chart_pt=max(1, round(face.size.point_size * min(1.0, 5.6 / x_height))),
        chart_side=0.25 if letters.hand.joins else 0.05,
        joining=f"<p>{escape(say('font.joining'))}</p>\n" if "feature calt" in face.features else "",
        marks=_marks(letters, base, lines=not face.ruled),
        word=escape(word) + " " * more,
        others=escape(other_sizes(face.size, x_height, say)),
        lang=escape(say.code),
        screen=escape(say("font.screen")),
        install=escape(say("font.install", points=face.size.point_size)),
        bar_words=escape(say("font.bar")),
        ruler=escape(say("proof.ruler", length="100")),
        bar=_bar(),
        chart="<br>".join(" ".join(escape(c) for c in line) for line in rows if line),
    )
    return page.encode("utf-8")


def _marks(letters: Alphabet, base: float, *, lines: bool) -> str:
    """Return guide lines and a standing ruler as SVG, one user unit a millimetre, y down."""
    heights = guide_heights_mm(letters.lettering)
    parts = [_line(0, base - h, 186, base - h, 0.25 if h == 0 else 0.12) for h in heights] if lines else []
    parts.append(_line(9, base - heights[0], 9, base - heights[3], 0.15))
    step = 10 if heights[3] - heights[0] > 25 else 5
    for mm in range(int(heights[0]), int(heights[3]) + 1):
        parts.append(_line(9 - (2.4 if mm % step == 0 else 1.1), base - mm, 9, base - mm, 0.15))
        if mm % step == 0 and mm >= 0:
            parts.append(f'<text x="6" y="{base - mm - 0.4:.3f}" font-size="2.3" text-anchor="end">{mm}</text>')
    return "".join(parts)


def _bar() -> str:
    ticks = [_line(1 + mm, 5, 1 + mm, 2 if mm % 50 == 0 else 3.6, 0.18) for mm in range(0, 101, 10)]
    return _line(1, 5, 101, 5, 0.18) + "".join(ticks) + '<text x="102" y="6" font-size="3">100 mm</text>'


def _line(x1: float, y1: float, x2: float, y2: float, width: float) -> str:
    return f'<path d="M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}" stroke="#000" stroke-width="{width}"/>'
