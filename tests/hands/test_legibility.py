"""Can a reader that knows nothing of us read our words? Tesseract (Debian), one word a picture, read as one line.

Case is not compared: a word alone gives no scale to tell c from C. For comparison, same words and method, measured
once: an open upright handwriting face reads 59 of 60, an open connected script 43 (see bench_legibility).
"""

import shutil
import subprocess

import cairosvg
import pytest

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line

WORDS = [
    "tide", "boat", "harbour", "lantern", "quiet", "weather", "anchor", "island", "morning", "evening", "water",
    "river", "bridge", "storm", "cloud", "silver", "garden", "window", "letter", "paper", "pencil", "bottle",
    "kitchen", "market", "village", "winter", "summer", "autumn", "spring", "thunder", "rain", "sailor", "captain",
    "compass", "rope", "timber", "beach", "sand", "shell", "gull", "fish", "net", "light", "house", "tower", "stone",
    "wall", "path", "field", "meadow", "horse", "wagon", "wheel", "journey", "north", "south", "east", "west",
    "bread", "apple",
]  # fmt: skip
X_HEIGHT_PX = 24


def picture(hand, marker, x_height_mm, word, path):
    outline = ink_line(set_line(Lettering(marker, hand, x_height_mm), word))
    points = [z for part in outline for segment in part.segments for z in segment]
    pad = 0.7 * x_height_mm
    left, right = min(z.real for z in points) - pad, max(z.real for z in points) + pad
    low, high = min(z.imag for z in points) - pad, max(z.imag for z in points) + pad
    scale = X_HEIGHT_PX / x_height_mm
    drawn = "".join(
        f"M{part.start.real:.3f},{-part.start.imag:.3f}"
        + "".join(
            ("L" if len(segment) == 2 else "C") + " ".join(f"{z.real:.3f},{-z.imag:.3f}" for z in segment[1:])
            for segment in part.segments
        )
        + "Z"
        for part in outline
    )
    box = f"{left} {-high} {right - left} {high - low}"
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" width="{(right - left) * scale:.0f}" '
        f'height="{(high - low) * scale:.0f}"><rect x="{left}" y="{-high}" width="{right - left}" '
        f'height="{high - low}" fill="#fff"/><path d="{drawn}" fill-rule="evenodd"/></svg>'
    )
    cairosvg.svg2png(bytestring=svg.encode(), write_to=str(path))


def read(paths, folder):
    listing = folder / "words.txt"
    listing.write_text("\n".join(map(str, paths)))
    command = ["tesseract", str(listing), "-", "--psm", "7", "-l", "eng"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, env={"OMP_THREAD_LIMIT": "1"} | PATH)
    return [text.strip() for text in done.stdout.split("\f")][: len(paths)]


PATH = {"PATH": "/usr/local/bin:/usr/bin:/bin"}


def test_there_are_sixty_words():
    assert len(WORDS) == len(set(WORDS)) == 60


@pytest.mark.skipif(not shutil.which("tesseract"), reason="tesseract is not installed")
@pytest.mark.parametrize(
    ("hand_name", "marker_name", "least"),
    [("print", "flint", 58), ("italic", "slate", 54), ("joined", "cobble", 46), ("lively", "cobble", 45)],
)
def test_words_are_read(tmp_path, hand_name, marker_name, least):
    hand, marker = load_hand(hand_name), load_marker(marker_name)
    x = right_size(marker, hand).x_height_mm
    paths = [tmp_path / f"{word}.png" for word in WORDS]
    for word, path in zip(WORDS, paths, strict=True):
        picture(hand, marker, x, word, path)
    found = read(paths, tmp_path)
    wrong = [f"{word}: {got}" for word, got in zip(WORDS, found, strict=True) if got.lower() != word]
    assert len(WORDS) - len(wrong) >= least, wrong
