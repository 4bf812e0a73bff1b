"""Units, linear density and weight classes against definitions and published charts."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.yarn import yardage

GOLD = Path(__file__).parents[1] / "gold"
SCALES = [*yardage.LENGTH_IN_A_MASS, *yardage.MASS_OF_A_LENGTH]
TEX = st.floats(1, 20_000)

# The gold table's name for a system -> ours.
SYSTEMS = {
    "Ne_cotton (840 yd hanks/lb)": "Ne",
    "NeK_worsted (560 yd hanks/lb)": "NeK",
    "woollen_run (1600 yd/lb)": "woollen run",
    "Yorkshire_woollen_skein (256 yd/lb)": "Yorkshire skein",
    "linen_lea (300 yd/lb)": "linen lea",
    "yards_per_lb": "yards_per_pound",
    "Nm (m/g)": "Nm",
    "metres_per_100g": "metres_per_100g",
    "metres_per_50g": "metres_per_50g",
    "yards_per_100g": "yards_per_100g",
    "yards_per_oz (avoirdupois 28.349523125 g)": "yards_per_ounce",
    "denier": "denier",
    "decitex": "decitex",
    "kilotex": "kilotex",
}
COLUMNS = {
    "tex": "tex",
    "Nm": "Nm",
    "denier": "denier",
    "Ne_cotton": "Ne",
    "NeK_worsted": "NeK",
    "yd_per_lb": "yards_per_pound",
    "yd_per_100g": "yards_per_100g",
}


def gold(name):
    """Rows of a gold file as dictionaries, its `#` header left out."""
    lines = (GOLD / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def half_digit(printed):
    """Half of the last printed digit, and a hair for binary fractions on the edge."""
    decimals = len(printed.partition(".")[2])
    return 0.5 * 10**-decimals * (1 + 1e-6)


# --- units ----------------------------------------------------------------------------


def test_pound_ounce_and_yard_are_the_exact_ones():
    """The 1959 agreement's factors hold, and sixteen ounces make a pound."""
    # International yard and pound agreement, 1959 (e.g. NIST SP 811, appendix B).
    assert (yardage.GRAMS_PER_POUND, yardage.METRES_PER_YARD) == (453.59237, 0.9144)
    # 28.349523125 g has eleven digits and is exact: a sixteenth of the pound.
    assert yardage.GRAMS_PER_OUNCE == 28.349523125
    assert math.isclose(16 * yardage.GRAMS_PER_OUNCE, 453.59237, rel_tol=1e-15)


@pytest.mark.parametrize(
    "row", gold("yarn_number_factors.csv"), ids=lambda r: r["system"]
)
def test_every_system_has_its_constant(row):
    """A yarn of number 1 has the tex that the factor table prints."""
    tex = yardage.to_tex(1, SYSTEMS[row["system"]])
    if row["formula"] == "tex = N / 9" or row["formula"] == "tex = N / 10":
        assert math.isclose(tex, 1 / float(row["constant"]), rel_tol=1e-15)
    else:
        assert tex == pytest.approx(
            float(row["constant"]), abs=half_digit(row["constant"])
        )


def test_the_factor_table_covers_every_scale():
    """No scale of ours is without an outside value."""
    listed = {SYSTEMS[row["system"]] for row in gold("yarn_number_factors.csv")}
    assert listed | {"tex"} == set(SCALES)


@pytest.mark.parametrize(
    "row", gold("yarn_conversion_table.csv"), ids=lambda r: r["tex"]
)
def test_conversion_table(row):
    """Each printed number of a yarn follows from its metres per 100 g."""
    tex = yardage.to_tex(float(row["m_per_100g"]), "metres_per_100g")
    for column, scale in COLUMNS.items():
        number = yardage.from_tex(tex, scale)
        assert number == pytest.approx(float(row[column]), abs=half_digit(row[column]))


def test_two_wrong_rules_seen_in_print_are_not_ours():
    """Ne x denier is 5314.87 (not 0.5315) and Nm is 1.6934 x Ne (not 17 x)."""
    # From the definitions: 9 x 590.541247; 1000 / 590.541247.
    assert yardage.from_tex(yardage.to_tex(1, "Ne"), "denier") == pytest.approx(
        5314.87, abs=0.005
    )
    assert yardage.from_tex(yardage.to_tex(1, "Ne"), "Nm") == pytest.approx(
        1.6934, abs=0.00005
    )


@given(st.floats(0.01, 1e6), st.sampled_from(SCALES))
def test_numbers_come_back(number, scale):
    """Any scale to tex and back gives the number again."""
    assert yardage.from_tex(yardage.to_tex(number, scale), scale) == pytest.approx(
        number
    )


@given(st.floats(0.1, 5000), TEX)
def test_grams_come_back(weight_g, tex):
    """Grams to metres and back give the grams again."""
    assert yardage.grams(yardage.metres(weight_g, tex), tex) == pytest.approx(weight_g)


def test_a_kilometre_weighs_its_tex():
    """The definition: 1000 m of 250 tex weigh 250 g (ISO 1144)."""
    assert yardage.grams(1000, 250) == 250
    assert yardage.metres(250, 250) == 1000


@pytest.mark.parametrize("number", [0, -3, math.nan, math.inf])
def test_a_number_of_nothing_is_refused(number):
    """0, negative and endless lengths on a label are refused with a sentence."""
    with pytest.raises(KitError) as caught:
        yardage.to_tex(number, "metres_per_100g")
    assert str(caught.value) == (
        f"metres_per_100g: found {number:g}, expected more than 0. "
        "Read it again on the label, or leave it blank."
    )


@pytest.mark.parametrize("convert", [yardage.to_tex, yardage.from_tex])
def test_an_unknown_scale_names_the_nearest(convert):
    """A misspelt scale is answered with the right one."""
    with pytest.raises(KitError, match='Did you mean "metres_per_100g"'):
        convert(100, "meters_per_100g")


# --- strands held together ------------------------------------------------------------


@pytest.mark.parametrize(
    "row", gold("held_together_examples.csv"), ids=lambda r: r["strands_m_per_100g"]
)
def test_strands_held_together(row):
    """The resultant tex, metres per 100 g and Nm are the table's."""
    parts = [float(part) for part in row["strands_m_per_100g"].split(" + ")]
    tex = yardage.held_tex(yardage.to_tex(part, "metres_per_100g") for part in parts)
    for column, scale in {
        "resultant_tex": "tex",
        "resultant_m_per_100g": "metres_per_100g",
        "resultant_Nm": "Nm",
    }.items():
        number = yardage.from_tex(tex, scale)
        assert number == pytest.approx(float(row[column]), abs=half_digit(row[column]))


@given(st.lists(TEX, min_size=1, max_size=4), st.floats(1, 1000))
def test_held_strands_weigh_what_they_weigh_apart(texes, length_m):
    """Mass is conserved: the bundle weighs the sum of its strands."""
    apart = sum(yardage.grams(length_m, tex) for tex in texes)
    assert yardage.grams(length_m, yardage.held_tex(texes)) == pytest.approx(apart)


def test_strands_are_as_wide_as_printed():
    """Widths are the diameters printed for the yarns of the table."""
    for row in gold("yarn_conversion_table.csv"):
        # Peirce 1937 diameters, printed to three decimals.
        printed = float(row["d_mm_Peirce_v1.1"])
        tex = float(row["tex"])
        assert yardage.strand_width_mm(tex) == pytest.approx(printed, abs=6e-4)


@given(TEX, st.floats(0.1, 10))
def test_width_goes_with_the_root_of_tex(tex, factor):
    """Four times as heavy is twice as wide; the ratio knows no unit (tex or denier)."""
    ratio = yardage.strand_width_mm(factor * tex) / yardage.strand_width_mm(tex)
    assert ratio == pytest.approx(math.sqrt(factor))


# --- weight classes -------------------------------------------------------------------


def _number(cell, blank):
    return float(cell) if cell else blank


@pytest.mark.parametrize(
    "row", gold("cyc_yarn_weight_system.csv"), ids=lambda r: r["name"]
)
def test_weight_classes_are_the_chart(row):
    """Each class has the chart's stitches, needles in mm and US labels."""
    weight = yardage.weight_class(row["number"])
    stitches = (
        _number(row["knit_sts_per_4in_min"], 0),
        _number(row["knit_sts_per_4in_max"], math.inf),
    )
    needles = float(row["needle_mm_min"]), _number(row["needle_mm_max"], math.inf)
    assert weight.number == int(row["number"])
    assert weight.stitches_per_10cm == stitches
    assert weight.needle_mm == needles
    assert weight.needle_us == (row["needle_US_min"], row["needle_US_max"])


@pytest.mark.parametrize(
    "row", gold("cyc_yarn_weight_system.csv"), ids=lambda r: r["name"]
)
def test_the_chart_names_lead_to_their_class(row):
    """A class answers to the chart's name for it and to every type listed there."""
    elsewhere = {("Lace", "fingering"), ("Fine", "baby"), ("Jumbo", "roving")}
    assert yardage.weight_class(row["name"]).number == int(row["number"])
    for word in row["types"].split("; "):
        if word != "10-count crochet thread" and (row["name"], word) not in elsewhere:
            assert yardage.weight_class(word).number == int(row["number"])


def test_us_labels_and_millimetres_agree():
    """The needle chart gives each class's mm for its US label, from a second source."""
    mm = {row["US"]: float(row["mm"]) for row in gold("needle_sizes_us_mm.csv")}
    for weight in yardage.WEIGHTS:
        for label, size in zip(weight.needle_us, weight.needle_mm, strict=True):
            assert label == "" or mm[label] == size


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("sock", "fingering"),
        ("Fingering", "fingering"),
        ("  DK ", "DK"),
        ("dk weight", "DK"),
        ("aran", "worsted"),
        ("Chunky", "bulky"),
        ("SUPER  BULKY", "super bulky"),
        ("super-bulky", "super bulky"),
        ("laceweight", "lace"),
        ("jumbo", "jumbo"),
        ("4", "worsted"),
        ("4 ply", "fingering"),
    ],
)
def test_the_trades_words(text, name):
    """Everyday words, however typed, lead to the class the trade means."""
    assert yardage.weight_class(text).name == name


def test_no_word_belongs_to_two_classes():
    """Names and other names are all different."""
    words = [w for c in yardage.WEIGHTS for w in (c.name, *c.also)]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("text", ["fingring", "8", ""])
def test_an_unknown_weight_lists_the_known(text):
    """A word of no class is refused, the eight classes named first."""
    with pytest.raises(KitError) as caught:
        yardage.weight_class(text)
    hint = ' Did you mean "fingering"?' if text == "fingring" else ""
    assert str(caught.value).startswith(
        f'No yarn weight called "{text}".{hint} Known: lace, fingering, sport, DK, '
        "worsted, bulky, super bulky, jumbo, "
    )


def test_typical_metres_lie_in_the_class_and_fall_with_it():
    """Each figure lies in its range; thicker classes run fewer metres."""
    typical = [yardage.typical_metres_per_100g(weight) for weight in yardage.WEIGHTS]
    for weight, middle in zip(yardage.WEIGHTS, typical, strict=True):
        low, high = weight.metres_per_100g
        assert low < middle < high
    assert typical == sorted(typical, reverse=True)


def test_two_strands_of_fingering_make_500_tex():
    """The fabric the kit assumes by default: two typical fingering strands."""
    one = yardage.to_tex(yardage.typical_metres_per_100g("sock"), "metres_per_100g")
    assert yardage.held_tex([one, one]) == 500
