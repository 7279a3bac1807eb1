"""A class of names in one PDF: pages made by several processes, artwork stored once, memory flat."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from guidegen.jobs import Progress, run_in_order

if TYPE_CHECKING:
    from guidegen.scene import Page, Symbol


Sheets = Callable[[str], "tuple[tuple[Page, ...], tuple[str, ...]]"]


def names_pdf(
    names: Sequence[str],
    sheets: Sheets,
    progress: Progress | None = None,
    processes: int | None = None,
) -> tuple[bytes, tuple[str, ...]]:
    """Return one PDF with the pages of every name, in order, and what is worth telling."""
    from guidegen.writers.pdf import write_pdf

    notes: dict[str, None] = {}

    def pages() -> Iterator[Page]:
        known: dict[str, Symbol] = {}
        for found, told in run_in_order(_Sender(sheets), names, progress=progress, processes=processes):
            notes.update(dict.fromkeys(told))
            for page in found:
                yield _with_known_symbols(page, known)

    stream = io.BytesIO()
    write_pdf(pages(), stream, f"{len(names)} names")
    return stream.getvalue(), tuple(notes)


class _Sender:
    """Makes pages in a worker and sends each symbol's artwork once; later pages carry its name only.

    A worker's batches come back in the order it made them, so the artwork is there before its name is used alone.
    """

    def __init__(self, sheets: Sheets) -> None:
        self._sheets = sheets
        self._sent: set[str] = set()

    def __call__(self, name: str) -> tuple[tuple[Page, ...], tuple[str, ...]]:
        pages, notes = self._sheets(name)
        return tuple(_placing(page, self._once) for page in pages), notes

    def _once(self, symbol: Symbol) -> Symbol:
        if symbol.name in self._sent:
            return replace(symbol, items=())
        self._sent.add(symbol.name)
        return symbol


def _with_known_symbols(page: Page, known: dict[str, Symbol]) -> Page:
    """Return ``page`` with symbols that came from another process replaced by the first of their name.

    A symbol's name stands for its artwork, whichever process drew it.
    """
    return _placing(page, lambda symbol: known.setdefault(symbol.name, symbol))


def _placing(page: Page, chosen: Callable[[Symbol], Symbol]) -> Page:
    """Return ``page`` with each symbol replaced by the one chosen for it."""
    from guidegen.scene import Layer, Placed

    def same(item: Any) -> Any:
        return Placed(chosen(item.symbol), item.at) if isinstance(item, Placed) else item

    layers = tuple(Layer(layer.id, tuple(same(item) for item in layer.items), layer.marker) for layer in page.layers)
    return replace(page, layers=layers)
