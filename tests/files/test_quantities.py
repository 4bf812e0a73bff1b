"""Numbers with their units, as cells hold them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError, words
from kit.files.cells import clean_text, read_choice
from kit.files.quantities import (
    GRAMS,
    INCHES,
    METRES,
    METRES_PER_100G,
    OUNCES,
    PER_4_IN,
    YARDS_PER_100G,
    read_metres_per_100g,
    read_quantity,
    read_tag,
)
from kit.yarn import to_tex
from tests.helpers.gold import gold, half_digit


def fault(read, *args):
    with pytest.raises(KitError) as caught:
        read(*args)
    (found,) = caught.value.faults
    return found


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("50", 50),
        (" 50 ", 50),
        ("37.5", 37.5),
        ("37,5", 37.5),
        (".5", 0.5),
        (",5", 0.5),
        ("0.500", 0.5),
        ("0,125", 0.125),
        ("1234.567", 1234.567),
        ("1.25", 1.25),
        ("0", 0),
        ("-0", 0),
        ("+5", 5),
        ("1E+03", 1000),
        ("1,5e2", 150),
        # thousands, where nothing else can be meant
        ("1,250.5", 1250.5),
        ("1.250,50", 1250.5),
        ("1 250", 1250),
        ("1\u202f250,5", 1250.5),
        ("1'250", 1250),
        ("1’250.5", 1250.5),
        # fractions
        ("½", 0.5),
        ("12½", 12.5),
        ("12 ½", 12.5),
        ("37 1/2", 37.5),
        ("3/4", 0.75),
        ("1⁄8", 0.125),
        ("⅔", 2 / 3),
        ("⅟3", 1 / 3),
        # other digits and signs
        ("٥٠", 50),
        ("٥٠٫٥", 50.5),
        ("५०", 50),
        ("５０", 50),
        ("５０．５ｇ", 50.5),
    ],
)
def test_numbers(text, grams):
    """Numbers are read where one thing only can be meant."""
    assert read_quantity(text, GRAMS) == pytest.approx(grams, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("50g", 50),
        ("50 G.", 50),
        ("50 grams", 50),
        ("0.1 kg", 100),
        ("0,1kg", 100),
        ("1½ kg", 1500),
        # International pound, 1959: 0.45359237 kg; 16 ounces
        ("2 oz", 56.69904625),
        ("2 Ounces", 56.69904625),
        ("1 lb", 453.59237),
    ],
)
def test_weights_with_units(text, grams):
    """A unit in the cell is believed, in the grams and in the ounces column."""
    assert read_quantity(text, GRAMS) == pytest.approx(grams, rel=1e-12)
    assert read_quantity(text, OUNCES) == pytest.approx(grams, rel=1e-12)


def test_bare_numbers_have_the_unit_of_their_column():
    """Without a unit the column decides. International yard, 1959: 0.9144 m."""
    assert read_quantity("2", OUNCES) == pytest.approx(56.69904625, rel=1e-12)
    assert read_metres_per_100g("100", YARDS_PER_100G) == pytest.approx(91.44)
    assert read_metres_per_100g("100 m", YARDS_PER_100G) == 100
    assert read_quantity("100 yards", METRES) == pytest.approx(91.44)
    assert read_quantity("1.2 km", METRES) == 1200


# How a cell says the numbers of the table.
SAID = {
    "yards_per_lb": "{} yd / lb",
    "Nm (m/g)": "{} m/g",
    "metres_per_100g": "{}",
    "metres_per_50g": "{} m / 50 g",
    "yards_per_100g": "{} yd / 100 g",
    "yards_per_oz (avoirdupois 28.349523125 g)": "{} yd per oz",
}


@pytest.mark.parametrize(
    "row", gold("yarn_number_factors.csv"), ids=lambda row: row["system"]
)
def test_a_labels_number_is_the_tables(row):
    """What labels say of a length, as tex: a constant over the number."""
    found = read_metres_per_100g(SAID[row["system"]].format(8), METRES_PER_100G)
    constant = row["constant"]
    assert 8 * to_tex(found) == pytest.approx(float(constant), abs=half_digit(constant))


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("400", 400),
        ("400 m/100g", 400),
        ("400m per 100 g", 400),
        ("210 m / 50 g", 420),
        ("105 m per 25 g", 420),
        ("1.5 km/kg", 150),
        ("1000 yd/lb", 91440 / 453.59237),
    ],
)
def test_labels(text, metres):
    """A label's length per mass is metres per 100 g."""
    found = read_metres_per_100g(text, METRES_PER_100G)
    assert found == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize("text", ["200/100g", "210 m / 50 m", "m / 50 g", "5 m / "])
def test_not_labels(text):
    """A length per mass needs both, with their units."""
    assert words(fault(read_metres_per_100g, text, METRES_PER_100G)) == (
        f"found {text.strip()}, expected a number such as 400 or 210 m / 50 g."
    )


@pytest.mark.parametrize("text", ["", "  ", "\u00a0"])
def test_blank_cells_are_none(text):
    """Nothing typed is nothing, not 0."""
    assert read_quantity(text, GRAMS) is None
    assert read_metres_per_100g(text, METRES_PER_100G) is None
    assert read_tag(text) is None
    assert read_choice(text, "role", ["use"]) == ""


@pytest.mark.parametrize(
    "text",
    [
        *("nan", "inf", "-inf", "NaN", "Infinity", "1_000", "0x32", "0b1", "1e", "e5"),
        *("50-60", "50–60", "50%", "??", "-", "n/a", "none", "ca. 50", "~50", "50?"),
        *("5.", "1.2.3", "1,2,3", "1,25,000", "12 34", "1 2", "50²", "５０²"),
        *("210/50", "1/0", "3/2", "1/2/3", "1½½", "50 m", "50 gg", "g", "50 g g"),
        *("1-Feb", "#REF!", "(5)", "5 €", "'50", "1 250 5", "--5", "+-5", "½½", "IV"),
    ],
)
def test_not_numbers(text):
    """What is no number is refused, as found and with an example."""
    found = fault(read_quantity, text, GRAMS)
    assert found.code == "not_a_number"
    assert words(found) == f"found {text}, expected a number such as 50 or 50 g."


@pytest.mark.parametrize(
    ("text", "thousand", "decimal"),
    [
        ("1,250", "1250", "1.25"),
        ("1.250", "1250", "1.25"),
        ("37,500 g", "37500", "37.5"),
    ],
)
def test_two_readings_are_refused(text, thousand, decimal):
    """A thousand, or one and a quarter? The user says."""
    found = fault(read_quantity, text, GRAMS)
    assert found.code == "ambiguous_number"
    assert words(found) == (
        f"found {text}, expected a number that can be read one way only. "
        f"Write {thousand}, or {decimal} if that is meant."
    )


@pytest.mark.parametrize("text", ["=50+50", "@A1", "=A1/B1", "=SUM(A/B)"])
def test_formulas_are_refused(text):
    """A formula's value is not known here."""
    for read, quantity in (
        (read_quantity, GRAMS),
        (read_metres_per_100g, METRES_PER_100G),
    ):
        found = fault(read, text, quantity)
        assert found.code == "formula"
        assert found.advice == "Paste the value instead of the formula."


@pytest.mark.parametrize("text", ["1e309", "1e12", "100 000.1", "101 kg", "9" * 5000])
def test_too_much(text):
    """More than a stash can hold is a slip."""
    found = fault(read_quantity, text, GRAMS)
    assert found.code == "out_of_range"
    assert found.expected == "100 000 g or less"
    assert found.advice == "See whether a digit or a decimal point has slipped."


def test_too_little():
    """Below 0, and a label of 0, are refused with what to do."""
    assert words(fault(read_quantity, "−5", GRAMS)) == (
        "found −5, expected 0 or more. Leave the ball out of the file if it is used up."
    )
    assert words(fault(read_metres_per_100g, "0", METRES_PER_100G)) == (
        "found 0, expected 1 or more. Leave the cell blank if it is not known."
    )
    assert words(fault(read_metres_per_100g, "5 m / 0 g", METRES_PER_100G)) == (
        "found 5 m / 0 g, expected a weight above 0."
    )


def test_tags():
    """A ball's number is whole and 1 or more."""
    assert [read_tag(text) for text in ("7", "007", "3.0", "1e2")] == [7, 7, 3, 100]
    assert words(fault(read_tag, "1.5")) == "found 1.5, expected a whole number."
    assert fault(read_tag, "0").code == "out_of_range"
    assert fault(read_tag, "A1").code == "not_a_number"


@given(st.floats(0.01, 99_999), st.sampled_from([".", ","]), st.integers(0, 2))
def test_typed_numbers_are_read(number, mark, digits):
    """A number with up to two decimals is read as it stands."""
    text = f"{number:.{digits}f}"
    assert read_quantity(text.replace(".", mark), GRAMS) == float(text)


@given(st.text(max_size=30) | st.text("0123456789.,/ e-½gmkz", max_size=12))
def test_any_text(text):
    """Any text is read within its range or refused."""
    reads = [(read_quantity, one) for one in (GRAMS, METRES, METRES_PER_100G)]
    for read, quantity in (*reads, (read_metres_per_100g, METRES_PER_100G)):
        try:
            value = read(text, quantity)
        except KitError as error:
            assert str(error)
        else:
            assert value is None or quantity.least <= value <= quantity.most
    assert clean_text(clean_text(text)[0])[1] is False


# International inch, 1959: 2.54 cm exactly; the trade's 4 in are 10.16 cm.
@pytest.mark.parametrize(
    ("text", "cm"),
    [
        ("28", 71.12),
        ("28 in", 71.12),
        ('28"', 71.12),
        ("71 cm", 71),
        ("5 3/4", 14.605),
        ("28.125", 71.4375),
        ("28.125 in", 71.4375),
    ],
)
def test_a_bare_number_of_inches(text, cm):
    """Where inches are asked for a bare number is inches, a unit wins. A point stands
    before decimals: eighths have three."""
    assert read_quantity(text, INCHES) == pytest.approx(cm, rel=1e-12)


@pytest.mark.parametrize("text", ["28,125", "28.125 cm"])
def test_two_ways_of_reading_inches_are_refused(text):
    """A comma may be a mark of thousands, and so may a point among centimetres."""
    with pytest.raises(KitError, match="read one way only"):
        read_quantity(text, INCHES)


@pytest.mark.parametrize(
    ("text", "per_10cm"),
    [("22", 220 / 10.16), ("22 / 10 cm", 22), ("5 1/2 per inch", 55 / 2.54)],
)
def test_a_bare_count_over_4_inches(text, per_10cm):
    """Where a count over 4 in is asked for a bare one is over 4 in."""
    assert read_quantity(text, PER_4_IN) == pytest.approx(per_10cm, rel=1e-12)


def test_a_limit_is_told_as_the_number_is_counted():
    """Inches and ounces have their limits in inches and ounces."""
    for quantity, sentence in (
        (INCHES, "found 9999, expected 3 937 in or less."),
        (OUNCES, "found 9999, expected 3 527 oz or less."),
    ):
        with pytest.raises(KitError) as caught:
            read_quantity("9999", quantity)
        assert str(caught.value).startswith(sentence)
