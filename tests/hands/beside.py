"""Sheets for fresh eyes: our two brush hands beside three open scripts drawn by lot, shuffled, without names.

Usage: python tests/hands/beside.py FACES ROUND OUT, where FACES is a folder of .ttf files of connected scripts (data of
the package registry, which this project does not hold). Six sheets go to OUT, same x-height in pixels; which letter is
which hand is told on the console only. The same round draws the same lots.
"""

import random
import sys
from pathlib import Path

import cairocffi
from PIL import Image, ImageDraw, ImageFont, ImageOps

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.sizing import right_size
from guidegen.lettering.text import ink_line, set_line

X_HEIGHT_PX = 40
OURS = ("joined", "lively")
SHEETS = {
    "words": ("cobble", ("harbour lantern weather", "joyful vixen waves quiz", "morning rope and timber")),
    "words2": ("pebble", ("a quiet evening by the river", "boats sail over low water", "kind brave jumping fox")),
    "alphabet": ("cobble", ("abcdefghijklm", "nopqrstuvwxyz")),
    "capitals": ("pebble", ("A B C D E F G H I J K L M", "N O P Q R S T U V W X Y Z")),
    "names": ("grit", ("Harbour Wave Victor Gull", "North Kite Zephyr 1984", "12 boats, 30 tides, 567")),
    "pointed": ("thorn", ("summer wind over the bay", "light and shadow waltz")),
}


def ours(hand_name, marker_name, text):
    lettering = right_size(load_marker(marker_name), load_hand(hand_name)).lettering
    outline = ink_line(set_line(lettering, text), 0.01 * lettering.x_height_mm)
    scale = X_HEIGHT_PX / lettering.x_height_mm
    points = [scale * z for path in outline for segment in path.segments for z in segment]
    left, right = min(z.real for z in points), max(z.real for z in points)
    surface = cairocffi.ImageSurface(cairocffi.FORMAT_A8, int(right - left) + X_HEIGHT_PX, 5 * X_HEIGHT_PX)
    context = cairocffi.Context(surface)
    context.translate(X_HEIGHT_PX / 2 - left, 3 * X_HEIGHT_PX)
    context.scale(scale, -scale)
    for path in outline:
        context.move_to(path.start.real, path.start.imag)
        for segment in path.segments:
            numbers = [n for z in segment[1:] for n in (z.real, z.imag)]
            (context.curve_to if len(segment) == 4 else context.line_to)(*numbers)
        context.close_path()
    context.fill()
    size = (surface.get_stride(), surface.get_height())
    ink = Image.frombytes("L", size, bytes(surface.get_data())).crop((0, 0, surface.get_width(), size[1]))
    return ImageOps.invert(ink)


def theirs(face, text):
    top, bottom = ImageFont.truetype(str(face), 1000).getbbox("x", anchor="ls")[1::2]
    font = ImageFont.truetype(str(face), round(1000 * X_HEIGHT_PX / (bottom - top)))
    left, _, right, _ = font.getbbox(text, anchor="ls")
    image = Image.new("L", (right - left + X_HEIGHT_PX, 5 * X_HEIGHT_PX), 255)
    place = (X_HEIGHT_PX // 2 - left, 3 * X_HEIGHT_PX)
    ImageDraw.Draw(image).text(place, text, font=font, fill=0, anchor="ls")
    return image


def cut_close(image):
    _, top, _, bottom = ImageOps.invert(image).getbbox()
    return image.crop((0, top - 8, image.width, bottom + 8))


def sheet(hands, marker_name, texts):
    rows, labels = [], []
    for hand in hands:
        for text in texts:
            rows.append(cut_close(ours(hand, marker_name, text) if hand in OURS else theirs(hand, text)))
            labels.append(text == texts[0])
    image = Image.new("L", (80 + max(row.width for row in rows), sum(row.height + 10 for row in rows)), 255)
    letters, y = iter("ABCDE"), 0
    for row, labelled in zip(rows, labels, strict=True):
        image.paste(row, (80, y))
        if labelled:
            name = ImageFont.load_default(24)
            ImageDraw.Draw(image).text((12, y + row.height // 2), next(letters), font=name, fill=0, anchor="lm")
        y += row.height + 10
    return image


def main(faces, number, out):
    lots = random.Random(1000 + int(number))
    three = lots.sample(sorted(Path(faces).glob("*.ttf")), 3)
    Path(out).mkdir(parents=True, exist_ok=True)
    for name, (marker_name, texts) in SHEETS.items():
        hands = [*OURS, *three]
        lots.shuffle(hands)
        sheet(hands, marker_name, texts).save(Path(out) / f"{name}.png")
        key = (f"{letter} {getattr(hand, 'stem', hand)}" for letter, hand in zip("ABCDE", hands, strict=True))
        print(f"{name}: {', '.join(key)}")


if __name__ == "__main__":
    main(*sys.argv[1:])
