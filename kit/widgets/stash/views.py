"""What the stash desk shows: the shelf, the same in greys, lengths, tables, sums."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

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
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.panel import svg_image
from kit.widgets.plain_table import PlainTable
from kit.widgets.stash.controls import StashPanel, toggles
from kit.widgets.stash.state import NONE, StashState

WAYS = (("light to dark", "value"), ("family by family", "family"))
LENGTHS_BY = (("by family", "family"), ("by weight", "weight"))
TOTALS = ["", "balls", "left", "length", ""]
NO_ASSUMPTION = "Nothing is assumed: every cell that counts is filled in."


class ShelfPanel(StashPanel):
    """The balls on a shelf."""

    def __init__(self, said: Lines) -> None:
        self.svg = ""
        self.way, self.image = toggles("Standing", WAYS), svg_image()
        super().__init__([self.way, self.image], lambda: self.svg, said=said)
        self.on(self.way, self.draw)

    def fill(self, state: StashState) -> None:
        self.draw()

    def draw(self) -> None:
        yarns, units = self.state.yarns, self.state.units
        self.svg = shelf_svg(yarns, by=self.way.value, units=units)
        self.image.value = self.svg.encode()


class GreysPanel(StashPanel):
    """The shelf in greys of equal value, standing in the same `way`."""

    def __init__(self, way: widgets.ToggleButtons, said: Lines) -> None:
        self._way, self.image = way, svg_image()
        super().__init__([self.image], said=said)
        self.on(way, self.draw)

    def fill(self, state: StashState) -> None:
        self.draw()

    def draw(self) -> None:
        self.image.value = greys_svg(self.state.yarns, by=self._way.value).encode()


class TotalsPanel(StashPanel):
    """Lengths, and totals by family and by weight class."""

    def __init__(self, said: Lines) -> None:
        self.lengths_by, self.lengths = toggles("Laid out", LENGTHS_BY), svg_image()
        self.tables = [
            PlainTable(caption=caption, columns=TOTALS, numbers=[1, 2, 3])
            for caption in ("By family", "By weight class")
        ]
        beside = {"flex_flow": "row wrap", "width": "100%"}
        tables = widgets.HBox(self.tables, layout=beside)
        super().__init__([self.lengths_by, self.lengths, tables], said=said)
        self.on(self.lengths_by, self.draw)

    def fill(self, state: StashState) -> None:
        self.draw()
        totals = totals_by_family(state.yarns), totals_by_weight(state.yarns)
        for table, groups in zip(self.tables, totals, strict=True):
            table.rows = total_rows(groups, state.units)

    def draw(self) -> None:
        by, units = self.lengths_by.value, self.state.units
        svg = lengths_svg(self.state.yarns, by=by, units=units)
        self.lengths.value = svg.encode()


class TablePanel(StashPanel):
    """The table behind the shelf; a click on a row chooses its yarn."""

    def __init__(self, choose: Callable[[int], None], said: Lines) -> None:
        self._choose = choose
        self.table = PlainTable(
            caption="The stash, as its file has it",
            columns=list(HEADINGS),
            numbers=list(N_RIGHT),
            choosable=True,
        )
        super().__init__([self.table], said=said)
        self.on(self.table, self._clicked, "chosen")

    def fill(self, state: StashState) -> None:
        with self.table.hold_sync():
            self.table.swatches = [
                [[*run] for run in largest_colours(yarn)] for yarn in state.yarns
            ]
            self.table.rows = table_rows(state.yarns, state.units)

    def mark(self, state: StashState) -> None:
        self.table.chosen = state.at

    def _clicked(self) -> None:
        if self.table.chosen != NONE:
            self._choose(self.table.chosen)


class AssumedPanel(StashPanel):
    """What is taken where a cell is blank."""

    def __init__(self) -> None:
        self.lines = Wrapped(130)
        super().__init__([self.lines])

    def fill(self, state: StashState) -> None:
        stash = state.file.stash if state.file else None
        said = [*stash.assumed_in(state.units), *stash.notes] if stash else []
        self.lines.say(said or [NO_ASSUMPTION] if stash else [])


def sum_lines(state: StashState) -> list[str]:
    """All that is there in one line; none where the file cannot be read."""
    return [total_line(state.yarns, state.units)] if state.file else []
