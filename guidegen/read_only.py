"""Read-only mappings as values: with this module loaded pickle takes them, so that hands go to other processes."""

from __future__ import annotations

import copyreg
from types import MappingProxyType
from typing import Any


def read_only(entries: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    """Return a mapping that shows ``entries`` and changes nothing."""
    return MappingProxyType(entries)


def _parts(mapping: MappingProxyType[Any, Any]) -> tuple[Any, ...]:
    return read_only, (dict(mapping),)


copyreg.pickle(MappingProxyType, _parts)
