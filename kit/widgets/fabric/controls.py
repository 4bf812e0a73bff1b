"""What the panels of the fabric desk share: the blanket small beside them, fields with
their keys, and faults in the fields' words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import ipywidgets as widgets
import numpy as np

from kit.blanket.keys import AtMost
from kit.errors import Fault, KitError
from kit.files.quantities import Quantity
from kit.pictures.swatches import SURROUND
from kit.plan import Plan
from kit.report.report import fabric_lines
from kit.widgets.fabric.state import ChooseFabric, FabricState
from kit.widgets.fabric.view import small_look
from kit.widgets.fields import COUNT, COUNTS, PERCENT, SIZES, WEIGHTS, NumberField
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.panel import Panel

# `{}` stands for the unit, which is the blanket's: one that is typed wins.
MEASURED = {
    "gauge.stitches_per_10cm": ("Stitches in {}", COUNTS),
    "gauge.rows_per_10cm": ("Rows in {}", COUNTS),
    "gauge.repeat_width_cm": ("One repeat measures, {}", SIZES),
    "size.width_cm": ("Width, {}", SIZES),
    "size.length_cm": ("Length, {}", SIZES),
}
COUNTED = {
    "size.repeat_stitches": ("Stitches in a repeat", COUNT),
    "size.edge_stitches": ("Edge stitches, both sides", COUNT),
    "strands.fabric_tex": ("All strands together, tex", COUNT),
    "strands.thinner": ("Thinner by up to, %", PERCENT),
    "strands.thicker": ("Thicker by up to, %", PERCENT),
    "strands.least": ("Fewest strands", COUNT),
    "strands.most": ("Most strands", COUNT),
    "strands.contrast": ("Warn over a contrast of", COUNT),
    "colours.times_through": ("Times through", COUNT),
}
SWATCH = {
    "width_cm": ("Swatch width, {}", SIZES),
    "length_cm": ("Swatch length, {}", SIZES),
    "grams": ("Swatch weighs, {}", WEIGHTS),
}


class SmallBlanket(widgets.HBox):
    """The blanket small, and its totals."""

    def __init__(self) -> None:
        self.image = widgets.Image(format="png")
        self.image.layout = widgets.Layout(
            border=f"6px solid {SURROUND}", align_self="flex-start", flex="0 0 auto"
        )
        self.lines = Wrapped(40)
        self.lines.layout = widgets.Layout(margin="0 0 0 10px")
        super().__init__([self.image, self.lines], layout={"flex": "0 0 460px"})

    def show(self, plan: Plan) -> None:
        self.lines.say(fabric_lines(plan))

    def draw(self, plan: Plan, near: np.ndarray | None, *, grey: bool) -> None:
        self.image.value = small_look(plan, near, grey=grey)


class FabricPanel(Panel):
    """Controls with their own lines for what came of them, the blanket small beside.

    `fill` sets the controls to what is chosen; `put` asks for a change.
    """

    _shown: FabricState | None = None

    def __init__(
        self, choose: ChooseFabric, small: SmallBlanket, controls: Iterable[Any]
    ) -> None:
        said = Wrapped(80, bold=True)
        column = widgets.VBox([*controls, said], layout={"flex": "1 1 400px"})
        box = widgets.HBox([column, small], layout={"flex_flow": "row wrap"})
        super().__init__([box], said=said)
        self._choose = choose

    def fill(self, state: FabricState) -> None:
        raise NotImplementedError

    @property
    def state(self) -> FabricState:
        assert self._shown is not None
        return self._shown

    def show(self, state: FabricState) -> None:
        """What is chosen, in every control; what was said is settled by that."""
        was, self._shown = self._shown, state
        if was and was.blanket is state.blanket:
            return
        with self.set_by_program():
            self.fill(state)
        self.said.say([])

    def put(self, **changes: Any) -> None:
        """Ask for a change: keys as `choose` takes them, `__` for their dot."""
        dotted = {key.replace("__", "."): value for key, value in changes.items()}
        self._choose(dotted, self.said)

    def calm(
        self, act: Callable[[], Any], said: Lines | None = None
    ) -> Callable[..., Any]:
        """Faults are told in the fields' words in place of the file's keys."""

        def worded() -> None:
            try:
                act()
            except KitError as error:
                units = self.state.choices.units
                raise KitError(in_fields(f, units) for f in error.faults) from None

        return super().calm(worded, said)


def key_fields(table: str) -> dict[str, NumberField]:
    """Fields for the numbers of a table of blanket.toml, by key."""
    return {
        key: NumberField(words, how if isinstance(how, Quantity) else COUNT)
        for key, (words, how) in (MEASURED | COUNTED).items()
        if key.startswith(f"{table}.")
    }


def ask_in(fields: dict[str, NumberField], units: str) -> None:
    """Word fields in the blanket's units, for what is typed without one."""
    for key, field in fields.items():
        if key in MEASURED:
            words, by_units = MEASURED[key]
            unit, quantity = by_units[units]
            field.ask(words.format(unit), quantity)


def show_numbers(fields: dict[str, NumberField], values: Any) -> None:
    """Each field's own key of a table's values; blank where there is none."""
    for key, field in fields.items():
        number = getattr(values, key.partition(".")[2], None)
        if field.quantity is PERCENT and number is not None:
            number = 100 * number
        field.show(number)


def typed(field: NumberField) -> Any:
    """What a field says, as blanket.toml is to hold it. Raises KitError."""
    value = field.written()
    if field.quantity is PERCENT and isinstance(value, int | float):
        return value / 100
    return value


def in_fields(fault: Fault, units: str) -> Fault:
    """The fault with its field's words in place of the file's key."""
    words, expected = fault.column, fault.expected
    if isinstance(expected, AtMost):
        other = _words_of(expected.key, units)
        expected = replace(expected, key=f'"{other}"')
    if words.startswith("pace."):
        words = "Rows"
    for key in MEASURED | COUNTED:
        if words in (key, _words_of(key, units)):
            words = _words_of(key, units, bare=True)
    return fault.at(column=words, file="", expected=expected)


def _words_of(key: str, units: str, *, bare: bool = False) -> str:
    """What the field of a key is called; `bare`, without the unit at its end."""
    form, how = (MEASURED | COUNTED)[key]
    if bare:
        form = form.removesuffix(", {}").removesuffix(", %")
    return form.format(how[units][0] if isinstance(how, dict) else "")


def beside(*columns: Iterable[Any]) -> widgets.HBox:
    """Columns of controls side by side, below each other where there is no room."""
    boxes = [widgets.VBox(list(controls)) for controls in columns]
    return widgets.HBox(boxes, layout={"flex_flow": "row wrap"})


def toggles(words: str, options: Any) -> widgets.ToggleButtons:
    style = {"description_width": "120px", "button_width": "auto"}
    return widgets.ToggleButtons(options=options, description=words, style=style)
