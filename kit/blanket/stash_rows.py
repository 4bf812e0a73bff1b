"""The rows of a stash.csv: what each cell says, and everything that is wrong."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache, partial
from itertools import combinations
from typing import Any

from kit.colour import Mix, read_mix
from kit.errors import N_FAULTS_IN_FULL, Fault, KitError, shorten
from kit.files import Table, read_quantity, read_rows
from kit.files.cells import clean_text, read_choice, read_name
from kit.files.csv_records import MOST_CELL_CHARACTERS
from kit.files.quantities import (
    GRAMS,
    METRES,
    METRES_PER_100G,
    OUNCES,
    YARDS,
    YARDS_PER_100G,
    YARDS_PER_OZ,
    read_metres_per_100g,
    read_tag,
)
from kit.files.table import Row, by_column
from kit.yarn import weight_class
from kit.yarn.measures import GRAMS_PER_OUNCE
from kit.yarn.weight_classes import WeightClass

STYLES = ("solid", "tonal", "variegated", "speckled", "self-striping")
SURFACES = ("smooth", "fluffy")
ROLES = ("use", "accent", "bridge", "leave out")

REQUIRED = ("name", "colours")
# What a row that stops early or lacks its colours is asked for as well.
MASSES = ("grams", "ounces")
PER_100G = ("metres_per_100g", "yards_per_100g", "yards_per_oz")
LEFT_M = ("metres", "yards")
AMOUNTS = (*MASSES, *PER_100G, *LEFT_M)
WORDS = ("weight", "style", "surface", "family", "fibre", "lot", "care", "notes")
COLUMNS = (*REQUIRED, *AMOUNTS, *WORDS, "no", "role")
# Other words whose meaning is certain, as `header.squash` leaves them: without blanks,
# hyphens and underscores, colour for color, metre for meter, fibre for fiber.
ALSO = {
    word: column
    for column, words in {
        "name": "yarn yarnname",
        "colours": "colour hex hexcolour hexcode colourhex",
        "grams": "g gram gramme grammes gramsleft gleft weight(g) weight(grams) "
        "weightg weightgrams weightingrams",
        "ounces": "oz ounce ozleft ouncesleft weight(oz) weight(ounces) "
        "weightoz weightounces weightinounces",
        "metres": "metresleft metre",
        "yards": "yd yds yard yardsleft ydsleft",
        "metres_per_100g": "m/100g mper100g metres/100g metre/100g",
        "yards_per_100g": "yds/100g yd/100g yards/100g ydsper100g ydper100g",
        "yards_per_oz": "yds/oz yd/oz yards/oz ydsperoz ydperoz yards/ounce "
        "yardsperounce yds/ounce",
        "weight": "weightclass yarnweight weightcategory",
        "fibre": "fibrecontent fibres",
        "lot": "dyelot",
        "no": "no. tagno tagnumber",
        "notes": "note",
    }.items()
    for word in words.split()
}
NOT_A_YARN = "If this row is a total or a heading, delete it."
MOST_G = 2000.0  # ours: a cone holds less; more in one row is a slip or a whole shop

MOST_COLOUR_CHARACTERS = 200  # one colour; reading a longer one costs seconds
SAME_WITHIN = 0.03  # ours: labels round 49.6 g to 50 g, and 1.76 oz to 1.8 oz


@dataclass(frozen=True, slots=True)
class StashRow:
    """One row, read: its cells as clean text, their values, what is wrong.

    `values` has the cells that are more than text, None where blank or wrong, amounts
    in grams, metres and metres per 100 g. `marked` is True where invisible marks were
    taken out.
    """

    number: int
    cells: dict[str, str]
    values: dict[str, Any]
    faults: tuple[Fault, ...]
    marked: bool

    def first(self, *columns: str) -> float | None:
        """The value of the first of these columns that has one."""
        found = (self.values.get(column) for column in columns)
        return next((value for value in found if value is not None), None)


def read_lines(data: bytes, file: str) -> tuple[Table, list[StashRow]]:
    """The rows of a stash.csv as text and as values. Raises KitError (all faults)."""
    table, faults = read_rows(
        data, known=COLUMNS, required=REQUIRED, file=file, also=ALSO
    )
    lines, n_faulty = [], 0
    for row in table.rows:
        hints = n_faulty < N_FAULTS_IN_FULL  # rows after those are told by number only
        lines.append(_read_row(row, table.columns, hints))
        n_faulty += bool(lines[-1].faults)
    found = [*faults, *_row_faults(lines, table.columns), *_tag_faults(lines)]
    if found:
        found.sort(key=lambda fault: fault.row or 0)
        raise KitError(fault.at(file=table.place) for fault in found)
    return table, lines


# --- one row --------------------------------------------------------------------------


def _read_colours(text: str, hints: bool) -> tuple[Mix, tuple[str, ...]]:
    for part in text.split(","):
        if len(part) > MOST_COLOUR_CHARACTERS:
            expected = "a colour such as #c8cdd0 or a plain English name"
            raise KitError(Fault("not_a_colour", part, expected))
    return read_mix(text, hints=hints)


def _read_weight(text: str) -> WeightClass | None:
    number = text.removesuffix(".0")  # as spreadsheets write a class's number
    try:
        return weight_class(number) if text else None
    except KitError:
        if fault := _mass_fault(text):
            raise KitError(fault) from None
        raise


def _mass_fault(text: str) -> Fault | None:
    """The fault of a weight class that is what a ball weighs; None of any other."""
    try:
        if read_quantity(text, GRAMS) is None:
            return None
    except KitError:
        return None
    unit = text.strip().rstrip(".").casefold()
    column = "ounces" if unit.endswith(("oz", "ounce", "ounces")) else "grams"
    advice = f"This looks like {column}: call the column {column}."
    if not unit[-1:].isalpha():
        advice = "If these are grams, call the column grams; if ounces, ounces."
    return Fault("unknown", text, "a weight class such as DK", advice=advice)


_READERS: dict[str, Callable[[str], Any]] = {
    "name": read_name,
    "colours": partial(_read_colours, hints=True),
    "grams": partial(read_quantity, quantity=GRAMS),
    "ounces": partial(read_quantity, quantity=OUNCES),
    "metres_per_100g": partial(read_metres_per_100g, quantity=METRES_PER_100G),
    "yards_per_100g": partial(read_metres_per_100g, quantity=YARDS_PER_100G),
    "yards_per_oz": partial(read_metres_per_100g, quantity=YARDS_PER_OZ),
    "metres": partial(read_quantity, quantity=METRES),
    "yards": partial(read_quantity, quantity=YARDS),
    "weight": _read_weight,
    "style": partial(read_choice, kind="style", known=STYLES),
    "surface": partial(read_choice, kind="surface", known=SURFACES),
    "no": read_tag,
    "role": partial(read_choice, kind="role", known=ROLES),
}


def _read_row(row: Row, columns: Sequence[str], hints: bool) -> StashRow:
    cells, values, marked = {}, {}, False
    faults: list[Fault] = []
    for column, cell in by_column(columns, row.cells).items():
        if column not in COLUMNS:
            continue
        cells[column], has_marks = clean_text(cell)
        marked = marked or has_marks
        if column in _READERS and len(cell) <= MOST_CELL_CHARACTERS:
            values[column], wrong = _attempt(column, cells[column], hints)
            faults += [fault.at(column=column) for fault in wrong]
    faults += _disagreements(values)
    place = {"row": row.number, "name": cells.get("name", "")}
    placed = tuple(fault.at(**place) for fault in faults)
    return StashRow(row.number, cells, values, placed, marked)


@lru_cache(maxsize=50_000)  # many cells of a stash say the same
def _attempt(column: str, text: str, hints: bool) -> tuple[Any, tuple[Fault, ...]]:
    reader = _READERS[column]
    if column == "colours" and not hints:
        reader = partial(_read_colours, hints=False)
    try:
        return reader(text), ()
    except KitError as error:
        return None, error.faults


def _disagreements(values: dict[str, Any]) -> Iterator[Fault]:
    pairs = [("g", MASSES), ("m", LEFT_M)]
    pairs += [("m", two) for two in combinations(PER_100G, 2)]
    for unit, (ours, theirs) in pairs:
        a, b = values.get(ours), values.get(theirs)
        if a is None or b is None or abs(a - b) <= SAME_WITHIN * max(a, b):
            continue
        yield Fault(
            "disagree",
            found=f"{a:.4g} {unit}, and {b:.4g} {unit} from {theirs}",
            expected="the same in both columns",
            advice="Leave one of the two cells blank.",
            column=ours,
        )


# --- all rows -------------------------------------------------------------------------


def unlikely(lines: Iterable[StashRow], file: str) -> Iterator[str]:
    """What to tell of amounts that no ball has: too much in one row, or nothing."""
    for line in lines:
        grams = line.first(*MASSES)
        place = f'{file}, row {line.number} ("{shorten(line.values["name"])}")'
        if grams is not None and grams > MOST_G:
            typed = line.values.get("grams") is None
            shown = f"{grams / GRAMS_PER_OUNCE:.4g} oz is " if typed else ""
            meant = (
                "if these are grams, call the column grams"
                if typed
                else "see whether a digit or a decimal point has slipped"
            )
            yield f"{place}: {shown}{grams / 1000:.2g} kg in one ball; {meant}."
        if line.first(*LEFT_M) == 0 or (grams == 0 and not line.first(*LEFT_M)):
            yield f"{place}: nothing is left of it, so it is left out."


def _row_faults(lines: Sequence[StashRow], columns: Sequence[str]) -> Iterator[Fault]:
    """The faults of every row, and what a broken row lacks as well."""
    whole = [line for line in lines if line.cells.get("colours")]
    filled = [a for a in AMOUNTS if whole and all(line.cells.get(a) for line in whole)]
    for line in lines:
        blank = not line.cells.get("colours")
        asked = [a for a in filled if blank and line.cells.get(a) == ""]
        yield from line.faults if asked else map(partial(_or_total, line), line.faults)
        for column in (*REQUIRED, *AMOUNTS):
            if column in columns and column not in line.cells:
                says = "the row stops before this cell"
                advice = "Fill it in; to leave it blank, type the separators up to it."
                yield _missing(line, column, says, advice)
        for column in asked:
            says = "found nothing, while every row with colours has something here"
            yield _missing(line, column, says, NOT_A_YARN)


def _or_total(line: StashRow, fault: Fault) -> Fault:
    """A fault of a row; of one without colours that has a name and amounts alone, with
    what else it may be."""
    more = (line.cells.get(column) for column in (*WORDS, "no", "role"))
    if fault.code != "missing" or fault.column != "colours" or any(more):
        return fault
    return replace(fault, advice=NOT_A_YARN)


def _missing(line: StashRow, column: str, says: str, advice: str) -> Fault:
    fault = Fault("missing", says=says, advice=advice, column=column)
    return fault.at(row=line.number, name=line.cells.get("name", ""))


def _tag_faults(lines: Iterable[StashRow]) -> Iterator[Fault]:
    seen: dict[int, int] = {}
    for line in lines:
        no = line.values.get("no")
        if no is None:
            continue
        if no in seen:
            says = f"found {no}, which is the number of row {seen[no]} already"
            advice = "Give each ball its own number, or leave the cell blank."
            fault = Fault("number_twice", says=says, advice=advice, column="no")
            yield fault.at(row=line.number, name=line.cells.get("name", ""))
        seen.setdefault(no, line.number)
