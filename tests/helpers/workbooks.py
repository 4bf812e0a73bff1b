"""Workbooks made by hand, part by part, so that tests can spoil any part of them.

After ECMA-376 part 1 (SpreadsheetML) and OpenDocument 1.3 part 3.
"""

import datetime as dt
import io
import zipfile
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

DAY_ZERO = dt.date(1899, 12, 30)


@dataclass(frozen=True)
class Formula:
    """A formula and the value that the spreadsheet had worked out for it."""

    text: str
    value: object


def packed(parts, *, compression=zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive of {name: text or bytes}."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", compression) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return data.getvalue()


# --- .xlsx ----------------------------------------------------------------------------

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def column_letters(at: int) -> str:
    """The letters of column `at`, 0 for A."""
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _xlsx_value(value) -> tuple[str, str]:
    if isinstance(value, bool):
        return ' t="b"', f"<v>{int(value)}</v>"
    if isinstance(value, dt.date):
        return ' s="1"', f"<v>{(value - DAY_ZERO).days}</v>"
    if isinstance(value, int | float):
        return "", f"<v>{value!r}</v>"
    text = f'<t xml:space="preserve">{escape(str(value))}</t>'
    return ' t="inlineStr"', f"<is>{text}</is>"


def _xlsx_cell(row: int, at: int, value) -> str:
    if value is None:
        return ""
    formula = ""
    if isinstance(value, Formula):
        formula, value = f"<f>{escape(value.text)}</f>", value.value
        if isinstance(value, str):
            kind, content = ' t="str"', f"<v>{escape(value)}</v>"
        else:
            kind, content = _xlsx_value(value)
    else:
        kind, content = _xlsx_value(value)
    place = f"{column_letters(at)}{row}"
    return f'<c r="{place}"{kind}>{formula}{content}</c>'


def xlsx_sheet(rows) -> str:
    """One worksheet's XML."""
    lines = [
        f'<row r="{n}">'
        + "".join(_xlsx_cell(n, at, value) for at, value in enumerate(cells))
        + "</row>"
        for n, cells in enumerate(rows, 1)
    ]
    return (
        f'<worksheet xmlns="{MAIN}"><sheetData>{"".join(lines)}</sheetData></worksheet>'
    )


def xlsx_parts(sheets, *, hidden=()) -> dict[str, str]:
    """The parts of an .xlsx of {sheet's name: rows}."""
    types = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    names = list(sheets)
    overrides = "".join(
        f'<Override PartName="/xl/worksheets/sheet{n}.xml" '
        f'ContentType="{types}.worksheet+xml"/>'
        for n, _ in enumerate(names, 1)
    )
    listed = "".join(
        f'<sheet name={quoteattr(name)} sheetId="{n}" r:id="rId{n}"'
        + (' state="hidden"' if name in hidden else "")
        + "/>"
        for n, name in enumerate(names, 1)
    )
    related = "".join(
        f'<Relationship Id="rId{n}" Type="{OFFICE}/worksheet" '
        f'Target="worksheets/sheet{n}.xml"/>'
        for n, _ in enumerate(names, 1)
    )
    return {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        '<Override PartName="/xl/workbook.xml" '
        f'ContentType="{types}.sheet.main+xml"/>'
        '<Override PartName="/xl/styles.xml" '
        f'ContentType="{types}.styles+xml"/>{overrides}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="rId1" Type="{OFFICE}/officeDocument" '
        'Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">'
        f"<sheets>{listed}</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
        f'{related}<Relationship Id="rIdS" Type="{OFFICE}/styles" '
        'Target="styles.xml"/></Relationships>',
        # Cell format 1 is a date (built-in number format 14, ECMA-376 18.8.30).
        "xl/styles.xml": f'<styleSheet xmlns="{MAIN}"><fonts count="1"><font/></fonts>'
        '<fills count="1"><fill/></fills><borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="2">'
        '<xf numFmtId="0"/><xf numFmtId="14" applyNumberFormat="1"/></cellXfs>'
        "</styleSheet>",
        **{
            f"xl/worksheets/sheet{n}.xml": xlsx_sheet(sheets[name])
            for n, name in enumerate(names, 1)
        },
    }


def xlsx(sheets, *, hidden=()) -> bytes:
    """An .xlsx file of {sheet's name: rows}; cells are text, numbers, dates, bools."""
    return packed(xlsx_parts(sheets, hidden=hidden))


# --- .ods -----------------------------------------------------------------------------

SPACE = "urn:oasis:names:tc:opendocument:xmlns"
SPACES = " ".join(
    f'xmlns:{name}="{SPACE}:{name}:1.0"'
    for name in ("office", "table", "text", "style", "manifest")
)
ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"


def _ods_value(value) -> tuple[str, str]:
    if isinstance(value, bool):
        word = str(value).lower()
        return f'office:value-type="boolean" office:boolean-value="{word}"', word
    if isinstance(value, dt.date):
        return f'office:value-type="date" office:date-value="{value}"', str(value)
    if isinstance(value, int | float):
        return f'office:value-type="float" office:value="{value!r}"', f"{value:g}"
    return 'office:value-type="string"', str(value)


def _ods_cell(value) -> str:
    if value is None:
        return "<table:table-cell/>"
    formula = ""
    if isinstance(value, Formula):
        formula, value = f" table:formula={quoteattr('of:=' + value.text)}", value.value
    kind, text = _ods_value(value)
    said = f"<text:p>{escape(text)}</text:p>"
    return f"<table:table-cell {kind}{formula}>{said}</table:table-cell>"


def ods_parts(sheets, *, hidden=()) -> dict[str, str]:
    """The parts of an .ods of {sheet's name: rows}."""
    tables = "".join(
        f"<table:table table:name={quoteattr(name)}"
        + (' table:style-name="away">' if name in hidden else ">")
        + "".join(
            f"<table:table-row>{''.join(map(_ods_cell, cells))}</table:table-row>"
            for cells in rows
        )
        + "</table:table>"
        for name, rows in sheets.items()
    )
    return {
        "mimetype": ODS_TYPE,
        "META-INF/manifest.xml": f"<manifest:manifest {SPACES}>"
        '<manifest:file-entry manifest:full-path="/" '
        f'manifest:media-type="{ODS_TYPE}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" '
        'manifest:media-type="text/xml"/></manifest:manifest>',
        "content.xml": f'<office:document-content {SPACES} office:version="1.3">'
        '<office:automatic-styles><style:style style:name="away" '
        'style:family="table"><style:table-properties table:display="false"/>'
        "</style:style></office:automatic-styles><office:body><office:spreadsheet>"
        f"{tables}</office:spreadsheet></office:body></office:document-content>",
    }


def ods(sheets, *, hidden=()) -> bytes:
    """An .ods file of {sheet's name: rows}."""
    return packed(ods_parts(sheets, hidden=hidden))
