"""The shelf of balls: order, sizes, shares of the disc, and harmless names."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.colour import read_mix
from kit.colour.spaces import hex_to_lab
from kit.pictures.inventory import group_of
from kit.pictures.shelf import (
    BAR_ROOM,
    N_IN_ROW,
    ball,
    cut_at,
    greys_svg,
    in_shelf_order,
    lengths_svg,
    radius,
    shelf_svg,
)
from kit.pictures.swatches import SURROUND
from tests.helpers.yarns import LABEL, names, yarn

BLUE, RED, GREY = (40.0, 0.0, -40.0), (45.0, 50.0, 25.0), 60.0


def texts(svg):
    """Every text of a picture, from top to bottom."""
    root = ElementTree.fromstring(svg)
    return [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]


def test_the_shelf_runs_from_light_to_dark_with_what_is_left_out_last():
    """Value order, but a ball that is left out stands at the end however light."""
    yarns = [yarn("mid", 50), yarn("dark", 20), yarn("light", 90)]
    out = yarn("out", 95, role="leave out")
    assert names(in_shelf_order([out, *yarns])) == ["light", "mid", "dark", "out"]


def test_families_stand_together_each_from_light_to_dark():
    """By family no family is met twice."""
    yarns = [
        yarn("b1", BLUE),
        yarn("r", RED),
        yarn("b2", (70, 0, -30)),
        yarn("g", GREY),
    ]
    ordered = in_shelf_order(yarns, "family")
    groups = [group_of(one) for one in ordered]
    assert groups == ["reds", "blues", "blues", "neutrals"]
    assert names(ordered)[1:3] == ["b2", "b1"]


def test_volume_goes_with_grams():
    """Eight times the grams make a ball of twice the width; limits keep it in sight."""
    assert radius(80) == pytest.approx(2 * radius(10))
    assert radius(0) == radius(0.1) > 8
    assert radius(5000) == radius(400)


@given(st.floats(0.001, 0.999))
def test_a_cut_leaves_its_share_of_the_disc(share):
    """Counted on a fine grid, which knows no formula for the area."""
    x = (np.arange(2001) - 1000) / 1000
    inside = x[None, :] ** 2 + x[:, None] ** 2 <= 1
    at_left = inside[:, x <= cut_at(share)].sum() / inside.sum()
    # One column of the grid is at most 0.07 % of the disc.
    assert at_left == pytest.approx(share, abs=7e-4)


def test_a_solid_ball_is_its_very_colour():
    """No shading: the colour typed is the colour shown, on the neutral wall."""
    solid = yarn("Sage", hex_to_lab("#9caf88"))
    assert '<circle r="20" fill="#9caf88"/>' in ball(solid, 0, 0, 20)
    assert f'fill="{SURROUND}"' in shelf_svg([solid])
    # CIE 1976 L* of sRGB 0x77 (IEC 61966-2-1): Y = 0.18447, L* = 50.03
    assert hex_to_lab(SURROUND)[0] == pytest.approx(50.03, abs=0.005)


def test_every_colour_of_a_ball_is_there():
    """A variegated ball shows all of its colours."""
    mix, _ = read_mix("#c8cdd0 60%, #8fa3ad 30%, #112233 10%")
    drawn = ball(yarn("Three", mix), 0, 0, 30)
    assert {"#c8cdd0", "#8fa3ad", "#112233"} <= set(re.findall("#[0-9a-f]{6}", drawn))


def test_greys_have_the_value_and_nothing_else():
    """In the grey shelf each paint is neutral and of its ball's L*."""
    yarns = [yarn("blue", BLUE), yarn("red", RED)]
    paints = re.findall('r="17" fill="(#[0-9a-f]{6})"', greys_svg(yarns))
    assert len(paints) == 2
    for paint, one in zip(paints, (yarns[1], yarns[0]), strict=True):
        value, a, b = hex_to_lab(paint)
        # Half a step of an 8-bit grey is 0.2 L*; sRGB's printed matrix is neutral
        # within 0.005.
        assert value == pytest.approx(one.mix.labs[0][0], abs=0.2)
        assert abs(a) < 0.006 > abs(b)


def test_captions_tell_number_value_weight_and_name():
    """Under each ball stand its number, L*, grams and name."""
    shown = texts(shelf_svg([replace(yarn("Sage", 69.4, grams=50.0), no=12)]))
    assert shown == ["12 · L* 69 · 50 g", "Sage"]
    assert texts(shelf_svg([yarn("Sage", 69, grams=None)]))[0].endswith("not weighed")


def test_roles_are_words_not_colours():
    """Bridge, accent and left out are written above their balls."""
    roles = ("use", "bridge", "accent", "leave out")
    shown = " ".join(texts(shelf_svg([yarn(r, 50, role=r) for r in roles])))
    assert all(word in shown for word in ("⌒ bridge", "◆ accent", "left out"))


def test_brackets_name_each_family_once_a_board():
    """A family that goes on to the next board is named there again."""
    yarns = [yarn(f"g{k}", 50 + k) for k in range(N_IN_ROW + 1)]
    assert texts(shelf_svg(yarns, by="family")).count("neutrals") == 2
    assert "neutrals" not in texts(shelf_svg(yarns))


@pytest.mark.parametrize(
    "name",
    ["<script>alert(1)</script>", '"&<>', "\uffff\x0bSage", "👩\u200d👩", "x" * 500],
)
def test_any_name_gives_a_sound_picture(name):
    """Names are text: the picture stays well-formed and holds no new element."""
    for svg in (shelf_svg([yarn(name, 50)], by="family"), greys_svg([yarn(name, 50)])):
        ElementTree.fromstring(svg)
        assert "<script" not in svg


def test_an_empty_shelf_is_a_picture_too():
    """While a file cannot be read the shelf is bare."""
    ElementTree.fromstring(shelf_svg([]))
    ElementTree.fromstring(greys_svg([]))


# --- the lengths ----------------------------------------------------------------------


def plain_texts(svg):
    """The same with blanks for what keeps numbers and units together."""
    return [text.replace("\xa0", " ").replace("\u202f", " ") for text in texts(svg)]


def widths(svg):
    """Widths of the yarns' edges, px, in the order drawn."""
    return [
        float(w) for w in re.findall(r'width="([\d.]+)" height="26" fill="none"', svg)
    ]


def test_bars_are_as_long_as_their_metres():
    """Twice the metres are twice as long; the longest group fills the room."""
    svg = lengths_svg([yarn("a", 80, grams=60.0), yarn("b", 30, grams=30.0)])
    long, short = widths(svg)
    assert long == pytest.approx(2 * short, abs=0.02)
    assert long + short == pytest.approx(BAR_ROOM, abs=0.02)
    assert "360 m · 2 balls" in plain_texts(svg)


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
    shown = plain_texts(lengths_svg(yarns, by="weight"))
    assert shown.index("lace") < shown.index("fingering")


def test_nothing_to_lay_out():
    """An empty stash gives an empty picture."""
    ElementTree.fromstring(lengths_svg([]))
