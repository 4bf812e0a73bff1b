"""A sheet as rows of text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import KitError
from kit.files import sheet_rows as grid
from kit.files.sheet_rows import DAY_ZERO_1904, Grid, date_text, number_text, truth_text


def test_records_are_of_one_width():
    """Only filled rows come, under their own numbers, as wide as the widest."""
    made = Grid("Yarn", False)
    for row, column, text in ((9, 3, "c"), (2, 1, "a"), (2, 2, "b\0")):
        made.put(row, column, text)
    assert made.width == 3
    assert list(made.records()) == [(2, ["a", "b", ""]), (9, ["", "", "c"])]
    assert list(Grid("", False).records()) == []


def test_a_sheet_has_an_end(monkeypatch):
    """More cells or columns than a stash can have are refused with their row."""
    monkeypatch.setattr(grid, "MOST_CELLS", 2)
    made = Grid("Yarn", False, "stash.xlsx")
    made.put(1, 1, "a")
    with pytest.raises(KitError) as caught:
        made.put(7, grid.MOST_COLUMNS + 1, "b")
    assert str(caught.value) == (
        "stash.xlsx, row 7: this sheet is filled beyond 2 cells or 1000 columns, the "
        "most that is read. Copy the yarns into a sheet of their own."
    )
    with pytest.raises(KitError):
        made.put(7, 1, "b")


# LibreOffice 7.4 showed these in wide columns formatted General.
@pytest.mark.parametrize(
    ("value", "text"),
    [
        (50.0, "50"),
        (37.5, "37.5"),
        (0.1 + 0.2, "0.3"),
        (-0.0, "0"),
        (1e5, "100000"),
        (123456789012345.0, "123456789012345"),
    ],
)
def test_numbers_as_shown(value, text):
    """Whole numbers without a point, all fifteen digits that a spreadsheet keeps."""
    assert number_text(value) == text


@given(st.floats(-1e300, 1e300))
def test_numbers_keep_their_digits(value):
    """Fifteen digits come back, however they are shown."""
    near = pytest.approx(value, rel=5e-15, abs=1e-320)
    assert float(number_text(value)) == near
    assert float(number_text(value, scientific=True)) == near


def test_dates_as_text():
    """Days of a workbook as dates, either day zero; nonsense stays a number."""
    # ECMA-376 part 1, 18.17.4.1: serial 2 of the 1904 system is 1904-01-03.
    assert date_text(2.0, since=DAY_ZERO_1904) == "1904-01-03"
    assert date_text(0.75) == "18:00:00"
    assert date_text(1e300) == "1E+300"
    assert date_text(-1e9) == "-1000000000"
    assert date_text(45000.99999999) == "2023-03-16"
    assert (truth_text(True), truth_text(False)) == ("TRUE", "FALSE")
