"""Totals by family and weight class, and the table, against plain sums."""

import csv
from dataclasses import replace

import pytest

from kit.blanket.stash_csv import read_stash
from kit.files import shared_folder
from kit.pictures.inventory import (
    HEADINGS,
    largest_colours,
    stash_frame,
    table_rows,
    total_line,
    total_rows,
    totals_by_family,
    totals_by_weight,
)
from tests.helpers.yarns import LABEL, yarn

DEMO = shared_folder("data") / "reading-room" / "stash.csv"


@pytest.fixture(scope="module")
def stash():
    return read_stash(DEMO.read_bytes())


@pytest.fixture(scope="module")
def rows():
    with DEMO.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def plain(line):
    return line.replace("\xa0", " ").replace("\u202f", " ")


def test_totals_are_the_sums_of_the_file(stash, rows):
    """Grams by weight class as a loop over the csv finds them, 400 m where blank."""
    used = [row for row in rows if row["role"] != "leave out"]
    for one in totals_by_weight(stash.yarns):
        same = [row for row in used if row["weight"] == one.name]
        assert one.n_balls == len(same)
        assert one.grams == pytest.approx(sum(float(r["grams"]) for r in same))
        metres = (float(r["grams"]) * float(r["metres_per_100g"] or 400) for r in same)
        assert one.metres == pytest.approx(sum(metres) / 100)
        assert one.n_assumed == sum(not r["metres_per_100g"] for r in same)


def test_every_ball_is_in_one_family(stash, rows):
    """Families and what is left out hold all grams of the file, each once."""
    totals = totals_by_family(stash.yarns)
    assert sum(one.n_balls for one in totals) == len(rows)
    assert sum(one.grams for one in totals) == sum(float(r["grams"]) for r in rows)
    assert (totals[-1].name, totals[-1].n_balls) == ("left out", 1)


def test_what_is_not_weighed_is_counted_apart():
    """A ball without grams adds nothing but is said; measured metres count."""
    measured = replace(yarn("Cord", 40, grams=None), metres=90.0)
    line = total_line([yarn("Sage", 70), yarn("Blank", 50, grams=None), measured])
    assert plain(line) == "3 balls: 50 g, 290 m; 1 not weighed."


def test_one_sentence_for_the_whole(stash):
    """Typical lengths and what is left out are part of it; ounces and yards too."""
    assert plain(total_line(stash.yarns)) == (
        "44 balls: 1685 g, 6771 m, 2 of them by a typical length. "
        "Left out: 1 ball, 50 g, 200 m."
    )
    # By hand: 1685 / 28.3495 = 59.4 oz, 6771 / 0.9144 = 7405 yd
    assert "59 oz, 7405 yd" in plain(total_line(stash.yarns, "imperial"))


def test_rows_of_totals_say_what_rests_on_assumption():
    """Remarks stand in the last cell."""
    typical = replace(yarn("Bare", 50), label=replace(LABEL, typical=True))
    ((name, n, left, length, remarks),) = total_rows(totals_by_family([typical]))
    assert (name, n, plain(left), plain(length)) == ("neutrals", "1", "50 g", "200 m")
    assert remarks == "1 by typical length"


def test_the_table_marks_what_is_assumed(stash):
    """One row a yarn in file order; `~` before a typical length alone."""
    table = table_rows(stash.yarns)
    assert [len(row) for row in table] == [len(HEADINGS)] * 45
    by_name = {row[1]: [plain(cell) for cell in row] for row in table}
    assert by_name["Peat Basket"][4:7] == ["9 g", "36 m", "~400 m"]
    assert by_name["Chart Margin"][6] == "420 m"
    assert by_name["Ink, Spilled Twice"][2] == "blues"  # its own column says so


def test_swatches_have_the_largest_colour_first(stash):
    """Shares add to 1 and fall."""
    runs = largest_colours(stash.yarns[9])  # Crumbs on the Page
    assert [colour for colour, _ in runs] == ["#eae4dc", "#9c735a", "#d9b77d"]
    assert [share for _, share in runs] == pytest.approx([0.88, 0.07, 0.05])


def test_the_frame_holds_numbers(stash, rows):
    """For those who compute: the same sums come out of pandas."""
    frame = stash_frame(stash.yarns)
    assert frame["grams"].sum() == sum(float(row["grams"]) for row in rows)
    assert frame.loc[3, "name"] == "Damson Lamplight"
    assert stash_frame([]).empty
