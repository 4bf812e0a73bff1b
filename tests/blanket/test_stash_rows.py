"""The rows of a stash.csv: what each cell says, and everything that is wrong."""

import pytest

from kit.blanket.stash_rows import (
    AMOUNTS,
    COLUMNS,
    ROLES,
    STYLES,
    SURFACES,
    read_lines,
    unlikely,
)
from kit.errors import KitError
from kit.files.header import squash
from kit.files.table import csv_text

# The columns and words of the file format, typed again from its description.
FORMAT = (
    "name colours grams ounces metres_per_100g yards_per_100g yards_per_oz metres "
    "yards weight style surface family fibre lot care notes no role"
)


def said(*rows, columns="name,colours,grams,metres_per_100g,weight,notes"):
    """What is said about these rows, without the file's name."""
    with pytest.raises(KitError) as caught:
        read_lines("\n".join([columns, *rows]).encode(), "stash.csv")
    lines = str(caught.value).splitlines()
    assert all(line.startswith("stash.csv, row ") for line in lines)
    return [line.removeprefix("stash.csv, ") for line in lines]


def value(column, cell):
    text = f'name,colours,{column}\nSage,#fff,"{cell}"\n'
    _, (line,) = read_lines(text.encode(), "stash.csv")
    return line.values[column]


def test_columns_and_words():
    """Columns and words are those of the file format."""
    assert sorted(COLUMNS) == sorted(FORMAT.split())
    assert STYLES == ("solid", "tonal", "variegated", "speckled", "self-striping")
    assert SURFACES == ("smooth", "fluffy")
    assert ROLES == ("use", "accent", "bridge", "leave out")
    assert set(AMOUNTS) < set(COLUMNS)


def test_values_are_metric():
    """Amounts are grams, metres and metres per 100 g, whatever the column."""
    # International yard and pound, 1959.
    assert value("ounces", "2") == pytest.approx(56.69904625, rel=1e-12)
    assert value("yards_per_100g", "437") == pytest.approx(399.5928, rel=1e-12)
    assert value("metres", "100 yd") == pytest.approx(91.44, rel=1e-12)
    assert value("yards", "100") == pytest.approx(91.44, rel=1e-12)
    assert value("yards", "100 m") == 100
    # 125 yd to the ounce of 28.349523125 g: 114.3 m, so 403.18... m to 100 g
    assert value("yards_per_oz", "125") == pytest.approx(11430 / 28.349523125)
    assert value("yards_per_oz", "230 yd / 50 g") == pytest.approx(420.624)
    assert value("weight", "4 ply").name == "fingering"
    assert value("weight", "1.0").name == "fingering"
    assert value("role", "Leave-out") == "leave out"
    assert value("no", "007") == 7


@pytest.mark.parametrize(
    ("head", "column"),
    [
        ("color", "colours"),
        ("Colors", "colours"),
        ("Hex", "colours"),
        ("yarn", "name"),
        ("oz", "ounces"),
        ("Oz left", "ounces"),
        ("weight (oz)", "ounces"),
        ("g", "grams"),
        ("Weight (g)", "grams"),
        ("yards", "yards"),
        ("yds", "yards"),
        ("yds/oz", "yards_per_oz"),
        ("yards per oz", "yards_per_oz"),
        ("Yards / ounce", "yards_per_oz"),
        ("yds per 100 g", "yards_per_100g"),
        ("yards per 100 g", "yards_per_100g"),
        ("m/100g", "metres_per_100g"),
        ("meters per 100g", "metres_per_100g"),
        ("weight class", "weight"),
        ("Yarn weight", "weight"),
        ("fiber content", "fibre"),
        ("dye lot", "lot"),
    ],
)
def test_other_words_for_a_column(head, column):
    """Where the meaning is certain they are read, told, and stay as they were typed."""
    needed = [one for one in ("name", "colours") if one != column]
    cells = {"name": "Sage", "colours": "#fff", "weight": "DK"}
    row = ",".join(cells.get(one, "5") for one in [*needed, column])
    text = f"{','.join([*needed, head])}\n{row}\n"
    table, (line,) = read_lines(text.encode(), "stash.csv")
    assert table.columns == (*needed, column)
    assert column in line.cells
    assert csv_text(table).splitlines() == text.splitlines()
    alike = squash(head) == squash(column)
    told = f'stash.csv, row 1: read as columns of ours: "{head}" as {column}.'
    assert table.notes == (() if alike else (told,))


def test_a_heading_that_a_spreadsheet_would_run_gets_our_name():
    """It would be made harmless in writing, and then not be known again."""
    table, _ = read_lines(b"-name,Colors\nSage,#fff\n", "stash.csv")
    assert csv_text(table).splitlines()[0] == "name,Colors"


def test_another_word_beside_our_own_is_a_column_of_the_knitter():
    """Nothing is read twice, and it is told."""
    table, (line,) = read_lines(b"name,colours,color\nSage,#fff,green\n", "stash.csv")
    assert line.cells["colours"] == "#fff"
    assert table.notes == (
        'stash.csv, row 1: kept but not used, as columns of your own: "color".',
    )


def test_two_other_words_for_one_column():
    """Which of them counts is not guessed."""
    assert said("Sage,#fff,1,2", columns="name,colours,oz,Ounces left") == [
        'row 1, ounces: "oz" and "Ounces left" are both read as ounces. Rename or '
        "delete one of them."
    ]


@pytest.mark.parametrize(
    ("cell", "advice"),
    [
        ("42 g", "This looks like grams: call the column grams."),
        ("1.5 oz", "This looks like ounces: call the column ounces."),
        ("42", "If these are grams, call the column grams; if ounces, ounces."),
    ],
)
def test_a_weight_that_is_no_class(cell, advice):
    """The column is the yarn's class by the trade; what a ball weighs is grams."""
    found = f'row 2 ("Sage"), weight: found {cell}, expected a weight class such as DK.'
    assert said(f"Sage,#fff,{cell}", columns="name,colours,weight") == [
        f"{found} {advice}"
    ]


def test_yards_and_metres_that_disagree():
    """As grams and ounces: one of the two is left blank."""
    assert said("Sage,#fff,100,100", columns="name,colours,metres,yards") == [
        'row 2 ("Sage"), metres: found 100 m, and 91.44 m from yards, expected the '
        "same in both columns. Leave one of the two cells blank."
    ]


def unlikely_in(text):
    table, lines = read_lines(text.encode(), "stash.csv")
    return [*unlikely(lines, "stash.csv")]


def test_more_than_a_ball_holds_is_told():
    """Used as typed, and told with its row; up to 2 kg, a large cone, in silence."""
    assert unlikely_in("name,colours,ounces\nA,#fff,70\nSage,#fff,160\n") == [
        'stash.csv, row 3 ("Sage"): 160 oz is 4.5 kg in one ball; if these are grams, '
        "call the column grams."
    ]
    assert unlikely_in("name,colours,grams\nA,#fff,2000\nSage,#fff,2500\n") == [
        'stash.csv, row 3 ("Sage"): 2.5 kg in one ball; see whether a digit or a '
        "decimal point has slipped."
    ]


def test_a_ball_that_is_used_up_is_told():
    """Weighed or measured as nothing; a length that is there still counts."""
    told = ['stash.csv, row 3 ("Sage"): nothing is left of it, so it is left out.']
    assert unlikely_in("name,colours,grams\nA,#fff,1\nSage,#fff,0\n") == told
    assert unlikely_in("name,colours,yards\nA,#fff,1\nSage,#fff,0\n") == told
    both = "name,colours,grams,yards\nA,#fff,0,5\nSage,#fff,5,0\n"
    assert unlikely_in(both) == told


def test_every_fault_is_reported():
    """Each cell of a row that is wrong has its line, rows in order."""
    assert said(
        "Sage,sagee,-5,nan,aram,x",
        ",#fff,50,400,dk,x",
        'Moss,"#fff 70%, #000 40%",50,400,dk,x',
    ) == [
        'row 2 ("Sage"), colours: found sagee, expected a colour such as #c8cdd0 or a '
        'plain English name. Did you mean "sage"?',
        'row 2 ("Sage"), grams: found -5, expected 0 or more. Leave the ball out of '
        "the file if it is used up.",
        'row 2 ("Sage"), metres_per_100g: found nan, expected a number such as 400 or '
        "210 m / 50 g.",
        'row 2 ("Sage"), weight: No yarn weight called "aram". Did you mean "aran"? '
        "Known: lace, fingering, sport, DK, worsted, bulky, super bulky, jumbo, "
        "thread, 2 ply, super fine, sock, baby, 4 ply, fine, 5 ply, light, light "
        "worsted, double knitting, 8 ply, medium, aran, afghan, 10 ply, chunky, "
        "craft, rug, 12 ply, super chunky, roving.",
        "row 3, name: found nothing, expected a name.",
        'row 4 ("Moss"), colours: found shares that add to 110 % in #fff 70%, '
        "#000 40%, expected shares above 0 that add to 100 %.",
    ]


def test_faults_of_shape_stand_with_the_others():
    """Faults of rows and of cells are one list, in the order of the rows."""
    rows = ("Sage,#fff,-5", "Moss,#fff,5,5", "Navy,#fff,-5")
    found = said(*rows, columns="name,colours,grams")
    assert [line[:7] for line in found] == ["row 2 (", "row 3 (", "row 4 ("]


def test_row_that_stops_early():
    """Amounts that a row does not reach are asked for, texts are not."""
    tail = "the row stops before this cell. Fill it in; to leave it blank, type the "
    assert said("Sage,#fff", "Moss,#fff,5,400,dk,x") == [
        f'row 2 ("Sage"), grams: {tail}separators up to it.',
        f'row 2 ("Sage"), metres_per_100g: {tail}separators up to it.',
    ]
    assert said("Sage", "Moss,#fff,5,400,dk,x", columns="name,notes,colours")[0] == (
        f'row 2 ("Sage"), colours: {tail}separators up to it.'
    )
    read_lines(b"name,colours,grams,notes\nSage,#fff,5\n", "stash.csv")


def test_totals_row():
    """A row without colours is also asked for what every other row has."""
    blank = "found nothing, expected a colour such as #c8cdd0 or a plain English name."
    assert said("Sage,#fff,5,400,dk,", "Moss,#fff,6,400,,x", "Total,,11,,,") == [
        f'row 4 ("Total"), colours: {blank}',
        'row 4 ("Total"), metres_per_100g: found nothing, while every row with colours '
        "has something here. If this row is a total or a heading, delete it.",
    ]
    total = f"{blank} If this row is a total or a heading, delete it."
    assert said("Sage,#fff,5,,dk,", "Total,,5,,,") == [
        f'row 3 ("Total"), colours: {total}'
    ]
    assert said("Sage,#fff,5,,dk,", "Moss,,5,,dk,") == [
        f'row 3 ("Moss"), colours: {blank}'
    ]


@pytest.mark.parametrize(
    ("columns", "cells"),
    [
        ("grams,ounces", "50,1.75"),
        ("grams,ounces", "100,3.5"),
        ("grams,ounces", "0,0"),
        ("grams,ounces", "50,"),
        ("metres_per_100g,yards_per_100g", "400,437"),
        ("metres_per_100g,yards_per_100g", ",437"),
    ],
)
def test_two_units_may_agree(columns, cells):
    """Both columns filled are fine where they say the same, as labels round."""
    read_lines(f"name,colours,{columns}\nSage,#fff,{cells}\n".encode(), "stash.csv")


def test_two_units_that_differ():
    """Where grams and ounces differ, nobody knows which is right."""
    assert said("Sage,#fff,50,2", columns="name,colours,grams,ounces") == [
        'row 2 ("Sage"), grams: found 50 g, and 56.7 g from ounces, expected the '
        "same in both columns. Leave one of the two cells blank."
    ]
    columns = "name,colours,metres_per_100g,yards_per_100g"
    assert said("Sage,#fff,400,400", columns=columns) == [
        'row 2 ("Sage"), metres_per_100g: found 400 m, and 365.8 m from '
        "yards_per_100g, expected the same in both columns. Leave one of the two "
        "cells blank."
    ]


def test_one_number_on_two_balls():
    """Two yarns cannot have one tag."""
    assert said(
        "Sage,#fff,7", "Moss,#000,", "Navy,#008,07", columns="name,colours,no"
    ) == [
        'row 4 ("Navy"), no: found 7, which is the number of row 2 already. Give each '
        "ball its own number, or leave the cell blank."
    ]


def test_words_with_near_misses():
    """A style, surface or role that is not on the list has its nearest offered."""
    assert said(
        "Sage,#fff,solit,fluffi,acent", columns="name,colours,style,surface,role"
    ) == [
        'row 2 ("Sage"), style: No style called "solit". Did you mean "solid"? Known: '
        "solid, tonal, variegated, speckled, self-striping.",
        'row 2 ("Sage"), surface: No surface called "fluffi". Did you mean "fluffy"? '
        "Known: smooth, fluffy.",
        'row 2 ("Sage"), role: No role called "acent". Did you mean "accent"? Known: '
        "use, accent, bridge, leave out.",
    ]


def test_long_cells_are_one_fault():
    """A cell over the limit is reported once, whatever its column."""
    for row, column in (
        (f"Sage,{'f' * 10_001},5", "colours"),
        (f"{'x' * 10_001},#fff,5", "name"),
    ):
        (line,) = said(row, columns="name,colours,grams")
        assert f"{column}: the cell is longer than 10000 characters." in line


def test_long_colours_cost_no_time():
    """Digits without end are no colour, said at once."""
    (line,) = said(f"Sage,{'1' * 10_000},5", columns="name,colours,grams")
    assert 'row 2 ("Sage"), colours: found 1111' in line


def test_many_faults_are_counted():
    """Twenty faulty rows in full, then the other row numbers and the count."""
    text = "name,colours,grams\n" + "Sage,#fff,x\n" * 50
    with pytest.raises(KitError) as caught:
        read_lines(text.encode(), "stash.csv")
    *in_full, last = str(caught.value).splitlines()
    assert len(in_full) == 20
    rows = ", ".join(str(row) for row in range(22, 52))
    assert last == f"30 more rows have faults: {rows}."


def test_hints_only_where_they_are_told():
    """Twenty faulty rows are told in full, with the nearest name; looking names up for
    the rest would take long and be told to nobody."""
    rows = "".join(f"Y{k},dusty rosse{k}\n" for k in range(30))
    with pytest.raises(KitError) as caught:
        read_lines(f"name,colours\n{rows}".encode(), "stash.csv")
    hinted = [bool(fault.advice) for fault in caught.value.faults]
    assert hinted == [True] * 20 + [False] * 10
