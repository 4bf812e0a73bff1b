"""Yarn laid end to end: bars as long as their metres."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest

from kit.pictures.lengths import ROOM, lengths_svg
from tests.helpers.yarns import LABEL, yarn


def widths(svg):
    """Widths of the yarns' edges, px, in the order drawn."""
    return [
        float(w) for w in re.findall(r'width="([\d.]+)" height="26" fill="none"', svg)
    ]


def words(svg):
    root = ElementTree.fromstring(svg)
    found = root.iter("{http://www.w3.org/2000/svg}text")
    return [e.text.replace("\xa0", " ").replace("\u202f", " ") for e in found]


def test_bars_are_as_long_as_their_metres():
    """Twice the metres are twice as long; the longest group fills the room."""
    svg = lengths_svg([yarn("a", 80, grams=60.0), yarn("b", 30, grams=30.0)])
    long, short = widths(svg)
    assert long == pytest.approx(2 * short, abs=0.02)
    assert long + short == pytest.approx(ROOM, abs=0.02)
    assert "360 m · 2 balls" in words(svg)


def test_left_out_and_unknown_lengths_have_no_place():
    """Only what can be knitted is laid out."""
    yarns = [
        yarn("in", 50),
        yarn("out", 50, role="leave out"),
        yarn("blank", 50, grams=None),
    ]
    assert len(widths(lengths_svg(yarns))) == 1


def test_weights_stand_thinnest_first():
    """By weight the groups follow the yarn weight system, not the alphabet."""
    lace = replace(LABEL, weight="lace")
    yarns = [yarn("f", 90), replace(yarn("l", 20), label=lace)]
    shown = words(lengths_svg(yarns, by="weight"))
    assert shown.index("lace") < shown.index("fingering")


def test_nothing_to_lay_out():
    """An empty stash gives an empty picture."""
    ElementTree.fromstring(lengths_svg([]))
