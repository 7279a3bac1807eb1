"""An address and what is chosen are each other's inverse, so a link, a bookmark and Back bring everything back."""

from urllib.parse import parse_qsl

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from guidegen.errors import GuidegenError
from guidegen.hands.library import list_markers
from guidegen.profiles.markers import Marker
from guidegen.web.address import name_of, read_address
from guidegen.web.kinds import KINDS, OF_THE_SHOP

SHIPPED = tuple(entry.marker for entry in list_markers()[0])


def read(pairs):
    return read_address(pairs, SHIPPED, SHIPPED[0], "My marker")


widths = st.floats(0.3, 20.0).map(lambda value: round(value, 3))
words = st.text(st.characters(blacklist_categories=["C", "Z"]), min_size=1, max_size=20)
chosen = st.fixed_dictionaries(
    {"down": widths, "share": st.floats(0.2, 1.0), "tip": st.sampled_from(["brush", "pointed", "broad", "round"])},
    optional={"label": words, "x": widths, "need": st.sampled_from(list(KINDS)), "text": words, "title": words,
              "landscape": st.just("1"), "paper": st.sampled_from(["letter", "a5", "100x150mm"]),
              "hand": st.sampled_from(["lively", "italic", "technical"]), "samples": st.integers(1, 99)},
)  # fmt: skip


@settings(max_examples=60)
@given(chosen)
def test_what_is_read_from_an_address_gives_that_address(values):
    given_pairs = [(key, str(value)) for key, value in values.items() if key != "share"]
    given_pairs.append(("hair", f"{values['down'] * values['share']:.4f}"))
    address = read(given_pairs)
    again = read(parse_qsl(address.query(), keep_blank_values=True))
    assert again == address
    assert again.query() == address.query()


@pytest.mark.parametrize("marker", SHIPPED, ids=[marker.name for marker in SHIPPED])
def test_a_marker_that_ships_comes_back_as_it_is(marker):
    address = read([]).but(marker=marker)
    assert read(parse_qsl(address.query())).marker == marker
    assert name_of(marker.label) == marker.name  # so that no name need stand in the address


def test_the_label_of_a_known_marker_is_not_lent_to_other_widths():
    address = read([("label", "Cobble, medium brush"), ("tip", "brush"), ("down", "3,4"), ("hair", "0.6 mm")])
    assert address.marker == Marker("my-marker", "My marker", "brush", 3.4, 0.6)


def test_every_kind_is_made_by_a_function_that_takes_its_choices():
    """What stands in the table is what the API takes."""
    import inspect
    from importlib import import_module

    from guidegen.api.jobs import MAKERS
    from guidegen.web.work import job

    for kind in KINDS.values():
        call = job(read([("need", kind.name), ("proof", "none"), ("margin_mm", "9"), ("title", "Tide")]))
        takes = inspect.signature(getattr(import_module(MAKERS[kind.make]), kind.make)).parameters
        names = {choice.name for choice in kind.choices} - {"also", "practise", *OF_THE_SHOP}
        assert (set(call.values) | names) <= set(takes), kind.name


@pytest.mark.parametrize(
    "pairs", [[("down", "2")], [("down", "x"), ("hair", "1")], [("need", "x")], [("hand", "./joined")], [("x", "-1")]]
)
def test_what_is_none_is_refused(pairs):
    with pytest.raises(GuidegenError):
        read(pairs)
