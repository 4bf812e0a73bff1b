"""Bytes in, bytes out, nothing lost.

The only room that opens files. Bytes are read with a cap, decoded, split into records
or sheets, and become a `Table` with our header (`read_rows`), all faults together;
cells become numbers (`read_quantity`). Files are saved whole or not at all
(`save_all`).
"""

from typing import TYPE_CHECKING

from kit.late import late

if TYPE_CHECKING:
    from kit.files.folders import shared_folder as shared_folder
    from kit.files.quantities import read_quantity as read_quantity
    from kit.files.reading import digest as digest
    from kit.files.reading import read_bytes as read_bytes
    from kit.files.reading import silence as silence
    from kit.files.saving import check_can_save as check_can_save
    from kit.files.saving import save_all as save_all
    from kit.files.saving import save_text as save_text
    from kit.files.table import Table as Table
    from kit.files.table_reader import read_rows as read_rows

_HOMES = {
    "folders": ("shared_folder",),
    "quantities": ("read_quantity",),
    "reading": (
        "digest",
        "read_bytes",
        "silence",
    ),
    "saving": (
        "check_can_save",
        "save_all",
        "save_text",
    ),
    "table": ("Table",),
    "table_reader": ("read_rows",),
}
__getattr__, __dir__, __all__ = late(__name__, _HOMES)
