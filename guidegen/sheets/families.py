"""Letters in families: those that begin alike stand together, as they are taught (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from guidegen.errors import bad_input
from guidegen.hands.hand import Hand

Order = Literal["abc", "family"]
_JOINED = ("iutwj", "nmvxyrz", "adgq", "ocesp", "lbhkf")
"""By the stroke that builds them: under, over, oval and stem, oval, ascending loop."""
_APART = ("iltjuy", "nmhrbpk", "adgq", "oces", "vwxzf")
_CAPITALS = ("ILTJFEH", "UDPRB", "OQCGS", "AVWMNXYZK")


def check_order(order: object) -> None:
    """Raise when ``order`` is none."""
    if not isinstance(order, str) or order not in get_args(Order):
        raise bad_input("`order`", "", order, "abc or family")


def families(hand: Hand, chars: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Return ``chars`` by family, letters as the hand writes them; then figures, then what belongs to none."""
    given = tuple(dict.fromkeys(chars))
    known = (*(_JOINED if hand.joins else _APART), *_CAPITALS)
    found = [tuple(char for char in family if char in given) for family in known]
    rest = tuple(char for char in given if not any(char in family for family in known))
    figures = tuple(char for char in rest if char.isdecimal())
    return tuple(part for part in (*found, figures, tuple(char for char in rest if char not in figures)) if part)


def in_order(hand: Hand, chars: Iterable[str], order: Order) -> tuple[str, ...]:
    """Return ``chars`` as they stand, or one family after the other."""
    given = tuple(chars)
    return given if order == "abc" else tuple(char for family in families(hand, given) for char in family)
