"""The stash desk: the shelf of balls, and every cell of stash.csv under the hand."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.blanket import Stash, Yarn
from kit.blanket.stash_file import (
    StashFile,
    cells_of,
    label_cells,
    open_stash,
    row_number,
    save_table,
    undone,
    with_cells,
    with_row,
    without_row,
)
from kit.blanket.stash_rows import MASSES, PER_100G
from kit.blanket.whereabouts import begin_blanket, blanket_in_view, blankets_beside
from kit.errors import Fault, KitError, shorten
from kit.files import Table
from kit.files.folders import STASH
from kit.pictures.inventory import stash_frame
from kit.widgets.fields import needed
from kit.widgets.lines import Lines, messages_beside
from kit.widgets.stash.controls import NONE, READ_AGAIN, UNDO, StashControls
from kit.widgets.stash.yarn_fields import WORDS, usual_of
from kit.yarn.measured_length import length_lines, weigh_length
from kit.yarn.measures import METRES_PER_YARD, three_digits

NOT_SAVED = f"Nothing was saved: {STASH} is as it was."


class StashDesk(StashControls):
    """One stash under the knitter's hands.

    Its parts are those of `StashControls`. A change is made in the text of stash.csv,
    read again as a whole and saved, or told; `frame` gives the stash to pandas.
    """

    def __init__(self, folder: str | Path | None = None) -> None:
        self.file: StashFile | None = None  # None while it cannot be read
        self.folder = Path(folder or blanket_in_view()).resolve()
        self._figure = ""
        super().__init__()
        self._watch()
        messages_beside(self.messages)(self._open)(self.folder)

    # --- what each control does ---

    def _watch(self) -> None:
        def on(control: Any, lines: Lines, act: Callable[[], None]) -> None:
            if isinstance(control, widgets.Button):
                control.on_click(self._calm(lines, act))
            else:
                control.observe(self._calm(lines, act), "value")

        on(self.blanket, self.messages, lambda: self._open(self.blanket.value))
        on(self.again, self.messages, lambda: self._open(self.folder))
        on(self.undo, self.told, self._undo)
        on(self.views.way, self.messages, self._draw)
        on(self.views.lengths_by, self.messages, self._draw)
        on(self.yarn, self.told, self._chosen)
        on(self.previous, self.told, lambda: self._move(-1))
        on(self.next, self.told, lambda: self._move(1))
        self.form.watch(self._calm(self.told, self._typed))
        self.views.table.observe(self._calm(self.told, self._clicked), "chosen")
        on(self.copy, self.told, self._copy)
        on(self.take_out, self.told, self._take_out)
        on(self.add, self.added, self._add)
        for control in (self.length, self.weight, self.scale):
            on(control, self.weighed, self._weigh)
        on(self.use_it, self.weighed, self._use_weighing)
        on(self.begin, self.begun, self._begin)

    def _calm(self, lines: Lines, act: Callable[[], None]) -> Callable[..., Any]:
        """A callback for a control: what is wrong is told in `lines`."""

        def told(*_: Any) -> None:
            if self._filling:
                return
            try:
                act()
            except KitError as error:
                lines.say(_in_words(error))

        return messages_beside(lines)(told)

    # --- reading and showing ---

    @property
    def yarns(self) -> tuple[Yarn, ...]:
        """The yarns as the file has them; none while it cannot be read."""
        return self.file.stash.yarns if self.file else ()

    @property
    def at(self) -> int:
        """Which yarn is chosen, as a place in the file."""
        return NONE if self.yarn.value is None else self.yarn.value

    @property
    def _units(self) -> str:
        return self.file.units if self.file else "metric"

    def _open(self, folder: Path) -> None:
        self.folder, self.file = Path(folder).resolve(), None
        with self._set_by_program():
            folders = blankets_beside(self.folder)
            self.blanket.options = [(path.name, path) for path in folders]
            self.blanket.value = self.folder
        try:
            self.file = open_stash(self.folder)
        finally:
            self._show(self.at)
        self.messages.say([f"Open: {self.file.path}", *self.file.sentences])
        self.told.say([])

    def _show(self, at: int) -> None:
        """Everything that follows from the stash; the yarn at this place is chosen."""
        file = self.file
        with self._set_by_program():
            self._list_yarns(at)
            self.views.show(file.stash if file else None, self._units)
            self.views.table.chosen = self.at
            self.amount.description = WORDS[self._amount_column()]
            self._ask_in(self._units)
        self._fill_form()
        self.undo.disabled = not (file and file.past)
        for button in (self.add, self.copy, self.take_out, self.previous, self.next):
            button.disabled = file is None

    def _list_yarns(self, at: int) -> None:
        named = [(f"{y.no} · {y.name}", k) for k, y in enumerate(self.yarns)]
        self.yarn.options = named
        self.yarn.value = min(max(at, 0), len(named) - 1) if named else None
        for control in (self.like, self.label_of):
            was = control.value
            control.options = [("no other", NONE), *named]
            control.value = was if was in range(len(named)) else NONE

    def _draw(self) -> None:
        self.views.draw(self.yarns, self._units)

    def _fill_form(self) -> None:
        self._form_at = at = self.at
        if self.file is None or at == NONE:
            self.form.clear()
            return
        cells = cells_of(self.file.stash.table, at)
        self.form.fill(cells, self.yarns[at], self._units)
        name = shorten(self.yarns[at].name, 40)
        self.use_it.description = f'Put it in for "{name}"'

    # --- one yarn ---

    def _needed(self) -> StashFile:
        if self.file is None:
            says = f"{STASH} cannot be read as it is"
            advice = f'Put it right, then press "{READ_AGAIN}".'
            raise KitError(Fault("no_stash", says=says, advice=advice))
        return self.file

    def _save(self, table: Table, at: int) -> None:
        """Save a changed table, or raise; faults of row `at` in the fields' words."""
        try:
            self.file = save_table(self._needed(), table)
        except KitError as error:
            raise KitError(_at_hand(error, row_number(table, at))) from None

    def _typed(self) -> None:
        self.told.say(self._keep())

    def _keep(self) -> list[str]:
        """Save all cells that differ from the file; what came of it, in sentences."""
        changes, at = self.form.changes(), self._form_at
        if not changes:
            return []
        try:
            self._save(with_cells(self._needed().stash.table, at, changes), at)
        except KitError as error:
            return [*_in_words(error), NOT_SAVED]
        self._show(at)
        what = ", ".join(WORDS[column].lower() for column in changes)
        return [f"Saved in {STASH}: {what}."]

    def _chosen(self) -> None:
        """Another yarn: first save what was typed for the last one, if it can be."""
        at, told = self.at, self._keep()
        if self.form.changes():
            name = shorten(self.yarns[self._form_at].name)
            told = [f'What was typed for "{name}" is gone again:', *told]
        with self._set_by_program():
            self.yarn.value = self.views.table.chosen = at
        self._fill_form()
        self.told.say(told)

    def _move(self, by: int) -> None:
        self._needed()
        self.yarn.value = (self.at + by) % len(self.yarns)

    def _clicked(self) -> None:
        if self.views.table.chosen != NONE:
            self.yarn.value = self.views.table.chosen

    def _copy(self) -> None:
        """Type in what another yarn's label says; colour, amount and lot stay."""
        if self.like.value == NONE:
            self.told.say(["Choose the yarn that this one is the same as."])
            return
        table = self._needed().stash.table
        self.form.put(label_cells(cells_of(table, self.like.value)))
        self.told.say(self._keep() or ["Its label says the same already."])

    def _take_out(self) -> None:
        file, at = self._needed(), self._form_at
        name = shorten(self.yarns[at].name)
        self._save(without_row(file.stash, at), NONE)
        self._show(at)
        self.told.say([f'"{name}" is out of {STASH}. "{UNDO}" brings it back.'])

    def _undo(self) -> None:
        self.file = undone(self._needed())
        self._show(self.at)
        self.told.say([f"{STASH} is as it was before the last change."])

    # --- another yarn ---

    def _add(self) -> None:
        stash = self._needed().stash
        cells = self._label() | {
            "name": self.name.value,
            "colours": self.colours.value,
            self._amount_column(): self.amount.value,
        }
        at = len(stash.yarns)
        try:
            self._save(with_row(stash, cells), at)
        except KitError as error:
            self.added.say([*_in_words(error), NOT_SAVED])
            return
        self._show(at)
        no, name = self.yarns[at].no, self.yarns[at].name
        self.added.say([f'"{shorten(name)}" is on the shelf and in {STASH}: no. {no}.'])
        self.name.value = self.amount.value = ""
        self.colours.fill("")

    def take_in(self, make: Callable[[Stash], Table]) -> None:
        """Save the table that `make` makes of the stash; everything follows.

        What is typed for the chosen yarn is saved first. Raises KitError, the file as
        it was.
        """
        told = self._keep()
        if self.form.changes():
            says = f'What is typed under "One yarn" cannot be saved: {told[0]}'
            raise KitError(Fault("typed", says=says.rstrip(".")))
        self._save(make(self._needed().stash), NONE)
        self._show(self.at)

    def _label(self) -> dict[str, str]:
        """The label of the yarn that the new one is the same as."""
        if self.label_of.value == NONE:
            return {}
        return label_cells(cells_of(self._needed().stash.table, self.label_of.value))

    def _amount_column(self) -> str:
        columns = self.file.stash.table.columns if self.file else ()
        there = [column for column in MASSES if column in columns]
        return there[0] if there else usual_of(MASSES, self._units)

    # --- weighing ---

    def _weigh(self) -> None:
        self.use_it.disabled, self._figure = True, ""
        if not (self.length.value.strip() and self.weight.value.strip()):
            self.weighed.say([])
            return
        measured = needed(self.length), needed(self.weight)
        weighing = weigh_length(*measured, scale_g=self.scale.value, units=self._units)
        scale_g, units = self.scale.value, self._units
        self.weighed.say(length_lines(weighing, scale_g=scale_g, units=units))
        per = METRES_PER_YARD if units == "imperial" else 1.0
        self._figure = three_digits(weighing.metres_per_100g / per)
        self.use_it.disabled = False

    def _use_weighing(self) -> None:
        column = usual_of(PER_100G, self._units)
        self.form.put({**dict.fromkeys(PER_100G, ""), column: self._figure})
        unit = "yd" if self._units == "imperial" else "m"
        same = [f"{self._figure} {unit} per 100 g stands there already."]
        self.weighed.say(self._keep() or same)

    # --- another blanket ---

    def _begin(self) -> None:
        folder = begin_blanket(self.folder.parent, self.new_name.value)
        self._open(folder)
        self.begun.say(
            [f"Made and open: {folder}", "Choose it in the other notebooks as well."]
        )

    def frame(self) -> Any:
        """The stash as a pandas DataFrame."""
        return stash_frame(self.yarns)


def _in_words(error: KitError) -> list[str]:
    """What was wrong; where another program was there, the way out."""
    if any(fault.code == "changed_elsewhere" for fault in error.faults):
        return [
            f"{STASH} was changed in another program since it was read here. That "
            "change stays, yours is not saved.",
            f'Press "{READ_AGAIN}", then make your change once more.',
        ]
    return str(error).splitlines()


def _at_hand(error: KitError, number: int) -> list[Fault]:
    """The faults of the row at hand under the fields' words, those of others whole."""
    return [
        fault.at(file="", row=None, name="", column=WORDS.get(fault.column, ""))
        if fault.row == number
        else fault
        for fault in error.faults
    ]
