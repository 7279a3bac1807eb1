"""Letters by family: all of them, each once, those that begin alike together."""

import string

import pytest

from guidegen.hands.library import load_hand
from guidegen.sheets.families import families, in_order

EVERY = string.ascii_lowercase + string.ascii_uppercase + string.digits + "&?!"


@pytest.mark.parametrize("name", ["joined", "lively", "italic", "print"])
def test_every_letter_stands_in_one_family(name):
    found = families(load_hand(name), EVERY)
    assert sorted("".join("".join(family) for family in found)) == sorted(EVERY)
    assert ("a", "d", "g", "q") in found
    assert found[-2:] == (tuple(string.digits), tuple("&?!"))


def test_the_order_is_that_of_the_families_or_as_it_stood():
    hand = load_hand("joined")
    assert in_order(hand, "abcn", "abc") == ("a", "b", "c", "n")
    assert in_order(hand, "abcn", "family") == ("n", "a", "c", "b")
