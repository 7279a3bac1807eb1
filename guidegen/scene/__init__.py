"""Pages as data, in millimetres, y up: what sheets build and writers turn into bytes.

``page`` holds the nouns, ``purpose`` the layers and what may be asked of each, ``walk`` goes through items.
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
from guidegen.scene.walk import flattened, hull_bounds

__all__ = [
    "BLACK",
    "WHITE",
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
    "flattened",
    "grey",
    "hull_bounds",
]
