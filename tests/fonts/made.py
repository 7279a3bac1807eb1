"""Faces for the tests, each made once a process."""

from functools import cache

from guidegen.fonts.alphabet import alphabet
from guidegen.fonts.build import Labels, font_face
from guidegen.fonts.compile import compile_face
from guidegen.fonts.faces import FaceStyle
from guidegen.hands.library import DEFAULT_HANDS, load_hand, load_marker
from guidegen.lettering.sizing import right_size

DEMO_MARKERS = ("grit", "pebble", "cobble", "boulder", "thorn", "slate", "flint")
def labels_for(name):
    return Labels(f"Quay {name}")


LOWERCASE = "abcdefghijklmnopqrstuvwxyz"
FEW = "aeihnotbvx.H\u0131\u0301\u0308\u00e1\u00ef"

# Sixty words of the demo's harbour, every letter among them.
_LINES = """
tide harbour boat quay anchor rope sail mast wind wave gull fog pier jetty ferry lamp mole craft drizzle storm
calm breeze north south east west noon dawn dusk moon star chart buoy bell light keel helm oar deck hull
crew cabin galley cargo fish net crab oyster kelp salt sand shell pebble cobble boulder exit zone jolly over view
"""
WORDS = tuple(_LINES.split())


@cache
def letters_of(marker_name, chars=None):
    marker = load_marker(marker_name)
    hand = load_hand(DEFAULT_HANDS[marker.tip])
    return alphabet(right_size(marker, hand).lettering, chars)


@cache
def face_of(marker_name, look="solid", chars=None, *, ruled=False, starts=False):
    return font_face(letters_of(marker_name, chars), FaceStyle(look, ruled, starts), labels_for(marker_name))


@cache
def file_of(marker_name, look="solid", chars=None, file_format="ttf", *, ruled=False, starts=False):
    return compile_face(face_of(marker_name, look, chars, ruled=ruled, starts=starts), file_format)
