"""What the stash desk shows: the shelf, the same in greys, lengths, tables, sums."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets

from kit.blanket import Stash, Yarn
from kit.pictures import greys_svg, shelf_svg
from kit.pictures.inventory import (
    HEADINGS,
    N_RIGHT,
    largest_colours,
    table_rows,
    total_line,
    total_rows,
    totals_by_family,
    totals_by_weight,
)
from kit.pictures.shelf import lengths_svg
from kit.widgets.lines import Wrapped
from kit.widgets.panel import STYLE, svg_image
from kit.widgets.plain_table import PlainTable

WAYS = (("light to dark", "value"), ("family by family", "family"))
LENGTHS_BY = (("by family", "family"), ("by weight", "weight"))
TOTALS = ["", "balls", "left", "length", ""]
NO_ASSUMPTION = "Nothing is assumed: every cell that counts is filled in."


class StashViews:
    """Pictures and tables of one stash, with the two switches that turn them."""

    def __init__(self) -> None:
        self.way = _toggles("Standing", WAYS)
        self.lengths_by = _toggles("Laid out", LENGTHS_BY)
        self.shelf, self.greys, self.lengths = svg_image(), svg_image(), svg_image()
        self.table = PlainTable(
            caption="The stash, as its file has it",
            columns=list(HEADINGS),
            numbers=list(N_RIGHT),
            choosable=True,
        )
        self.family_table, self.weight_table = (
            PlainTable(caption=caption, columns=TOTALS, numbers=[1, 2, 3])
            for caption in ("By family", "By weight class")
        )
        self.sum, self.assumed = Wrapped(110, bold=True), Wrapped(130)
        self.svg = ""

    def show(self, stash: Stash | None, units: str) -> None:
        """Everything that follows from the stash; empty where it cannot be read."""
        yarns = stash.yarns if stash else ()
        self.draw(yarns, units)
        with self.table.hold_sync():
            self.table.swatches = [
                [[*run] for run in largest_colours(yarn)] for yarn in yarns
            ]
            self.table.rows = table_rows(yarns, units)
        self.family_table.rows = total_rows(totals_by_family(yarns), units)
        self.weight_table.rows = total_rows(totals_by_weight(yarns), units)
        self.sum.say([total_line(yarns, units)] if stash else [])
        said = [*stash.assumed_in(units), *stash.notes] if stash else []
        self.assumed.say(said or [NO_ASSUMPTION] if stash else [])

    def draw(self, yarns: Sequence[Yarn], units: str) -> None:
        """The pictures, as the switches stand."""
        way, by = self.way.value, self.lengths_by.value
        self.svg = shelf_svg(yarns, by=way, units=units)
        self.shelf.value = self.svg.encode()
        self.greys.value = greys_svg(yarns, by=way).encode()
        self.lengths.value = lengths_svg(yarns, by=by, units=units).encode()


def _toggles(words: str, options: Sequence[tuple[str, str]]) -> widgets.ToggleButtons:
    return widgets.ToggleButtons(options=options, description=words, style=STYLE)
