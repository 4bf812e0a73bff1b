"""A pandas table becomes a stash as a stash.csv would, with the same faults."""

import numpy as np
import pandas as pd
import pytest

from kit.blanket.stash_csv import csv_of, read_stash
from kit.blanket.stash_frame import stash_from
from kit.errors import KitError
from kit.files import read_bytes, shared_folder
from kit.pictures.inventory import stash_frame

DEMOS = sorted(shared_folder("data").glob("*/stash.csv"))


def table(**columns):
    return pd.DataFrame(columns)


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.parent.name)
def test_a_file_read_by_pandas_is_the_same_stash(path):
    """What pandas makes of a stash.csv gives the yarns that the file gives."""
    yarns = read_stash(read_bytes(path)).yarns
    assert stash_from(pd.read_csv(path)).yarns == yarns
    assert stash_from(pd.read_csv(path, dtype=str)).yarns == yarns


def test_it_goes_back_to_a_file():
    """The rows can be written as a stash.csv, which reads the same."""
    stash = stash_from(
        table(name=["Sage", "=2+3"], colours=["#9caf88", "#123 50%, #456"])
    )
    assert read_stash(csv_of(stash).encode()).yarns == stash.yarns
    assert [yarn.name for yarn in stash.yarns] == ["Sage", "=2+3"]


def test_every_kind_of_blank_is_blank():
    """NaN, None, NaT, NA and "" say nothing; whole numbers beside them stay whole."""
    blanks = [np.nan, None, pd.NaT, pd.NA, ""]
    names = [f"ball {k}" for k in range(6)]
    stash = stash_from(
        table(name=names, colours="#888", grams=[*blanks, 50.0], no=[*blanks, 7.0])
    )
    assert [yarn.grams for yarn in stash.yarns] == [*[None] * 5, 50]
    assert [yarn.no for yarn in stash.yarns] == [1, 2, 3, 4, 5, 7]


def test_a_named_index_is_a_column():
    """The table that the kit itself gives of a stash has the tag numbers as index."""
    stash = stash_from(
        table(name=["Sage", "Moss"], colours=["#9caf88", "#5a6f3a"], no=[9, 4])
    )
    frame = stash_frame(stash.yarns).assign(colours=["#9caf88", "#5a6f3a"])
    assert frame.index.name == "no"
    assert [yarn.no for yarn in stash_from(frame).yarns] == [9, 4]


def test_every_fault_is_told_with_its_row_and_column():
    """All at once, rows counted as in a spreadsheet: the columns' names are row 1."""
    frame = table(
        name=["Sage", "Moss", "Fern"],
        colours=["#9caf88", "greeen", "#5a6f3a"],
        grams=[-5, 40, 40],
        family=["greens", "", "stones"],
    )
    with pytest.raises(KitError) as wrong:
        stash_from(frame)
    assert str(wrong.value).splitlines() == [
        'the table, row 2 ("Sage"), grams: found -5, expected 0 or more. Leave the '
        "ball out of the file if it is used up.",
        'the table, row 3 ("Moss"), colours: found greeen, expected a colour such as '
        '#c8cdd0 or a plain English name. Did you mean "green"?',
    ]
    with pytest.raises(
        KitError, match='the table, row 4 \\("Fern"\\), family: No family'
    ):
        stash_from(frame.assign(grams=40, colours="#888"))


@pytest.mark.parametrize(
    ("frame", "begins"),
    [
        (table(name=["Sage"]), "row 1, colours: the header has no such column."),
        (table(name=[], colours=[]), "There are no rows under the header."),
        (table(a=[1], b=[2]), "row 1: No header was found in the first 10 rows."),
        (table(), "The file is empty."),
    ],
)
def test_a_table_of_another_shape_is_refused(frame, begins):
    """A missing column, no rows, none of our columns, nothing at all."""
    with pytest.raises(KitError) as wrong:
        stash_from(frame)
    place = "the table, " if begins.startswith("row") else "the table: "
    assert str(wrong.value).startswith(place + begins)
