"""The gallery's two pictures of fonts in other programs, made by these: ``python tests/fonts/program_pictures.py``.

LibreOffice sets a page with five faces of three markers; Chromium shows the help page of a tracing face. Both need
to be installed. ``python tests/fonts/program_pictures.py FOLDER`` writes elsewhere than into ``output/gallery``.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from paper import FODT

from guidegen.fonts.alphabet import Alphabet, alphabet
from guidegen.fonts.build import Labels, font_face
from guidegen.fonts.compile import compile_face, screen_woff2
from guidegen.fonts.faces import FaceStyle
from guidegen.fonts.glyphs import FontFace
from guidegen.fonts.naming import menu_name
from guidegen.fonts.setting import filled
from guidegen.fonts.specimen_html import specimen_html
from guidegen.hands.library import DEFAULT_HANDS, load_hand, load_marker
from guidegen.lettering.sizing import right_size

GALLERY = Path(__file__).resolve().parents[2] / "output" / "gallery"
ROWS = (
    ("cobble", FaceStyle("solid"), "harbour"),
    ("cobble", FaceStyle("hollow"), "tides"),
    ("cobble", FaceStyle("dotted", ruled=True), "wave"),
    ("slate", FaceStyle("solid", ruled=True), "Slate quay"),
    ("flint", FaceStyle("dotted", ruled=True, starts=True), "The tide fills the harbour."),
)
PAGE_MM, MARGIN_MM, PICTURE_PPI = (210.0, 230.0), 15.0, 96

FACE = """<style:font-face style:name="F{number}" svg:font-family="'{family}'"/>"""
STYLE = """<style:style style:name="P{number}" style:family="paragraph"><style:text-properties
 style:font-name="F{number}" fo:font-size="{points}pt" fo:language="en" fo:country="GB"/></style:style>"""
PARAGRAPH = """<text:p text:style-name="P{number}">{text}{spaces}</text:p>"""
FONTCONFIG = """<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">
<fontconfig><dir>{folder}</dir><cachedir>{folder}/cache</cachedir></fontconfig>
"""


def face_of(marker_name: str, style: FaceStyle) -> tuple[Alphabet, FontFace]:
    """Return a marker's letters and one face of them."""
    marker = load_marker(marker_name)
    hand = load_hand(DEFAULT_HANDS[marker.tip])
    letters = alphabet(right_size(marker, hand).lettering)
    return letters, font_face(letters, style, Labels(marker.label.split(",")[0]))


def in_libreoffice(target: Path) -> None:
    """Set one line in each face of :data:`ROWS` with LibreOffice and draw its PDF; ruled lines run to the margin."""
    faces, styles, paragraphs = [], [], []
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "fonts").mkdir()
        for number, (marker, style, text) in enumerate(ROWS):
            letters, face = face_of(marker, style)
            (home / "fonts" / f"{number}.ttf").write_bytes(compile_face(face, "ttf"))
            room = (PAGE_MM[0] - 2 * MARGIN_MM) / face.size.unit_mm
            more = len(filled(letters, face, text, room).glyphs) - len(text)
            spaces = f'<text:s text:c="{more}"/>' if more else ""
            faces.append(FACE.format(number=number, family=menu_name(face.names.family, face.names.style)))
            styles.append(STYLE.format(number=number, points=face.size.point_size))
            paragraphs.append(PARAGRAPH.format(number=number, text=text, spaces=spaces))
        page = FODT.format(
            faces="".join(faces), styles="".join(styles), paragraphs="".join(paragraphs),
            width=PAGE_MM[0], height=PAGE_MM[1], margin=MARGIN_MM,
        )  # fmt: skip
        (home / "page.fodt").write_text(page)
        (home / "fonts.conf").write_text(FONTCONFIG.format(folder=home / "fonts"))
        run(
            ["soffice", f"-env:UserInstallation=file://{home}/profile", "--headless", "--convert-to", "pdf",
             "--outdir", folder, str(home / "page.fodt")],
            home, FONTCONFIG_FILE=str(home / "fonts.conf"),
        )  # fmt: skip
        document = pypdfium2.PdfDocument((home / "page.pdf").read_bytes())
        document[0].render(scale=PICTURE_PPI / 72, grayscale=True).to_pil().save(target, optimize=True)


def in_chromium(target: Path) -> None:
    """Draw the help page of a tracing face as Chromium shows it."""
    letters, face = face_of("cobble", FaceStyle("dotted"))
    chromium = next(name for name in ("chromium", "chromium-browser", "google-chrome") if shutil.which(name))
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "page.html").write_bytes(specimen_html(letters, face, screen_woff2(compile_face(face, "otf"))))
        run(
            [chromium, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
             f"--user-data-dir={home}/chromium", "--window-size=820,1060", f"--screenshot={home}/shot.png",
             (home / "page.html").as_uri()],
            home,
        )  # fmt: skip
        from PIL import Image

        with Image.open(home / "shot.png") as shot:
            shot.convert("L").save(target, optimize=True)


def run(command: list[str], home: Path, **environment: str) -> None:
    subprocess.run(
        command, check=True, capture_output=True, timeout=300, env={**os.environ, "HOME": str(home), **environment}
    )


PICTURES = {"fonts-in-libreoffice.png": in_libreoffice, "font-specimen-in-chromium.png": in_chromium}

if __name__ == "__main__":
    chosen = Path(sys.argv[1]) if len(sys.argv) > 1 else GALLERY
    for name, make in PICTURES.items():
        make(chosen / name)
