"""The fabric desk's controls: made, laid out in parts, set to what the files say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import ipywidgets as widgets

from kit.blanket import Blanket
from kit.blanket.choices import LAYOUTS
from kit.blanket.folder import blankets_beside
from kit.blanket.keys import as_toml
from kit.errors import KitError
from kit.pictures.swatches import SURROUND
from kit.plan import Plan
from kit.widgets.fabric.view import cast_on_words, cast_ons
from kit.widgets.fields import (
    COUNT,
    COUNTS,
    PERCENT,
    SIZES,
    WEIGHTS,
    CarryRow,
    GrowingTable,
    NumberField,
    SectionRow,
    written,
)
from kit.widgets.lines import Lines, Wrapped
from kit.widgets.panel import STYLE, WIDE, Controls, OpenPlan, Panel, svg_image
from kit.yarn import Section, to_tex
from kit.yarn.weight_classes import WEIGHTS as CLASSES
from kit.yarn.weight_classes import typical_metres_per_100g

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
ACROSS = {"metric": ("m", 6.0, 0.5), "imperial": ("ft", 20.0, 1.0)}
FOOT_M = 0.3048  # international foot, 1959: exact by definition
UNITS = (("cm, m, g", "metric"), ("in, yd, oz", "imperial"))
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
    typical = {one.name: to_tex(typical_metres_per_100g(one)) for one in CLASSES}
    made = ((f"{word} {name} strands", n * typical[name]) for word, n, name in ways)
    return [(f"{words} ({tex:.0f} tex)", float(f"{tex:.0f}")) for words, tex in made]


class FabricControls(Controls):
    """Every control of the desk and the parts a notebook shows; what they do is not
    said here. `_fill()` sets them to the blanket's choices."""

    blanket: Blanket
    plan: Plan
    _big: str

    def __init__(self) -> None:
        self.messages = Lines()
        self.sentences: dict[str, Wrapped] = {}
        self._sections_offered: list[str] = []
        self._make_controls()
        self._make_pictures()
        self._make_parts()

    # --- making ---

    def _make_controls(self) -> None:
        self.folder = widgets.Dropdown(description="Blanket", style=STYLE, layout=WIDE)
        self.again = widgets.Button(
            description="Read the files again", layout={"width": "180px"}
        )
        self.write = widgets.Button(
            description="Write the plan", button_style="primary"
        )
        self.progress = widgets.IntProgress(0, 0, 3, layout={"visibility": "hidden"})
        self.fields = {key: NumberField(words) for key, (words, _) in MEASURED.items()}
        self.fields |= {key: NumberField(*how) for key, how in COUNTED.items()}
        self.swatch = {key: NumberField(words) for key, (words, _) in SWATCH.items()}
        self.units = _toggles("Measured in", UNITS)
        self._units_shown = ""
        self.until_end = widgets.Checkbox(
            description="until the yarn ends",
            style={"description_width": "190px"},
            layout={"width": "180px", "margin": "0 0 0 150px"},
            indent=False,
        )
        self.cast_on = [widgets.Button(layout={"width": "250px"}) for _ in range(3)]
        self.presets = widgets.Dropdown(
            description="Usual ones",
            options=[*strand_presets(), ("another thickness, typed below", 0.0)],
            style={"description_width": "190px"},
            layout={"width": "460px"},
        )
        self.way = _toggles("Each colour gets", PACES)
        self.rows = NumberField("Rows")
        self.layout_way = _toggles("Runs", LAYOUTS)
        self.sharing = _toggles("In both halves", SHARING)
        self.section_rows = GrowingTable("section", "Add a section", self._section_row)
        self.carry_rows = GrowingTable("carried", "Carry a yarn along", self._carry_row)
        self.greys = widgets.Checkbox(description="in greys", indent=False)
        self.distance = widgets.FloatSlider(
            0.0, min=0.0, max=6.0, step=0.5, description="From across the room",
            style={"description_width": "190px"}, layout={"width": "600px"},
            readout_format=".1f",
        )  # fmt: skip
        self._across_m = 1.0

    def _section_row(self, item: Mapping[str, Any]) -> SectionRow:
        return SectionRow(item, self.blanket.choices.units)

    def _carry_row(self, item: Mapping[str, Any]) -> CarryRow:
        yarns = [yarn.name for yarn in self.blanket.stash.yarns]
        named = [section.name for section in self.blanket.choices.making.sections]
        return CarryRow(item, yarns, list(dict.fromkeys(named)))

    def _make_pictures(self) -> None:
        self.big, self.small = svg_image(), widgets.Image(format="png")
        self.small.layout.border = f"6px solid {SURROUND}"
        for image in (self.big, self.small):
            image.layout.align_self = "flex-start"  # else it is pulled wide
            image.layout.flex = "0 0 auto"
        self.total_lines, self.gauge_lines = Wrapped(120), Wrapped(80)
        self.brief_lines = Wrapped(40)
        self.brief_lines.layout = widgets.Layout(margin="0 0 0 10px")
        self.caution_lines, self.join_lines = Wrapped(120), Wrapped(150, close=True)
        self.aside = widgets.HBox(
            [self.small, self.brief_lines], layout={"flex": "0 0 460px"}
        )

    def _make_parts(self) -> None:
        def fields(table: str) -> list[NumberField]:
            return [field for key, field in self.fields.items() if table in key]

        self.open_plan = OpenPlan(self.messages)
        writing = [self.write, self.progress, self.open_plan]
        buttons = widgets.HBox([self.again, *writing], layout={"flex_flow": "row wrap"})
        self.which = Panel([self.folder, buttons, self.messages])
        counts, swatch = fields("gauge."), self.swatch.values()
        numbers = _beside(counts, swatch)
        self.gauge = self._part("gauge", self.units, numbers, self.gauge_lines)
        wide, long, *stitches = fields("size.")
        size = [wide, long, self.until_end, *stitches]
        cast_on = [widgets.Label("Cast on"), *self.cast_on]
        self.size = self._part("size", _beside(size, cast_on))
        tex, thinner, thicker, *numbers = fields("strands.")
        strands = _beside([tex, thinner, thicker], numbers)
        self.strands = self._part("strands", self.presets, strands)
        self.pace = self._part("pace", self.way, self.rows)
        ways = (self.layout_way, *fields("colours."), self.sharing)
        self.layout = self._part("layout", *ways)
        self.sections = self._part("sections", self.section_rows)
        self.carried = self._part("carried", self.carry_rows)
        seen = widgets.HBox([self.big, self.brief_lines])
        self.look = Panel([self.greys, self.distance, seen], lambda: self._big)
        self.numbers = Panel([self.total_lines, self.caution_lines])
        self.joins = Panel([self.join_lines])

    def _part(self, name: str, *controls: Any) -> Panel:
        """Controls with their own line for sentences, the blanket small beside them."""
        self.sentences[name] = Wrapped(80, bold=True)
        column = widgets.VBox(
            [*controls, self.sentences[name]], layout={"flex": "1 1 400px"}
        )
        box = widgets.HBox([column, self.aside], layout={"flex_flow": "row wrap"})
        return Panel([box])

    # --- filling ---

    def _fill(self) -> None:
        """Set every control to what the files say; sentences are settled by that."""
        with self._set_by_program():
            self._fill_which()
            self._fill_fields()
            self._fill_ways()
            self._fill_tables()
            self._offer_cast_ons()
        for lines in self.sentences.values():
            lines.say([])

    def _fill_which(self) -> None:
        folder = self.blanket.folder.resolve()
        options = [(path.name, path) for path in blankets_beside(folder)]
        if self.folder.options != tuple(options):
            self.folder.options = options
        self.folder.value = folder

    def _ask_in(self, units: str) -> None:
        """Word the fields in the blanket's units, for what is typed without one."""
        for asked, fields in ((MEASURED, self.fields), (SWATCH, self.swatch)):
            for key, (words, by_units) in asked.items():
                unit, quantity = by_units[units]
                fields[key].ask(words.format(unit), quantity)
        self._measure_across(*ACROSS[units])

    def _measure_across(self, unit: str, most: float, step: float) -> None:
        """The distance to look from in this unit; as far away as it was, to a step."""
        slider, was_m = self.distance, self.distance_m
        self._across_m = FOOT_M if unit == "ft" else 1.0
        slider.max, slider.step = max(slider.max, most), step
        slider.value = min(most, round(was_m / self._across_m / step) * step)
        slider.max, slider.description = most, f"From across the room, {unit}"

    @property
    def distance_m(self) -> float:
        """How far away the blanket is looked at, in metres."""
        return self.distance.value * self._across_m

    def _fill_fields(self) -> None:
        choices = self.blanket.choices
        self.units.value = choices.units
        self._ask_in(choices.units)
        tables = {
            "gauge": choices.making.gauge,
            "size": choices.making.size,
            "strands": choices.making.strands,
            "colours": choices.laying,
        }
        for key, field in self.fields.items():
            table, name = key.split(".")
            number = getattr(tables[table], name, None)
            if field.quantity is PERCENT and number is not None:
                number = 100 * number
            field.show(number)
        swatch = choices.making.gauge and choices.making.gauge.swatch
        for name, field in self.swatch.items():
            field.show(getattr(swatch, name, None))

    def _fill_ways(self) -> None:
        making, laying = self.blanket.choices.making, self.blanket.choices.laying
        self.until_end.value = bool(making.size and making.size.length_cm is None)
        self.fields["size.length_cm"].disabled = self.until_end.value
        known = [tex for _, tex in self.presets.options]
        tex = making.strands.fabric_tex
        self.presets.value = tex if tex in known else 0.0
        pace = making.pace
        self.way.value = next((w for _, w in PACES[1:] if getattr(pace, w)), "use")
        self.rows.disabled = self.way.value == "use"
        self.rows.show(pace.rows_per_colour or pace.longest_rows)
        self.layout_way.value, self.sharing.value = laying.layout, laying.sharing

    def _fill_tables(self) -> None:
        """Rows of the small tables, built anew only where the file says otherwise."""
        making, units = self.blanket.choices.making, self.blanket.choices.units
        reworded, self._units_shown = units != self._units_shown, units
        named = [section.name for section in making.sections]
        for rows, items in (
            (
                self.section_rows,
                [section_item(one, units) for one in making.sections],
            ),
            (self.carry_rows, as_toml(making.carry) or []),
        ):
            try:
                same = rows.read() == items
            except KitError:
                same = False
            if (
                not same
                or reworded
                or (rows is self.carry_rows and named != self._sections_offered)
            ):
                rows.fill(items)
        self._sections_offered = named

    def _offer_cast_ons(self) -> None:
        choices = cast_ons(self.plan) or (None, None, None)
        units = self.plan.choices.units
        for button, choice in zip(self.cast_on, choices, strict=True):
            button.layout.display = None if choice else "none"
            button.description = cast_on_words(choice, units) if choice else ""
            button.button_style = "info" if choice and choice is choices[1] else ""


def section_item(section: Section, units: str) -> dict[str, Any]:
    """A section as blanket.toml would hold it in these units."""
    item: dict[str, Any] = {"name": section.name, "rows": section.rows}
    if section.rows_per_10cm is not None:
        item["rows_per_10cm"] = written(section.rows_per_10cm, COUNTS[units][1])
    if section.yarn_factor != 1:
        item["yarn_factor"] = section.yarn_factor
    return item


def _beside(*columns: Iterable[Any]) -> widgets.HBox:
    """Columns of controls side by side, below each other where there is no room."""
    boxes = [widgets.VBox(list(controls)) for controls in columns]
    return widgets.HBox(boxes, layout={"flex_flow": "row wrap"})


def _toggles(words: str, options: Any) -> widgets.ToggleButtons:
    style = {"description_width": "120px", "button_width": "auto"}
    return widgets.ToggleButtons(options=options, description=words, style=style)
