"""A set text on paper: PDF pages rendered at 1200 dpi, and lengths measured from their grey levels."""

import numpy as np
import pypdfium2

DPI = 1200
PX_PER_MM = DPI / 25.4


def ink_of(pdf, page=0):
    """Return the coverage (0 white, 1 black) of a page of a PDF at 1200 dpi, and pixels per mm across and down."""
    document = pypdfium2.PdfDocument(pdf)
    sheet = document[page]
    width, height = sheet.get_size()
    bitmap = sheet.render(scale=DPI / 72, grayscale=True, may_draw_forms=False)
    grey = bitmap.to_numpy()
    grey = grey[..., 0] if grey.ndim == 3 else grey
    per_mm = grey.shape[1] / (width / 72 * 25.4), grey.shape[0] / (height / 72 * 25.4)
    ink = 1 - grey.astype(np.float64) / 255
    document.close()
    return ink, per_mm


def top_and_bottom(ink):
    """Return the highest and lowest edge of the ink, in pixels from the top, finer than a pixel.

    In the column that reaches furthest, the edge lies in a grey pixel whose coverage tells where.
    """
    return _edge(ink), ink.shape[0] - _edge(ink[::-1])


def _edge(ink):
    rows = np.flatnonzero(ink.max(axis=1) > 0.04)
    best = np.inf
    for row in range(rows[0], min(rows[0] + 3, ink.shape[0] - 1)):
        deep = ink[row + 1] > 0.9
        if deep.any():
            best = min(best, float((row + 1 - ink[row, deep & (ink[row] > 0)]).min(initial=np.inf)))
    assert np.isfinite(best)
    return best


def run_width(ink_row):
    """Return the widest run of ink on one row, in pixels, from its grey levels."""
    dark = np.flatnonzero(np.diff(np.concatenate([[0], (ink_row > 0.02).astype(int), [0]])))
    return max(float(ink_row[a:b].sum()) for a, b in zip(dark[::2], dark[1::2], strict=True))


FODT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"
 xmlns:svg="urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0"
 office:version="1.2" office:mimetype="application/vnd.oasis.opendocument.text">
<office:font-face-decls>{faces}</office:font-face-decls>
<office:automatic-styles>
<style:page-layout style:name="L"><style:page-layout-properties fo:page-width="{width}mm" fo:page-height="{height}mm"
 fo:margin="{margin}mm"/></style:page-layout>{styles}
</office:automatic-styles>
<office:master-styles><style:master-page style:name="Standard" style:page-layout-name="L"/></office:master-styles>
<office:body><office:text>{paragraphs}</office:text></office:body>
</office:document>
"""
