"""A pandas table of yarns becomes a stash, as a stash.csv would."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from kit.blanket.stash import Stash
from kit.blanket.stash_csv import read_stash
from kit.files import Table
from kit.files.table import Row, csv_text

if TYPE_CHECKING:
    import pandas as pd

PLACE = "the table"  # where its faults lie


def stash_from(frame: pd.DataFrame) -> Stash:
    """A pandas table as a stash: the columns of a stash.csv, read in the same way.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a yarn. `name` and `colours` are needed (text, as a stash.csv has
        them); `grams`, `metres_per_100g`, `weight` and the other columns are optional,
        blank where a value is missing. A named index is a column too.

    Returns
    -------
    Stash
        Its yarns in the order of the rows; masses in g, lengths in m.

    Raises
    ------
    KitError
        With every fault, each with its row and column; rows are counted as in a
        spreadsheet, where the columns' names are row 1.

    Examples
    --------
    >>> import pandas as pd
    >>> stash_from(pd.DataFrame({"name": ["Sage"], "colours": ["#9caf88"]})).yarns
    (Yarn(1 Sage, Mix(#9caf88 100%; L* 69.1), unweighed),)
    """
    if any(name is not None for name in frame.index.names):
        frame = frame.reset_index()
    columns = tuple(map(str, frame.columns))
    filled = frame.astype(object).where(frame.notna(), "")
    rows = (Row(tuple(map(_cell, row))) for row in filled.itertuples(index=False))
    return read_stash(csv_text(Table(columns, tuple(rows))).encode(), file=PLACE)


def _cell(value: Any) -> str:
    """A cell as text; whole numbers, which pandas keeps as 3.0 beside blanks, as 3."""
    whole = isinstance(value, float) and value.is_integer()
    return f"{value:.0f}" if whole else str(value)
