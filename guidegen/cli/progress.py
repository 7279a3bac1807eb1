"""Progress bars for what takes longer than a second, on stderr, and none where nobody watches."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterable, Iterator, Sized
from contextlib import contextmanager
from typing import Any, TypeVar

import click

T = TypeVar("T")
WAIT_S = 1.0


class Bar:
    """A bar that appears once a second has passed; ``advance`` may be called from the first moment."""

    def __init__(self, label: str, length: int) -> None:
        self._label, self._length, self._done = label, length, 0
        self._since = time.monotonic()
        self._bar: Any = None

    def advance(self, count: int) -> None:
        """Note that ``count`` more are done."""
        self._done += count
        if self._bar is not None:
            self._bar.update(count)
        elif time.monotonic() - self._since > WAIT_S and sys.stderr.isatty():
            self._bar = click.progressbar(length=self._length, label=self._label, show_pos=True, file=sys.stderr)
            self._bar.__enter__()
            self._bar.update(self._done)

    def aside(self, line: str) -> None:
        """Write a line on stderr without leaving a piece of the bar on it."""
        if self._bar is not None:
            click.echo("\r\x1b[K", nl=False, err=True)
        click.echo(line, err=True)

    def close(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.__exit__(None, None, None)


@contextmanager
def waiting(label: str) -> Iterator[None]:
    """Tell on a terminal, once a second has passed, what is being done and for how long; then take it away."""
    if not sys.stderr.isatty():
        yield
        return
    ended, since = threading.Event(), time.monotonic()

    def tell() -> None:
        while not ended.wait(WAIT_S):
            click.echo(f"\r{label}, {time.monotonic() - since:.0f} s ", nl=False, err=True)

    teller = threading.Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield
    finally:
        ended.set()
        teller.join()
        if time.monotonic() - since > WAIT_S:
            click.echo("\r" + " " * (len(label) + 12) + "\r", nl=False, err=True)


@contextmanager
def bar(label: str, length: int) -> Iterator[Bar]:
    """Return a bar for ``length`` steps, closed at the end."""
    made = Bar(label, length)
    try:
        yield made
    finally:
        made.close()


@contextmanager
def shown(items: Iterable[T], label: str) -> Iterator[Iterator[T]]:
    """Return an iterator over ``items`` that moves a bar along."""
    length = len(items) if isinstance(items, Sized) else 0
    with bar(label, length) as made:

        def each() -> Iterator[T]:
            for item in items:
                yield item
                made.advance(1)

        yield each()
