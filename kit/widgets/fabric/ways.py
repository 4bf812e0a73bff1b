"""Strands, pace and layout: how the yarn goes into the fabric."""

from __future__ import annotations

from functools import partial
from typing import Any

import ipywidgets as widgets

from kit.blanket.choices import LAYOUTS
from kit.widgets.fabric.controls import (
    FabricPanel,
    SmallBlanket,
    beside,
    key_fields,
    show_numbers,
    toggles,
    typed,
)
from kit.widgets.fabric.state import ChooseFabric, FabricState
from kit.widgets.fields import NumberField, needed
from kit.yarn import to_tex
from kit.yarn.weight_classes import WEIGHTS, typical_metres_per_100g

PACES = (
    ("all of each ball", "use"),
    ("rows per colour", "rows_per_colour"),
    ("no colour longer than", "longest_rows"),
)
SHARING = (("each ball, wound in two", "halve"), ("look-alikes, one in each", "pair"))


def strand_presets() -> list[tuple[str, float]]:
    """Everyday ways of holding strands, and the tex they make by usual labels.

    >>> strand_presets()[2]
    ('two fingering strands (500 tex)', 500.0)
    """
    ways = (
        ("two", 2, "lace"), ("three", 3, "lace"), ("two", 2, "fingering"),
        ("three", 3, "fingering"), ("two", 2, "sport"), ("two", 2, "DK"),
        ("two", 2, "worsted"),
    )  # fmt: skip
    typical = {one.name: to_tex(typical_metres_per_100g(one)) for one in WEIGHTS}
    made = ((f"{word} {name} strands", n * typical[name]) for word, n, name in ways)
    return [(f"{words} ({tex:.0f} tex)", float(f"{tex:.0f}")) for words, tex in made]


class StrandsPanel(FabricPanel):
    """How thick the strands are together, how many, and how unlike."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.presets = widgets.Dropdown(
            description="Usual ones",
            options=[*strand_presets(), ("another thickness, typed below", 0.0)],
            style={"description_width": "190px"},
            layout={"width": "460px"},
        )
        self.fields = key_fields("strands")
        tex, thinner, thicker, *numbers = self.fields.values()
        strands = beside([tex, thinner, thicker], numbers)
        super().__init__(choose, small, [self.presets, strands])
        self.on(self.presets, self._preset)
        for key, field in self.fields.items():
            self.on(field, partial(self._typed, key))

    def fill(self, state: FabricState) -> None:
        strands = state.choices.making.strands
        show_numbers(self.fields, strands)
        known = [tex for _, tex in self.presets.options]
        self.presets.value = strands.fabric_tex if strands.fabric_tex in known else 0.0

    def _typed(self, key: str) -> None:
        self._choose({key: typed(self.fields[key])}, self.said)

    def _preset(self) -> None:
        if self.presets.value:
            self.put(strands__fabric_tex=int(self.presets.value))
        else:
            self.fields["strands.fabric_tex"].focus()


class PacePanel(FabricPanel):
    """How long a colour lasts."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.way, self.rows = toggles("Each colour gets", PACES), NumberField("Rows")
        super().__init__(choose, small, [self.way, self.rows])
        for control in (self.way, self.rows):
            self.on(control, self._paced)

    def fill(self, state: FabricState) -> None:
        pace = state.choices.making.pace
        self.way.value = next((w for _, w in PACES[1:] if getattr(pace, w)), "use")
        self.rows.disabled = self.way.value == "use"
        self.rows.show(pace.rows_per_colour or pace.longest_rows)

    def _paced(self) -> None:
        way = self.way.value
        self.rows.disabled = way == "use"
        if way != "use" and not self.rows.value.strip():
            with self.set_by_program():
                self.rows.show(12 if way == "rows_per_colour" else 30)
        changes: dict[str, Any] = {"pace__rows_per_colour": None}
        changes |= {"pace__longest_rows": None}
        if way != "use":
            changes[f"pace__{way}"] = needed(self.rows)
        self.put(**changes)


class LayoutPanel(FabricPanel):
    """Which way the run goes, how often, and what both halves of a mirror share."""

    def __init__(self, choose: ChooseFabric, small: SmallBlanket) -> None:
        self.way, self.sharing = (
            toggles("Runs", LAYOUTS),
            toggles("In both halves", SHARING),
        )
        self.fields = key_fields("colours")
        (self.times,) = self.fields.values()
        super().__init__(choose, small, [self.way, self.times, self.sharing])
        for control in (self.way, self.sharing):
            self.on(control, self._laid)
        self.on(self.times, lambda: self.put(times_through=typed(self.times)))

    def fill(self, state: FabricState) -> None:
        laying = state.choices.laying
        show_numbers(self.fields, laying)
        self.way.value, self.sharing.value = laying.layout, laying.sharing

    def _laid(self) -> None:
        ways = {"layout": self.way.value, "sharing": self.sharing.value}
        now = self.state.choices.laying
        self.put(**{k: v for k, v in ways.items() if v != getattr(now, k)})
