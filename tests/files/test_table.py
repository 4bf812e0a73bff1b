"""A table of text, and back to CSV."""

from kit.files import Table
from kit.files.table import Row, csv_text


def test_written_for_spreadsheets():
    """What is written is UTF-8 with commas, and no cell would run."""
    table = Table(("name", "notes"), (Row(("=1+1", "a;b")), Row(("-5", ' "x"'))))
    assert csv_text(table) == 'name,notes\n\'=1+1,"a;b"\n-5," ""x"""\n'
