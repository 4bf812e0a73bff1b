"""The controls of the needles desk, and the parts of the notebook they stand in."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from kit.blanket.choices import LAYOUTS
from kit.widgets.fabric.view import BLANK
from kit.widgets.fields import COUNT, SIZES, WEIGHTS, NumberField
from kit.widgets.lines import Wrapped
from kit.widgets.panel import STYLE, WIDE, Controls, OpenPlan, Panel, svg_image
from kit.widgets.plain_table import PlainTable

NARROW = widgets.Layout(width="420px")
LENGTHS = (("as planned", ""), ("until the yarn ends", "all"), ("this length", "cm"))
PACES = (("as planned", False), ("faster from here", True))
ORDERS = (("whichever is better", "either"), ("as it lies", "keep"), ("anew", "anew"))


class NeedlesControls(Controls):
    """What the desk is made of; `needles.NeedlesDesk` says what it does.

    `which`, `join`, `more`, `now`, `balls`, `sure`, `anew` and `log` are the parts.
    """

    def __init__(self) -> None:
        self.messages = Wrapped(120)
        self._make_log_controls()
        self._make_wishes()
        self._make_views()
        self._make_parts()

    def _make_log_controls(self) -> None:
        self.folder = _choice("Blanket", WIDE)
        self.again = _button("Read the files again")
        self.joined, self.instead_of = _choice("Joined"), _choice("instead of")
        self.join_row = NumberField("at row", COUNT, style=STYLE)
        self.log_join = _main_button("Log the join")
        self.undo = _button("Take the last line out")
        self.to_row = NumberField("Knitted to row", COUNT, style=STYLE)
        self.log_row = widgets.Button(description="Log the rows")
        self.weighed = _choice("Weighed")
        self.grams = NumberField("left on it", style=STYLE)
        self.log_weight = widgets.Button(description="Log the weight")
        self.gone = _choice("This ball")
        self.ran_out = widgets.Button(description="ran out")
        self.lost = widgets.Button(description="is lost")
        self.skipped = widgets.Button(description="is to be skipped")

    def _make_wishes(self) -> None:
        self.drop = widgets.SelectMultiple(
            description="Without these", rows=6, style=STYLE, layout=NARROW
        )
        self.add = widgets.SelectMultiple(
            description="With these too", rows=6, style=STYLE, layout=NARROW
        )
        self.length = _toggles("Length", LENGTHS)
        self.length_cm = NumberField("the whole blanket", disabled=True)
        self.layout = _choice("Layout from here")
        self.layout.options = [("as planned", ""), *((way, way) for way in LAYOUTS)]
        self.layout.value = ""
        self.faster = _toggles("Pace", PACES)
        self.order = _toggles("Order of the rest", ORDERS)
        self.leftovers = widgets.Checkbox(
            description="Take up balls that were broken off", style=STYLE, indent=False
        )
        self.try_it = widgets.Button(description="Try it")
        self.keep_it = _main_button("Keep this plan", disabled=True)
        self.progress = widgets.IntProgress(
            0, 0, 2, layout=widgets.Layout(visibility="hidden", width="160px")
        )

    def _make_views(self) -> None:
        self.svg = ""
        self.picture = svg_image()
        self.before, self.after = svg_image(BLANK), svg_image(BLANK)
        self.lines, self.sure_lines = Wrapped(110), Wrapped(120)
        self.joined_said, self.more_said = Wrapped(110), Wrapped(110)
        self.weigh_said = Wrapped(110)
        self.anew_said, self.anew_lines = Wrapped(110), Wrapped(110)
        self.ball_table = PlainTable(
            caption="Every ball as it is now believed to be",
            columns=[],
            numbers=[0, 3, 4, 5],
        )
        self.end_table = PlainTable(
            caption="Where strands are likely to end; one to come, if it is joined as "
            "told: later, it ends as much later",
            columns=["no", "yarn", "joined in row", "ends in row", "between", "and"],
            numbers=[0, 2, 3, 4, 5],
        )
        self.sides = PlainTable(
            caption="Before and after",
            columns=["", "the plan now", "planned anew"],
            numbers=[1, 2],
        )
        self.log_table = PlainTable(
            caption="knitted.csv, by row of the blanket",
            columns=[],
            numbers=[0, 2, 6],
        )

    def _ask_in(self, units: str) -> None:
        """Word fields and tables in the blanket's units."""
        (size, sizes), (mass, masses) = SIZES[units], WEIGHTS[units]
        self.grams.ask(f"left on it, {mass}", masses)
        self.length_cm.ask(f"{size}, the whole blanket", sizes)
        columns = ["no", "yarn", "now", f"left, {mass}", "between", "and"]
        self.ball_table.columns = columns
        columns = ["file row", "date", "row", "what", "yarn", "instead of"]
        self.log_table.columns = [*columns, f"left, {mass}"]

    def _make_parts(self) -> None:
        row = widgets.HBox
        self.which = Panel([self.folder, _in_line([self.again]), self.messages])
        self.join = Panel(
            [
                _in_line([self.joined, self.join_row, self.instead_of, self.log_join]),
                self.joined_said,
                self.lines,
            ]
        )
        self.more = Panel(
            [
                _in_line([self.to_row, self.log_row]),
                _in_line([self.weighed, self.grams, self.log_weight]),
                self.weigh_said,
                _in_line([self.gone, self.ran_out, self.lost, self.skipped]),
                _in_line([self.undo]),
                self.more_said,
            ]
        )
        self.open_plan = OpenPlan(self.anew_said)
        self.now = Panel([row([self.picture])], lambda: self.svg)
        self.balls = Panel([self.ball_table])
        self.sure = Panel([self.sure_lines, self.end_table])
        self.anew = Panel(
            [
                _in_line([self.drop, self.add]),
                self.leftovers,
                _in_line([self.length, self.length_cm]),
                self.faster,
                self.order,
                self.layout,
                row([self.try_it, self.keep_it, self.open_plan, self.progress]),
                self.anew_said,
                self.sides,
                row([self.before, self.after]),
                self.anew_lines,
            ]
        )
        self.log = Panel([self.log_table])


def _choice(words: str, layout: Any = NARROW) -> widgets.Dropdown:
    return widgets.Dropdown(description=words, style=STYLE, layout=layout)


def _toggles(words: str, options: Any) -> widgets.ToggleButtons:
    return widgets.ToggleButtons(options=options, description=words, style=STYLE)


def _button(words: str) -> widgets.Button:
    return widgets.Button(description=words, layout=widgets.Layout(width="auto"))


def _main_button(words: str, **more: Any) -> widgets.Button:
    return widgets.Button(description=words, button_style="primary", **more)


def _in_line(children: list[Any]) -> widgets.HBox:
    return widgets.HBox(children, layout=widgets.Layout(flex_flow="row wrap"))
