import json

import pytest

from guidegen.hands.library import hand_names

KEYS = [
    "marker", "tip", "hand", "rule", "slant_deg", "downstroke_mm", "hairline_mm", "x_height_mm", "ascender_height_mm",
    "descender_mm", "smallest_x_height_mm", "largest_x_height_mm", "counter", "mean_advance_mm", "letters_per_line",
]  # fmt: skip
COUNTER_KEYS = ["width_mm", "length_mm", "shape", "skew", "widest_at", "length_to_width", "tip_deg"]


def figures(cli, *arguments):
    result = cli("size", *arguments, "--json")
    assert result.code == 0, result.err
    assert result.err == ""
    return json.loads(result.out)


def test_json_has_the_keys_of_the_contract_and_no_others(cli):
    found = figures(cli, "cobble")
    assert list(found) == KEYS
    assert list(found["counter"]) == COUNTER_KEYS
    assert {"a4", "letter"} <= set(found["letters_per_line"])


@pytest.mark.parametrize(
    ("marker", "rule", "x_height"),
    [
        ("slate", "nib widths", 5 * 3.0),  # italic: 5 nib widths (check values, broad-edge hands)
        ("flint", "line height", 7 * 0.8),  # ISO 3098 type B: x-height 7 line widths
    ],
)
def test_sizes_that_follow_from_a_ladder(cli, marker, rule, x_height):
    found = figures(cli, marker)
    assert found["rule"] == rule
    assert found["x_height_mm"] == pytest.approx(x_height, abs=0.001)


def test_heights_follow_from_the_proportions(cli):
    found = figures(cli, "cobble")
    assert found["ascender_height_mm"] == pytest.approx(2 * found["x_height_mm"], abs=1e-3)
    assert found["smallest_x_height_mm"] < found["x_height_mm"] < found["largest_x_height_mm"]
    copperplate = figures(cli, "thorn", "--hand", "copperplate")
    assert copperplate["ascender_height_mm"] == pytest.approx(2.5 * copperplate["x_height_mm"], abs=1e-3)  # 3:2:3
    assert copperplate["slant_deg"] == 55


def test_letters_per_line_are_the_line_over_the_mean_advance(cli):
    found = figures(cli, "cobble")
    for paper, width in (("a4", 210.0), ("letter", 8.5 * 25.4)):
        assert found["letters_per_line"][paper] == (width - 24.0) // found["mean_advance_mm"]


def test_without_a_profile_it_is_the_same_as_with_one(cli):
    measured = figures(cli, "--downstroke", "3.2mm", "--hairline", "0.06cm")
    assert measured.pop("marker") == "measured"
    profile = figures(cli, "cobble")
    assert profile.pop("marker") == "cobble"
    assert measured == profile


def test_round_needs_one_width_and_broad_has_an_angle(cli):
    assert figures(cli, "--tip", "round", "--downstroke", "0.5")["x_height_mm"] == pytest.approx(3.5, abs=1e-3)
    assert figures(cli, "--tip", "broad", "--downstroke", "3", "--hairline", "0.3")["hand"] == "italic"


def test_a_verdict_for_a_given_x_height(cli):
    right = figures(cli, "slate")["x_height_mm"]
    for given, verdict, write in [(5, "too small", right), (14, "right", 14), (40, "too large", right)]:
        found = figures(cli, "slate", "--x-height", given)
        assert (found["verdict"], found["write_x_height_mm"]) == (verdict, pytest.approx(write, abs=1e-3))
    said = cli("size", "slate", "--x-height", "5mm").out
    assert "5 mm is too small: write at 15.00 mm" in said


def test_a_slant_of_ones_own(cli):
    assert figures(cli, "cobble", "--slant", "75")["slant_deg"] == 75


def test_the_size_found_by_trial_counts(cli):
    cli("add", "tide", "--tip", "brush", "--downstroke", "3.2", "--hairline", "0.6", "--from-x-height", "11.5")
    assert figures(cli, "tide")["x_height_mm"] == 11.5
    assert "found by trial" in cli("size", "tide").out


@pytest.mark.parametrize("hand", hand_names())
def test_every_hand_can_be_asked(cli, hand):
    marker = (
        "slate" if hand in {"foundational", "half-uncial", "italic", "roman-capitals", "textura", "uncial"} else "flint"
    )
    found = cli("size", marker, "--hand", hand)
    assert found.code == 0, found.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "MARKER: found nothing"),
        (["cobble", "--downstroke", "3"], "not both"),
        (["--downstroke", "3"], "--hairline"),
        (["--downstroke", "3", "--hairline", "4"], "wrong way round"),
        (["--downstroke", "0", "--hairline", "0"], "--downstroke"),
        (["--downstroke", "0.01mm", "--hairline", "0.01mm"], "from 0.05"),
        (["--downstroke", "500mm", "--hairline", "1"], "from 0.05 to 100"),
        (["--downstroke", "-3", "--hairline", "1"], "--downstroke"),
        (["--downstroke", "3ft", "--hairline", "1"], "a length such as"),
        (["--downstroke", "inf", "--hairline", "1"], "a length such as"),
        (["--tip", "broad", "--downstroke", "3", "--hairline", "1", "--nib-angle", "100"], "0 to 90"),
        (["--downstroke", "3", "--hairline", "1", "--nib-angle", "30"], "no nib angle on a brush tip"),
        (["cobble", "--slant", "nan"], "--slant"),
        (["cobble", "--slant", "0"], "20 to 160"),
        (["cobble", "--hand", "joind"], "did you mean joined"),
        (["cobble", "--x-height", "0"], "--x-height"),
        (["cobble.toml"], "no such file"),
    ],
)
def test_bad_input_is_one_line(cli, arguments, words):
    for more in ([], ["--json"]):
        result = cli("size", *arguments, *more)
        assert result.code == 2
        assert result.out == ""
        assert words in result.line


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        (["--downstroke", "3", "--hairline", "4"], "--hairline: found 4.0, expected at most --downstroke, which is 3"),
        (["--tip", "round", "--downstroke", ".5", "--hairline", ".3"], "or --tip brush if pressure changes it"),
        (["--downstroke", "3", "--hairline", "1", "--nib-angle", "30"], "leave it out, or write --tip broad"),
        (["--downstroke", "300", "--hairline", "1"], "--downstroke: found 300.0, expected a width in mm from 0.05"),
    ],
)
def test_an_error_in_measured_widths_names_the_option(cli, arguments, line):
    result = cli("size", *arguments)
    assert result.code == 2
    assert line in result.line
    assert "options" not in result.line
    assert "_mm" not in result.line
