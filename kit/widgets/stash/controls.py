"""The controls of the stash desk and the parts a notebook shows them in."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from kit.files.quantities import GRAMS, METRES, OUNCES, YARDS
from kit.widgets.fields import NumberField
from kit.widgets.lines import Wrapped
from kit.widgets.panel import Controls, Panel
from kit.widgets.stash.views import StashViews
from kit.widgets.stash.yarn_fields import FULL, STYLE, ColourField, YarnForm
from kit.yarn.measured_length import SCALE_G
from kit.yarn.measures import finely

SCALES = (("a kitchen scale", SCALE_G), ("a letter scale", 0.1))
READ_AGAIN, UNDO = "Read the files again", "Undo the last change"
NONE = -1  # no yarn chosen


class StashControls(Controls):
    """What a hand can touch, and what it sees.

    `which`, `shelf`, `greys`, `one_yarn`, `new_yarn`, `weighing`, `totals`, `table`,
    `assumed` and `new_blanket` are the parts a notebook shows, in any order.
    """

    def __init__(self) -> None:
        self.views = StashViews()
        self._make_controls()
        self._make_parts()

    def _make_controls(self) -> None:
        self.blanket = widgets.Dropdown(description="Blanket", style=STYLE, layout=FULL)
        self.again, self.undo = _button(READ_AGAIN), _button(UNDO)
        self.yarn = widgets.Dropdown(description="Yarn", style=STYLE, layout=FULL)
        self.previous, self.next = _button("◂ Previous"), _button("Next ▸")
        self.form = YarnForm()
        self.like, self.copy = _yarn_list(), _button("Copy its label")
        self.take_out = _button("Take the row out")
        self.name = _text("Name")
        self.colours = ColourField()
        self.amount = _text("Grams left", "blank: not weighed")
        self.label_of = _yarn_list()
        self.add = _button("Put it on the shelf", button_style="primary")
        self.length, self.weight = _measure(), _measure()
        self.scale = widgets.Dropdown(
            options=_scales("metric"),
            description="Weighed on",
            style=STYLE,
            layout=FULL,
        )
        self.use_it = _button("Put it in", disabled=True)
        self.use_it.layout = widgets.Layout(width="auto", align_self="flex-start")
        self.new_name = _text("Its name", "Porch throw")
        self.begin = _button("Make its folder")
        self.messages, self.told, self.added = (Wrapped(110) for _ in range(3))
        self.weighed, self.begun = Wrapped(110), Wrapped(110)

    def _ask_in(self, units: str) -> None:
        """Word what is measured in the blanket's units."""
        imperial = units == "imperial"
        long, heavy = ("yd", "oz") if imperial else ("m", "g")
        self.length.ask(f"Length, {long}", YARDS if imperial else METRES)
        self.weight.ask(f"It weighs, {heavy}", OUNCES if imperial else GRAMS)
        self.length.placeholder = "22 yd, or 20 m" if imperial else "20 m, or 22 yd"
        self.weight.placeholder = "0.2 oz" if imperial else "5 g"
        was, self.scale.options = self.scale.value, _scales(units)
        self.scale.value = was

    def _make_parts(self) -> None:
        views, row = self.views, widgets.HBox
        self.which = Panel(
            [self.blanket, row([self.again, self.undo]), self.messages, views.sum]
        )
        self.shelf = Panel([views.way, views.shelf], lambda: views.svg)
        self.greys = Panel([views.greys])
        self.one_yarn = Panel(
            [
                row([self.yarn, self.previous, self.next]),
                self.form,
                self.told,
                views.sum,
                row([self.like, self.copy]),
                row([self.undo, self.take_out, self.again]),
            ]
        )
        self.new_yarn = Panel(
            [self.name, self.colours, self.amount, self.label_of, self.add, self.added]
        )
        measured = [self.length, self.weight, self.scale]
        self.weighing = Panel([*measured, self.weighed, self.yarn, self.use_it])
        tables = [views.family_table, views.weight_table]
        beside = row(tables, layout={"flex_flow": "row wrap", "width": "100%"})
        self.totals = Panel([views.lengths_by, views.lengths, beside])
        self.table = Panel([views.table])
        self.assumed = Panel([views.assumed])
        self.new_blanket = Panel([self.new_name, self.begin, self.begun])


def _button(words: str, **more: Any) -> widgets.Button:
    layout = {"width": "180px"}
    return widgets.Button(description=words, **{"layout": layout, **more})


def _text(words: str, hint: str = "") -> widgets.Text:
    return widgets.Text(description=words, placeholder=hint, style=STYLE, layout=FULL)


def _yarn_list() -> widgets.Dropdown:
    return widgets.Dropdown(
        options=[("no other", NONE)],
        description="The same as",
        style=STYLE,
        layout=FULL,
    )


def _measure() -> NumberField:
    return NumberField("", style=STYLE, layout=FULL)


def _scales(units: str) -> list[tuple[str, float]]:
    return [(f"{words}, ± {finely(off_g, units)}", off_g) for words, off_g in SCALES]
