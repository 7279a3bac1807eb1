"""DXF files through ezdxf: units, layers and every entity as paths in millimetres.

A drawing without units ($INSUNITS 0) is taken as inches when $MEASUREMENT is 0 and as millimetres otherwise, and
the facts say that nothing was stated.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from guidegen.errors import GuidegenError
from guidegen.geometry.measure import bounds
from guidegen.geometry.path import Path, Segment, reverse
from guidegen.limits import MAX_NESTED_USES
from guidegen.readers.budget import Budget, damaged
from guidegen.readers.contents import Contents, Drawn, Edges, PageContents, Paint, Words
from guidegen.readers.dxf_library import dxf_library
from guidegen.readers.matrix import Matrix, moved

MM_PER_UNIT = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 8: 2.54e-5, 9: 0.0254, 10: 914.4, 13: 1e-3, 14: 100.0}
"""$INSUNITS: inch, foot, mm, cm, m, microinch, mil, yard, micrometre, decimetre."""
_IGNORED = {"POINT", "VIEWPORT", "ATTDEF", "XLINE", "RAY", "ACAD_PROXY_ENTITY"}
_TEXTS = {"TEXT", "MTEXT", "ATTRIB"}


def read_dxf(data: bytes, name: str) -> Contents:
    """Return what stands in a DXF file.

    Raises:
        GuidegenError: for a damaged file or one too large to measure; also when ezdxf (the extra ``cut``) is
            not installed.
    """
    try:
        ezdxf = dxf_library()
    except ImportError:
        raise GuidegenError("reading DXF needs ezdxf: pip install ezdxf") from None
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    try:
        document = _document(data, ezdxf)
        return _contents(document, name)
    except GuidegenError:
        raise
    except Exception as error:  # noqa: BLE001  ezdxf raises whatever a damaged file makes it meet
        raise damaged(name, "DXF", type(error).__name__) from None


def _document(data: bytes, ezdxf: Any) -> Any:
    if data.startswith(b"AutoCAD Binary DXF"):
        from ezdxf.filemanagement import load_dxf_document  # type: ignore[attr-defined,unused-ignore]

        return load_dxf_document(data)
    text = data.decode("utf-8", "surrogateescape")
    if not text.rstrip().endswith("EOF"):
        raise ValueError("no EOF")
    return ezdxf.read(io.StringIO(text.replace("\r\n", "\n")))


def _contents(document: Any, name: str) -> Contents:
    header = document.header
    stated = int(header.get("$INSUNITS", 0))
    metric = int(header.get("$MEASUREMENT", 1))
    scale = MM_PER_UNIT.get(stated, 25.4 if metric == 0 and stated == 0 else 1.0)
    walk = _Walk(document, name, scale)
    walk.entities(document.modelspace(), 0)
    page, low = _page(header, walk.drawn, scale)
    shift: Matrix = (1 + 0j, 1j, -low)
    drawn, hidden = (
        tuple(replace(d, paths=tuple(moved(p, shift) for p in d.paths)) for d in many)
        for many in (walk.drawn, walk.hidden)
    )
    facts = {
        "version": document.acad_release,
        "insunits": stated,
        "measurement": metric,
        "unit_mm": scale,
        "states_units": stated in MM_PER_UNIT,
        "entities": dict(sorted(walk.kinds.items())),
        "layer_table": {layer.dxf.name: _colour(layer, None).name for layer in document.layers},
        "blocks": walk.kinds.get("INSERT", 0),
        "not_read": sorted(walk.skipped),
        "description": _said(document),
        "not_plotted": sorted(layer.dxf.name for layer in document.layers if _is_hidden(layer)),
    }
    return Contents("dxf", (PageContents(page, drawn, words=tuple(walk.words), hidden=hidden),), facts)


class _Walk:
    def __init__(self, document: Any, name: str, scale: float) -> None:
        self.drawn: list[Drawn] = []
        self.hidden: list[Drawn] = []
        self.words: list[Words] = []
        self.kinds: dict[str, int] = {}
        self.skipped: set[str] = set()
        self._layers = document.layers
        self._off = {layer.dxf.name.lower() for layer in document.layers if _is_hidden(layer)}
        self._budget = Budget(name)
        self._scale: Matrix = (complex(scale, 0), complex(0, scale), 0j)

    def entities(self, entities: Iterable[Any], depth: int) -> None:
        """Take entities one by one; block references are taken apart."""
        for entity in entities:
            self._budget.spend("items", 1)
            kind = entity.dxftype()
            self.kinds[kind] = self.kinds.get(kind, 0) + 1
            if kind == "INSERT":
                if depth >= MAX_NESTED_USES:
                    raise ValueError("blocks inside blocks")
                self._budget.spend("items", max(0, int(entity.mcount) - 1))
                for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
                    self.entities(one.virtual_entities(), depth + 1)
            elif kind in _TEXTS:
                if self._is_off(entity):
                    continue
                height = entity.dxf.get("char_height" if kind == "MTEXT" else "height", 0.0)
                size = float(height) * self._scale[0].real
                self.words.append(Words(str(entity.dxf.get("style", ""))[:80], size, False, str(entity.dxf.layer)))
            elif kind not in _IGNORED:
                self._shape(entity, kind)

    def _is_off(self, entity: Any) -> bool:
        return str(entity.dxf.get("layer", "0")).lower() in self._off or bool(entity.dxf.get("invisible", 0))

    def _shape(self, entity: Any, kind: str) -> None:
        from ezdxf import path as dxf_path

        layer = str(entity.dxf.get("layer", "0"))
        colour = _colour(entity, self._layers)
        try:
            if kind in ("HATCH", "MPOLYGON"):
                made = list(dxf_path.from_hatch(entity))
            elif kind in ("CIRCLE", "ARC", "ELLIPSE"):
                made = [dxf_path.make_path(entity, segments=16)]
            else:
                made = [dxf_path.make_path(entity)]
        except TypeError:
            self.skipped.add(kind)
            return
        paths = tuple(path for one in made for path in _paths(one) if path.segments)
        if kind == "SPLINE":
            paths = tuple(_as_it_runs(path, entity) for path in paths)
        if not paths:
            return
        paths = self._budget.keep(tuple(moved(path, self._scale) for path in paths))
        filled = kind in ("HATCH", "MPOLYGON", "SOLID", "TRACE")
        weight = entity.dxf.get("lineweight", -1)
        width = weight / 100 if weight > 0 else 0.0
        width = max(width, _own_width(entity, kind) * self._scale[0].real)
        data = {"entity": kind}
        (self.hidden if self._is_off(entity) else self.drawn).append(
            Drawn(
                paths,
                colour if filled else None,
                None if filled else colour,
                None if filled else width,
                layer,
                data=data,
            )
        )


def _said(document: Any) -> str:
    """Return what the drawing says of itself in a property called Description."""
    found = [str(value) for tag, value in document.header.custom_vars.properties if tag == "Description"]
    return found[0][:2000] if found else ""


def _own_width(entity: Any, kind: str) -> float:
    """Return the width that a polyline states of itself, in drawing units: the widest of its pieces."""
    if kind == "LWPOLYLINE":
        pieces = [max(float(start), float(end)) for _, _, start, end, _ in entity.get_points("xyseb")]
        return max([float(entity.dxf.get("const_width", 0.0)), *pieces])
    if kind == "POLYLINE":
        own = [max(float(v.dxf.get("start_width", 0)), float(v.dxf.get("end_width", 0))) for v in entity.vertices]
        return max([float(entity.dxf.get("default_start_width", 0.0)), *own])
    return 0.0


def _as_it_runs(path: Path, spline: Any) -> Path:
    """Return the path of a spline in the spline's own direction: ezdxf turns closed ones round."""
    points = [complex(z[0], z[1]) for z in spline.control_points]
    if not path.closed or len(points) < 4:
        return path
    ahead, behind = points[1], points[-2]
    first = path.segments[0][1]
    return path if abs(first - ahead) <= abs(first - behind) else reverse(path)


def _is_hidden(layer: Any) -> bool:
    """Tell whether a layer is off, frozen or not plotted."""
    return bool(layer.is_off() or layer.is_frozen() or not layer.dxf.get("plot", 1))


def _paths(made: Any) -> list[Path]:
    from ezdxf.path import Command

    paths: list[Path] = []
    for part in made.sub_paths() if made.has_sub_paths else (made,):
        segments: list[Segment] = []
        now = complex(part.start.x, part.start.y)
        for command in part.commands():
            end = complex(command.end.x, command.end.y)
            if command.type == Command.LINE_TO:
                segment: Segment = (now, end)
            elif command.type == Command.CURVE3_TO:
                middle = complex(command.ctrl.x, command.ctrl.y)
                segment = (now, now + 2 / 3 * (middle - now), end + 2 / 3 * (middle - end), end)
            elif command.type == Command.CURVE4_TO:
                first, second = command.ctrl1, command.ctrl2
                segment = (now, complex(first.x, first.y), complex(second.x, second.y), end)
            else:
                now = end
                continue
            segments.append(segment)
            now = end
        if segments:
            gap = abs(segments[-1][-1] - segments[0][0])
            closed = gap <= 1e-9 * (1 + abs(segments[0][0]))
            if closed and gap:
                segments[-1] = (*segments[-1][:-1], segments[0][0])
            paths.append(Path(tuple(segments), closed))
    return paths


def _colour(entity: Any, layers: Any) -> Paint:
    from ezdxf import colors

    true_colour = entity.dxf.get("true_color")
    if true_colour is not None:
        return Paint("rgb", tuple(part / 255 for part in colors.int2rgb(int(true_colour))))
    index = abs(int(entity.dxf.get("color", 256)))
    if index in (0, 256) and layers is not None and entity.dxf.get("layer", "0") in layers:
        return _colour(layers.get(entity.dxf.get("layer", "0")), None)
    if not 1 <= index <= 255:
        index = 7
    if index == 7:  # black on white paper
        return Paint("rgb", (0.0, 0.0, 0.0))
    return Paint("rgb", tuple(part / 255 for part in colors.aci2rgb(index)))


def _page(header: Any, drawn: list[Drawn], scale: float) -> tuple[tuple[float, float] | None, complex]:
    """Return the page's size and its lower left corner.

    A file whose limits and extents are the same box that holds the drawing states its page; otherwise the page
    is the drawing's own box.
    """
    paths = tuple(path for d in drawn for path in d.paths)
    if not paths:
        return None, 0j
    low, high = bounds(paths)
    told = [_corner(header.get(key), scale) for key in ("$LIMMIN", "$LIMMAX", "$EXTMIN", "$EXTMAX")]
    if all(corner is not None for corner in told):
        box = told[0], told[1]
        same = abs(told[0] - told[2]) < 1e-6 and abs(told[1] - told[3]) < 1e-6  # type: ignore[operator]
        if same and _holds((box[0].real, box[0].imag, box[1].real, box[1].imag), low, high):  # type: ignore[union-attr]
            size = box[1] - box[0]  # type: ignore[operator]
            return (size.real, size.imag), box[0]  # type: ignore[return-value]
    return (high.real - low.real, high.imag - low.imag), low


def _corner(value: Any, scale: float) -> complex | None:
    try:
        return complex(float(value[0]), float(value[1])) * scale
    except (TypeError, ValueError, IndexError):
        return None


def _holds(box: Edges, low: complex, high: complex) -> bool:
    slack = 0.01
    return (
        box[0] - slack <= low.real
        and box[1] - slack <= low.imag
        and high.real <= box[2] + slack
        and high.imag <= box[3] + slack
    )
