"""Markers, papers, printers, hands, letterings, sizes and setups are sound wherever they come from."""

import pickle
from dataclasses import replace

import pytest

from guidegen.errors import BadInputError, GuidegenError
from guidegen.hands.hand import Bounce, Join, Pressure, SizeRule, Spacing
from guidegen.hands.library import load_hand, load_marker, load_paper
from guidegen.lettering.lettering import Lettering
from guidegen.lettering.sizing import RightSize
from guidegen.profiles.printers import Printer
from guidegen.sheets.parts.frame import Setup

NAN = float("nan")


def paper(**changes):
    return replace(load_paper("a4"), **changes)


def hand(**changes):
    return replace(load_hand("joined"), **changes)


def lettering(**changes):
    return replace(Lettering(load_marker("cobble"), load_hand("joined"), 14.0), **changes)


def setup(**changes):
    return replace(Setup(load_paper("a4")), **changes)


BAD = [
    # what makes it, changes, noun and field named, words of the message
    (paper, {"width_mm": 0}, "paper: width_mm", "a side in mm"),
    (paper, {"height_mm": NAN}, "paper: height_mm", "found nan"),
    (paper, {"height_mm": "297"}, "paper: height_mm", "without quotes"),
    (paper, {"label": ""}, "paper: label", "such as A4"),
    (paper, {"name": None}, "paper: name", "found None"),
    (Printer, {"across_mm": 98.6, "down_mm": 20}, "printer: down_mm", "from 50 to 200 mm"),
    (Printer, {"across_mm": True, "down_mm": 99}, "printer: across_mm", "found True"),
    (hand, {"name": "My Hand"}, "hand: name", "lower-case"),
    (hand, {"label": "two\nlines"}, "hand: label", "a line of text"),
    (hand, {"tips": ()}, "hand: tips", "some of brush, pointed, broad, round"),
    (hand, {"tips": ("bursh",)}, "hand: tips", "some of brush"),
    (hand, {"slant_deg": 10}, "hand: slant_deg", "from 20 to 160"),
    (hand, {"ascender": 0.5}, "hand: ascender", "from 1 to 10"),
    (hand, {"pen_angle_deg": 100}, "hand: pen_angle_deg", "from 0 to 90"),
    (hand, {"letters": None}, "hand: letters", "found nothing, expected a mapping"),
    (hand, {"size": "counter"}, "hand: size", "a SizeRule"),
    (hand, {"reach": 0}, "hand: reach", "a whole number"),
    (SizeRule, {"rule": "countre", "value": 1, "smallest": 0.6, "largest": 1.5}, "size rule: rule", "mean counter?"),
    (SizeRule, {"rule": "counter", "value": 1, "smallest": 1.2, "largest": 1.5}, "size rule: smallest", "0.01 to 1"),
    (SizeRule, {"rule": "counter", "value": 1, "smallest": 0.6, "largest": 0.7}, "size rule: largest", "from 1 to"),
    (Pressure, {"press": 0}, "pressure: press", "from 0.01 to 10"),
    (Pressure, {"cut_deg": {"brush": 90}}, "pressure: cut_deg.brush", "from -60 to 60"),
    (Pressure, {"cut_deg": {"quill": 9}}, "pressure: cut_deg.quill", "one of brush"),
    (Pressure, {"cut_deg": 9}, "pressure: cut_deg", "for each tip"),
    (Join, {"height": "low", "heading_deg": 60}, "join: height", "without quotes"),
    (Spacing, {"white": -1}, "spacing: white", "from 0 to 10"),
    (Bounce, {"rise": 1}, "bounce: rise", "from 0 to 0.5"),
    (lettering, {"x_height_mm": 0}, "lettering: x_height_mm", "more than 0"),
    (lettering, {"x_height_mm": NAN}, "lettering: x_height_mm", "found nan"),
    (lettering, {"marker": "cobble"}, "lettering: marker", "found 'cobble', expected a Marker"),
    (lettering, {"hand": load_marker("cobble")}, "lettering: hand", "found a Marker, expected a Hand"),
    (RightSize, {"lettering": None}, "right size: lettering", "a Lettering"),
    (RightSize, {"lettering": lettering(), "known_band_mm": (9, 8)}, "right size: known_band_mm", "9"),
    (setup, {"paper": "a4"}, "setup: paper", "found 'a4', expected a Paper"),
    (setup, {"margin_mm": -1}, "setup: margin_mm", "0 or more"),
    (setup, {"proof": "bars"}, "setup: proof", "did you mean bar"),
    (setup, {"credit": "a\nb"}, "setup: credit", "a line of text"),
    (setup, {"printer": (98, 99)}, "setup: printer", "found a tuple, expected a Printer"),
    (setup, {"papers": [load_paper("a4"), 3]}, "setup: papers", "found 3"),
]


@pytest.mark.parametrize(("make", "values", "place", "words"), BAD)
def test_what_is_unsound_is_not_made(make, values, place, words):
    with pytest.raises(GuidegenError) as caught:
        make(**values)
    message = str(caught.value)
    assert message.startswith(f"{place}: found ")
    assert ", expected " in message
    assert words in message


@pytest.mark.parametrize("one", [paper(), hand(), lettering(), setup(), Printer(98.6, 99.1)])
def test_equal_nouns_hash_alike(one):
    other = replace(one)
    assert other is not one
    assert other == one
    assert hash(other) == hash(one)


def test_a_list_is_kept_as_a_tuple_and_a_whole_number_as_a_float():
    assert setup(papers=[load_paper("a4")]).papers == (load_paper("a4"),)
    assert type(lettering(x_height_mm=14).x_height_mm) is float
    assert type(hand(tips=["brush"]).tips) is tuple


def test_an_error_goes_to_another_process_and_another_place():
    with pytest.raises(BadInputError) as caught:
        setup(margin_mm=-1)
    error = pickle.loads(pickle.dumps(caught.value))
    assert str(error) == str(caught.value)
    assert str(error.at("--margin", "")).startswith("--margin: found -1, expected a margin in mm")
