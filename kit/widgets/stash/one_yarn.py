"""One yarn, to look at and to change."""

from __future__ import annotations

from collections.abc import Mapping

import ipywidgets as widgets

from kit.blanket.stash_file import cells_of, label_cells, with_cells, without_row
from kit.errors import KitError, shorten
from kit.files.folders import STASH
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.stash.controls import (
    NOT_SAVED,
    UNDO,
    StashPanel,
    button,
    like_list,
    numbered,
    offer,
    why_not,
)
from kit.widgets.stash.state import NONE, StashState, StashWork
from kit.widgets.stash.yarn_fields import FULL, STYLE, WORDS, YarnForm


class OneYarnPanel(StashPanel):
    """Every cell of the chosen yarn's row; what is typed is saved at once.

    `undo`, `again` and `total` stand on another panel as well.
    """

    def __init__(
        self,
        work: StashWork,
        undo: widgets.Button,
        again: widgets.Button,
        total: Lines,
    ) -> None:
        self._work, self._undo_button = work, undo
        self.yarn = widgets.Dropdown(description="Yarn", style=STYLE, layout=FULL)
        self.previous, self.next = button("◂ Previous"), button("Next ▸")
        self.form = YarnForm()
        self.like, self.copy = like_list(), button("Copy its label")
        self.take_out = button("Take the row out")
        said, row = Wrapped(110), widgets.HBox
        chosen = [row([self.yarn, self.previous, self.next]), self.form, said, total]
        label = row([self.like, self.copy])
        super().__init__([*chosen, label, row([undo, self.take_out, again])], said=said)
        self.on(self.yarn, self._chosen)
        self.on(self.previous, lambda: self._move(-1))
        self.on(self.next, lambda: self._move(1))
        self.form.watch(self.calm(lambda: said.say(self.keep())))
        self.on(self.copy, self._copy)
        self.on(self.take_out, self._take_out)
        self.on(undo, self._undo)

    def fill(self, state: StashState) -> None:
        self.yarn.options = numbered(state.yarns)
        offer(self.like, state.yarns)
        self._undo_button.disabled = not (state.file and state.file.past)
        for one in (self.copy, self.take_out, self.previous, self.next):
            one.disabled = state.file is None

    def mark(self, state: StashState) -> None:
        self.yarn.value = None if state.at == NONE else state.at
        if state.file is None or state.at == NONE:
            self.form.clear()
            return
        cells = cells_of(state.file.stash.table, state.at)
        self.form.fill(cells, state.yarns[state.at], state.units)

    def keep(self) -> list[str]:
        """Save all cells that differ from the file; what came of it, in sentences."""
        changes, at = self.form.changes(), self.state.at
        if not changes:
            return []
        try:
            self._work.save(with_cells(self._work.file.stash.table, at, changes), at)
        except KitError as error:
            return [*why_not(error), NOT_SAVED]
        what = ", ".join(WORDS[column].lower() for column in changes)
        return [f"Saved in {STASH}: {what}."]

    def put(self, cells: Mapping[str, str]) -> list[str]:
        """Type cells in and save them; what came of it, [] where nothing is new."""
        self.form.put(cells)
        return self.keep()

    def choose(self, at: int) -> None:
        """Another yarn, chosen elsewhere."""
        self.yarn.value = at

    def _chosen(self) -> None:
        """Another yarn: first save what was typed for the last one, if it can be."""
        at, told = self.yarn.value, self.keep()
        if self.form.changes():
            name = shorten(self.state.yarns[self.state.at].name)
            told = [f'What was typed for "{name}" is gone again:', *told]
        self._work.choose(at)
        self.said.say(told)

    def _move(self, by: int) -> None:
        n_yarns = len(self._work.file.stash.yarns)
        self.yarn.value = (self.state.at + by) % n_yarns

    def _copy(self) -> None:
        """Type in what another yarn's label says; colour, amount and lot stay."""
        if self.like.value == NONE:
            self.said.say(["Choose the yarn that this one is the same as."])
            return
        table = self._work.file.stash.table
        told = self.put(label_cells(cells_of(table, self.like.value)))
        self.said.say(told or ["Its label says the same already."])

    def _take_out(self) -> None:
        file, at = self._work.file, self.state.at
        name = shorten(self.state.yarns[at].name)
        self._work.save(without_row(file.stash, at))
        self.said.say([f'"{name}" is out of {STASH}. "{UNDO}" brings it back.'])

    def _undo(self) -> None:
        self._work.undo()
        self.said.say([f"{STASH} is as it was before the last change."])
