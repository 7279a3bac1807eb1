"""Answers that are kept for a while: the same question is worked on once, however many ask it at the same time."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from typing import Any


class Kept:
    """What was worked out, by its question; those asked longest ago go when there are too many bytes."""

    def __init__(self, most_bytes: int) -> None:
        self._most = most_bytes
        self._bytes = 0
        self._found: OrderedDict[Hashable, tuple[Any, int]] = OrderedDict()
        self._asked: dict[Hashable, Future[Any]] = {}
        self._lock = threading.Lock()

    def get(self, key: Hashable, make: Callable[[], Any], size: Callable[[Any], int]) -> Any:
        """Return what was kept for ``key``, or what ``make`` makes; whoever asks meanwhile waits for the same.

        What ``make`` raises is raised for all who wait, and not kept. ``size`` tells the bytes of what is made.
        """
        with self._lock:
            if key in self._found:
                self._found.move_to_end(key)
                return self._found[key][0]
            waits = self._asked.get(key)
            mine: Future[Any] = Future()
            if waits is None:
                self._asked[key] = mine
        if waits is not None:
            return waits.result()
        try:
            value = make()
        except BaseException as error:
            with self._lock:
                del self._asked[key]
            mine.set_exception(error)
            raise
        with self._lock:
            del self._asked[key]
            self._keep(key, value, size(value))
        mine.set_result(value)
        return value

    def _keep(self, key: Hashable, value: Any, size: int) -> None:
        if size > self._most // 4:
            return
        self._found[key] = (value, size)
        self._bytes += size
        while self._bytes > self._most:
            _, (_, gone) = self._found.popitem(last=False)
            self._bytes -= gone
