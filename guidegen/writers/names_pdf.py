"""A class of names in one PDF: pages made by several processes, artwork stored once, memory flat."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from guidegen.jobs import Progress, run_in_order

if TYPE_CHECKING:
    from guidegen.scene import Page, Symbol


class Sheets(Protocol):
    """What makes the pages of a name. It is sent to other processes, so it holds plain data."""

    def letters(self, names: Sequence[str]) -> Sequence[Any]:
        """Return tasks for :meth:`draw` that between them draw each letter once."""

    def draw(self, task: Any) -> tuple[Symbol, ...]:
        """Return some letters' artwork."""

    def knowing(self, drawn: frozenset[str]) -> Sheets:
        """Return the same for a file that holds the symbols of these names."""

    @property
    def description(self) -> str:
        """What the file says of itself, "" for nothing."""
        ...

    def __call__(self, name: str) -> tuple[tuple[Page, ...], tuple[str, ...]]:
        """Return the pages of one name, and what is worth telling."""


def names_pdf(
    names: Sequence[str], sheets: Sheets, progress: Progress | None = None, processes: int | None = None
) -> tuple[bytes, tuple[str, ...]]:
    """Return one PDF with the pages of every name, in order, and what is worth telling.

    First the letters are drawn, each once by some process; then the pages are made, which only place them.
    """
    from guidegen.writers.pdf import write_pdf

    notes: dict[str, None] = {}
    known: dict[str, Symbol] = {}
    for symbols in run_in_order(sheets.draw, sheets.letters(names), processes=processes, batch=2):
        known |= {symbol.name: symbol for symbol in symbols}
    placing = _Sender(sheets.knowing(frozenset(known)))

    def pages() -> Iterator[Page]:
        for found, told in run_in_order(placing, names, progress=progress, processes=processes):
            notes.update(dict.fromkeys(told))
            for page in found:
                yield _with_known_symbols(page, known)

    stream = io.BytesIO()
    write_pdf(pages(), stream, f"{len(names)} names", sheets.description)
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
        if not symbol.items or symbol.name in self._sent:
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
    from guidegen.scene import Placed

    def same(item: Any) -> Any:
        return Placed(chosen(item.symbol), item.at) if isinstance(item, Placed) else item

    layers = tuple(replace(layer, items=tuple(same(item) for item in layer.items)) for layer in page.layers)
    return replace(page, layers=layers)
