"""A marker's letters as a font that types at real size."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, Literal

from guidegen.api.nouns import HandLike, MarkerLike, Slant, lettering_at
from guidegen.api.pages import FilePath, Pages, chosen_format
from guidegen.errors import bad_input
from guidegen.fonts.alphabet import Alphabet
from guidegen.fonts.build import Labels, alphabet, font_face
from guidegen.fonts.compile import Format, compile_face, screen_woff2, stored_glyphs
from guidegen.fonts.faces import FAMILY, FaceLook, FaceStyle
from guidegen.fonts.glyphs import FontFace
from guidegen.hands.hand import Hand
from guidegen.hands.library import DEFAULT_HANDS, load_paper
from guidegen.jobs import Progress, run_in_order
from guidegen.lettering.lettering import Lettering
from guidegen.profiles.markers import Marker
from guidegen.saving import new_folders, write_files
from guidegen.sheets.parts.phrases import ENGLISH

FontFormat = Literal["ttf", "otf", "woff2"]
FORMATS: tuple[FontFormat, ...] = ("ttf", "otf", "woff2")
LONGEST_FAMILY = 40


class Font:
    """A font of a marker's true strokes. Set at :attr:`true_size_pt` and printed at 100 % it is as large as written.

    The face is drawn when it is first asked for. In a notebook the font shows its help page.
    """

    def __init__(self, letters: Alphabet, style: FaceStyle, labels: Labels) -> None:
        self._letters, self._style, self._labels = letters, style, labels
        self._made: FontFace | None = None

    @property
    def name(self) -> str:
        """The stem of the file that :meth:`save` writes when it is given no name."""
        return f"{self._letters.lettering.marker.name}-{self._style.file_word}"

    @property
    def lettering(self) -> Lettering:
        """The marker, hand and size that the letters are written with."""
        return self._letters.lettering

    @property
    def true_size_pt(self) -> int:
        """The point size at which the letters are as large as the marker writes them."""
        return self._face.size.point_size

    @property
    def x_height_mm(self) -> float:
        """The x-height at that size, in the whole units of the font."""
        return self._face.metrics.x_height * self._face.size.unit_mm

    @property
    def letters(self) -> int:
        """How many letters there are to draw."""
        return len(self._letters.items)

    @property
    def _face(self) -> FontFace:
        return self.draw()

    def draw(self, progress: Progress | None = None) -> FontFace:
        """Return the face as data, drawn at the first call (:mod:`guidegen.fonts.glyphs`; not promised to stay).

        ``progress`` is called with the number of letters drawn since the last call.
        """
        if self._made is None:
            told = progress or (lambda _count: None)
            self._made = font_face(self._letters, self._style, self._labels, lambda _what, _done, _total: told(1))
        return self._made

    def as_dict(self, file_format: FontFormat = "ttf") -> dict[str, Any]:
        """Return what ``guidegen font --json`` tells, but for the path."""
        return {
            "face": self._style.file_word,
            "true_size_pt": self.true_size_pt,
            "x_height_mm": self.x_height_mm,
            "units_per_em": self._face.size.units_per_em,
            "glyphs": len(stored_glyphs(self._face, _format(file_format))),
        }

    def data(self, file_format: FontFormat = "ttf") -> bytes:
        """Return the font file. The same font gives the same bytes.

        Raises:
            GuidegenError: no such format, or a glyph too large for a font's coordinates.
        """
        return compile_face(self._face, _format(file_format))

    def specimen(self, language: str = ENGLISH) -> Pages:
        """Return the help page that shows the font at its true size, on A4; ``language`` is that of its words."""
        from guidegen.fonts.specimen import specimen_page

        paper = load_paper("a4")
        made = specimen_page(self._letters, self._face, paper.width_mm, paper.height_mm, language)
        return Pages(f"{self.name}-specimen", made)

    def specimen_html(self, otf: bytes | None = None, language: str = ENGLISH) -> bytes:
        """Return the help page for a browser, the font in it; ``otf`` is the compiled font where it is at hand."""
        from guidegen.fonts.specimen_html import specimen_html

        data = screen_woff2(otf or compile_face(self._face, "otf"))
        return specimen_html(self._letters, self._face, data, language)

    def files(
        self,
        path: FilePath,
        file_format: FontFormat,
        *,
        specimen: bool = False,
        ufo: bool = False,
        language: str = ENGLISH,
    ) -> Iterator[tuple[Path, bytes]]:
        """Yield (path, bytes) of the font and of what stands beside it: see :meth:`save`."""
        target = Path(path)
        data = self.data(file_format)
        yield target, data
        if specimen:
            pdf, html = specimen_paths(target)
            yield pdf, next(content for _, content in self.specimen(language).files("pdf"))
            yield html, self.specimen_html(data if file_format == "otf" else None, language)
        if ufo:
            from guidegen.fonts.ufo import ufo_files

            for name, content in ufo_files(self._face).items():
                yield ufo_path(target) / name, content

    def save(
        self,
        path: FilePath | None = None,
        *,
        file_format: FontFormat | None = None,
        specimen: bool = False,
        ufo: bool = False,
        language: str = ENGLISH,
        force: bool = False,
    ) -> list[Path]:
        """Write the font, and return the paths of all files.

        Args:
            path: the file; its ending (.ttf, .otf or .woff2) sets the format. A folder gets a file called
                :attr:`name`; None is the current folder.
            file_format: in place of the path's ending.
            specimen: also write a help page (PDF and HTML) that shows the true size.
            ufo: also write the sources (UFO) for a font editor.
            language: of the help page's words; see :func:`guidegen.sheet`.
            force: overwrite files that exist.

        Raises:
            GuidegenError: no such format, or a file that exists (without ``force``).
            OSError: a folder cannot be written, the disk is full.
        """
        ending = _format(chosen_format(path, file_format, "ttf", FORMATS))
        folder = Path() if path is None else Path(path)
        target = folder / f"{self.name}.{ending}" if folder.is_dir() else folder
        with new_folders(*((ufo_path(target) / "glyphs",) if ufo else ())):
            return write_files(self.files(target, ending, specimen=specimen, ufo=ufo, language=language), force=force)

    def _repr_svg_(self) -> str:
        return self.specimen().svg()

    def __repr__(self) -> str:
        return f"<{self.name}: {self._labels.family} {self._style.style_name}, true size {self.true_size_pt} pt>"


def specimen_paths(font: Path) -> tuple[Path, Path]:
    """Return the paths of the help pages beside a font: PDF and HTML."""
    pdf, html = (font.with_name(f"{font.stem}-specimen.{ending}") for ending in ("pdf", "html"))
    return pdf, html


def ufo_path(font: Path) -> Path:
    """Return the folder of the sources beside a font."""
    return font.with_suffix(".ufo")


def font(
    marker: MarkerLike,
    *,
    face: FaceLook = "solid",
    ruled: bool = False,
    starts: bool = False,
    family: str | None = None,
    licence: str | None = None,
    credit: str | None = None,
    hand: HandLike | None = None,
    slant_deg: Slant | None = None,
    x_height_mm: float | None = None,
) -> Font:
    """Make a font whose letters are this marker's true strokes, at real size at a round point size.

    Args:
        marker: a marker, the name or path of its profile, or a lettering.
        face: ``solid`` ink; ``dotted`` to trace; ``hollow``, to fill in.
        ruled: put the four guide lines into every letter and space.
        starts: dotted: an open ring where each stroke begins.
        family: the name in the font menu; None for one from the marker's label.
        licence: for the font's licence field.
        credit: your own line for the font's copyright field.
        hand: the hand; None for the usual one of the tip.
        slant_deg: from the baseline, in place of the hand's.
        x_height_mm: the size in place of the right one.

    Raises:
        GuidegenError: no such marker or hand, a hand of guides only, a name that is none.
    """
    if starts and face != "dotted":
        raise bad_input("`starts`", "", face, "`face` dotted", "rings mark the starts of dotted strokes")
    style = FaceStyle(face, ruled, starts)
    return _fonts((style,), marker, (family, licence, credit), hand, slant_deg, x_height_mm)[0]


def font_family(
    marker: MarkerLike,
    *,
    family: str | None = None,
    licence: str | None = None,
    credit: str | None = None,
    hand: HandLike | None = None,
    slant_deg: Slant | None = None,
    x_height_mm: float | None = None,
) -> tuple[Font, ...]:
    """Make the whole set of faces: solid, hollow and dotted, each also ruled, dotted also with starts.

    Each letter is inked once for all of them. Arguments and errors as for :func:`font`.
    """
    return _fonts(FAMILY, marker, (family, licence, credit), hand, slant_deg, x_height_mm)


def _fonts(
    styles: Sequence[FaceStyle],
    marker: MarkerLike,
    labels: tuple[str | None, str | None, str | None],
    hand: HandLike | None,
    slant_deg: Slant | None,
    x_height_mm: float | None,
) -> tuple[Font, ...]:
    """Return fonts of one alphabet, which is inked once for all."""
    chosen = lettering_at(marker, hand, x_height_mm, slant_deg)
    family = _line("`family`", labels[0], LONGEST_FAMILY) or family_name(chosen.marker, chosen.hand)
    told = Labels(family, _line("`licence`", labels[1], 5000), _line("`credit`", labels[2], 500))
    letters = alphabet(chosen, mapper=_in_processes)
    return tuple(Font(letters, style, told) for style in styles)


def family_name(marker: Marker, hand: Hand) -> str:
    """Return the name in the font menu: the label up to its comma, with the hand where it is not the tip's own."""
    name = marker.label.split(",")[0].strip() or marker.name
    usual = hand.name == DEFAULT_HANDS[marker.tip]
    return name[:LONGEST_FAMILY] if usual else f"{name} {hand.name.title()} Hand"[:LONGEST_FAMILY]


def _line(field: str, value: str | None, limit: int) -> str | None:
    if value is None:
        return None
    if not value.strip() or len(value) > limit or not value.isprintable():
        raise bad_input(field, "", value, f"a line of text, 1 to {limit} characters")
    return value.strip()


def _format(name: str) -> Format:
    """Return a font format by its name.

    Raises:
        GuidegenError: there is no such.
    """
    for known in FORMATS:
        if name == known:
            return known
    raise bad_input("`file_format`", "", name, "one of " + ", ".join(FORMATS))


def _in_processes(work: Callable[[Any], Any], tasks: Sequence[Any]) -> Iterator[Any]:
    return run_in_order(work, tasks)
