"""Centrelines as a letterer writes them down, and the smooth curves they stand for.

A stroke is a text of nodes, ``x,y,heading``, in units of the x-height, upright (the slant is put in
later), in the order the pen travels; headings are degrees of travel: 0 right, 90 up, 180 left, 270 down.

    "0,1,270  0,.35,270  .28,0,0  .55,.45,60"

- ``x,y`` without a heading is a corner: the pen arrives and leaves straight.
- ``x,y,in|out`` is a corner with curves on both sides.
- ``x,y,heading*k`` pulls the curve flatter (k > 1) or lets it swing wider (k < 1) at that node;
  ``*k|l`` does so differently before and after it.
- ``...^p`` fixes the pressure there (0 hairline, 1 full); between two neighbours that both fix it the
  pressure is eased from one to the other and direction has no say. An end that fixes it stays round.
- a name is a basic stroke of the hand, put in as it stands; ``name@dx,dy`` moves it, ``name@dx,dy*sx,sy``
  stretches it about its origin first. Where it starts on the node before, the two join smoothly.
- ``pen+20`` or ``pen-20`` before all nodes: a broad edge is held that many degrees steeper or flatter in this stroke.

Between two nodes runs one cubic whose handles follow J. D. Hobby, "Smooth, easy to compute interpolating
splines" (1986), equation for the velocity with given directions.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Mapping
from typing import NamedTuple

from guidegen.errors import Plain, bad_input
from guidegen.limits import MAX_NODES

_SIZE = r"(?>[0-9]++(?>\.[0-9]++)?+|\.[0-9]++)"  # possessive: nothing here backtracks
_SIGNED = "-?+" + _SIZE
_NODE = re.compile(
    rf"(?P<x>{_SIGNED}),(?P<y>{_SIGNED})"
    rf"(?:,(?P<arrive>{_SIGNED})(?:\|(?P<leave>{_SIGNED}))?+)?+"
    rf"(?:\*(?P<tension>{_SIZE})(?:\|(?P<leave_tension>{_SIZE}))?+)?+(?:\^(?P<pressure>{_SIZE}))?+"
)
_NAME = re.compile(
    rf"(?P<name>[a-z][a-z0-9-]*+)(?:@(?P<dx>{_SIGNED}),(?P<dy>{_SIGNED}))?+"
    rf"(?:\*(?P<sx>{_SIGNED}),(?P<sy>{_SIGNED}))?+"
)
_PEN = re.compile(r"pen(?P<turn>[+-]\d{1,2}(?:\.\d+)?)")
_SAME = 1e-9
_FURTHEST = 50.0
_LARGEST_DEG = 720.0
_TENSIONS = (0.1, 10.0)


class Node(NamedTuple):
    """A point the pen passes; ``arrive_deg``/``leave_deg`` None is a straight corner on that side.

    A tuple, made in a quarter of a dataclass's time: a hand has thousands of nodes.

    ``pen_turn_deg``, of a stroke's first node: how much steeper than usual a broad edge is held in that stroke.
    """

    at: complex
    arrive_deg: float | None = None
    leave_deg: float | None = None
    tension: float = 1.0
    pressure: float | None = None
    leave_tension: float | None = None
    pen_turn_deg: float = 0.0


Nodes = tuple[Node, ...]


def parse_nodes(text: str, strokes: Mapping[str, Nodes], where: str, field: str) -> Nodes:
    """Return the nodes a stroke text stands for. ``strokes`` are the basic strokes it may name.

    Raises:
        GuidegenError: for a token that is neither a node nor a known basic stroke.
    """
    nodes: list[Node] = []
    tokens = text.split()
    pen = _PEN.fullmatch(tokens[0]) if tokens else None
    for token in tokens[1:] if pen else tokens:
        if match := _NODE.fullmatch(token):
            nodes.append(_checked(_node(match), token, where, field))
        elif (match := _NAME.fullmatch(token)) and match["name"] in strokes:
            placed = _placed(strokes[match["name"]], match)
            _append(nodes, tuple(_checked(node, token, where, field) for node in placed))
        else:
            known = ", ".join(sorted(strokes)) or "none yet"
            raise bad_input(where, field, token, f"a node like .3,1,270 or a basic stroke ({known})")
        if len(nodes) > MAX_NODES:
            found, fix = Plain(f"a stroke of more than {MAX_NODES} nodes"), "lift the pen: begin another stroke"
            raise bad_input(where, field, found, f"at most {MAX_NODES}", fix)
    if not nodes:
        raise bad_input(where, field, text, "at least one node like .3,1,270")
    if pen:
        nodes[0] = nodes[0]._replace(pen_turn_deg=float(pen["turn"]))
    return tuple(nodes)


def _node(match: re.Match[str]) -> Node:
    arrive = None if match["arrive"] is None else float(match["arrive"])
    leave = arrive if match["leave"] is None else float(match["leave"])
    return Node(
        complex(float(match["x"]), float(match["y"])),
        arrive,
        leave,
        float(match["tension"] or 1.0),
        _number(match["pressure"]),
        _number(match["leave_tension"]),
    )


def _checked(node: Node, token: str, where: str, field: str) -> Node:
    at, arrive, leave, tension, pressure, leave_tension, _ = node
    low, high = _TENSIONS
    if not (abs(at.real) <= _FURTHEST and abs(at.imag) <= _FURTHEST):
        raise bad_input(where, field, token, f"coordinates within {_FURTHEST:g} x-heights")
    if not (low <= tension <= high and low <= (tension if leave_tension is None else leave_tension) <= high):
        raise bad_input(where, field, token, f"a tension *k from {low:g} to {high:g}")
    if not (abs(arrive or 0) <= _LARGEST_DEG and abs(leave or 0) <= _LARGEST_DEG):
        raise bad_input(where, field, token, f"headings within {_LARGEST_DEG:g} degrees")
    if pressure is not None and pressure > 1:
        raise bad_input(where, field, token, "a pressure ^p from 0 to 1")
    return node


def _number(text: str | None) -> float | None:
    return None if text is None else float(text)


def _placed(nodes: Nodes, match: re.Match[str]) -> Nodes:
    move = complex(float(match["dx"] or 0), float(match["dy"] or 0))
    return stretch(nodes, float(match["sx"] or 1), float(match["sy"] or 1), move)


def stretch(nodes: Nodes, sx: float, sy: float, move: complex = 0) -> Nodes:
    """Return ``nodes`` scaled by ``sx``, ``sy`` about the origin (headings follow), then moved."""
    turned: dict[float | None, float | None] = {None: None}
    for node in nodes:
        for deg in (node.arrive_deg, node.leave_deg):
            if deg is not None and deg not in turned:
                turned[deg] = deg if sx == 1 and sy == 1 else turned_deg(deg, sx, sy)
    return tuple(
        [
            Node(complex(sx * at.real, sy * at.imag) + move, turned[arrive], turned[leave], tension, press, later, pen)
            for at, arrive, leave, tension, press, later, pen in nodes
        ]
    )


def turned_deg(deg: float, sx: float, sy: float) -> float:
    """Return the heading, 0..360, that ``deg`` becomes when all is scaled by ``sx``, ``sy``."""
    return math.degrees(math.atan2(sy * math.sin(math.radians(deg)), sx * math.cos(math.radians(deg)))) % 360


def _append(nodes: list[Node], more: Nodes) -> None:
    if nodes and abs(nodes[-1].at - more[0].at) < 1e-6:
        first = more[0]
        last = nodes[-1]
        nodes[-1] = last._replace(
            leave_deg=first.leave_deg,
            leave_tension=first.tension if first.leave_tension is None else first.leave_tension,
            pressure=first.pressure if last.pressure is None else last.pressure,
        )
        more = more[1:]
    nodes.extend(more)


def chain(*parts: Nodes) -> Nodes:
    """Return ``parts`` as one stroke; where one starts on the end of the one before, the node is shared."""
    nodes: list[Node] = []
    for part in parts:
        if part:
            _append(nodes, part)
    return tuple(nodes)


def shift(nodes: Nodes, by: complex) -> Nodes:
    """Return ``nodes`` moved by the vector ``by``."""
    return tuple(node._replace(at=node.at + by) for node in nodes)


def handles(here: Node, there: Node) -> tuple[complex, complex] | None:
    """Return the two handle vectors (from ``here``, from ``there``) of the cubic between two nodes.

    None means a straight line. Hobby's velocity keeps the handles positive and gives near-circles for
    symmetric turns; it is capped so that strong turns cannot run away.
    """
    chord = there.at - here.at
    if abs(chord) < _SAME or (here.leave_deg is None and there.arrive_deg is None):
        return None
    along = cmath.phase(chord)
    theta = 0.0 if here.leave_deg is None else _wrap(math.radians(here.leave_deg) - along)
    phi = 0.0 if there.arrive_deg is None else _wrap(along - math.radians(there.arrive_deg))
    if abs(theta) < 1e-6 and abs(phi) < 1e-6:
        return None
    out = _velocity(theta, phi) / (here.tension if here.leave_tension is None else here.leave_tension)
    back = _velocity(phi, theta) / there.tension
    return chord * cmath.rect(out, theta), -chord * cmath.rect(back, -phi)


def _wrap(angle: float) -> float:
    return (angle + math.pi) % (2 * math.pi) - math.pi


def _velocity(theta: float, phi: float) -> float:
    """Hobby's rho: handle length over chord length for angles theta (here) and phi (at the other end)."""
    s, t, c, d = math.sin(theta), math.sin(phi), math.cos(theta), math.cos(phi)
    top = 2 + math.sqrt(2) * (s - t / 16) * (t - s / 16) * (c - d)
    bottom = 3 * (1 + 0.5 * (math.sqrt(5) - 1) * c + 0.5 * (3 - math.sqrt(5)) * d)
    return min(1.2, max(0.05, top / max(bottom, 0.3)))
