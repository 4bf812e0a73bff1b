"""Sheets of an .xlsx as text."""

import datetime as dt

import pytest

from kit.errors import KitError
from kit.files.workbook import read_sheets
from tests.helpers.workbooks import MAIN, OFFICE, Formula, packed, xlsx, xlsx_parts


def cells(data):
    return [list(sheet.records()) for sheet in read_sheets(data)]


def sheet(xml, **parts):
    """The records of one sheet whose rows are this XML, other parts changed."""
    made = xlsx_parts({"Yarn": []})
    made["xl/worksheets/sheet1.xml"] = (
        f'<worksheet xmlns="{MAIN}"><sheetData>{xml}</sheetData></worksheet>'
    )
    (records,) = cells(packed(made | parts))
    return records


def styled(*codes):
    """A styles part with these number formats, cell format 0 the first."""
    formats = "".join(
        f'<numFmt numFmtId="{200 + k}" formatCode="{code}"/>'
        for k, code in enumerate(codes)
    )
    xfs = "".join(f'<xf numFmtId="{200 + k}"/>' for k, _ in enumerate(codes))
    return {
        "xl/styles.xml": f'<styleSheet xmlns="{MAIN}"><numFmts>{formats}</numFmts>'
        f'<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs>{xfs}</cellXfs>'
        "</styleSheet>"
    }


def test_every_kind_of_cell():
    """Text, numbers, truth, dates and worked-out formulas, as they are shown."""
    row = ["Sage & <b>", 50, 37.5, True, False, dt.date(2026, 3, 2), " a\nb ", None]
    row += [Formula("1+1", 2), Formula('"a"&"b"', "ab"), Formula("1=1", True)]
    assert cells(xlsx({"Yarn": [row]})) == [
        [
            (
                1,
                ["Sage & <b>", "50", "37.5", "TRUE", "FALSE", "2026-03-02", " a\nb "]
                + ["", "2", "ab", "TRUE"],
            )
        ]
    ]


def test_dates_are_marked():
    """Where a date stands is known, so that it can be told."""
    (found,) = read_sheets(xlsx({"Yarn": [[1, dt.date(2026, 3, 2)]]}))
    assert found.dates == {(1, 2)}


def test_formulas_never_worked_out_show_themselves():
    """A script's workbook holds formulas without values: they do not turn blank."""
    found = sheet('<row r="1"><c r="A1"><f>B1*2</f></c><c r="B1"><f/></c></row>')
    assert found == [(1, ["=B1*2", "=…"])]


def test_faults_of_formulas_are_text():
    """What a spreadsheet shows for an error is what is read."""
    found = sheet('<row r="1"><c r="A1" t="e"><f>1/0</f><v>#DIV/0!</v></c></row>')
    assert found == [(1, ["#DIV/0!"])]


def test_cells_without_a_place_follow_each_other():
    """Places may be left out (18.3.1.4, 18.3.1.73): the next one is meant."""
    row = "<c><v>1</v></c><c/><c><v>2</v></c>"
    assert sheet(f'<row>{row}</row><row r="5">{row}</row><row>{row}</row>') == [
        (number, ["1", "", "2"]) for number in (1, 5, 6)
    ]


def test_shared_texts():
    """Rich texts are joined, readings above the letters are left out."""
    shared = (
        f'<sst xmlns="{MAIN}"><si><t>Sage</t></si><si><r><t>Mo</t></r><r><rPr/><t>ss'
        "</t></r></si><si><t>毛糸</t><rPh><t>けいと</t></rPh></si>"
        "<si><t>a_x000D_b_x005F_x0041_</t></si></sst>"
    )
    row = "".join(f'<c t="s"><v>{n}</v></c>' for n in range(4))
    found = sheet(f"<row>{row}</row>", **{"xl/sharedStrings.xml": shared})
    assert found == [(1, ["Sage", "Moss", "毛糸", "a\rb_x0041_"])]


@pytest.mark.parametrize("number", ["9", "-1", "x", "1.0"])
def test_a_shared_text_that_is_not_there(number):
    """A workbook that points into the void is damaged, not blank."""
    with pytest.raises(KitError, match="is damaged"):
        sheet(f'<row><c t="s"><v>{number}</v></c></row>')


@pytest.mark.parametrize(
    ("code", "value", "shown"),
    [
        ("General", 1e5, "100000"),
        ("0.00E+00", 1e5, "1E+05"),
        ("##0.0E+0", 1.5e-7, "1.5E-07"),
        ("0%", 0.7, "70%"),
        ("0.00%", 0.125, "12.5%"),
        ("000", 7, "007"),
        ("000000", 80, "000080"),
        ("0.00", 12.345678, "12.345678"),
        ("yyyy-mm-dd", 46083, "2026-03-02"),
        ("[$-409]d/m/yy h:mm;@", 46083.5, "2026-03-02 12:00:00"),
        ("[Red]0", 5, "5"),
        ("0 &quot;days&quot;", 5, "5"),
        ("0\\d", 5, "5"),
        ("_-* 0", 5, "5"),
        ("@", 5, "5"),
    ],
)
def test_formats(code, value, shown):
    """A format that changes what a number is, is followed; rounding is not."""
    found = sheet(f"<row><c><v>{value!r}</v></c></row>", **styled(code))
    assert found == [(1, [shown])]


def test_a_format_that_is_not_there():
    """A cell format out of range is a plain one."""
    assert sheet('<row><c s="99"><v>5</v></c><c s="x"><v>6</v></c></row>') == [
        (1, ["5", "6"])
    ]


def test_sheets_in_the_order_of_their_tabs():
    """Names, order and what is hidden."""
    found = read_sheets(xlsx({"B": [["x"]], "A & C": [], "D": []}, hidden=["D"]))
    assert [(s.name, s.hidden) for s in found] == [
        ("B", False),
        ("A & C", False),
        ("D", True),
    ]


def test_absolute_targets_and_charts():
    """Parts may be named from the root; sheets of charts have no cells."""
    made = xlsx_parts({"Yarn": [["x"]], "Chart": []})
    rels = made["xl/_rels/workbook.xml.rels"]
    rels = rels.replace('"worksheets/sheet1', '"/xl/worksheets/sheet1')
    rels = rels.replace(
        f'"rId2" Type="{OFFICE}/worksheet"', f'"rId2" Type="{OFFICE}/chartsheet"'
    )
    assert cells(packed(made | {"xl/_rels/workbook.xml.rels": rels})) == [[(1, ["x"])]]


def test_without_its_relations():
    """A workbook whose sheets cannot be found is damaged."""
    made = xlsx_parts({"Yarn": [["x"]]})
    del made["xl/_rels/workbook.xml.rels"]
    with pytest.raises(KitError, match="is damaged"):
        read_sheets(packed(made))


@pytest.mark.parametrize("place", ["XFD1048576", "ALM1"])
def test_cells_far_out(place):
    """One cell at the far end does not make a sheet of a billion."""
    with pytest.raises(KitError, match="the most that is read"):
        sheet(f'<row r="1"><c r="{place}"><v>1</v></c></row>')
    assert sheet('<row r="1048576"><c r="A1048576"><v>1</v></c></row>') == [
        (1048576, ["1"])
    ]


@pytest.mark.parametrize("value", ["NaN", "inf", "1_0", "abc", "1e999"])
def test_numbers_that_are_none(value):
    """What is no number stays text, or unbelievable, for its column to judge."""
    ((_, (found,)),) = sheet(f"<row><c><v>{value}</v></c></row>")
    assert found
