"""The rest, planned anew: what is wished, tried, and kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from kit.blanket.choices import LAYOUTS
from kit.needles import ReplanChoices
from kit.needles.replan import Replan, faster_rows
from kit.needles.status import Status, preview_replan
from kit.needles.words import way_back
from kit.report import plan_folder
from kit.widgets.fabric.view import BLANK
from kit.widgets.fields import SIZES, NumberField, needed
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.needles.controls import NARROW, choice, in_line, main_button
from kit.widgets.needles.lists import to_leave_out, to_take_in
from kit.widgets.needles.view import as_knitted, side_svg
from kit.widgets.panel import STYLE, OpenPlan, Panel, svg_image
from kit.widgets.plain_table import PlainTable

LENGTHS = (("as planned", ""), ("until the yarn ends", "all"), ("this length", "cm"))
PACES = (("as planned", False), ("faster from here", True))
ORDERS = (("whichever is better", "either"), ("as it lies", "keep"), ("anew", "anew"))


class WishesPanel(Panel):
    """What the rest is to be like."""

    def __init__(self, said: Lines) -> None:
        self.drop = _several("Without these")
        self.add = _several("With these too")
        self.leftovers = widgets.Checkbox(
            description="Take up balls that were broken off", style=STYLE, indent=False
        )
        self.length = _toggles("Length", LENGTHS)
        self.length_cm = NumberField("the whole blanket", disabled=True)
        self.faster = _toggles("Pace", PACES)
        self.order = _toggles("Order of the rest", ORDERS)
        self.layout_wished = choice("Layout from here")
        self.layout_wished.options = [
            ("as planned", ""),
            *((way, way) for way in LAYOUTS),
        ]
        self.layout_wished.value = ""
        yarns = [in_line(self.drop, self.add), self.leftovers]
        length = in_line(self.length, self.length_cm)
        ways = [self.faster, self.order, self.layout_wished]
        super().__init__([*yarns, length, *ways], said=said)
        self.on(self.length, self._length_chosen)

    def show(self, status: Status) -> None:
        size, sizes = SIZES[status.blanket.choices.units]
        self.length_cm.ask(f"{size}, the whole blanket", sizes)
        self.drop.options = to_leave_out(status)
        self.add.options = to_take_in(status)

    def wished(self, status: Status) -> ReplanChoices:
        """What the controls ask for. Raises KitError where a length is missing."""
        length: float | str | None = self.length.value or None
        if length == "cm":
            length = needed(self.length_cm)
        row, faster = status.now.knitted.row, self.faster.value
        return ReplanChoices(
            drop=tuple(self.drop.value),
            add=tuple(self.add.value),
            length_cm=length,
            layout=self.layout_wished.value or None,
            rows_per_colour=faster_rows(status.plan, row) if faster else None,
            order=self.order.value,
            leftovers=self.leftovers.value,
        )

    def _length_chosen(self) -> None:
        self.length_cm.disabled = self.length.value != "cm"


class TrialPanel(Panel):
    """The plan there is beside another one for the rest."""

    def __init__(self) -> None:
        self.sides = PlainTable(
            caption="Before and after",
            columns=["", "the plan now", "planned anew"],
            numbers=[1, 2],
        )
        self.before, self.after = svg_image(BLANK), svg_image(BLANK)
        self.lines = Wrapped(110)
        pictures = widgets.HBox([self.before, self.after])
        super().__init__([self.sides, pictures, self.lines])

    def show(self, status: Status, replanned: Replan) -> None:
        row = status.now.knitted.row
        before = as_knitted(replanned.before, status.now)
        self.sides.rows = [list(side) for side in replanned.sides]
        self.before.value = side_svg(before, row).encode()
        self.after.value = side_svg(replanned.after, row).encode()
        self.lines.say(replanned.sentences)

    def clear(self) -> None:
        self.sides.rows = []
        self.before.value = self.after.value = BLANK.encode()
        self.lines.say([])


class AnewPanel(Panel):
    """Tries what is wished; `keep` writes it beside the plans there are."""

    _status: Status  # once it is shown

    def __init__(self, keep: Callable[[Replan], Path]) -> None:
        self._keep_plan = keep
        self._tried: Replan | None = None
        said = Wrapped(110)
        self.wishes, self.trial = WishesPanel(said), TrialPanel()
        self.try_it = widgets.Button(description="Try it")
        self.keep_it = main_button("Keep this plan", disabled=True)
        self.open_plan = OpenPlan(said)
        self.progress = widgets.IntProgress(
            0, 0, 2, layout=widgets.Layout(visibility="hidden", width="160px")
        )
        buttons = [self.try_it, self.keep_it, self.open_plan, self.progress]
        super().__init__(
            [self.wishes, widgets.HBox(buttons), said, self.trial], said=said
        )
        self.on(self.try_it, self._try)
        self.on(self.keep_it, self._keep)

    def show(self, status: Status) -> None:
        """What was tried no longer fits; what was said is settled by that."""
        self._status, self._tried, self.keep_it.disabled = status, None, True
        self.said.say([])
        folder = plan_folder(status.blanket.folder, max(1, status.number))
        self.open_plan.offer(folder / "plan.html")
        self.wishes.show(status)
        self.trial.clear()

    def _try(self) -> None:
        self.said.say(["Working the rest out …"])
        wished = self.wishes.wished(self._status)
        self._tried = preview_replan(self._status, wished)
        self.keep_it.disabled = False
        self.trial.show(self._status, self._tried)
        self.said.say(["Tried, not kept: left as it is, right planned anew."])

    def _keep(self) -> None:
        if self._tried is None:
            return
        self.progress.value, self.progress.layout.visibility = 1, "visible"
        self.said.say(["Drawing the pictures, writing the pages: some seconds …"])
        try:
            path = self._keep_plan(self._tried)
        finally:
            self.progress.layout.visibility = "hidden"
        kept = f"Kept, beside the plans before it: {path / 'plan.html'}"
        self.said.say([kept, way_back(path)])


def _several(words: str) -> widgets.SelectMultiple:
    return widgets.SelectMultiple(description=words, rows=6, style=STYLE, layout=NARROW)


def _toggles(words: str, options: Any) -> widgets.ToggleButtons:
    return widgets.ToggleButtons(options=options, description=words, style=STYLE)
