"""Layers by purpose: the ids are a contract with whoever reads our files, the traits are asked everywhere."""

from __future__ import annotations

import pickle

import pytest

from guidegen.scene import Layer, Purpose


def test_the_ids_of_the_contract():
    told = {"lines", "slant", "letter", "letter-smallest", "letter-largest", "ink", "trace", "labels", "proof"}
    told |= {"dimensions", "arrows", "crop"}
    assert told <= {purpose.value for purpose in Purpose}


@pytest.mark.parametrize("purpose", Purpose)
def test_every_purpose_is_one_kind_of_thing(purpose):
    assert sum((purpose.has_letters, purpose.is_guide, purpose.is_mark, purpose.is_operation)) == 1
    assert purpose.has_letters or not purpose.is_ink


def test_a_purpose_is_its_id_in_a_file():
    assert f"{Purpose.LETTER_SMALLEST}" == Layer(Purpose.LETTER_SMALLEST, ()).id == "letter-smallest"
    assert pickle.loads(pickle.dumps(Layer(Purpose.INK, ()))).purpose is Purpose.INK


def test_a_layer_of_no_known_purpose_is_refused():
    assert Layer("ink", ()).purpose is Purpose.INK
    with pytest.raises(ValueError, match="guides"):
        Layer("guides", ())


def test_names_in_files_of_others_mean_nothing():
    assert Purpose.of("ink") is Purpose.INK
    assert Purpose.of("Layer 1") is Purpose.of(None) is None
