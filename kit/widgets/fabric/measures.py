"""Gauge and size: what is measured and counted, and what to cast on."""

from __future__ import annotations

from functools import partial
from typing import Any

import ipywidgets as widgets

from kit.errors import Fault, KitError
from kit.widgets.fabric.controls import (
    SWATCH,
    FabricPanel,
    SmallBlanket,
    ask_in,
    beside,
    key_fields,
    show_numbers,
    toggles,
    typed,
)
from kit.widgets.fabric.state import ChooseFabric, FabricState
from kit.widgets.fabric.view import cast_on_words, cast_ons, gauge_lines
from kit.widgets.fields import SIZES, NumberField, written
from kit.widgets.lines import Wrapped

UNITS = (("cm, m, g", "metric"), ("in, yd, oz", "imperial"))


class GaugePanel(FabricPanel):
    """Units, gauge, and a weighed swatch."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.units = toggles("Measured in", UNITS)
        self.fields = key_fields("gauge")
        self.swatch = {key: NumberField(words) for key, (words, _) in SWATCH.items()}
        self.lines = Wrapped(80)
        numbers = beside(self.fields.values(), self.swatch.values())
        super().__init__(choose, small, [self.units, numbers, self.lines])
        self.on(self.units, lambda: self.put(units=self.units.value))
        for key, field in self.fields.items():
            self.on(field, partial(self._typed, key))
        for field in self.swatch.values():
            self.on(field, self._swatch_typed)

    def fill(self, state: FabricState) -> None:
        units, gauge = state.choices.units, state.choices.making.gauge
        self.units.value = units
        ask_in(self.fields, units)
        show_numbers(self.fields, gauge)
        swatch = gauge and gauge.swatch
        for key, (words, by_units) in SWATCH.items():
            unit, quantity = by_units[units]
            self.swatch[key].ask(words.format(unit), quantity)
            self.swatch[key].show(getattr(swatch, key, None))
        self.lines.say(gauge_lines(state.plan))

    def _typed(self, key: str) -> None:
        changes = {key: typed(self.fields[key])}
        if self.state.choices.making.gauge is None:  # it begins: it needs both counts
            both = list(self.fields)[:2]
            changes |= {one: self.fields[one].written() for one in both}
        self._choose(changes, self.said)

    def _swatch_typed(self) -> None:
        values = {key: field.written() for key, field in self.swatch.items()}
        missing = [self.swatch[k].words for k, v in values.items() if v is None]
        if 0 < len(missing) < len(values):
            says = f"A swatch needs all three; still blank: {'; '.join(missing)}"
            raise KitError(Fault("missing", says=says))
        self.put(gauge__swatch=None if missing else values)


class SizePanel(FabricPanel):
    """Width, length and repeat, with buttons for what can be cast on."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.fields = key_fields("size")
        self.until_end = widgets.Checkbox(
            description="until the yarn ends",
            style={"description_width": "190px"},
            layout={"width": "180px", "margin": "0 0 0 150px"},
            indent=False,
        )
        self.cast_on = [widgets.Button(layout={"width": "250px"}) for _ in range(3)]
        wide, long, *stitches = self.fields.values()
        size = [wide, long, self.until_end, *stitches]
        cast_on = [widgets.Label("Cast on"), *self.cast_on]
        super().__init__(choose, small, [beside(size, cast_on)])
        for key, field in self.fields.items():
            self.on(field, partial(self._typed, key))
        self.on(self.until_end, self._until_end)
        for k, button in enumerate(self.cast_on):
            self.on(button, partial(self._cast_on, k))

    def fill(self, state: FabricState) -> None:
        units, size = state.choices.units, state.choices.making.size
        ask_in(self.fields, units)
        show_numbers(self.fields, size)
        self.until_end.value = bool(size and size.length_cm is None)
        self.fields["size.length_cm"].disabled = self.until_end.value
        choices = cast_ons(state.plan) or (None, None, None)
        for button, choice in zip(self.cast_on, choices, strict=True):
            button.layout.display = None if choice else "none"
            button.description = cast_on_words(choice, units) if choice else ""
            button.button_style = "info" if choice and choice is choices[1] else ""

    def _typed(self, key: str) -> None:
        changes = {key: typed(self.fields[key])}
        if self.state.choices.making.size is None:  # it begins: it needs both sides
            both = list(self.fields)[:2]
            changes |= {one: self.fields[one].written() for one in both}
            if self.until_end.value:
                changes["size.length_cm"] = "all"
        self._choose(changes, self.said)

    def _in_units(self, cm: float, n_digits: int) -> Any:
        """A length rounded in the blanket's unit, as blanket.toml is to hold it."""
        _, quantity = SIZES[self.state.choices.units]
        bare = quantity.units[""]
        rounded = round(cm / bare, n_digits)
        whole = int(rounded) if rounded % 1 == 0 else rounded
        return written(round(whole * bare, 7), quantity) if bare != 1 else whole

    def _until_end(self) -> None:
        fabric = self.state.plan.fabric
        if self.until_end.value:
            self.put(size__length_cm="all")
        elif fabric and fabric.rows:
            self.put(size__length_cm=self._in_units(fabric.length_cm, 0))
        else:
            self.fields["size.length_cm"].disabled = False

    def _cast_on(self, k: int) -> None:
        if choice := cast_ons(self.state.plan)[k]:
            self.put(size__width_cm=self._in_units(choice.width_cm, 2))
