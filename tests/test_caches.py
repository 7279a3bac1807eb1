"""What is remembered while a program runs, where, and that equal values find it again."""

import ast
from dataclasses import replace
from pathlib import Path

from guidegen.hands.library import load_hand, load_marker
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.letters import letter
from guidegen.lettering.sizing import right_size

PACKAGE = Path(__file__).resolve().parent.parent / "guidegen"

# Every remembered function, all of them functions of values alone. One that is added is stated here, so that what a
# long run holds in memory is known.
REMEMBERED = {
    "api/plans.py": "smallest_paper largest_marker",
    "batch/tasks.py": "versions folder_digest",
    "geometry/stroke/expand.py": "_once",
    "hands/accents.py": "find_letter base_char",
    "hands/library.py": "templates_folder list_papers _load_hand",
    "lettering/free_ends.py": "free_ends unjoined_mm",
    "lettering/letters.py": "skeleton_map letter pen_stroke",
    "lettering/size_curve.py": "kept_curves size_curve",
    "lettering/sizing.py": "sample_outline counter_at right_size _band_mm _opening",
    "lettering/spacing.py": "_stroke_sides letter_sides spaced kern_mm _placed_sides word_space_mm _width_of_o",
    "lettering/text.py": "mean_advance_mm",
    "scan/cells.py": "brightness_table",
    "scan/check.py": "_model_lean",
    "scan/missing_rings.py": "_shapes",
    "sheets/name_set.py": "_share_for_width",
    "sheets/parts/forms.py": "written _letter _letter_name _ink_of",
    "sheets/parts/labels.py": "_set _font _face _glyph _drawing",
    "sheets/parts/order_pictures.py": "order_pictures",
    "sheets/parts/phrases.py": "phrases",
    "sheets/parts/swatch_block.py": "every_block",
    "sheets/parts/words.py": "line_of ink_of _reach over_of",
    "sheets/plan.py": "_measured",
    "sheets/specimen.py": "_ink",
    "web/application.py": "build shipped _assets",
    "web/words.py": "page_languages words",
    "web/work.py": "_shipped",
    "sheets/worksheet.py": "_furniture _shared_furniture _untitled _frame _proof",
}


REMEMBERING = {"cache", "lru_cache", "cached_property"}


def remembered(path):
    """Return the names of the functions of a file that remember what they returned."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            calls = [entry.func if isinstance(entry, ast.Call) else entry for entry in node.decorator_list]
            if {getattr(call, "id", getattr(call, "attr", "")) for call in calls} & REMEMBERING:
                found.append(node.name)
    return found


def test_what_is_remembered_is_stated_here():
    found = {path.relative_to(PACKAGE).as_posix(): sorted(remembered(path)) for path in sorted(PACKAGE.rglob("*.py"))}
    assert {name: functions for name, functions in found.items() if functions} == {
        name: sorted(functions.split()) for name, functions in REMEMBERED.items()
    }


def read_again(name, marker):
    """The same hand from its files again, as another process or a copy of the folder would have it."""
    from guidegen.hands import library

    library._load_hand.cache_clear()
    return Lettering(load_marker(marker), load_hand(name), 12.0)


def test_equal_letterings_are_one_to_a_cache():
    one, other = read_again("joined", "cobble"), read_again("joined", "cobble")
    assert one.hand is not other.hand
    assert one == other
    assert hash(one) == hash(other)
    assert letter(one, "e") is letter(other, "e")
    assert right_size(one.marker, one.hand) is right_size(other.marker, other.hand)


def test_another_letter_makes_another_hand():
    """The letter alone differs, all that is hashed is the same."""
    hand = load_hand("joined")
    changed = replace(hand, letters={**hand.letters, "e": hand.letters["o"]})
    assert hash(changed) == hash(hand)
    assert changed != hand
    assert hand.slanted(57.0) != hand
    assert hand.slanted(hand.slant_deg) == hand
