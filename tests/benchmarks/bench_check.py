"""Letters of published open faces as written ones, on simulated scans and photographs of several kinds of sheet.

``GUIDEGEN_PAGES`` says how many pages of each face and kind; ``GUIDEGEN_FACES`` a folder with faces of the packages
``fontpkg-NAME`` that are not installed. What is true is measured on the outlines by ``tests/scan/faces.py``.
"""

import os
import time
from dataclasses import replace

import numpy as np
import pytest
from faces import FACES, cut_bowl, face_letter, fill_bowl
from sheets_page import placed, ruled, seen
from simulate import ruffled

from guidegen.scan.loose import find_letters
from guidegen.scan.pictures import open_picture

pytestmark = pytest.mark.benchmark
PAGES = int(os.environ.get("GUIDEGEN_PAGES", "2"))
BAND = (0.6, 1.5)


def picture_of(rng, kind, letter, rings):
    """A page of three of the same letters at a random size, on blank, ruled or guided paper."""
    x = rng.uniform(max(4, 0.6 / letter.counter), max(9, 0.72 / letter.counter))
    look = ruffled(rng, kind, (300, 600)[rng.integers(2)])
    # turned by 180 degrees a plain sheet does not tell its head
    look = replace(look, turn_deg=rng.uniform(-2, 2), pixels=(1400, 1050), distance_mm=rng.uniform(150, 220))
    lines = [10 + 3.2 * x + n * x for n in (-2, -1, 0, 1)]
    size = (10 * x + 40, 7 * x + 40)
    width_mm, dark = ((0, 0), (0.15, 1.0), (0.3, 0.35), (0.2, 0.6))[rng.integers(4)]
    print_ = ruled(size, lines, width_mm, dark) if width_mm else None
    letters = [placed([ring * x for ring in rings], complex(10 + x + 2.3 * n * x, 10 + 3.2 * x)) for n in range(3)]
    return x, seen(rng, look, (10, 10, 8 * x, 5 * x), print_, letters)


@pytest.mark.parametrize("kind", ["scan", "photo"])
def test_letters_of_faces(kind):
    errors, verdicts, unread, seconds = [], [], 0, []
    known = [name for name in FACES if face_letter(name) is not None]
    for name in known:
        letter = face_letter(name)
        for page in range(PAGES):
            rng = np.random.default_rng((890_000 if kind == "scan" else 895_000) + 1000 * page + FACES_SEED[name])
            x, data = picture_of(rng, kind, letter, letter.rings)
            began = time.process_time()
            found = find_letters(open_picture(data), letter.slant_deg, letter.downstroke * x)
            seconds.append(time.process_time() - began)
            ratios = [] if found is None else [one.letter.ratio for one in found.letters]
            if not ratios:
                unread += 1
                print(f"{kind} {name} {page}: nothing read", flush=True)
                continue
            ratio = float(np.mean(ratios))
            errors.append(100 * (ratio / letter.ratio - 1))
            print(f"{kind} {name} {page}: {letter.ratio:.2f}, {errors[-1]:+.1f} %, of {len(ratios)}", flush=True)
            if all(abs(letter.ratio / edge - 1) > 0.1 for edge in BAND):
                verdicts.append(np.digitize(ratio, BAND) == np.digitize(letter.ratio, BAND))
    far = np.abs(errors)
    near = ", ".join(f"within {most} %: {100 * np.mean(far < most):.0f}" for most in (4, 8))
    print(f"RESULT {kind}: {len(known)} faces, {len(errors)} pages, {unread} unread; "
          f"median error {np.median(far):.1f} %, bias {np.mean(errors):+.1f}, {near}, worst {far.max():.1f}; "
          f"verdicts right {100 * np.mean(verdicts):.1f} % of {len(verdicts)}; {np.median(seconds):.2f} s")  # fmt: skip


FACES_SEED = {name: 17 * number for number, name in enumerate(FACES)}


def test_open_and_closed_bowls_give_no_ratio():
    told = {}
    for name in FACES:
        letter = face_letter(name)
        if letter is None:
            continue
        cases = {"closed": [fill_bowl(letter)]}
        cases["open"] = [cut_bowl(letter, way, gap) for way in (0, 40, -30) for gap in (0.6, 1.2)]
        for wanted, shapes in cases.items():
            for number, rings in enumerate(shapes):
                rng = np.random.default_rng(880_000 + number + FACES_SEED[name])
                x, data = picture_of(rng, "scan", letter, rings)
                found = find_letters(open_picture(data), letter.slant_deg, letter.downstroke * x)
                if found is None:
                    said = "nothing"
                elif found.letters:
                    said = "a ratio"
                else:
                    faults = [one.letter.fault for one in found.others]
                    said = max(set(faults), key=faults.count) if faults else "nothing"
                told[wanted, said] = told.get((wanted, said), 0) + 1
                if said != wanted:
                    print(f"{name} {wanted} {number}: {said}", flush=True)
    print("RESULT " + "; ".join(f"{wanted}: {said} {count}" for (wanted, said), count in sorted(told.items())))
