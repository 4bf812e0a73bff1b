"""A workbook's bytes to its sheets: .xlsx and .ods, known by what is in them.

Most stashes are text: what reads workbooks is imported when there is one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.errors import Fault, KitError

if TYPE_CHECKING:
    from kit.files.archive import Archive
    from kit.files.sheet_rows import Grid

_ZIP = b"PK\x03\x04"
_OLD = b"\xd0\xcf\x11\xe0"  # .xls, and what is locked with a password
_ODS_TYPE = b"application/vnd.oasis.opendocument.spreadsheet"
_SAVE_AS = 'Save it as .xlsx, .ods or "CSV UTF-8" in the spreadsheet.'


def is_workbook(data: bytes) -> bool:
    """Whether these bytes are a workbook or another kind of archive, not a text."""
    return data.startswith((_ZIP, _OLD))


def ending(data: bytes) -> str:
    """The usual ending of a workbook's file name.

    >>> ending(b"name,colours")
    '.csv'
    """
    if not is_workbook(data):
        return ".csv"
    if data.startswith(_OLD):
        return ".xls"
    from kit.files.xlsx import WORKBOOK

    return ".xlsx" if WORKBOOK.encode() in data else ".ods"


def read_sheets(data: bytes, *, file: str = "") -> list[Grid]:
    """The sheets of a workbook in the order of their tabs. Raises KitError."""
    if data.startswith(_OLD):
        says = "This is a workbook of an older kind, or one locked with a password"
        raise KitError(Fault("not_a_table", says=says, advice=_SAVE_AS, file=file))
    from kit.files.archive import Archive
    from kit.files.ods import CONTENT, read_ods
    from kit.files.xlsx import WORKBOOK, read_xlsx

    archive = Archive(data, file)
    if WORKBOOK in archive:
        return read_xlsx(archive, file)
    if CONTENT in archive and _is_ods(archive):
        return read_ods(archive, file)
    says = "This is a packed file, but not a spreadsheet that is known here"
    raise KitError(Fault("not_a_table", says=says, advice=_SAVE_AS, file=file))


def _is_ods(archive: Archive) -> bool:
    """By the type it states; one without is given the benefit of the doubt."""
    if "mimetype" not in archive:
        return True
    return archive.part("mimetype").strip().startswith(_ODS_TYPE)
