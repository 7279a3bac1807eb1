"""The walk through a PDF page's operators (ISO 32000-1, 8 and 9) that collects what is painted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from guidegen.geometry.path import Path, Segment, polyline
from guidegen.limits import MAX_NESTED_USES, MAX_SAVED_STATES
from guidegen.readers.budget import Budget, too_much
from guidegen.readers.clips import Clip, clip_of, clipped
from guidegen.readers.contents import BLACK_INK, Drawn, Edges, Paint, Picture, Words
from guidegen.readers.matrix import Matrix, at, from_six, moved, size_factor, then
from guidegen.readers.pdf_colour import Space, device, space_of
from guidegen.readers.pdf_streams import instructions

_FILLS = {"f", "F", "f*", "B", "B*", "b", "b*"}
_STROKES = {"S", "s", "B", "B*", "b", "b*"}
_CLOSES = {"s", "b", "b*"}
GRAY = Space("gray", 1)


@dataclass(frozen=True, slots=True)
class _State:
    matrix: Matrix
    fill: Paint = BLACK_INK
    stroke: Paint = BLACK_INK
    fill_space: Space = GRAY
    stroke_space: Space = GRAY
    width: float = 1.0
    overprint_fill: bool = False
    overprint_stroke: bool = False
    transparent: bool = False
    font: str = ""
    embedded: bool = False
    font_size: float = 0.0
    clip: Clip | None = None


class PageWalk:
    """Collects drawn paths, pictures and words of one page in mm."""

    def __init__(self, budget: Budget, page: Any, to_mm: Matrix) -> None:
        self.drawn: list[Drawn] = []
        self.pictures: list[Picture] = []
        self.words: list[Words] = []
        self.transparency = "/Group" in page.obj and page.obj["/Group"].get("/S") == "/Transparency"
        self._budget = budget
        self._page = page
        self._state = _State(to_mm)
        self._saved: list[_State] = []
        self._layers: list[str | None] = []
        self._segments: list[Segment] = []
        self._paths: list[Path] = []
        self._first = self._now = 0j
        self._text: Matrix = (1 + 0j, 1j, 0j)
        self._trail: list[tuple[int, str, list[Any]]] = []
        self._clips = ""
        self.transfer = False
        self.postscript = False
        self.clipped = 0

    @property
    def place(self) -> str:
        """Where the walk stands: ``, operator 5`` of the page, and of each form it is in."""
        return "".join(f", operator {number}" for number, _, _ in self._trail)

    @property
    def shown(self) -> str:
        """The operator at which the walk stands, with its operands before it, as a content stream has them."""
        if not self._trail:
            return "a content stream that cannot be taken apart"
        _, operator, operands = self._trail[-1]
        return f"`{' '.join((*(str(operand)[:24] for operand in operands[:8]), operator))}`"

    def run(self) -> None:
        """Walk the page's own content and, from there, all forms it shows."""
        resources = inherited(self._page.obj, "/Resources")
        self._content(self._page.obj.get("/Contents"), {} if resources is None else resources, 0)

    def _content(self, source: Any, resources: Any, depth: int) -> None:
        if source is None:
            return
        floor = len(self._saved)
        for number, (operands, operator) in enumerate(instructions(source, self._budget), 1):
            del self._trail[depth:]
            self._trail.append((number, operator, operands))
            self._budget.spend("items", 0)
            self._one(operator, operands, resources, depth, floor)
        del self._saved[floor:], self._trail[depth:]

    def _one(self, op: str, v: list[Any], resources: Any, depth: int, floor: int) -> None:
        if op in _PATH:
            self._path(op, [float(x) for x in v])
        elif op in _FILLS or op in _STROKES or op == "n":
            self._paint(op)
        elif op in _STATE:
            self._change(op, v, resources, floor)
        elif op == "Do":
            self._show(_entry(resources, "/XObject", v[0]), resources, depth)
        elif op in ("BDC", "BMC", "EMC"):
            self._mark(op, v, resources)
        elif op in _TEXT:
            self._words(op, v, resources)
        elif op == "INLINE IMAGE":
            self._image(v[0])
        elif op == "sh":
            self._drawn((), Paint(_shading_space(_entry(resources, "/Shading", v[0])), ()), None)
        elif op in ("W", "W*"):
            self._clips = op

    def _change(self, op: str, v: list[Any], resources: Any, floor: int) -> None:
        if op == "q":
            if len(self._saved) >= MAX_SAVED_STATES:
                raise too_much(self._budget.name, "saved graphics states", MAX_SAVED_STATES)
            self._saved.append(self._state)
        elif op == "Q":
            if len(self._saved) > floor:
                self._state = self._saved.pop()
        elif op == "cm":
            self._set(matrix=then(from_six(tuple(float(x) for x in v)), self._state.matrix))
        elif op == "w":
            self._set(width=float(v[0]))
        elif op in _COLOURS:
            self._colour(op, v, resources)
        elif op == "gs":
            self._graphics_state(_entry(resources, "/ExtGState", v[0]))

    def _set(self, **changes: Any) -> None:
        self._state = replace(self._state, **changes)

    def _path(self, op: str, v: list[float]) -> None:
        if op == "re":
            x, y, w, h = v
            corners = [complex(x, y), complex(x + w, y), complex(x + w, y + h), complex(x, y + h)]
            self._end(closed=False)
            self._segments = [(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
            self._first = self._now = corners[0]
            self._end(closed=True)
            return
        points = [complex(x, y) for x, y in zip(v[::2], v[1::2], strict=False)]
        if op == "m":
            self._end(closed=False)
            self._first = self._now = points[0]
        elif op == "l":
            self._add((self._now, points[0]))
        elif op == "c":
            self._add((self._now, *points))
        elif op == "v":
            self._add((self._now, self._now, *points))
        elif op == "y":
            self._add((self._now, points[0], points[1], points[1]))
        elif op == "h":
            if self._segments and self._now != self._first:
                self._add((self._now, self._first))
            self._end(closed=True)

    def _add(self, segment: Segment) -> None:
        self._budget.spend("segments", 1)
        self._segments.append(segment)
        self._now = segment[-1]

    def _end(self, *, closed: bool) -> None:
        if self._segments:
            self._paths.append(Path(tuple(self._segments), closed))
        self._segments = []
        self._now = self._first

    def _paint(self, op: str) -> None:
        if op in _CLOSES:
            self._path("h", [])
        self._end(closed=False)
        paths, self._paths = tuple(self._paths), []
        state = self._state
        if op != "n" and paths:
            self._drawn(paths, state.fill if op in _FILLS else None, state.stroke if op in _STROKES else None)
        if self._clips and paths:  # a clip holds for what comes after it (8.5.4)
            placed = [moved(path, state.matrix) for path in paths]
            self._set(clip=clip_of(placed, state.clip, even_odd=self._clips == "W*"))
        self._clips = ""

    def _drawn(self, paths: tuple[Path, ...], fill: Paint | None, stroke: Paint | None) -> None:
        state = self._state
        placed = tuple(moved(path, state.matrix) for path in paths)
        self._budget.keep(placed, counted=True)
        width = None if stroke is None else state.width * size_factor(state.matrix)
        if state.clip is not None and placed:
            kept = clipped(placed, state.clip, (width or 0.0) / 2)
            self.clipped += kept is not placed
            if not kept:
                return
            placed = kept
        over = (fill is None or state.overprint_fill) and (stroke is None or state.overprint_stroke)
        self.drawn.append(Drawn(placed, fill, stroke, width, self._layer(), over, state.transparent))

    def _layer(self) -> str | None:
        return next((name for name in reversed(self._layers) if name is not None), None)

    def _colour(self, op: str, v: list[Any], resources: Any) -> None:
        use = "fill" if op in ("g", "rg", "k", "cs", "sc", "scn") else "stroke"
        if op in ("g", "G", "rg", "RG", "k", "K"):
            space = device({"g": "gray", "r": "rgb", "k": "cmyk"}[op[0].lower()])
            colour = space.paint([float(x) for x in v])
        elif op in ("cs", "CS"):
            space = space_of(v[0], resources)
            colour = space.start()
        else:
            space = self._state.fill_space if use == "fill" else self._state.stroke_space
            numbers = [float(x) for x in v if not str(x).startswith("/")]
            colour = space.paint(numbers)
            if space.kind == "pattern" and v and str(v[-1]).startswith("/"):
                colour = Paint(self._pattern_space(_entry(resources, "/Pattern", v[-1])), ())
        self._set(**{use: colour, f"{use}_space": space})

    def _pattern_space(self, pattern: Any) -> str:
        """Return the colour space that a pattern paints in, ``pattern`` where it is one for a press."""
        if pattern is None:
            return "pattern"
        if pattern.get("/PatternType") == 2:
            return _shading_space(pattern.get("/Shading"))
        for operands, operator in instructions(pattern, self._budget):
            named = space_of(operands[0], pattern.get("/Resources", {})).kind if operator in ("cs", "CS") else ""
            if operator in ("rg", "RG") or named in ("rgb", "lab"):
                return "rgb"
        return "pattern"

    def _graphics_state(self, gs: Any) -> None:
        if gs is None:
            return
        usual = ("/Default", "/Identity")
        self.transfer = self.transfer or any(key in gs and str(gs[key]) not in usual for key in ("/TR", "/TR2"))
        if "/LW" in gs:
            self._set(width=float(gs["/LW"]))
        if "/OP" in gs:
            self._set(overprint_stroke=bool(gs["/OP"]), overprint_fill=bool(gs.get("/op", gs["/OP"])))
        elif "/op" in gs:
            self._set(overprint_fill=bool(gs["/op"]))
        opaque = all(float(gs.get(key, 1)) >= 1 for key in ("/CA", "/ca"))
        plain = str(gs.get("/BM", "/Normal")) in ("/Normal", "/Compatible") and gs.get("/SMask", "/None") == "/None"
        if any(key in gs for key in ("/CA", "/ca", "/BM", "/SMask")):
            self._set(transparent=not (opaque and plain))
            self.transparency = self.transparency or not (opaque and plain)

    def _show(self, thing: Any, resources: Any, depth: int) -> None:
        if thing is None:
            return
        layer = _layer_name(thing.get("/OC"))
        if layer is not None:
            self._layers.append(layer)
        kind = thing.get("/Subtype")
        self.postscript = self.postscript or kind == "/PS" or "/PS" in thing or thing.get("/Subtype2") == "/PS"
        if kind == "/Image":
            self._image(thing)
        elif kind == "/Form":
            if depth >= MAX_NESTED_USES:
                raise too_much(self._budget.name, "forms inside forms", MAX_NESTED_USES)
            self.transparency = self.transparency or "/Group" in thing
            before = self._state
            matrix = from_six(tuple(float(x) for x in thing.get("/Matrix", [1, 0, 0, 1, 0, 0])))
            self._set(matrix=then(matrix, before.matrix))
            if "/BBox" in thing:
                left, low, right, top = (float(side) for side in thing["/BBox"])
                frame = [complex(left, low), complex(right, low), complex(right, top), complex(left, top)]
                corners = polyline([at(self._state.matrix, z) for z in frame], closed=True)
                self._set(clip=clip_of([corners], before.clip))
            self._content(thing, thing.get("/Resources", resources), depth + 1)
            self._state = before
        if layer is not None:
            self._layers.pop()

    def _image(self, image: Any) -> None:
        self._budget.spend("items", 1)
        corners = [at(self._state.matrix, z) for z in (0j, 1 + 0j, 1j, 1 + 1j)]
        box: Edges = (
            min(z.real for z in corners), min(z.imag for z in corners),
            max(z.real for z in corners), max(z.imag for z in corners),
        )  # fmt: skip
        width, height = int(image.get("/Width", image.get("/W", 0))), int(image.get("/Height", image.get("/H", 0)))
        if image.get("/ImageMask", image.get("/IM", False)):
            space = self._state.fill.space
        else:
            space = space_of(image.get("/ColorSpace", image.get("/CS", "/DeviceGray")), {}).kind
        self.transparency = self.transparency or "/SMask" in image
        self.pictures.append(Picture(box, width, height, space, self._layer()))

    def _mark(self, op: str, v: list[Any], resources: Any) -> None:
        if op == "EMC":
            if self._layers:
                self._layers.pop()
            return
        if len(self._layers) > MAX_SAVED_STATES:
            raise too_much(self._budget.name, "nested marks", MAX_SAVED_STATES)
        name = None
        if op == "BDC" and v[0] == "/OC":
            name = _layer_name(_entry(resources, "/Properties", v[1]))
        self._layers.append(name)

    def _words(self, op: str, v: list[Any], resources: Any) -> None:
        if op == "Tf":
            font = _entry(resources, "/Font", v[0])
            name, embedded = _font(font)
            self._set(font=name, embedded=embedded, font_size=float(v[1]))
        elif op == "BT":
            self._text = (1 + 0j, 1j, 0j)
        elif op == "Tm":
            self._text = from_six(tuple(float(x) for x in v))
        elif op in ("Tj", "TJ", "'", '"'):
            self._budget.spend("items", 1)
            size = abs(self._state.font_size) * size_factor(then(self._text, self._state.matrix))
            entry = Words(self._state.font, size, self._state.embedded, self._layer(), self._state.fill)
            if not self.words or self.words[-1] != entry:
                self.words.append(entry)


_PATH = {"m", "l", "c", "v", "y", "h", "re"}
_COLOURS = {"g", "G", "rg", "RG", "k", "K", "cs", "CS", "sc", "SC", "scn", "SCN"}
_STATE = {"q", "Q", "cm", "w", "gs", *_COLOURS}
_TEXT = {"Tf", "Tm", "BT", "Tj", "TJ", "'", '"'}


def _shading_space(shading: Any) -> str:
    """Return the colour space of a shading that no press takes, else ``pattern``."""
    if shading is None:
        return "pattern"
    kind = space_of(shading.get("/ColorSpace", "/DeviceGray"), {}).kind
    return kind if kind in ("rgb", "lab", "unknown") else "pattern"


def _entry(resources: Any, group: str, name: Any) -> Any:
    found = resources.get(group)
    return None if found is None or not str(name).startswith("/") else found.get(str(name))


def inherited(node: Any, key: str) -> Any:
    """Return an entry of a page or of the first of its ancestors that has it (ISO 32000-1, 7.7.3.4), or None."""
    for _ in range(30):
        if key in node:
            return node[key]
        if "/Parent" not in node:
            return None
        node = node["/Parent"]
    return None


def _layer_name(group: Any) -> str | None:
    import pikepdf

    if not isinstance(group, pikepdf.Dictionary):
        return None
    if group.get("/Type") == "/OCMD":
        members = group.get("/OCGs")
        group = next(iter(members), None) if isinstance(members, pikepdf.Array) else members
    return None if group is None else str(group.get("/Name", ""))


def _font(font: Any) -> tuple[str, bool]:
    if font is None:
        return "", False
    name = str(font.get("/BaseFont", "/unnamed"))[1:80]
    if font.get("/Subtype") == "/Type3":
        return name, True
    inner = next(iter(font.get("/DescendantFonts", [])), font)
    descriptor = inner.get("/FontDescriptor")
    return name, descriptor is not None and any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
