"""Sheets of an .ods as text."""

import datetime as dt

import pytest

from kit.errors import KitError
from kit.files.workbook import read_sheets
from tests.helpers.workbooks import Formula, ods, ods_parts, packed

TEXT = 'office:value-type="string"'


def cells(data):
    return [list(sheet.records()) for sheet in read_sheets(data)]


def sheet(xml):
    """The records of one table with this XML for its rows."""
    made = ods_parts({"Yarn": []})
    content = made["content.xml"].replace("</table:table>", f"{xml}</table:table>")
    (records,) = cells(packed(made | {"content.xml": content}))
    return records


def row(*cells):
    return f"<table:table-row>{''.join(cells)}</table:table-row>"


def cell(attributes="", content="", kind="table-cell"):
    return f"<table:{kind} {attributes}>{content}</table:{kind}>"


def text(said):
    return f"<text:p>{said}</text:p>"


def test_every_kind_of_cell():
    """Text, numbers, truth, dates and worked-out formulas, as they are shown."""
    made = ["Sage & <b>", 50, 37.5, True, False, dt.date(2026, 3, 2), None]
    made += [Formula("[.A1]", 2), Formula("x", "ab")]
    assert cells(ods({"Yarn": [made]})) == [
        [
            (
                1,
                ["Sage & <b>", "50", "37.5", "TRUE", "FALSE", "2026-03-02", ""]
                + ["2", "ab"],
            )
        ]
    ]


def test_text_with_blanks_and_lines():
    """Blanks, tabs, breaks and paragraphs (6.1.3-6.1.5) come back as they are."""
    said = (
        'a<text:s text:c="3"/>b<text:tab/>c<text:line-break/>d<text:span>e</text:span>'
    )
    found = sheet(row(cell(TEXT, text(said) + text("second"))))
    assert found == [(1, ["a   b\tc\nde\nsecond"])]


def test_remarks_are_not_text():
    """A remark on a cell, or a drawing over it, is not in it."""
    remark = f"<office:annotation>{text('mine')}</office:annotation>"
    assert sheet(row(cell(TEXT, remark + text("Sage")))) == [(1, ["Sage"])]
    assert sheet(row(cell("", remark))) == []


def test_numbers_keep_all_digits():
    """The value counts, not its rounded display; percent and currency likewise."""
    found = sheet(
        row(
            cell('office:value-type="float" office:value="12.3456"', text("12,3")),
            cell('office:value-type="percentage" office:value="0.7"', text("70 %")),
            cell('office:value-type="currency" office:value="3.5"', text("3,50 €")),
            cell('office:value-type="float" office:value="100000"', text("1,00E+05")),
            cell('office:value-type="float" office:value="80"', text("000080")),
            cell('office:value-type="float" office:value="x"', text("odd")),
        )
    )
    assert found == [(1, ["12.3456", "70%", "3.5", "1E+05", "000080", "odd"])]


def test_dates_and_times():
    """A day alone, a day with its time, a time of day."""
    data = ods_parts({"Yarn": []})
    xml = row(
        cell('office:value-type="date" office:date-value="2026-03-02T00:00:00"'),
        cell('office:value-type="date" office:date-value="2026-03-02T10:30:00"'),
        cell('office:value-type="time" office:time-value="PT10H"', text("10:00")),
    )
    content = data["content.xml"].replace("</table:table>", f"{xml}</table:table>")
    (found,) = read_sheets(packed(data | {"content.xml": content}))
    assert list(found.records()) == [
        (1, ["2026-03-02", "2026-03-02 10:30:00", "10:00"])
    ]
    assert found.dates == {(1, 1), (1, 2), (1, 3)}


def test_formulas_never_worked_out_show_themselves():
    """A formula without a value does not turn blank; an error is its text."""
    found = sheet(
        row(
            cell('table:formula="of:=[.B1]*2"'),
            cell(f'table:formula="of:=1/0" {TEXT}', text("#DIV/0!")),
        )
    )
    assert found == [(1, ["=[.B1]*2", "#DIV/0!"])]


def test_repeated_cells_and_rows():
    """What is written once for many stands in each; blanks without end cost nothing."""
    twice = cell(f'{TEXT} table:number-columns-repeated="2"', text("a"))
    blanks = cell('table:number-columns-repeated="16382"')
    rows = row(twice, blanks).replace(
        "<table:table-row>", '<table:table-row table:number-rows-repeated="2">'
    )
    rest = row(cell('table:number-columns-repeated="16384"')).replace(
        "<table:table-row>", '<table:table-row table:number-rows-repeated="1048574">'
    )
    assert sheet(rows + rest) == [(1, ["a", "a"]), (2, ["a", "a"])]


def test_covered_cells_count():
    """A merged cell takes its places: what stands beside it does not shift."""
    covered = cell("", "", "covered-table-cell")
    found = sheet(row(cell(TEXT, text("a")), covered, cell(TEXT, text("b"))))
    assert found == [(1, ["a", "", "b"])]


@pytest.mark.parametrize(
    "repeated",
    [
        f'<table:table-row><table:table-cell {TEXT} table:number-columns-repeated="999999999"><text:p>a</text:p></table:table-cell></table:table-row>',  # noqa: E501
        f'<table:table-row table:number-rows-repeated="999999999"><table:table-cell {TEXT}><text:p>a</text:p></table:table-cell></table:table-row>',  # noqa: E501
        f'<table:table-row table:number-rows-repeated="999999"><table:table-cell {TEXT} table:number-columns-repeated="900"><text:p>a</text:p></table:table-cell></table:table-row>',  # noqa: E501
    ],
)
def test_repeated_without_end(repeated, monkeypatch):
    """A few bytes that would fill a billion cells are refused."""
    monkeypatch.setattr("kit.files.sheet_rows.MOST_CELLS", 10_000)
    with pytest.raises(KitError, match="repeated without end|most that is read"):
        sheet(repeated)


def test_a_cell_of_blanks():
    """A cell that asks for a billion blanks gets no more than a cell may hold."""
    ((_, (found,)),) = sheet(row(cell(TEXT, text('a<text:s text:c="999999999"/>'))))
    assert len(found) == 10_001


def test_sheets_in_the_order_of_their_tabs():
    """Names, order and what is hidden."""
    found = read_sheets(ods({"B": [["x"]], "A & C": [], "D": []}, hidden=["D"]))
    assert [(s.name, s.hidden) for s in found] == [
        ("B", False),
        ("A & C", False),
        ("D", True),
    ]
