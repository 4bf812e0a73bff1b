"""The join just made, and what comes next."""

from __future__ import annotations

from functools import partial

from kit.needles import log_join, status_lines
from kit.needles.status import Status
from kit.widgets.fields import COUNT, NumberField, whole_number
from kit.widgets.lines import Wrapped
from kit.widgets.needles.controls import choice, in_line, main_button, offer
from kit.widgets.needles.lists import on_the_needle, to_join
from kit.widgets.needles.work import Enter
from kit.widgets.panel import STYLE, Panel

AS_PLANNED = ("as the plan says", "")


class JoinPanel(Panel):
    """One press logs the join that comes next, unless a hand says otherwise."""

    _status: Status  # once it is shown

    def __init__(self, enter: Enter) -> None:
        self._enter = enter
        self.joined, self.instead_of = choice("Joined"), choice("instead of")
        self.row = NumberField("at row", COUNT, style=STYLE)
        self.log_it = main_button("Log the join")
        self.lines, said = Wrapped(110), Wrapped(110)
        controls = in_line(self.joined, self.row, self.instead_of, self.log_it)
        super().__init__([controls, said, self.lines], said=said)
        self.on(self.log_it, self._join)
        self.on(self.joined, self._at_its_row)

    def show(self, status: Status) -> None:
        """What comes next, filled in; what was said is settled by that."""
        self._status = status
        self.said.say([])
        self.lines.say(status_lines(status))
        with self.set_by_program():
            offer(self.joined, to_join(status))
            offer(self.instead_of, [AS_PLANNED, *on_the_needle(status)])
            if joins := status.now.joins:
                self.joined.value = joins[0].yarn.name
        self._at_its_row()

    def _at_its_row(self) -> None:
        """The row and the strand the plan has for this join, to be changed by hand; of
        several, as in a mirrored blanket, those of the first."""
        joins = self._status.now.joins
        own = (join for join in joins if join.yarn.name == self.joined.value)
        if join := next(own, None):
            self.row.show(int(join.row.likely))
            held = [value for _, value in self.instead_of.options]
            ends = join.instead_of
            self.instead_of.value = ends if ends in held else ""

    def _join(self) -> None:
        name, row = self.joined.value, whole_number(self.row)
        other = self.instead_of.value or ""
        line = partial(log_join, yarn=name, row=row, instead_of=other)
        self._enter(line, f"Logged: joined {name} at row {row}.", self.said)
