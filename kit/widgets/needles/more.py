"""Rows, weights, and what went otherwise."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import ipywidgets as widgets

from kit.needles import log_row, log_weighing
from kit.needles.status import (
    Status,
    last_line,
    log_ran_out,
    mark_lost,
    skip,
    undo_last,
)
from kit.widgets.fields import COUNT, WEIGHTS, NumberField, needed, whole_number
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.needles.controls import choice, in_line, offer
from kit.widgets.needles.lists import at_hand
from kit.widgets.needles.view import parts_line
from kit.widgets.needles.work import Enter
from kit.widgets.panel import STYLE, Panel
from kit.yarn.measures import weighed

ANEW = "Plan the rest anew below."


class RowsPanel(Panel):
    """How far the blanket is knitted."""

    def __init__(self, enter: Enter, said: Lines) -> None:
        self._enter, self._knitted = enter, 0
        self.to_row = NumberField("Knitted to row", COUNT, style=STYLE)
        self.log_it = widgets.Button(description="Log the rows")
        super().__init__([in_line(self.to_row, self.log_it)], said=said)
        self.on(self.log_it, self._rows)

    def show(self, status: Status) -> None:
        self._knitted = status.now.knitted.row
        self.to_row.show(self._knitted or None)

    def row(self) -> int:
        """The row that is typed, or where the log stands. Raises KitError."""
        typed = self.to_row.value.strip()
        return whole_number(self.to_row) if typed else self._knitted

    def _rows(self) -> None:
        row = whole_number(self.to_row)
        line = partial(log_row, row=row)
        self._enter(line, f"Logged: knitted to row {row}.", self.said)


class WeighPanel(Panel):
    """What a ball weighs after `row()`; of one in parts, that all of them count."""

    _status: Status  # once it is shown

    def __init__(self, enter: Enter, said: Lines, row: Callable[[], int]) -> None:
        self._enter, self._row = enter, row
        self.yarn, self.left = choice("Weighed"), NumberField("left on it", style=STYLE)
        self.log_it = widgets.Button(description="Log the weight")
        self.parts = Wrapped(110)
        controls = in_line(self.yarn, self.left, self.log_it)
        super().__init__([controls, self.parts], said=said)
        self.on(self.yarn, self._tell_parts)
        self.on(self.log_it, self._weigh)

    def show(self, status: Status) -> None:
        self._status = status
        mass, masses = WEIGHTS[status.blanket.choices.units]
        self.left.ask(f"left on it, {mass}", masses)
        with self.set_by_program():
            offer(self.yarn, at_hand(status))
        self._tell_parts()

    def _tell_parts(self) -> None:
        said = parts_line(self._status.now, self.yarn.value)
        self.parts.say([said] if said else [])

    def _weigh(self) -> None:
        name, grams, row = self.yarn.value, needed(self.left), self._row()
        units = self._status.blanket.choices.units
        line = partial(log_weighing, yarn=name, row=row, grams=grams, units=units)
        words = f"Logged: {weighed(grams, units)} of {name} left after row {row}."
        self._enter(line, words, self.said)
        self.left.show(None)


class GonePanel(Panel):
    """A ball that ran out, is lost or is to be skipped."""

    def __init__(self, enter: Enter, said: Lines, row: Callable[[], int]) -> None:
        self._enter, self._row = enter, row
        self.yarn = choice("This ball")
        self.ran_out, self.lost, self.skipped = buttons = [
            widgets.Button(description=words)
            for words in ("ran out", "is lost", "is to be skipped")
        ]
        super().__init__([in_line(self.yarn, *buttons)], said=said)
        self.on(self.ran_out, self._ran_out)
        self.on(self.lost, self._lost)
        self.on(self.skipped, self._skipped)

    def show(self, status: Status) -> None:
        with self.set_by_program():
            offer(self.yarn, at_hand(status))

    def _ran_out(self) -> None:
        name, row = self.yarn.value, self._row()
        line = partial(log_ran_out, yarn=name, row=row)
        self._enter(line, f"Logged: {name} ran out in row {row}.", self.said)

    def _lost(self) -> None:
        name = self.yarn.value
        line = partial(mark_lost, yarn=name)
        self._enter(line, f"Logged: {name} is lost. {ANEW}", self.said)

    def _skipped(self) -> None:
        name = self.yarn.value
        line = partial(skip, yarn=name)
        self._enter(line, f"Logged: {name} is skipped. {ANEW}", self.said)


class UndoPanel(Panel):
    """Takes the log's last line out."""

    _status: Status  # once it is shown

    def __init__(self, enter: Enter, said: Lines) -> None:
        self._enter = enter
        self.take_out = widgets.Button(
            description="Take the last line out", layout={"width": "auto"}
        )
        super().__init__([in_line(self.take_out)], said=said)
        self.on(self.take_out, self._undo)

    def show(self, status: Status) -> None:
        self._status = status
        self.take_out.disabled = not status.log.notes

    def _undo(self) -> None:
        line = last_line(self._status)
        words = "The log is empty."
        if line:
            words = f"Taken out: {line.what} {line.yarn} at row {line.row}."
        self._enter(undo_last, words, self.said)


class MorePanel(Panel):
    """All of these, with what came of them in one place."""

    def __init__(self, enter: Enter) -> None:
        said = Wrapped(110)
        self.rows = RowsPanel(enter, said)
        self.weigh = WeighPanel(enter, said, self.rows.row)
        self.gone = GonePanel(enter, said, self.rows.row)
        self.undo = UndoPanel(enter, said)
        self._panels = (self.rows, self.weigh, self.gone, self.undo)
        super().__init__([*self._panels, said], said=said)

    def show(self, status: Status) -> None:
        """What was said is settled by this."""
        self.said.say([])
        for panel in self._panels:
            panel.show(status)
