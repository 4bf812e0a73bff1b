"""Colours and mixes against colour-science, published values and the text of a cell."""

import csv
from pathlib import Path

import colour
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.colors import CSS4_COLORS, XKCD_COLORS

from kit.colour.spaces import (
    WHITE_D50,
    WHITE_D65,
    Mix,
    blend,
    chroma_hue,
    hex_to_lab,
    hexes,
    lab_to_hex,
    lab_to_linear,
    lab_to_xyz,
    linear_to_lab,
    linear_to_srgb1,
    mean_lab,
    named_otherwise,
    read_colour,
    read_mix,
    solid,
    srgb1_to_linear,
    xyz_to_lab,
)
from kit.errors import KitError
from tests.helpers.strategies import (
    colours,
    hex_colours,
    mixes,
    random_labs,
    random_mixes,
)

GOLD = Path(__file__).parents[1] / "gold"
# The printed matrix of IEC 61966-2-1 differs from full-precision primaries by as much
# as 0.026 dE*ab, so values computed from those are met within 0.05.
MATRIX = 0.05
ROUNDING = 1e-9  # two ways through the same numbers


def gold(name):
    """Rows of a gold file as dictionaries, its `#` header left out."""
    lines = (GOLD / name).read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if not line.startswith("# "))
    return list(csv.DictReader(lines[start:]))


def floats(row, *columns):
    return np.array([float(row[column]) for column in columns])


EXAMPLES = gold("srgb_lab_examples.csv")
MIXES = gold("partitive_mix_examples.csv")


# --- sRGB, XYZ, CIELAB ----------------------------------------------------------------


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["name"])
def test_hex_to_lab(row):
    """Hex meets CIELAB values computed elsewhere, and comes back the same."""
    lab = hex_to_lab(row["hex"])
    assert lab == pytest.approx(floats(row, "L_D65", "a_D65", "b_D65"), abs=MATRIX)
    assert lab_to_hex(lab) == row["hex"].lower()


def test_hex_to_lab_is_what_colour_science_gives(rng):
    """Every colour a screen can show has colour-science's own default CIELAB."""
    srgb255 = rng.integers(0, 256, (2000, 3))
    ours = [hex_to_lab("#{:02x}{:02x}{:02x}".format(*row)) for row in srgb255]
    theirs = colour.XYZ_to_Lab(colour.sRGB_to_XYZ(srgb255 / 255))
    np.testing.assert_allclose(ours, theirs, atol=ROUNDING)


def test_curves_are_those_of_colour_science():
    """Both sRGB curves agree, also on either side of their joints and outside 0-1."""
    srgb1 = np.concatenate(
        [np.linspace(-0.2, 1.2, 281), [0.04045, 0.0404499, 0.0404501]]
    )
    linear = np.concatenate([np.linspace(-0.1, 1.5, 321), [0.0031308, 0.00313081]])
    # Just below 0.04045 it takes the other piece of the curve, 2.4e-9 away.
    np.testing.assert_allclose(
        srgb1_to_linear(srgb1), colour.models.eotf_sRGB(srgb1), atol=2.5e-9
    )
    np.testing.assert_allclose(
        linear_to_srgb1(linear), colour.models.eotf_inverse_sRGB(linear), atol=1e-12
    )


def test_xyz_and_lab_are_those_of_colour_science(rng):
    """CIELAB from XYZ and back, down to the linear part of the lightness curve."""
    xyz = np.concatenate(
        [rng.uniform(0, 1.1, (500, 3)), rng.uniform(0, 0.02, (500, 3))]
    )
    labs = random_labs(1000, rng)
    np.testing.assert_allclose(xyz_to_lab(xyz), colour.XYZ_to_Lab(xyz), atol=ROUNDING)
    theirs = colour.Lab_to_XYZ(labs)
    np.testing.assert_allclose(lab_to_xyz(labs), theirs, atol=ROUNDING)
    np.testing.assert_allclose(xyz_to_lab(lab_to_xyz(labs)), labs, atol=ROUNDING)


def test_whites():
    """D65 and D50 are the chromaticities that colour-science keeps for them."""
    whites = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    np.testing.assert_allclose(WHITE_D65, colour.xy_to_XYZ(whites["D65"]), atol=1e-12)
    np.testing.assert_allclose(WHITE_D50, colour.xy_to_XYZ(whites["D50"]), atol=1e-12)


def test_greys_are_neutral():
    """A grey of sRGB is neutral within 0.008, what the printed matrix leaves over."""
    greys = np.array([hex_to_lab(f"#{i:02x}{i:02x}{i:02x}") for i in range(256)])
    assert np.abs(greys[:, 1:]).max() < 0.008
    assert (np.diff(greys[:, 0]) > 0).all()
    assert greys[[0, -1], 0] == pytest.approx([0, 100], abs=ROUNDING)


@given(hex_colours)
def test_hex_round_trip(text):
    """Every hex comes back from CIELAB as it was."""
    assert lab_to_hex(hex_to_lab(text)) == text


@given(colours)
def test_any_lab_has_a_hex(lab):
    """A colour that no screen can show is clipped channel by channel."""
    shown = linear_to_srgb1(np.clip(lab_to_linear(np.array(lab)), 0, 1)) * 255
    text = lab_to_hex(lab)
    channels = [int(text[i : i + 2], 16) for i in (1, 3, 5)]
    assert channels == pytest.approx(shown, abs=0.5 + ROUNDING)
    assert lab_to_linear(np.array(lab)) == pytest.approx(
        colour.XYZ_to_sRGB(colour.Lab_to_XYZ(lab), apply_cctf_encoding=False),
        abs=1e-3,  # colour-science rounds the inverse matrix to four digits
    )


@given(colours)
def test_chroma_and_hue(lab):
    """Chroma and hue are the polar form that colour-science gives, hue in 0-360."""
    chroma, hue = chroma_hue(lab)
    _, their_chroma, their_hue = colour.models.Lab_to_LCHab(lab)
    assert chroma == pytest.approx(their_chroma, abs=ROUNDING)
    assert hue == pytest.approx(their_hue, abs=ROUNDING)
    assert 0 <= hue < 360


# --- mixes ----------------------------------------------------------------------------


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


# --- text -> colour -------------------------------------------------------------------


def fault(text):
    """The one fault that reading `text` raises."""
    with pytest.raises(KitError) as caught:
        read_mix(text)
    (one,) = caught.value.faults
    return one


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


def test_rough_names_of_a_mix():
    """Only the names are rough, in the order they stand in."""
    assert read_mix("#fff 20%, dusty rose 30%, teal")[1] == ("dusty rose", "teal")


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


def test_linear_light_to_lab(rng):
    """The short way from linear light agrees with the way over hex and XYZ."""
    linear = rng.uniform(0, 1, (200, 3))
    theirs = colour.XYZ_to_Lab(
        colour.RGB_to_XYZ(linear, "sRGB", apply_cctf_decoding=False)
    )
    np.testing.assert_allclose(linear_to_lab(linear), theirs, atol=ROUNDING)
    np.testing.assert_allclose(lab_to_linear(theirs), linear, atol=ROUNDING)
