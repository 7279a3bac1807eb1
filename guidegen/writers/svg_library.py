"""svgwrite, loaded without the patterns it compiles to check values, which cost more than a page and are not used."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from types import ModuleType
from typing import Any

_CHECKS = "svgwrite.data.svgparser"


def svg_library() -> Any:
    """Return svgwrite. Whoever has it check values (``debug=True``) gets its own checks, compiled then."""
    if _CHECKS not in sys.modules:
        sys.modules[_CHECKS] = _Later(_CHECKS)
    import svgwrite

    return svgwrite


class _Later(ModuleType):
    """Stands in for a module whose functions are imported by name at once, and called late or never."""

    def __getattr__(self, name: str) -> Callable[..., Any]:
        if name.startswith("__"):
            raise AttributeError(name)

        def later(*args: Any) -> Any:
            if sys.modules.get(self.__name__) is self:
                del sys.modules[self.__name__]
            return getattr(importlib.import_module(self.__name__), name)(*args)

        return later
