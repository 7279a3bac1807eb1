import datetime as dt
import tomllib
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from guidegen.errors import GuidegenError
from guidegen.profiles.markers import TIPS, Marker, marker_from_table, marker_to_toml

GOOD = {"name": "cobble", "label": "Cobble, medium brush", "tip": "brush", "downstroke_mm": 3.2, "hairline_mm": 0.6}
MISSING = object()
MADE_OF = {entry.name for entry in fields(Marker)}


def read(**changes):
    entries = {key: value for key, value in (GOOD | changes).items() if value is not MISSING}
    return marker_from_table({"marker": entries}, "cobble.toml")


def test_the_example_of_the_contract():
    text = """
    [marker]
    name = "cobble"
    label = "Cobble, medium brush"
    tip = "brush"
    downstroke_mm = 3.2
    hairline_mm = 0.6
    """
    assert marker_from_table(tomllib.loads(text), "x") == Marker("cobble", "Cobble, medium brush", "brush", 3.2, 0.6)


def test_all_optional_keys():
    marker = read(
        tip="broad", nib_angle_deg=40, x_height_mm=9, downstroke_sd_mm=0.1, hairline_sd_mm=0, samples=12,
        measured_on=dt.date(2026, 3, 4),
    )  # fmt: skip
    assert marker.nib_angle_deg == 40.0
    assert marker.samples == 12
    assert marker.measured_on == "2026-03-04"


def sound_names(changes):
    """Python itself refuses arguments that are missing or unknown."""
    return MISSING not in changes.values() and set(changes) <= MADE_OF


BAD = [
    # changes, field named, words of the message
    ({"name": MISSING}, "marker.name", "nothing"),
    ({"hairline_mm": MISSING}, "marker.hairline_mm", "nothing"),
    ({"downstroke": 3.2}, "marker.downstroke", "did you mean downstroke_mm"),
    ({"colour": "red"}, "marker.colour", "unknown key"),
    ({"name": "Cobble"}, "marker.name", "lower-case"),
    ({"name": "../cobble"}, "marker.name", "lower-case"),
    ({"name": "cobble\n"}, "marker.name", "lower-case"),
    ({"name": ""}, "marker.name", "lower-case"),
    ({"name": 7}, "marker.name", "lower-case"),
    ({"name": "x" * 61}, "marker.name", "at most 60"),
    ({"label": ""}, "marker.label", "text"),
    ({"label": "a\nb"}, "marker.label", "line of text"),
    ({"label": "x" * 81}, "marker.label", "80"),
    ({"label": 3}, "marker.label", "text"),
    ({"tip": "brsh"}, "marker.tip", "did you mean brush"),
    ({"tip": ["brush"]}, "marker.tip", "one of brush, pointed, broad, round"),
    ({"downstroke_mm": "3.2"}, "marker.downstroke_mm", "without quotes"),
    ({"downstroke_mm": True}, "marker.downstroke_mm", "a width in mm"),
    ({"downstroke_mm": float("nan")}, "marker.downstroke_mm", "found nan"),
    ({"downstroke_mm": float("inf")}, "marker.downstroke_mm", "found inf"),
    ({"downstroke_mm": 10**400}, "marker.downstroke_mm", "a width in mm"),
    ({"downstroke_mm": 10**5000}, "marker.downstroke_mm", "a width in mm"),
    ({"downstroke_mm": 0}, "marker.downstroke_mm", "from 0.05 to 100"),
    ({"downstroke_mm": -3.2}, "marker.downstroke_mm", "from 0.05 to 100"),
    ({"downstroke_mm": 500}, "marker.downstroke_mm", "found 500"),
    ({"hairline_mm": 0.01}, "marker.hairline_mm", "found 0.01"),
    ({"hairline_mm": 3.3}, "marker.hairline_mm", "at most downstroke_mm"),
    ({"tip": "round"}, "marker.hairline_mm", "the same as downstroke_mm"),
    ({"tip": "broad"}, "marker.nib_angle_deg", "nib_angle_deg = 40"),
    ({"nib_angle_deg": 40}, "marker.nib_angle_deg", "no nib angle on a brush tip"),
    ({"tip": "broad", "nib_angle_deg": 91}, "marker.nib_angle_deg", "0 to 90"),
    ({"tip": "broad", "nib_angle_deg": "40"}, "marker.nib_angle_deg", "without quotes"),
    ({"x_height_mm": 0}, "marker.x_height_mm", "a height in mm"),
    ({"downstroke_sd_mm": -0.1}, "marker.downstroke_sd_mm", "standard deviation"),
    ({"samples": 0}, "marker.samples", "whole number"),
    ({"samples": 2.5}, "marker.samples", "whole number"),
    ({"samples": True}, "marker.samples", "whole number"),
    ({"measured_on": 3}, "marker.measured_on", "text"),
]


@pytest.mark.parametrize(("changes", "field", "words"), BAD)
def test_a_bad_profile_names_file_field_found_and_expected(changes, field, words):
    with pytest.raises(GuidegenError) as caught:
        read(**changes)
    message = str(caught.value)
    assert message.startswith(f"cobble.toml: {field}: found ")
    assert ", expected " in message
    assert words in message
    assert len(message) < 400
    assert message.isprintable()


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({}, "an empty file"),
        ({"name": "cobble"}, r"\[marker\]"),
        ({"marker": "cobble"}, r"\[marker\]"),
        ({"marker": [GOOD]}, r"\[marker\]"),
        ({"marker": GOOD, "hand": {}}, "only"),
    ],
)
def test_a_file_that_holds_something_else(table, words):
    with pytest.raises(GuidegenError, match=words):
        marker_from_table(table, "x.toml")


def widths():
    return st.floats(0.05, 100.0, allow_nan=False)


@st.composite
def markers(draw):
    tip = draw(st.sampled_from(TIPS))
    hairline, downstroke = sorted([draw(widths()), draw(widths())])
    optional = {
        "x_height_mm": st.floats(0.05, 1000.0),
        "downstroke_sd_mm": st.floats(0.0, 100.0),
        "hairline_sd_mm": st.floats(0.0, 100.0),
        "samples": st.integers(1, 10**6),
        "measured_on": labels(200),
    }
    chosen = {key: draw(strategy) for key, strategy in optional.items() if draw(st.booleans())}
    if tip == "broad":
        chosen["nib_angle_deg"] = draw(st.floats(0.0, 90.0))
    return Marker(
        name=draw(st.from_regex(r"[a-z0-9-]{1,60}", fullmatch=True)),
        label=draw(labels(80)),
        tip=tip,
        downstroke_mm=downstroke,
        hairline_mm=downstroke if tip == "round" else hairline,
        **chosen,
    )


def labels(longest):
    return st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=longest).filter(
        lambda text: text.strip() and text.isprintable()
    )


@given(markers())
def test_written_and_read_back_it_is_the_same_marker(marker):
    assert marker_from_table(tomllib.loads(marker_to_toml(marker)), "x") == marker


def test_awkward_labels_survive():
    for label in ['"quoted"', "back\\slash", "Ærø \N{RIGHT SINGLE QUOTATION MARK}26", "tab-free # [marker]", "'''"]:
        marker = replace(read(), label=label)
        assert marker_from_table(tomllib.loads(marker_to_toml(marker)), "x") == marker


@pytest.mark.parametrize(("changes", "field", "words"), [entry for entry in BAD if sound_names(entry[0])])
def test_a_marker_made_in_a_script_is_checked_alike(changes, field, words):
    with pytest.raises(GuidegenError) as caught:
        Marker(**(GOOD | changes))
    message = str(caught.value)
    assert message.startswith(f"marker: {field.removeprefix('marker.')}: found ")
    assert words in message


def test_a_marker_changed_is_checked_too():
    with pytest.raises(GuidegenError, match="at most downstroke_mm"):
        replace(read(), hairline_mm=4.0)


def test_equal_measures_make_equal_markers():
    """An int, a float and a float of numpy that say the same are the same width, to caches too."""
    whole, same = Marker("m", "M", "brush", 3, 1), Marker("m", "M", "brush", np.float64(3.0), 1.0)
    assert whole == same
    assert hash(whole) == hash(same)
    assert type(whole.downstroke_mm) is type(same.downstroke_mm) is float
