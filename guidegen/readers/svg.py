"""SVG files, whoever wrote them: units, viewBox, transforms, styles, uses, nested drawings.

Parsed with defusedxml: entities are refused and nothing outside the file is fetched. One CSS pixel is 1/96 inch
(CSS 2.1, 4.3.2).
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any
from xml.etree.ElementTree import Element, ParseError

from guidegen import limits
from guidegen.errors import bad_input
from guidegen.readers.budget import damaged, too_much
from guidegen.readers.contents import Contents, PageContents
from guidegen.readers.svg_frame import MM_PER_PX, length_px, local, unit_of, view_box, view_matrix
from guidegen.readers.svg_walk import Walk


def read_svg(data: bytes, name: str) -> Contents:
    """Return what stands in an SVG file.

    Raises:
        GuidegenError: for a file that is no whole SVG, declares entities, or is too large to measure.
    """
    root = parsed(data, name)
    if local(root) != "svg":
        raise bad_input(name, "", f"a file whose root is <{local(root)}>"[:80], "an SVG drawing")
    walk = Walk(root, name)
    size, view, to_px = root_frame(root, name)
    page_mm = (size[0] * MM_PER_PX, size[1] * MM_PER_PX)
    to_mm = (complex(MM_PER_PX, 0), complex(0, -MM_PER_PX), complex(0, page_mm[1]))
    walk.draw_root(root, to_px, to_mm)
    facts = {
        "width": root.get("width"),
        "height": root.get("height"),
        "view_box": root.get("viewBox"),
        "unit_mm": abs(to_px[0]) * MM_PER_PX,
        "states_size": all(unit_of(root.get(side)) not in ("", "px", "%", None) for side in ("width", "height")),
        "view": view,
        "clipped": walk.clipped,
        "description": next((child.text or "" for child in root if local(child) == "desc"), "")[:2000],
        **walk.facts(),
    }
    page = PageContents(page_mm, tuple(walk.drawn), tuple(walk.pictures), tuple(walk.words), hidden=tuple(walk.hidden))
    return Contents("svg", (page,), facts)


def parsed(data: bytes, name: str) -> Element:
    """Return the root of an XML file; one that is broken, declares entities or is too large is refused in one line."""
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import iterparse

    depth = count = 0
    root: Element | None = None
    try:
        for event, element in _events(iterparse, data):
            if event == "start":
                root = element if root is None else root
                depth, count = depth + 1, count + 1
                if depth > limits.MAX_DEPTH:
                    raise too_much(name, "elements inside elements", limits.MAX_DEPTH, "take groups apart")
                if count > limits.MAX_ITEMS:
                    raise too_much(name, "elements", limits.MAX_ITEMS)
            else:
                depth -= 1
    except ParseError as error:
        raise damaged(name, "SVG", str(error)) from None
    except DefusedXmlException as error:
        fix = "save the drawing as plain SVG"
        raise bad_input(name, "", f"declared entities ({type(error).__name__})", "no entities", fix) from None
    except (ValueError, LookupError) as error:  # an encoding nobody knows
        raise damaged(name, "SVG", error) from None
    if root is None:
        raise damaged(name, "SVG", "no element")
    return root


def _events(iterparse: Any, data: bytes) -> Iterator[tuple[str, Element]]:
    events: Iterator[tuple[str, Element]] = iterparse(
        io.BytesIO(data), events=("start", "end"), forbid_dtd=False, forbid_entities=True, forbid_external=True
    )
    return events


def root_frame(
    root: Element, name: str
) -> tuple[tuple[float, float], tuple[float, float, float, float] | None, tuple[complex, complex, complex]]:
    """Return the size of the page in px, its viewBox if it has one, and the map from user units to px."""
    view = view_box(root)
    whole = (view[2], view[3]) if view else (300.0, 150.0)  # CSS 2.1, 10.3.2: 300 x 150 px where nothing is said
    width = length_px(root.get("width"), whole[0], whole[0])
    height = length_px(root.get("height"), whole[1], whole[1])
    if view is not None and (root.get("width") is None) != (root.get("height") is None):
        if root.get("width") is None:
            width = height * view[2] / view[3]
        else:
            height = width * view[3] / view[2]
    if not (0 < width < 1e8 and 0 < height < 1e8):
        raise bad_input(name, "", f"a page of {width:g} x {height:g} px", "a page with a size")
    return (width, height), view, view_matrix(root, view, (width, height))
