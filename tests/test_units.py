import pytest

from guidegen.errors import GuidegenError
from guidegen.units import inches, parse_length_mm, points, shift_per_height


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        # 1 in = 25.4 mm exactly (international inch, 1959); 72 pt = 1 in (PostScript, PDF).
        ("5", 5.0), ("5mm", 5.0), (" 1.2 cm ", 12.0), ("1in", 25.4), ("0.375IN", 9.525), ("72pt", 25.4), (".5", 0.5),
        ("1e1mm", 10.0), ("-3", -3.0),
    ],
)  # fmt: skip
def test_lengths_in_every_unit(text, mm):
    assert parse_length_mm(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["", "mm", "5 furlongs", "5m m", "nan", "inf", "1e999", "٥mm", "5,5", "0x10", "1" * 100]
)
def test_what_is_no_length(text):
    with pytest.raises(GuidegenError, match=r"--margin: found .*, expected a length such as 5mm"):
        parse_length_mm(text, "--margin")


def test_points_and_inches():
    assert points(25.4) == pytest.approx(72)
    assert inches(8.5 * 25.4) == pytest.approx(8.5)


@pytest.mark.parametrize(
    # Cotangents, computed outside (a table of slants used in handwriting: 52, 54, 55, 60 and 75 degrees).
    ("slant_deg", "shift"), [(52, 0.78129), (54, 0.72654), (55, 0.70021), (60, 0.57735), (75, 0.26795), (90, 0.0)],
)  # fmt: skip
def test_shift_per_height(slant_deg, shift):
    assert shift_per_height(slant_deg) == pytest.approx(shift, abs=5e-6)


@pytest.mark.parametrize(("text", "fix"), [("2,4", "write 2.4"), (" 1,25 cm ", "write 1.25 cm"), ("2,4,1", "")])
def test_a_decimal_comma_is_told_how_to_be_written(text, fix):
    with pytest.raises(GuidegenError) as refused:
        parse_length_mm(text)
    assert str(refused.value).partition("bare number of mm")[2].removeprefix("; ") == fix
