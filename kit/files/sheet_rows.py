"""A sheet of a workbook as rows of text, within limits; numbers as they are shown."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from kit.errors import Fault, KitError

# Ours: what is read of one sheet.
MOST_CELLS = 3_000_000
MOST_COLUMNS = 1_000
_LIKE_THOUSANDS = re.compile(r"-?[1-9]\d{0,2}\.\d{3}")
DAY_ZERO = datetime.datetime(1899, 12, 30)
DAY_ZERO_1904 = datetime.datetime(1904, 1, 1)


@dataclass(slots=True)
class Grid:
    """The filled cells of one sheet, put in one by one while it is read.

    dates   where a cell holds a date or a time: (row, column), both from 1
    """

    name: str
    hidden: bool
    file: str = ""
    dates: set[tuple[int, int]] = field(default_factory=set)
    _rows: dict[int, dict[int, str]] = field(default_factory=dict)
    _n_cells: int = 0

    def put(self, row: int, column: int, text: str) -> None:
        """Fill a cell; both numbers from 1. Raises KitError where it is too much."""
        self._n_cells += 1
        if self._n_cells > MOST_CELLS or column > MOST_COLUMNS:
            says = (
                f"this sheet is filled beyond {MOST_CELLS} cells or {MOST_COLUMNS} "
                "columns, the most that is read"
            )
            advice = "Copy the yarns into a sheet of their own."
            fault = Fault("too_big", says=says, advice=advice, file=self.file, row=row)
            raise KitError(fault)
        self._rows.setdefault(row, {})[column] = text.replace("\0", "")

    @property
    def width(self) -> int:
        """How many columns there are up to the last filled one."""
        return max((max(cells) for cells in self._rows.values()), default=0)

    def records(self) -> Iterator[tuple[int, list[str]]]:
        """Each filled row's number and its cells, all rows of one width."""
        columns = range(1, self.width + 1)
        for number in sorted(self._rows):
            cells = self._rows[number]
            yield number, [cells.get(at, "") for at in columns]


def number_text(value: float, *, scientific: bool = False) -> str:
    """A number as a spreadsheet shows it where the column is wide: 15 digits.

    With three digits behind the point a fourth keeps it from being read as thousands.

    >>> number_text(0.1 + 0.2), number_text(50.0), number_text(1e5, scientific=True)
    ('0.3', '50', '1E+05')
    >>> number_text(1.25), number_text(1.125)
    ('1.25', '1.1250')
    """
    if scientific:
        mantissa, _, power = f"{value:.14E}".partition("E")
        return f"{mantissa.rstrip('0').rstrip('.')}E{power}"
    text = f"{value:.15g}".replace("e", "E") if value else "0"
    return f"{text}0" if _LIKE_THOUSANDS.fullmatch(text) else text


def truth_text(value: bool) -> str:
    """TRUE or FALSE, as spreadsheets show them."""
    return "TRUE" if value else "FALSE"


def date_text(days: float, *, since: datetime.datetime = DAY_ZERO) -> str:
    """A date or a time of day, from the days that a workbook counts.

    >>> date_text(46083.0), date_text(0.5), date_text(46083.25)
    ('2026-03-02', '12:00:00', '2026-03-02 06:00:00')
    """
    try:
        moment = since + datetime.timedelta(seconds=round(days * 86_400))
    except (OverflowError, ValueError):
        return number_text(days)
    if 0 <= days < 1:
        return f"{moment:%H:%M:%S}"
    midnight = (moment.hour, moment.minute, moment.second) == (0, 0, 0)
    day = f"{moment.year:04}-{moment:%m-%d}"
    return day if midnight else f"{day} {moment:%H:%M:%S}"
