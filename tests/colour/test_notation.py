"""One colour as text: its forms, everyday names, CSS lab()."""

import colour
import pytest
from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

from kit.colour.mixes import hexes, read_mix
from kit.colour.notation import named_otherwise, read_colour
from kit.colour.spaces import (
    lab_to_hex,
)
from tests.helpers.gold import MATRIX, floats, gold
from tests.helpers.strategies import random_labs

EXAMPLES = gold("srgb_lab_examples.csv")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("#c8cdd0", "#c8cdd0"),
        ("#C8CdD0", "#c8cdd0"),
        ("c8cdd0", "#c8cdd0"),
        ("  #c8cdd0 ", "#c8cdd0"),
        ("#fa0", "#ffaa00"),
        ("fa0", "#ffaa00"),
        ("#000", "#000000"),
        ("#100000", "#100000"),
        ("#000000", "#000000"),
        ("123456", "#123456"),
        ("lab(0 0 0)", "#000000"),
        ("LAB( 100%  0   0 )", "#ffffff"),
    ],
)
def test_forms_of_one_colour(text, found):
    """Six or three hex digits in either case, with or without #, and CSS lab()."""
    mix, rough = read_mix(text)
    assert hexes(mix) == (found,)
    assert mix.shares == (1.0,)
    assert rough == ()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        # CSS Color 4, 6.1, table of named colours.
        ("RebeccaPurple", "#663399"),
        ("dark sea green", "#8fbc8f"),
        ("Light  Gray", "#d3d3d3"),
        ("lightgrey", "#d3d3d3"),
        ("green", "#008000"),  # the survey's green is #15b01a: CSS wins
        # The xkcd colour survey's list (CC0), as matplotlib carries it.
        ("dusty rose", "#c0737a"),
        ("DUSTY ROSE", "#c0737a"),
        ("blue/green", "#0f9b8e"),
        ("steel gray", "#6f828a"),  # steel grey there
    ],
)
def test_names(text, found):
    """Everyday names are read in any case and spelling of grey, and called rough."""
    mix, rough = read_mix(text)
    assert hexes(mix) == (found,)
    assert rough == (text,)


def test_the_surveys_names_for_certain():
    """With xkcd: before it a name is the survey's, as matplotlib carries it; a dozen
    are there twice, with and without a blank (light blue, lightblue)."""
    spelt: dict[str, set[str]] = {}
    for name, code in XKCD_COLORS.items():
        spelt.setdefault(name.replace(" ", ""), set()).add(code)
    for name in XKCD_COLORS:
        lab, is_rough = read_colour(name)
        assert lab_to_hex(lab) in spelt[name.replace(" ", "")]
        assert is_rough


def test_names_that_are_two_colours():
    """The survey's is told where the web has another; names in one list are one."""
    assert named_otherwise("Brown") == XKCD_COLORS["xkcd:brown"] != CSS4_COLORS["brown"]
    assert named_otherwise("black") is named_otherwise("dusty rose") is None
    assert named_otherwise("xkcd:brown") is named_otherwise("rebeccapurple") is None


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["name"])
def test_css_lab_of_known_colours(row):
    """CSS lab() holds D50 numbers; adapted to D65 they are the colour's own."""
    L, a, b = (row[name] for name in ("L_D50_Bradford", "a_D50", "b_D50"))
    lab, rough = read_colour(f"lab({L} {a} {b})")
    assert lab == pytest.approx(floats(row, "L_D65", "a_D65", "b_D65"), abs=MATRIX)
    assert not rough


def test_css_lab_is_what_colour_science_gives(rng):
    """Bradford adaptation from D50 to D65, on numbers and on percentages."""
    whites = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    for L, a, b in random_labs(100, rng).round(3).tolist():
        xyz = colour.chromatic_adaptation(
            colour.Lab_to_XYZ([L, a, b], whites["D50"]),
            colour.xy_to_XYZ(whites["D50"]),
            colour.xy_to_XYZ(whites["D65"]),
            transform="Bradford",
        )
        theirs = colour.XYZ_to_Lab(xyz)
        assert read_colour(f"lab({L} {a} {b})")[0] == pytest.approx(theirs, abs=1e-6)
        # CSS Color 4, 9.3: 100% is 100 for L and 125 for a and b.
        percent = f"lab({L}% {a / 1.25}% {b / 1.25}%)"
        assert read_colour(percent)[0] == pytest.approx(theirs, abs=1e-6)
