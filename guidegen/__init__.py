"""guidegen: from a measured marker to the size its letters look right at, and the pages to practise them.

.. code-block:: python

    import guidegen as gg

    cobble = gg.marker("cobble")
    print(gg.right_size(cobble).x_height_mm)
    gg.sheet(cobble, paper="a4").save("cobble.pdf")

Everything inside works in millimetres with y up; other units carry their name (``_pt``, ``_px``, ``_deg``). What is
listed here is promised to stay; what lies in the rooms below is not. Each name is imported when it is first used, so
``import guidegen`` alone costs nothing. Nothing prints, and files are written by ``save`` only. Input that cannot be
used raises :class:`GuidegenError`, one line that says what to do about it.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from guidegen.api.files import Measures, ink, inspect_file
    from guidegen.api.fonts import Font, font, font_family
    from guidegen.api.nouns import Size, hand, lettering_of, marker, markers, right_size
    from guidegen.api.packets import packet
    from guidegen.api.pages import Pages
    from guidegen.api.plans import Cards, PlannedPiece, cards, plan
    from guidegen.api.scans import Checked, Measured, check, measure
    from guidegen.api.sheets import alphabet, compare, handout, letter, planner, sheet, trial
    from guidegen.api.swatches import Swatch, swatch
    from guidegen.api.texts import worksheet, write
    from guidegen.errors import GuidegenError
    from guidegen.hands.hand import Hand
    from guidegen.lettering.lettering import Lettering
    from guidegen.profiles.markers import Marker
    from guidegen.profiles.papers import Paper
    from guidegen.profiles.printers import Printer

__version__ = "0.1.0"
__all__ = [  # noqa: RUF022  # in the order of the work
    "Marker", "Hand", "Lettering", "Paper", "Printer", "GuidegenError",
    "marker", "markers", "hand", "lettering_of", "right_size", "Size",
    "sheet", "letter", "alphabet", "trial", "handout", "compare", "planner", "worksheet", "packet", "write", "Pages",
    "plan", "PlannedPiece", "cards", "Cards",
    "font", "font_family", "Font",
    "ink", "inspect_file", "Measures",
    "swatch", "Swatch", "measure", "Measured", "check", "Checked",
]  # fmt: skip
"""All that is public. Where each lives is private: the table below, which the imports above repeat for checkers."""

_ROOMS = {
    "guidegen.errors": ("GuidegenError",),
    "guidegen.api.files": ("Measures", "ink", "inspect_file"),
    "guidegen.api.fonts": ("Font", "font", "font_family"),
    "guidegen.api.nouns": ("Size", "hand", "lettering_of", "marker", "markers", "right_size"),
    "guidegen.api.packets": ("packet",),
    "guidegen.api.pages": ("Pages",),
    "guidegen.api.plans": ("Cards", "PlannedPiece", "cards", "plan"),
    "guidegen.api.scans": ("Checked", "Measured", "check", "measure"),
    "guidegen.api.sheets": ("alphabet", "compare", "handout", "letter", "planner", "sheet", "trial"),
    "guidegen.api.swatches": ("Swatch", "swatch"),
    "guidegen.api.texts": ("worksheet", "write"),
    "guidegen.hands.hand": ("Hand",),
    "guidegen.lettering.lettering": ("Lettering",),
    "guidegen.profiles.markers": ("Marker",),
    "guidegen.profiles.papers": ("Paper",),
    "guidegen.profiles.printers": ("Printer",),
}


def __getattr__(name: str) -> object:
    room = next((room for room, names in _ROOMS.items() if name in names), None)
    if room is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    value: object = getattr(import_module(room), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return [*__all__, "__version__"]
