"""A class of names in one PDF: pages made by several processes, artwork stored once, memory flat."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from guidegen.jobs import Progress, run_in_order

if TYPE_CHECKING:
    from guidegen.scene import Page, Symbol


def names_pdf(
    names: Sequence[str],
    sheets: Callable[[str], tuple[tuple[Page, ...], tuple[str, ...]]],
    progress: Progress | None = None,
    processes: int | None = None,
) -> tuple[bytes, tuple[str, ...]]:
    """Return one PDF with the pages of every name, in order, and what is worth telling."""
    from guidegen.writers.pdf import write_pdf

    notes: dict[str, None] = {}

    def pages() -> Iterator[Page]:
        known: dict[str, Symbol] = {}
        for found, told in run_in_order(sheets, names, progress=progress, processes=processes):
            notes.update(dict.fromkeys(told))
            for page in found:
                yield _with_known_symbols(page, known)

    stream = io.BytesIO()
    write_pdf(pages(), stream, f"{len(names)} names")
    return stream.getvalue(), tuple(notes)


def _with_known_symbols(page: Page, known: dict[str, Symbol]) -> Page:
    """Return ``page`` with symbols that came from another process replaced by the first of their name.

    A symbol's name stands for its artwork; without this every batch would bring its own copies of the letters.
    """
    from guidegen.scene import Layer, Placed

    def same(item: Any) -> Any:
        if isinstance(item, Placed):
            return Placed(known.setdefault(item.symbol.name, item.symbol), item.at)
        return item

    layers = tuple(Layer(layer.id, tuple(same(item) for item in layer.items), layer.marker) for layer in page.layers)
    return replace(page, layers=layers)
