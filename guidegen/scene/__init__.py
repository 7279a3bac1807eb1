"""Pages as data, in millimetres, y up: what sheets build and writers turn into bytes.

``page`` holds the nouns, ``purpose`` the layers and what may be asked of each; ``transform`` moves, stretches and
paints items, ``walk`` goes through them.
"""

from guidegen.scene.page import (
    BLACK,
    WHITE,
    Document,
    Ink,
    Item,
    Layer,
    Line,
    Link,
    Page,
    Placed,
    Shape,
    Style,
    Symbol,
    grey,
)
from guidegen.scene.purpose import Purpose
from guidegen.scene.transform import AffineMap, moved, painted
from guidegen.scene.walk import Visitor, flattened, hull_bounds

__all__ = [
    "BLACK",
    "WHITE",
    "AffineMap",
    "Document",
    "Ink",
    "Item",
    "Layer",
    "Line",
    "Link",
    "Page",
    "Placed",
    "Purpose",
    "Shape",
    "Style",
    "Symbol",
    "Visitor",
    "flattened",
    "grey",
    "hull_bounds",
    "moved",
    "painted",
]
