"""Bounce: a letter moved off its line as a whole, what leads into it and out of it bent so that joins stay in place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import accumulate, pairwise
from types import MappingProxyType

from guidegen.hands.hand import LetterData
from guidegen.hands.skeletons import Nodes, shift


def bounced(data: LetterData, by: float, joins: Iterable[str]) -> LetterData:
    """Return ``data`` moved up by ``by`` (x-heights); ends of entries and exits that stand on ``joins`` stay there."""
    if by == 0:
        return data
    kept, move = frozenset(joins), 1j * by
    return replace(
        data,
        strokes=tuple(shift(nodes, move) for nodes in data.strokes),
        entries=_ways({name: _bent(way, by, -1) if name in kept else shift(way, move)
                       for name, way in data.entries.items()}),
        exits=_ways({name: _bent(way, by, 1) if name in kept else shift(way, move)
                     for name, way in data.exits.items()}),
        marks=tuple(shift(nodes, move) for nodes in data.marks),
        anchors=MappingProxyType({name: at + move for name, at in data.anchors.items()}),
        bounce=data.bounce + by,
    )  # fmt: skip


def _ways(ways: dict[str, Nodes]) -> Mapping[str, Nodes]:
    return MappingProxyType(ways)


def _bent(way: Nodes, by: float, side: int) -> Nodes:
    """Return a way whose one end is moved up, the other held; between them nodes move by their share of its length.

    ``side`` is 1 when its first node moves, -1 when its last one does.
    """
    lengths = list(accumulate((abs(b.at - a.at) for a, b in pairwise(way)), initial=0.0))
    shares = [s / lengths[-1] if lengths[-1] else 0.0 for s in lengths]
    moved = [share if side < 0 else 1 - share for share in shares]
    return tuple(node._replace(at=node.at + 1j * by * share) for node, share in zip(way, moved, strict=True))
