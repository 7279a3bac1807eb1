"""Letterings to lay pages out with, at a size given and not solved for, so that hundreds of pages are quick."""

from functools import cache

from page_checks import a_size

from guidegen.lettering.lettering import Lettering


@cache
def lettering(marker, hand="", factor=4.5):
    size = a_size(marker, hand, factor)
    return Lettering(size.marker, size.hand, size.x_height_mm)
