from hypothesis import given
from hypothesis import strategies as st

from guidegen.errors import Plain, bad_input, did_you_mean, one_line


def test_the_line_names_place_field_found_expected_and_fix():
    error = bad_input("a.toml", "marker.tip", "brsh", "one of brush, round", "did you mean brush?")
    assert str(error) == "a.toml: marker.tip: found 'brsh', expected one of brush, round; did you mean brush?"
    assert str(bad_input("--ppi", "", 0.0, "more")) == "--ppi: found 0.0, expected more"
    assert str(bad_input("a.toml", "", Plain("a folder"), "a file")) == "a.toml: found a folder, expected a file"
    assert "thousands of digits" in str(bad_input("a.toml", "x", 10**5000, "less"))


@given(st.text())
def test_whatever_was_found_the_line_is_one_short_printable_line(text):
    for found in (text, Plain(text)):
        line = str(bad_input("a", "b", found, "c"))
        assert line.isprintable()
        assert len(line) < 130


@given(st.text(), st.integers(10, 100))
def test_one_line_is_no_longer_than_asked(text, limit):
    line = one_line(text, limit)
    assert len(line) <= limit
    assert line.isprintable()


def test_near_words():
    assert did_you_mean("Cobbel", ["cobble", "grit"]) == "did you mean cobble?"
    assert did_you_mean("zzz", ["cobble"]) == ""
