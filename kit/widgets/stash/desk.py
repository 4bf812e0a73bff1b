"""The stash desk: the shelf of balls, and every cell of stash.csv under the hand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kit.blanket import Stash, Yarn
from kit.blanket.whereabouts import blanket_in_view
from kit.errors import Fault, KitError
from kit.files import Table
from kit.pictures.inventory import stash_frame
from kit.widgets.lines import Wrapped, messages_beside
from kit.widgets.stash.controls import UNDO, button
from kit.widgets.stash.more import NewBlanketPanel, NewYarnPanel, WeighingPanel
from kit.widgets.stash.one_yarn import OneYarnPanel
from kit.widgets.stash.state import StashState, StashWork
from kit.widgets.stash.views import (
    AssumedPanel,
    GreysPanel,
    ShelfPanel,
    TablePanel,
    TotalsPanel,
    sum_lines,
)
from kit.widgets.stash.yarn_fields import FULL, STYLE
from kit.widgets.which import Which


class StashDesk:
    """One stash under the knitter's hands.

    `which`, `shelf`, `greys`, `one_yarn`, `new_yarn`, `weighing`, `totals`, `table`,
    `assumed` and `new_blanket` are the panels a notebook shows, in any order; `frame`
    gives the stash to pandas.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.work = work = StashWork(self._show)
        self.undo, self.sum = button(UNDO), Wrapped(110, bold=True)
        messages = Wrapped(110)
        self.which = Which(
            self._open,
            said=messages,
            beside=[self.undo],
            below=[self.sum],
            style=STYLE,
            layout=FULL,
        )
        self.one_yarn = one = OneYarnPanel(work, self.undo, self.which.again, self.sum)
        self.shelf = ShelfPanel(messages)
        self.greys = GreysPanel(self.shelf.way, messages)
        self.totals = TotalsPanel(messages)
        self.table, self.assumed = TablePanel(one.choose, one.said), AssumedPanel()
        self.new_yarn = NewYarnPanel(work)
        self.weighing = WeighingPanel(one.yarn, one.put)
        self.new_blanket = NewBlanketPanel(self._open)
        folder = Path(folder or blanket_in_view())
        messages_beside(messages)(self._open)(folder)

    @property
    def folder(self) -> Path:
        """The blanket's folder."""
        return self.work.state.folder

    @property
    def yarns(self) -> tuple[Yarn, ...]:
        """The yarns as the file has them; none while it cannot be read."""
        return self.work.state.yarns

    def frame(self) -> Any:
        """The stash as a pandas DataFrame."""
        return stash_frame(self.yarns)

    def take_in(self, make: Callable[[Stash], Table]) -> None:
        """Save the table that `make` makes of the stash; everything follows.

        What is typed for the chosen yarn is saved first. Raises KitError, the file as
        it was.
        """
        told = self.one_yarn.keep()
        if self.one_yarn.form.changes():
            says = f'What is typed under "One yarn" cannot be saved: {told[0]}'
            raise KitError(Fault("typed", says=says.rstrip(".")))
        self.work.save(make(self.work.file.stash))

    def _open(self, folder: Path) -> None:
        self.work.read(folder, self.which.said)
        self.one_yarn.said.say([])

    def _show(self, state: StashState) -> None:
        self.which.show(state.folder)
        self.sum.say(sum_lines(state))
        for panel in (self.shelf, self.greys, self.table, self.totals, self.assumed):
            panel.show(state)
        for panel in (self.one_yarn, self.new_yarn, self.weighing, self.new_blanket):
            panel.show(state)
