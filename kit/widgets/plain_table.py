"""A table of plain text that follows what changes, with swatches and a chosen row."""

from __future__ import annotations

from pathlib import Path

import anywidget
import traitlets

HERE = Path(__file__).parent


class PlainTable(anywidget.AnyWidget):
    """Rows of text under column headings; a name is never taken for markup.

    `numbers` are the columns set flush right. `swatches` has a list of [hex, share]
    for each row, or is empty. Where `choosable`, a click puts the row into `chosen`.
    """

    _esm = HERE / "plain_table.js"
    _css = HERE / "plain_table.css"

    caption = traitlets.Unicode().tag(sync=True)
    columns = traitlets.List(traitlets.Unicode()).tag(sync=True)
    rows = traitlets.List(traitlets.List(traitlets.Unicode())).tag(sync=True)
    numbers = traitlets.List(traitlets.Int()).tag(sync=True)
    swatches: traitlets.List = traitlets.List().tag(sync=True)
    choosable = traitlets.Bool(False).tag(sync=True)
    chosen = traitlets.Int(-1).tag(sync=True)

    @traitlets.validate("chosen")
    def _one_of_the_rows(self, proposal: traitlets.Bunch) -> int:
        """A row that is there, else none: a page may be behind."""
        at = int(proposal["value"])
        return at if 0 <= at < len(self.rows) else -1
