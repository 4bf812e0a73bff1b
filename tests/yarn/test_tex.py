"""Length, mass and width by tex, against published tables and its definition."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.yarn import to_tex
from kit.yarn.tex import grams, held_tex, metres, strand_width_mm
from tests.helpers.gold import gold, half_digit

TEX = st.floats(1, 20_000)


@pytest.mark.parametrize(
    "row", gold("yarn_conversion_table.csv"), ids=lambda r: r["tex"]
)
def test_conversion_table(row):
    """The printed tex of a yarn follows from its metres per 100 g, and back."""
    tex = to_tex(float(row["m_per_100g"]))
    assert tex == pytest.approx(float(row["tex"]), abs=half_digit(row["tex"]))
    assert to_tex(tex) == pytest.approx(float(row["m_per_100g"]))


@given(st.floats(0.1, 5000), TEX)
def test_grams_come_back(weight_g, tex):
    """Grams to metres and back give the grams again."""
    assert grams(metres(weight_g, tex), tex) == pytest.approx(weight_g)


def test_a_kilometre_weighs_its_tex():
    """The definition: 1000 m of 250 tex weigh 250 g (ISO 1144)."""
    assert grams(1000, 250) == 250
    assert metres(250, 250) == 1000


@pytest.mark.parametrize(
    "row", gold("held_together_examples.csv"), ids=lambda r: r["strands_m_per_100g"]
)
def test_strands_held_together(row):
    """The resultant tex and metres per 100 g are the table's."""
    parts = [float(part) for part in row["strands_m_per_100g"].split(" + ")]
    tex = held_tex(to_tex(part) for part in parts)
    for column, found in (
        ("resultant_tex", tex),
        ("resultant_m_per_100g", to_tex(tex)),
    ):
        assert found == pytest.approx(float(row[column]), abs=half_digit(row[column]))


@given(st.lists(TEX, min_size=1, max_size=4), st.floats(1, 1000))
def test_held_strands_weigh_what_they_weigh_apart(texes, length_m):
    """Mass is conserved: the bundle weighs the sum of its strands."""
    apart = sum(grams(length_m, tex) for tex in texes)
    assert grams(length_m, held_tex(texes)) == pytest.approx(apart)


def test_strands_are_as_wide_as_printed():
    """Widths are the diameters printed for the yarns of the table."""
    for row in gold("yarn_conversion_table.csv"):
        # Peirce 1937 diameters, printed to three decimals.
        printed = float(row["d_mm_Peirce_v1.1"])
        tex = float(row["tex"])
        assert strand_width_mm(tex) == pytest.approx(printed, abs=6e-4)


@given(TEX, st.floats(0.1, 10))
def test_width_goes_with_the_root_of_tex(tex, factor):
    """Four times as heavy is twice as wide; the ratio knows no unit."""
    ratio = strand_width_mm(factor * tex) / strand_width_mm(tex)
    assert ratio == pytest.approx(math.sqrt(factor))
