"""Mixes: read from a cell, averaged and blended as colour-science would."""

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.colour.mixes import Mix, blend, hexes, mean_lab, read_mix, solid
from kit.colour.spaces import (
    hex_to_lab,
    lab_to_hex,
    lab_to_linear,
    lab_to_xyz,
    xyz_to_lab,
)
from kit.errors import KitError
from tests.helpers.gold import MATRIX, floats, gold
from tests.helpers.strategies import mixes, random_mixes

ROUNDING = 1e-9  # two ways through the same numbers

MIXES = gold("partitive_mix_examples.csv")


@pytest.mark.parametrize("row", MIXES, ids=lambda row: f"{row['A']} {row['B']}")
def test_mean_of_two_colours(row):
    """Two colours side by side average in linear light, not in hex."""
    weight = float(row["weight_A"])
    mix = Mix((hex_to_lab(row["A"]), hex_to_lab(row["B"])), (weight, 1 - weight))
    assert mean_lab(mix) == pytest.approx(floats(row, "L", "a", "b"), abs=MATRIX)
    assert lab_to_hex(mean_lab(mix)) == row["mix_linear_hex"].lower()
    assert lab_to_hex(mean_lab(mix)) != row["wrong_mix_in_sRGB_hex"].lower()


def test_mean_is_what_colour_science_gives(rng):
    """The mean of any mix is the mean of XYZ, worked out by colour-science."""
    for mix in random_mixes(100, rng):
        xyz = np.array(mix.shares) @ colour.Lab_to_XYZ(np.array(mix.labs))
        assert mean_lab(mix) == pytest.approx(colour.XYZ_to_Lab(xyz), abs=ROUNDING)


@given(mixes())
def test_mean_lies_within_the_mix(mix):
    """No channel of the mean, nor its L*, leaves the range of the mix's colours."""
    lightness = [lab[0] for lab in mix.labs]
    assert min(lightness) - ROUNDING <= mean_lab(mix)[0] <= max(lightness) + ROUNDING
    channels = lab_to_linear(np.array(mix.labs))
    mean = lab_to_linear(np.array(mean_lab(mix)))
    assert (mean >= channels.min(axis=0) - ROUNDING).all()
    assert (mean <= channels.max(axis=0) + ROUNDING).all()


@given(mixes(least=2), st.randoms(use_true_random=False))
def test_order_in_a_mix_does_not_matter(mix, random):
    """The same colours and shares in another order average to the same colour."""
    parts = list(zip(mix.labs, mix.shares, strict=True))
    random.shuffle(parts)
    labs, shares = zip(*parts, strict=True)
    assert mean_lab(Mix(labs, shares)) == pytest.approx(mean_lab(mix), abs=ROUNDING)


@given(mixes(most=1))
def test_solid_is_its_own_mean(mix):
    """A mix of one colour averages to that very colour."""
    assert mean_lab(mix) == mix.labs[0]
    assert solid(mix.labs[0]) == mix


@given(st.lists(st.tuples(mixes(), st.integers(1, 9)), min_size=1, max_size=4))
def test_blend(parts):
    """Shares of a blend add to 1, no colour is named twice, its mean is theirs."""
    held, weights = zip(*parts, strict=True)
    blended = blend(held, weights)
    assert sum(blended.shares) == pytest.approx(1, abs=1e-12)
    assert len(set(blended.labs)) == len(blended.labs)
    assert set(blended.labs) == {lab for mix in held for lab in mix.labs}
    means = lab_to_xyz(np.array([mean_lab(mix) for mix in held]))
    mean = xyz_to_lab(np.average(means, axis=0, weights=weights))
    assert mean_lab(blended) == pytest.approx(mean, abs=1e-6)


def test_blend_leaves_out_what_has_no_weight():
    """A strand of no weight is no part of the blend."""
    one, two = solid((50, 0, 0)), solid((80, 0, 0))
    assert blend((one, two), (2, 0)) == one
    with pytest.raises(ValueError, match="positive share"):
        blend((one, two), (0, 0))


@pytest.mark.parametrize(
    ("n_labs", "shares"),
    [
        (0, ()),
        (1, ()),
        (2, (1,)),
        (1, (0,)),
        (1, (float("nan"),)),
        (2, (2, -1)),
        (2, (1, float("inf"))),
    ],
)
def test_shares_that_make_no_mix(n_labs, shares):
    """A mix without one sound share for each colour cannot be made."""
    with pytest.raises(ValueError, match="one positive share for each colour"):
        Mix(((50, 0, 0),) * n_labs, shares)


def test_mixes_are_values():
    """Mixes of the same colours and proportions are equal and hash alike."""
    one = Mix(((50, 0, 0), (80, 0, 0)), (2, 2))
    two = Mix(([50.0, 0.0, 0.0], [80.0, 0.0, 0.0]), (0.5, 0.5))
    assert one == two
    assert hash(one) == hash(two)
    assert repr(one) == "Mix(#777777 50%, #c6c6c6 50%; L* 67.7)"


def fault(text):
    """The one fault that reading `text` raises."""
    with pytest.raises(KitError) as caught:
        read_mix(text)
    (one,) = caught.value.faults
    return one


@pytest.mark.parametrize(
    ("text", "shares"),
    [
        ("#fff 70%, #000 30%", (0.7, 0.3)),
        ("#fff 70 %,#000 30 %", (0.7, 0.3)),
        ("#fff 12.5%, #000 87.5%", (0.125, 0.875)),
        ("#fff 12,5%, #000 87,5 %", (0.125, 0.875)),
        ("#fff 70%, #000", (0.7, 0.3)),
        ("#fff, #000, #888, red", (0.25, 0.25, 0.25, 0.25)),
        ("#fff 40%, #000, #888", (0.4, 0.3, 0.3)),
        ("lab(81% -1 -3) 40%, white 60%", (0.4, 0.6)),
        ("lab(81% -1 -3), white 60%", (0.4, 0.6)),
        # Thirds and other roundings need not add to 100 exactly.
        ("#fff 33%, #000 33%, #888 33%", (1 / 3, 1 / 3, 1 / 3)),
        ("#fff 100%", (1.0,)),
    ],
)
def test_shares(text, shares):
    """Shares are read with either decimal mark; those left out share what is left."""
    assert read_mix(text)[0].shares == pytest.approx(shares, abs=1e-12)


def test_rough_names_of_a_mix():
    """Only the names are rough, in the order they stand in."""
    assert read_mix("#fff 20%, dusty rose 30%, teal")[1] == ("dusty rose", "teal")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "missing"),
        ("   ", "missing"),
        ("#fff,", "missing"),
        ("#fff,,#000", "missing"),
        ("50%", "missing"),
        ("=A1", "formula"),
        ("@SUM(A1)", "formula"),
        # What a spreadsheet leaves of 000000, 001122, 1e5000, 100000.
        ("0", "colour_eaten"),
        ("1122", "colour_eaten"),
        ("1E+5003", "colour_eaten"),
        ("1.00E+05", "colour_eaten"),
        ("1e10", "colour_eaten"),
        ("100000", "colour_eaten"),
        ("1.5", "colour_eaten"),
        ("-5", "colour_eaten"),
        ("12 345", "colour_eaten"),
        ("000", "colour_eaten"),
        ("#12", "not_a_colour"),
        ("#ggg", "not_a_colour"),
        ("#ffffffff", "not_a_colour"),
        ("#fff70", "not_a_colour"),
        ("##ffffff", "not_a_colour"),
        ("#fff #000", "not_a_colour"),
        ("#fff -5%, #000", "not_a_colour"),
        ("#fff,5%", "not_a_colour"),
        ("lab(81%, -1, -3)", "not_a_colour"),
        ("lab(50 0)", "not_a_colour"),
        ("lab(nan 0 0)", "not_a_colour"),
        ("lab(5_0 0 0)", "not_a_colour"),
        ("lab(101 0 0)", "out_of_range"),
        ("lab(50 0 -161)", "out_of_range"),
        ("rgb(1 2 3)", "not_a_colour"),
        ("nan", "not_a_colour"),
        ("the blue one from the attic", "not_a_colour"),
        ("It is a sort of blue, I think, with some grey in it.", "not_a_colour"),
        ("#fff 70%", "shares"),
        ("#fff 60%, #000 60%", "shares"),
        ("#fff 100%, #000", "shares"),
        ("#fff 0%, #000 100%", "shares"),
        ("#fff 0%, #000", "shares"),
        ("#fff 98%", "shares"),
    ],
)
def test_text_that_is_no_colour(text, code):
    """Nothing is guessed: each kind of slip has its own code."""
    assert fault(text).code == code


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "",
            "found nothing, expected a colour such as #c8cdd0 or a plain English name.",
        ),
        (
            "=A1",
            "found =A1, expected a colour such as #c8cdd0 or a plain English name. "
            "Paste the value instead of the formula.",
        ),
        (
            "1122",
            "found 1122, expected a colour such as #c8cdd0 or a plain English name. A "
            "spreadsheet turns colours without # into numbers; type the colour again "
            "with # in front.",
        ),
        ("#12", "found #12, expected #rrggbb, six digits (here are two)."),
        ("#12345", "found #12345, expected #rrggbb, six digits (here are five)."),
        (
            "#12345678",
            "found #12345678, expected #rrggbb, six digits (here are eight). Leave the "
            "last two out: they say how clear it is.",
        ),
        ("#12345g", "found #12345g, expected #rrggbb, its digits 0 to 9 and a to f."),
        ("# c8cdd0", "found # c8cdd0, expected #c8cdd0, without a blank."),
        ("# fff", "found # fff, expected #fff, without a blank."),
        ("#", "found #, expected #rrggbb, its digits 0 to 9 and a to f."),
        (
            "lab(50 0 200)",
            "found lab(50 0 200), expected L from 0 to 100, a and b within 160 of 0.",
        ),
        (
            "lavendr",
            "found lavendr, expected a colour such as #c8cdd0 or a plain English name. "
            'Did you mean "lavender"?',
        ),
        (
            "dusty  ros",
            "found dusty ros, expected a colour such as #c8cdd0 or a plain English "
            'name. Did you mean "dusty rose"?',
        ),
        (
            "#12606b 50% / #a990c4",
            "found #12606b 50% / #a990c4, expected several colours parted by commas: "
            "#c8cdd0 70%, #8fa3ad 30%.",
        ),
        (
            "#fff 60%, #000 60%",
            "found shares that add to 120 % in #fff 60%, #000 60%, expected shares "
            "above 0 that add to 100 %.",
        ),
    ],
)
def test_sentences(text, sentence):
    """What is said about a cell that holds no colour, whole."""
    with pytest.raises(KitError) as caught:
        read_mix(text)
    assert str(caught.value) == sentence


def test_a_long_sentence_is_shortened():
    """A cell of ten thousand characters is not repeated whole."""
    with pytest.raises(KitError) as caught:
        read_mix("wool " * 2000)
    assert len(str(caught.value)) < 200


@given(
    st.text(max_size=40) | st.text(alphabet="#lab(),.% -0159efRED\u00a0٣", max_size=25)
)
def test_any_text_is_read_or_refused(text):
    """Any text is a mix whose shares add to 1, or a fault: never a crash."""
    try:
        mix, rough = read_mix(text)
    except KitError as error:
        assert str(error)
        return
    assert sum(mix.shares) == pytest.approx(1, abs=1e-12)
    assert np.isfinite(mix.labs).all()
    assert len(rough) <= len(mix.labs)


@given(mixes(most=6))
def test_written_mix_is_read_back(mix):
    """Hex and shares, written as a cell, come back as the same mix."""
    cell = ", ".join(
        f"{text} {100 * share:.12f}%"
        for text, share in zip(hexes(mix), mix.shares, strict=True)
    )
    found, rough = read_mix(cell)
    assert found.labs == mix.labs
    assert found.shares == pytest.approx(mix.shares, abs=1e-12)
    assert rough == ()
