"""Another yarn on the shelf, the length of 100 g from a piece, another blanket."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import ipywidgets as widgets

from kit.blanket.stash_file import cells_of, label_cells, with_row
from kit.blanket.stash_rows import PER_100G
from kit.blanket.whereabouts import begin_blanket
from kit.errors import KitError, shorten
from kit.files.folders import STASH
from kit.files.quantities import GRAMS, METRES, OUNCES, YARDS
from kit.widgets.fields import NumberField, needed
from kit.widgets.lines import Wrapped
from kit.widgets.stash.controls import (
    NOT_SAVED,
    StashPanel,
    amount_column,
    button,
    like_list,
    offer,
    text_field,
    why_not,
)
from kit.widgets.stash.state import NONE, StashState, StashWork
from kit.widgets.stash.yarn_fields import FULL, STYLE, WORDS, ColourField, usual_of
from kit.yarn.measured_length import SCALE_G, length_lines, weigh_length
from kit.yarn.measures import METRES_PER_YARD, finely, three_digits

SCALES = (("a kitchen scale", SCALE_G), ("a letter scale", 0.1))


class NewYarnPanel(StashPanel):
    """A yarn that comes onto the shelf, with the label of another."""

    def __init__(self, work: StashWork) -> None:
        self._work = work
        self.name, self.colours = text_field("Name"), ColourField()
        self.amount = text_field("Grams left", "blank: not weighed")
        self.like = like_list()
        self.add = button("Put it on the shelf", button_style="primary")
        said = Wrapped(110)
        fields = [self.name, self.colours, self.amount, self.like]
        super().__init__([*fields, self.add, said], said=said)
        self.on(self.add, self._add)

    def fill(self, state: StashState) -> None:
        self.amount.description = WORDS[amount_column(state)]
        offer(self.like, state.yarns)
        self.add.disabled = state.file is None

    def _add(self) -> None:
        stash, at = self._work.file.stash, len(self.state.yarns)
        cells = self._label() | {
            "name": self.name.value,
            "colours": self.colours.value,
            amount_column(self.state): self.amount.value,
        }
        try:
            self._work.save(with_row(stash, cells), at)
        except KitError as error:
            self.said.say([*why_not(error), NOT_SAVED])
            return
        no, name = self.state.yarns[at].no, self.state.yarns[at].name
        self.said.say([f'"{shorten(name)}" is on the shelf and in {STASH}: no. {no}.'])
        self.name.value = self.amount.value = ""
        self.colours.fill("")

    def _label(self) -> dict[str, str]:
        """The label of the yarn that the new one is the same as."""
        if self.like.value == NONE:
            return {}
        return label_cells(cells_of(self._work.file.stash.table, self.like.value))


class WeighingPanel(StashPanel):
    """The length of 100 g, for the yarn chosen in `yarn`; `put` types it in there."""

    def __init__(
        self, yarn: widgets.Dropdown, put: Callable[[Mapping[str, str]], list[str]]
    ) -> None:
        self._put, self._figure = put, ""
        self.length, self.weight = (
            NumberField("", style=STYLE, layout=FULL) for _ in range(2)
        )
        self.scale = widgets.Dropdown(
            options=_scales("metric"),
            description="Weighed on",
            style=STYLE,
            layout=FULL,
        )
        self.use_it = button("Put it in", disabled=True)
        self.use_it.layout = widgets.Layout(width="auto", align_self="flex-start")
        said, measured = Wrapped(110), [self.length, self.weight, self.scale]
        super().__init__([*measured, said, yarn, self.use_it], said=said)
        for control in measured:
            self.on(control, self._weigh)
        self.on(self.use_it, self._use)

    def fill(self, state: StashState) -> None:
        """Word what is measured in the blanket's units."""
        imperial = state.units == "imperial"
        long, heavy = ("yd", "oz") if imperial else ("m", "g")
        self.length.ask(f"Length, {long}", YARDS if imperial else METRES)
        self.weight.ask(f"It weighs, {heavy}", OUNCES if imperial else GRAMS)
        self.length.placeholder = "22 yd, or 20 m" if imperial else "20 m, or 22 yd"
        self.weight.placeholder = "0.2 oz" if imperial else "5 g"
        was, self.scale.options = self.scale.value, _scales(state.units)
        self.scale.value = was

    def mark(self, state: StashState) -> None:
        if state.at != NONE:
            name = shorten(state.yarns[state.at].name, 40)
            self.use_it.description = f'Put it in for "{name}"'

    def _weigh(self) -> None:
        self.use_it.disabled, self._figure = True, ""
        if not (self.length.value.strip() and self.weight.value.strip()):
            self.said.say([])
            return
        measured = needed(self.length), needed(self.weight)
        scale_g, units = self.scale.value, self.state.units
        weighing = weigh_length(*measured, scale_g=scale_g, units=units)
        self.said.say(length_lines(weighing, scale_g=scale_g, units=units))
        per = METRES_PER_YARD if units == "imperial" else 1.0
        self._figure = three_digits(weighing.metres_per_100g / per)
        self.use_it.disabled = False

    def _use(self) -> None:
        units = self.state.units
        column, unit = usual_of(PER_100G, units), usual_of(("m", "yd"), units)
        told = self._put({**dict.fromkeys(PER_100G, ""), column: self._figure})
        same = [f"{self._figure} {unit} per 100 g stands there already."]
        self.said.say(told or same)


class NewBlanketPanel(StashPanel):
    """Begins another blanket beside this one, and opens it."""

    def __init__(self, open_folder: Callable[[Path], None]) -> None:
        self._open_folder = open_folder
        self.name = text_field("Its name", "Porch throw")
        self.begin = button("Make its folder")
        said = Wrapped(110)
        super().__init__([self.name, self.begin, said], said=said)
        self.on(self.begin, self._begin)

    def _begin(self) -> None:
        folder = begin_blanket(self.state.folder.parent, self.name.value)
        self._open_folder(folder)
        self.said.say(
            [f"Made and open: {folder}", "Choose it in the other notebooks as well."]
        )


def _scales(units: str) -> list[tuple[str, float]]:
    return [(f"{words}, ± {finely(off_g, units)}", off_g) for words, off_g in SCALES]
